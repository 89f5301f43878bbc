#pragma once
#include "scenarios/plan/materials.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// The days that a file's runs cover: from the first harvest of all treatments.
struct RunDates {
  std::chrono::sys_days start{}, end{};
};

/// What a file names beyond itself.
struct Sources {
  const MaterialLibrary& library;
  const CropLibrary& crops;
  const TextOf& text_of;
};

/// A harvest that a [[rotation]] brought, and the events that follow it.
struct RotatedHarvest {
  std::size_t harvest;  ///< index into the treatment's
  const List* events;   ///< the block's own; nullptr: those of [[event]] that are not bound to one date
};

/// A time after a day; within a day or two of whole years it is the anniversary.
std::chrono::sys_days date_after(std::chrono::sys_days from, double time_d);

/// Adds the harvests of [[later_harvest]] and then of [[rotation]], whose blocks come round until the run
/// ends, and every season of a crop. What a later harvest does not say it takes over from [harvest], when it
/// is of the same material. Needs the treatment's first harvest, materials, components, parameters and next
/// crop. The events are those of the tables of `in`, not copies.
std::vector<RotatedHarvest> read_later_harvests(TableReader& in, const Table& harvest, const RunDates& run,
                                                const Sources& sources, Treatment& treatment,
                                                Mistakes& mistakes, std::vector<std::string>& warnings);

}  // namespace stoverturn
