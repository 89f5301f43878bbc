#pragma once
#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// Readers of the sections of a treatment (after inheritance). Each adds its mistakes and goes on.

/// [component.*]: pieces; the parameters among its keys join `settings`.
void read_components(const Table* table, const std::string& treatment, std::vector<ComponentPlan>& components,
                     std::vector<ParameterSetting>& settings, Mistakes& mistakes);

/// Names of the components a treatment has: those of its material, then the file's own.
std::vector<std::string> component_names(const std::string& material, const Table* table, Mistakes& mistakes);

/// Whether `grain_yield` tells the residue of this material; a mistake where it does not. Bushels and 15.5 %
/// moisture are corn's; others need a harvest index and `grain_moisture`.
bool grain_tells_residue(TableReader& in, const std::string& material, const TreatmentParameters& parameters,
                         bool bushels);

/// [[event]] and [[add_event]], in date order. Needs the treatment's harvest, material, components and
/// parameters.
void read_events(const List* list, Treatment& treatment, Mistakes& mistakes,
                 std::vector<std::string>& warnings);

void read_soil(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);
void read_next_crop(const Table* table, Position at, Treatment& treatment, Mistakes& mistakes);
ConditionsPlan read_conditions(const Table& table, Position at, Mistakes& mistakes);

}  // namespace stoverturn
