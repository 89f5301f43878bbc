#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/results/shown.hpp"
#include "scenarios/trial/fit_result.hpp"

/// What belongs together in a fit, for its charts and words.
namespace stoverturn {

/// Where a curve or a bag is shown: the small chart of its treatment, and there the line of its placement and
/// component ("" where bags are not told apart).
struct CurvePlace {
  std::string treatment, where;
};
CurvePlace place_of(const FitResult& fit, const FitCurve& curve);

/// The curve that a measured number belongs to; nullptr where there is none.
const FitCurve* curve_of(const FitResult& fit, const FitResidual& residual);

/// What is measured or predicted, each once, with its unit.
struct FitMeasure {
  std::string name, unit;
};
std::vector<FitMeasure> measures_of(const FitResult& fit);

/// How people see a measure: shares in %, amounts of an area in kg/ha or lb/acre.
Shown shown_measure(const FitMeasure& measure, std::string_view units);

/// Names of what is derived, each once; ratios to different treatments are one.
inline constexpr const char* rate_ratio = "rate ratio";
std::string derived_group(const DerivedQuantity& quantity);
std::vector<std::string> derived_groups(const FitResult& fit);
/// Of which treatment it is, with the one that it is compared with: "opened against closed".
std::string derived_label(const DerivedQuantity& quantity);
/// A label inside a sentence: in quotes where it holds a comma.
std::string in_sentence(const std::string& label);
/// Not reached within the run, as far as is known.
bool never_reached(const DerivedQuantity& quantity);

/// For sentences: "588 days (570 to 608)", "0.0115 per day".
std::string quantity_words(const DerivedQuantity& quantity);

/// With a capital at the beginning.
std::string capital(std::string text);

/// Letters, digits and `gap` alone, for names of charts ('-') and fields ('_').
std::string plain_name(std::string_view text, char gap);

/// Half the chi-square quantile of one degree of freedom: how far the cost rises to the ends of an interval.
double cost_at_interval(double level);

}  // namespace stoverturn
