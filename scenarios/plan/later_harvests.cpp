#include "scenarios/plan/later_harvests.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/harvest_material.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_years.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::month_day;
using std::chrono::sys_days;

// keys taken over from [harvest]; those of one group only make sense together
const std::vector<std::vector<std::string>> groups = {
    {"material"}, {"grain_yield", "grain_moisture", "residue"}, {"placement", "cutting_height"}};

std::string material_said(const Table& table) {
  const Value* material = find(table, "material");
  if (!material) return "";
  return material->text() ? *material->text() : "a mixture";
}

/// A harvest of another crop takes nothing over.
Table over_first(const Table& first, const Table& own) {
  const std::string here = material_said(own), there = material_said(first);
  if (!here.empty() && here != (there.empty() ? "corn" : there)) return own;
  Table all = own;
  for (const std::vector<std::string>& group : groups) {
    const bool said = std::any_of(group.begin(), group.end(),
                                  [&](const std::string& key) { return find(own, key) != nullptr; });
    for (const Entry& entry : first) {
      if (!said && std::find(group.begin(), group.end(), entry.key) != group.end()) all.push_back(entry);
    }
  }
  return all;
}

/// [rotation.component.NAME], by the name in the treatment or in the material.
void read_own_pieces(TableReader& in, const std::string& what, const Treatment& t, const Sources& sources,
                     HarvestPlan& harvest, Mistakes& mistakes) {
  const Table* table = in.table("component");
  if (!table) return;
  TableReader names(*table, what + " component", in.at("component"), mistakes);
  for (std::size_t c = 0; c < t.components.size(); ++c) {
    const ComponentPlan& component = t.components[c];
    if (harvest.material_shares[component.material] <= 0.0) continue;
    for (const std::string& name : {component.part, component.name}) {
      const Table* own = names.table(name);
      if (!own) continue;
      const std::string where = fmt::format("{} component {}", what, name);
      TableReader keys(*own, where, names.at(name), mistakes);
      harvest.pieces[c] =
          read_pieces(keys, where, name, harvest.pieces[c].front().geometry, sources.text_of, mistakes);
      keys.finish();
    }
  }
  names.finish();
}

/// The crop that a harvest is of: the one that its material is named after, else that of [next_crop], with
/// the N it would take. Stages given under [next_crop] are those of that crop.
CropPlan read_harvested_crop(TableReader& in, const HarvestPlan& harvest, const CropLibrary& crops,
                             const Treatment& t) {
  CropPlan crop = t.crop;
  const CropPointer named = find_crop(t.materials[largest(harvest.material_shares)], crops);
  crop.crop = read_crop(in, named ? named : t.crop.crop, false, crops);
  if (crop.crop != t.crop.crop) crop.seen.clear();
  crop.given = crop.given || in.has("crop") || in.has("planting");
  read_demand(in, crop);
  return crop;
}

/// The crop of [next_crop], every year.
void add_seasons(const CropPlan& crop, sys_days from, sys_days to, std::vector<PlantedCrop>& seasons) {
  for (sys_days planting = next_on_or_after(from, crop.planting); planting < to;
       planting = next_on_or_after(planting + days{1}, crop.planting)) {
    seasons.push_back({planting, crop});
  }
}

void read_later_harvest(const Table& own, Position at, const Table& first, const RunDates& run,
                        const Sources& sources, Treatment& t, Mistakes& mistakes,
                        std::vector<std::string>& warnings) {
  const Table table = over_first(first, own);
  const std::string what = "[[later_harvest]]";
  TableReader in(table, what, at, mistakes);
  in.require("date", "date = 2027-10-20");
  const std::optional<sys_days> date = in.date("date");
  HarvestPlan harvest = read_harvest(in, t, sources.library, mistakes);
  read_own_pieces(in, what, t, sources, harvest, mistakes);
  const std::optional<sys_days> planting = in.date("planting");
  const CropPlan crop = read_harvested_crop(in, harvest, sources.crops, t);
  in.text("note");
  in.finish();
  if (!date) return;
  harvest.date = *date;
  const sys_days before = t.harvests.back().date;
  if (*date <= before) {
    in.mistake("date", fmt::format("{} is not after the harvest of {}; write harvests in their order",
                                   format_date(*date), format_date(before)));
    return;
  }
  if (planting && (*planting < before || *planting >= *date)) {
    in.mistake("planting", fmt::format("{} is not between the harvests of {} and {}", format_date(*planting),
                                       format_date(before), format_date(*date)));
  }
  if (planting) {
    t.crop_seasons.push_back({*planting, crop});
  } else {
    const std::size_t known = t.crop_seasons.size();
    add_seasons(t.crop, before, *date, t.crop_seasons);
    if (in.has("nitrogen") && t.crop_seasons.size() == known) {
      in.mistake("nitrogen", "which crop takes it? write planting = 2027-05-05");
    } else if (t.crop_seasons.size() > known) {
      t.crop_seasons.back().crop = crop;
    }
  }
  if (*date >= run.end) {
    warnings.push_back(fmt::format("the harvest of {} is left out: the run ends on {} (lengthen `duration`)",
                                   format_date(*date), format_date(run.end)));
  }
  t.harvests.push_back(std::move(harvest));
}

