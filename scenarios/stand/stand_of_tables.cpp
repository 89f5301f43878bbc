#include <algorithm>

#include "scenarios/results/tidy_rows.hpp"
#include "scenarios/stand/stand_tables.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

template <class Row>
void set_counted(const TidyRows& table, std::vector<Row>& rows) {
  const std::vector<std::string> names = table.texts("counted");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto* at = std::find_if(stand_counts.begin(), stand_counts.end(),
                                  [&](const StandCountName& c) { return c.name == names[i]; });
    rows[i].count = at == stand_counts.end() ? 0 : static_cast<std::size_t>(at - stand_counts.begin());
  }
}

constexpr double per_m2 = 1.0 / hectare_m2;
double foot_mm() { return unit_factor("ft", Kind::length); }

std::vector<StandPlot> plots_in(const TidyRows& c) {
  std::vector<StandPlot> rows(c.rows());
  c.set(rows, "treatment", &StandPlot::treatment);
  c.set(rows, "strip", &StandPlot::strip);
  set_counted(c, rows);
  c.set(rows, "rows", &StandPlot::rows);
  c.set(rows, "number", &StandPlot::counted);
  c.set(rows, "length_ft", &StandPlot::length_mm, foot_mm());
  c.set(rows, "per_hectare", &StandPlot::rate, per_m2);
  return rows;
}

std::vector<StandRate> rates_in(const TidyRows& c) {
  std::vector<StandRate> rows(c.rows());
  c.set(rows, "treatment", &StandRate::treatment);
  set_counted(c, rows);
  c.set(rows, "number", &StandRate::counted);
  c.set(rows, "length_ft", &StandRate::length_mm, foot_mm());
  c.set(rows, "strips", &StandRate::strips);
  c.set(rows, "rows", &StandRate::rows);
  c.set(rows, "per_hectare", &StandRate::rate, per_m2);
  c.set(rows, "lower_per_hectare", "upper_per_hectare", &StandRate::between, per_m2);
  return rows;
}

std::vector<StandDifference> differences_in(const TidyRows& c) {
  std::vector<StandDifference> rows(c.rows());
  c.set(rows, "treatment", &StandDifference::treatment);
  c.set(rows, "against", &StandDifference::against);
  set_counted(c, rows);
  c.set(rows, "per_hectare", &StandDifference::difference, per_m2);
  c.set(rows, "lower_per_hectare", "upper_per_hectare", &StandDifference::between, per_m2);
  c.set(rows, "ratio", &StandDifference::ratio);
  c.set(rows, "lower_ratio", "upper_ratio", &StandDifference::ratio_between);
  c.set(rows, "units_needed", &StandDifference::units_needed);
  c.set(rows, "length_needed_ft", &StandDifference::length_needed_mm, foot_mm());
  return rows;
}

std::vector<StandEffect> effects_in(const TidyRows& c) {
  std::vector<StandEffect> rows(c.rows());
  c.set(rows, "treatment", &StandEffect::treatment);
  c.set(rows, "against", &StandEffect::against);
  c.set(rows, "share_of_full_yield", &StandEffect::share);
  c.set(rows, "bu_acre", &StandEffect::yield_bu_acre);
  c.set(rows, "lower_bu_acre", "upper_bu_acre", &StandEffect::yield_between);
  c.set(rows, "value_acre", &StandEffect::value_acre);
  c.set(rows, "lower_value_acre", "upper_value_acre", &StandEffect::value_between);
  const std::vector<std::string> by = c.texts("by");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    for (const StandEffectBy one : {StandEffectBy::ears, StandEffectBy::stand, StandEffectBy::late}) {
      if (to_string(one) == by[i]) rows[i].by = one;
    }
  }
  return rows;
}

std::vector<StandModel> models_in(const TidyRows& c) {
  std::vector<StandModel> rows(c.rows());
  set_counted(c, rows);
  c.set(rows, "units", &StandModel::units);
  c.set(rows, "freedom", &StandModel::freedom);
  c.set(rows, "dispersion", &StandModel::dispersion);
  const std::vector<std::string> unit = c.texts("unit"), strips = c.texts("strip_effect");
  const std::vector<double> F = c.numbers("F"), probability = c.numbers("F_probability");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    rows[i].by_plots = unit[i] == "plot";
    rows[i].strip_effect = strips[i] == "yes";
    rows[i].treatments.F = F[i];
    rows[i].treatments.probability = probability[i];
  }
  return rows;
}

void read_settings(const TidyRows& c, StandReport& report) {
  if (c.rows() == 0) return;
  report.level = c.numbers("level").front();
  report.power = c.numbers("power").front();
  report.width_mm = c.numbers("row_width_in").front() * unit_factor("in", Kind::length);
  report.prices = {c.numbers("price_bu").front(), c.numbers("bu_per_ear").front(),
                   c.numbers("full_yield_bu_acre").front(), c.texts("currency").front()};
  report.usual_ear = c.texts("usual_ear").front() == "yes";
}

}  // namespace

StandReport stand_of_tables(const TidyFile& file) {
  StandReport report;
  report.name = file.title;
  const TidyRows treatments(file, "treatments");
  report.treatments = treatments.texts("treatment");
  report.yield_share = treatments.numbers("yield_share");
  report.late_loss = treatments.numbers("late_loss");
  report.plots = plots_in({file, "plots"});
  report.rates = rates_in({file, "rates"});
  report.differences = differences_in({file, "differences"});
  report.models = models_in({file, "models"});
  report.effects = effects_in({file, "effects"});
  report.notes = file.notes;
  read_settings({file, "settings"}, report);
  return report;
}

}  // namespace stoverturn
