#pragma once
#include <array>
#include <chrono>
#include <limits>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/text/mistakes.hpp"
#include "scenarios/units/quantity.hpp"

/// The data of a trial: one row a bag (or a mean of bags), columns by name with units in brackets.
///
///     treatment,placement,replicate,date,initial mass [g],mass [g],nitrogen [%],ash [%]
///     opened,buried,1,2027-04-04,20.0,14.31,0.74,6.2
///
/// docs/file-formats.md lists the columns.
namespace stoverturn {

/// One row a quantity that may be measured on a bag, a jar or a plot.
struct TrialField {
  std::string_view name;
  std::string_view unit;  ///< as messages write it
  Kind kind;
  double lowest, highest;  ///< in the canonical unit; outside is a slip of the pen
  std::string_view meaning;
};

inline constexpr std::array<TrialField, 17> trial_fields = {{
    {"mass", "g", Kind::mass, 0.0, 1e6, "dry matter in the bag when pulled"},
    {"initial mass", "g", Kind::mass, 1e-6, 1e6, "dry matter put into the bag"},
    {"mass left", "%", Kind::fraction, 0.0, 2.0, "dry matter left, of that put in"},
    {"nitrogen", "%", Kind::content, 0.0, 0.3, "N in the dry matter pulled"},
    {"carbon", "%", Kind::content, 0.0, 0.7, "C in the dry matter pulled"},
    {"phosphorus", "%", Kind::content, 0.0, 0.1, "P in the dry matter pulled"},
    {"potassium", "%", Kind::content, 0.0, 0.2, "K in the dry matter pulled"},
    {"sulfur", "%", Kind::content, 0.0, 0.1, "S in the dry matter pulled"},
    {"ash", "%", Kind::content, 0.0, 1.0, "ash in the dry matter pulled, soil that came along included"},
    {"nitrogen left", "%", Kind::fraction, 0.0, 5.0, "N left, of that put in"},
    {"carbon left", "%", Kind::fraction, 0.0, 2.0, "C left, of that put in"},
    {"phosphorus left", "%", Kind::fraction, 0.0, 5.0, "P left, of that put in"},
    {"potassium left", "%", Kind::fraction, 0.0, 5.0, "K left, of that put in"},
    {"sulfur left", "%", Kind::fraction, 0.0, 5.0, "S left, of that put in"},
    {"respired carbon", "%", Kind::fraction, 0.0, 1.5, "CO2-C given off since the start, of the C put in"},
    {"mineral nitrogen", "kg/ha", Kind::mass_per_area, 0.0, 200.0, "ammonium and nitrate N of the topsoil"},
    {"cover", "%", Kind::fraction, 0.0, 1.0, "soil covered by residue"},
}};
enum TrialFieldIndex : std::size_t {
  trial_mass,
  trial_initial_mass,
  trial_mass_left,
  trial_nitrogen,
  trial_carbon,
  trial_phosphorus,
  trial_potassium,
  trial_sulfur,
  trial_ash,
  trial_nitrogen_left,
  trial_carbon_left,
  trial_phosphorus_left,
  trial_potassium_left,
  trial_sulfur_left,
  trial_respired_carbon,
  trial_mineral_nitrogen,
  trial_cover
};

inline constexpr double not_weighed = std::numeric_limits<double>::quiet_NaN();

using TrialValues = std::array<double, trial_fields.size()>;  ///< NaN: not measured

struct TrialRow {
  int line = 0;
  std::string treatment, component, placement, block, replicate;  ///< "" where the file has no such column
  std::optional<std::chrono::sys_days> date;
  double days = not_weighed;  ///< since the bags were laid out; NaN where the row has a date
  TrialValues values;
  TrialValues sd;  ///< standard deviation between the bags of the row, same units as the values
  int n = 1;       ///< bags that the row is the mean of
};

struct TrialData {
  std::string name;
  std::vector<TrialRow> rows;  ///< in the order of the file
  bool has(std::size_t field) const;
};

/// What the rows may refer to: the treatments of a scenario.
struct TrialTreatmentNames {
  std::string key, label;                         ///< either names it
  std::optional<std::chrono::sys_days> laid_out;  ///< no bag can be pulled before
  std::vector<std::string> components;
};

/// Options of `mineral nitrogen` in mg per kg of soil.
struct TrialSoil {
  double bulk_density_g_cm3 = not_weighed;
  double depth_mm = not_weighed;
};

/// True when the first row names a column of trial data that no weather file has.
bool is_trial_data(std::string_view text);

/// Reads trial data. With `treatments` empty any treatment is accepted; else names are resolved to keys.
/// Throws InputError with all mistakes: unknown columns (did you mean), missing or unfitting units, values
/// that cannot be, unknown treatments, components or placements, rows without time or with two, dates before
/// the bags were laid out, the same bag twice, no measured column, mg/kg without bulk density and depth.
TrialData read_trial_data(std::string_view text, const std::string& name,
                          std::span<const TrialTreatmentNames> treatments = {}, const TrialSoil& soil = {});

}  // namespace stoverturn
