#include "scenarios/design/design_words.hpp"

#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/shown.hpp"
#include "scenarios/results/text_table.hpp"

namespace stoverturn {

std::string percent_words(double share, int digits) { return shown_number(100.0 * share, digits); }

std::string wider_words(double ratio) {
  return std::isfinite(ratio) ? fmt::format("{:+.0f} %", 100.0 * (ratio - 1.0)) : "-";
}

std::string share_with_error(double share, double se) {
  return std::isfinite(share) ? fmt::format("{} +- {}", percent_words(share), percent_words(se)) : "-";
}

std::string interval_words(const Interval& interval, std::string_view word) {
  return fmt::format("{} {} {}", short_number(interval.lower), word, short_number(interval.upper));
}

}  // namespace stoverturn
