#pragma once
#include "scenarios/plan/composition.hpp"
#include "scenarios/plan/later_harvests.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// Readers of sections. Each adds its mistakes and goes on.

/// [weather], [model], [ensemble], [timing] and [planting], of the whole file.
void read_weather_plan(TableReader& top, Scenario& scenario, Mistakes& mistakes);
void read_model(TableReader& top, Scenario& scenario, Mistakes& mistakes);
void read_timing_section(TableReader& top, Scenario& scenario, Mistakes& mistakes);
void read_planting_section(TableReader& top, Scenario& scenario, Mistakes& mistakes);
void read_ensemble_section(TableReader& top, Scenario& scenario, Mistakes& mistakes);

/// The rest are of a treatment, after inheritance.

/// What [harvest], [[later_harvest]] and [[rotation]] have in common: all but the date. Needs the treatment's
/// materials, components and parameters.
HarvestPlan read_harvest(TableReader& in, const Treatment& treatment, const MaterialLibrary& library,
                         Mistakes& mistakes);

/// How a part is shaped where a file says nothing.
Shape usual_shape(std::string_view part);

/// Pieces of one component: cut_length, entry_spacing, opening, shape, and pieces or a sieve sheet, over
/// those it has without.
std::vector<PieceClass> read_pieces(TableReader& in, const std::string& what, const std::string& component,
                                    Pieces pieces, const TextOf& text_of, Mistakes& mistakes);

/// [component.*]: pieces, written or from a sieve sheet; the parameters among its keys join `settings`. Gives
/// the lab sheets, by component.
std::vector<std::optional<LabSheet>> read_components(const Table* table, const std::string& treatment,
                                                     std::vector<ComponentPlan>& components,
                                                     std::vector<ParameterSetting>& settings,
                                                     const TextOf& text_of, Mistakes& mistakes);

/// Composition that cannot be. `tables` are [component.*], for places.
void check_components(Treatment& treatment, const Table& tables, Position field_at, Mistakes& mistakes);

/// How its material's pieces are cut, laid under [component.*] of the treatment.
Table with_pieces_of_materials(const Table* table, const std::vector<ComponentPlan>& components,
                               const std::vector<std::string>& materials, const MaterialLibrary& library);

/// Whether `grain_yield` tells the residue of this material; a mistake where it does not. Bushels and 15.5 %
/// moisture are corn's; others need a harvest index and `grain_moisture`.
bool grain_tells_residue(TableReader& in, const TreatmentParameters& parameters, std::size_t material,
                         bool bushels);

/// [[event]] and [[add_event]], and those of a rotation, in date order. Needs the treatment's harvests,
/// components and parameters.
void read_events(const List* list, const std::vector<RotatedHarvest>& rotated, const RunDates& run,
                 const Prices& prices, Treatment& treatment, Mistakes& mistakes);

/// The material that most of the residue of the last harvest on or before a date is of.
const std::string& material_on(const Treatment& treatment, std::chrono::sys_days date);

void read_soil(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);

/// A text such as "05-05" under a key; a mistake and nothing when it is none.
std::optional<std::chrono::month_day> read_month_day(TableReader& in, const std::string& key,
                                                     const char* example = "05-05");

/// A crop's name under `crop`, with a mistake when there is none; `cover`: it must leave residue.
CropPointer read_crop(TableReader& in, const CropPointer& otherwise, bool cover, const CropLibrary& crops);

/// The mineral N that a crop would take, under `nitrogen`: with it the crop grows.
void read_demand(TableReader& in, CropPlan& crop);

/// [next_crop] and [cover_crop]. The latter needs the treatment's materials, harvests and conditions.
void read_next_crop(const Table* table, Position at, const CropLibrary& crops, Treatment& treatment,
                    Mistakes& mistakes);
void read_cover_crop(const Table* table, Position at, const CropLibrary& crops, Treatment& treatment,
                     Mistakes& mistakes);
void read_irrigation_rule(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);
ConditionsPlan read_conditions(const Table& table, Position at, Mistakes& mistakes);

}  // namespace stoverturn