struct Block {
  HarvestPlan harvest;
  month_day date{};
  CropPlan crop;
  const List* events = nullptr;
};

Block read_block(const Table& own, Position at, const Table& first, const Treatment& t,
                 const Sources& sources, Mistakes& mistakes) {
  const Table table = over_first(first, own);
  const std::string what = "[[rotation]]";
  TableReader in(table, what, at, mistakes);
  Block block;
  const std::chrono::year_month_day first_date{t.first().date};
  const std::optional<month_day> date = read_month_day(in, "date", "10-20");
  block.harvest = read_harvest(in, t, sources.library, mistakes);
  const bool same_crop = block.harvest.material_shares == t.first().material_shares;
  if (!same_crop) in.require("date", "date = \"09-28\" (month-day of its harvest)");
  block.date = date.value_or(first_date.month() / first_date.day());
  read_own_pieces(in, what, t, sources, block.harvest, mistakes);
  block.crop = read_harvested_crop(in, block.harvest, sources.crops, t);
  block.crop.planting = read_month_day(in, "planting", "05-05").value_or(t.crop.planting);
  in.list("event");
  const Value* events = find(own, "event");  // of the file, which outlives `table`
  block.events = events ? events->list() : nullptr;
  in.text("note");
  in.finish();
  return block;
}

/// A block is a crop: planted after the harvest before it, and then harvested. The crop that the end of the
/// run finds on the field is the last.
std::vector<RotatedHarvest> go_round(const std::vector<Block>& blocks, const RunDates& run, Treatment& t) {
  std::vector<RotatedHarvest> rotated;
  for (std::size_t i = 0;; ++i) {
    const Block& block = blocks[i % blocks.size()];
    const sys_days planting = next_on_or_after(t.harvests.back().date, block.crop.planting);
    if (planting > run.end) break;
    t.crop_seasons.push_back({planting, block.crop});
    const sys_days date = next_on_or_after(planting + days{1}, block.date);
    if (date >= run.end) break;
    rotated.push_back({t.harvests.size(), block.events});
    t.harvests.push_back(block.harvest);
    t.harvests.back().date = date;
  }
  return rotated;
}

/// Calls `read(table, position)` for each table of a list.
template <class Read>
void each_table(const List& list, const char* what, Mistakes& mistakes, Read&& read) {
  for (const Value& item : list) {
    if (item.table()) {
      read(*item.table(), item.at);
    } else {
      mistakes.add(item.at, fmt::format("found {}; wanted a harvest as {}", kind_name(item), what));
    }
  }
}

}  // namespace

sys_days date_after(sys_days from, double time_d) {
  const double years = time_d / 365.25;
  const int whole = static_cast<int>(std::lround(years));
  return std::abs(years - whole) * 365.25 < 1.5 ? anniversary(from, whole)
                                                : from + days{static_cast<int>(std::lround(time_d))};
}

std::vector<RotatedHarvest> read_later_harvests(TableReader& in, const Table& first, const RunDates& run,
                                                const Sources& sources, Treatment& t, Mistakes& mistakes,
                                                std::vector<std::string>& warnings) {
  add_seasons(t.crop, run.start, t.first().date, t.crop_seasons);
  if (const List* list = in.list("later_harvest")) {
    each_table(*list, "[[later_harvest]]", mistakes, [&](const Table& own, const Position& at) {
      read_later_harvest(own, at, first, run, sources, t, mistakes, warnings);
    });
  }
  std::vector<Block> blocks;
  if (const List* list = in.list("rotation")) {
    each_table(*list, "[[rotation]]", mistakes, [&](const Table& own, const Position& at) {
      blocks.push_back(read_block(own, at, first, t, sources, mistakes));
    });
  }
  std::vector<RotatedHarvest> rotated;
  if (blocks.empty()) {
    add_seasons(t.crop, t.harvests.back().date, run.end + days{1}, t.crop_seasons);
  } else {
    rotated = go_round(blocks, run, t);
  }
  while (t.harvests.size() > 1 && t.harvests.back().date >= run.end) t.harvests.pop_back();
  return rotated;
}

}  // namespace stoverturn
