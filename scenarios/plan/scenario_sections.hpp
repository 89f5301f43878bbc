#pragma once
#include "scenarios/plan/composition.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// Readers of sections. Each adds its mistakes and goes on.

/// [weather], of the whole file.
void read_weather_plan(TableReader& top, Scenario& scenario, Mistakes& mistakes);

/// The rest are of a treatment, after inheritance.

/// [harvest]: dry matter of residue in g m-2, from its own mass or from the grain. `material` is an index
/// into the treatment's.
double read_dry_matter(TableReader& in, const TreatmentParameters& parameters, std::size_t material);

/// [harvest] placement = { standing, surface, buried }
void read_placement(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);

/// [harvest] cutting_height: what stays standing.
void read_cutting_height(TableReader& harvest, Treatment& treatment);

/// [component.*]: pieces, written or from a sieve sheet; the parameters among its keys join `settings`. Gives
/// the lab sheets, by component.
std::vector<std::optional<LabSheet>> read_components(const Table* table, const std::string& treatment,
                                                     std::vector<ComponentPlan>& components,
                                                     std::vector<ParameterSetting>& settings,
                                                     const TextOf& text_of, Mistakes& mistakes);

/// How its material's pieces are cut, laid under [component.*] of the treatment.
Table with_pieces_of_materials(const Table* table, const std::vector<ComponentPlan>& components,
                               const std::vector<std::string>& materials, const MaterialLibrary& library);

/// Whether `grain_yield` tells the residue of this material; a mistake where it does not. Bushels and 15.5 %
/// moisture are corn's; others need a harvest index and `grain_moisture`.
bool grain_tells_residue(TableReader& in, const TreatmentParameters& parameters, std::size_t material,
                         bool bushels);

/// [[event]] and [[add_event]], in date order. Needs the treatment's harvest, material, components and
/// parameters.
void read_events(const List* list, Treatment& treatment, Mistakes& mistakes);

void read_soil(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);

/// A text such as "05-05" under a key; a mistake and nothing when it is none.
std::optional<std::chrono::month_day> read_month_day(TableReader& in, const std::string& key,
                                                     const char* example = "05-05");

/// [next_crop] and [cover_crop]. The latter needs the treatment's materials and conditions.
void read_next_crop(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);
void read_cover_crop(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);
void read_irrigation_rule(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);
ConditionsPlan read_conditions(const Table& table, Position at, Mistakes& mistakes);

}  // namespace stoverturn
