#pragma once
#include <string_view>

#include "scenarios/charts/chart.hpp"
#include "scenarios/stand/stand_report.hpp"

namespace stoverturn {

/// How stand counts are shown in one system of units: per acre, bu/acre and $/acre, or per ha and t/ha.
struct StandShown {
  bool us = true;
  Shown per_area, yield, money;  ///< from per m2, g m-2 and currency m-2
};
StandShown stand_shown(const StandReport& report, std::string_view units);

/// "1,375", "1.4": of what is counted, in the system.
std::string shown_count(const StandShown& shown, double per_m2);
/// "all" where the sheet names no treatment.
std::string shown_treatment(const std::string& name);
/// "opened less left long"
std::string pair_name(const std::string& treatment, const std::string& against);

/// The counts beyond chance, not so, or without an interval.
enum class StandVerdict { shown, not_shown, open };
StandVerdict verdict_of(const Interval& between);
std::string_view to_string(StandVerdict verdict);

/// Canonical values of an effect: grain g m-2 and money m-2.
double yield_g_m2(double bu_acre);
double money_m2(double per_acre);

/// Each strip and the mean with its interval, by treatment; named after what is counted ("late-plants").
Chart stand_counts_chart(const StandReport& report, std::size_t count, const StandShown& shown);
/// Differences with intervals and a line at zero; a small chart a pair where there are several.
Chart stand_differences_chart(const StandReport& report, const StandShown& shown);
/// What differences are worth, in money where there is a price, else in grain; without rows where neither is
/// known.
Chart stand_worth_chart(const StandReport& report, const StandShown& shown);

}  // namespace stoverturn
