#pragma once
#include "scenarios/charts/chart.hpp"

namespace stoverturn {

/// A number and how it spreads; NaN where it is not known.
struct RunInterval {
  double lowest, low, middle, high, highest;
};

/// Adds number fields "lowest", "low", "middle", "high" and "highest", all with one title.
void add_intervals(Chart& chart, const std::string& title, const Shown& shown,
                   const std::vector<RunInterval>& intervals);

/// Dots at "middle" with a thick bar from "low" to "high" and a thin line from "lowest" to "highest", lying.
/// Each value of `row` stands as a heading above its marks, so that long names fit on a phone; within it one
/// mark a value of `series`, told apart by colour and shape; one mark where `series` is "". Sets the height
/// of the chart. Throws std::out_of_range where a field is missing.
struct IntervalsForm {
  std::string_view row, series = "";  ///< text fields
};
nlohmann::json intervals(Chart& chart, const IntervalsForm& form);

/// The axis of numbers has a field of these along x: adds to a layered spec an upright line at a shown value.
void add_upright_level(nlohmann::json& spec, double shown_value, std::string_view word);

/// RunSpread against an ordered text or date field `x`, upright: a line and a band a series, where there are
/// "lowest" to "highest"; the band is that from "low" to "high", or else the outer one.
nlohmann::json interval_lines(const Chart& chart, std::string_view x, std::string_view series);

}  // namespace stoverturn
