#pragma once
#include <string>

#include "scenarios/report/stand_charts.hpp"

/// Sentences about stand counts, from the numbers.
namespace stoverturn {

/// "41 to 86", with digits as the size of the numbers deserves; "-" where an end is not known.
std::string shown_range(const Shown& shown, double lower, double upper);
std::string capitalised(std::string text);

/// " (1.4 in a thousandth of an acre)", as the trade has it; only in US units, else "".
std::string in_thousandth(const StandShown& shown, double per_m2);

/// What was found, and whether chance alone may give it.
std::string verdict_words(const StandShown& shown, const StandDifference& d);
std::string rate_words(const StandShown& shown, const StandRate& r);

/// "63 $/acre (41 to 86)", in grain where there is no price; "" for nullptr and where neither is known.
/// `turned`: as the other treatment over this one.
std::string effect_amount(const StandShown& shown, const StandEffect* e, bool turned);

/// How counts of one kind were taken together, how much they scatter and what the interval makes of it.
std::string model_words(const StandModel& m);

}  // namespace stoverturn
