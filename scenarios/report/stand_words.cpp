#include "scenarios/report/stand_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

namespace stoverturn {
namespace {

/// "between 375 and 2,375", with fewer digits where numbers are large.
int digits_for(double value) { return std::abs(value) >= 20.0 ? 0 : std::abs(value) >= 1.0 ? 1 : 2; }
std::string shown_in(const Shown& shown, double canonical) {
  const double value = shown(canonical);
  return fmt::format("{} {}", shown_number(value, digits_for(value)), shown.unit);
}
/// "opened had 1,375 more plants per acre than left long"
std::string comparison(const StandShown& shown, const StandDifference& d) {
  return fmt::format("{} had {} {} {} {} than {}{}", shown_treatment(d.treatment),
                     shown_count(shown, std::abs(d.difference)), d.difference < 0.0 ? "fewer" : "more",
                     stand_counts[d.count].name, shown.per_area.unit, shown_treatment(d.against),
                     in_thousandth(shown, d.difference));
}

std::string chance_words(const StandModel& m) {
  if (!std::isfinite(m.treatments.probability)) return "";
  const double in_100 = 100.0 * m.treatments.probability;
  return fmt::format(
      " Were all treatments alike, counts as far apart as these would come up in {} of 100 such fields "
      "(F = {:.2f}).",
      in_100 < 1.0 ? "fewer than 1" : fmt::format("{:.0f}", in_100), m.treatments.F);
}

}  // namespace

std::string shown_range(const Shown& shown, double lower, double upper) {
  if (!std::isfinite(lower) || !std::isfinite(upper)) return "-";
  const double a = shown(lower), b = shown(upper);
  const int digits = digits_for(std::max(std::abs(a), std::abs(b)));
  return fmt::format("{} to {}", shown_number(a, digits), shown_number(b, digits));
}
std::string capitalised(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

/// Counts per thousandth of an acre, as the trade has them; only in US units.
std::string in_thousandth(const StandShown& shown, double per_m2) {
  return shown.us ? fmt::format(" ({} in a thousandth of an acre)",
                                shown_number(std::abs(per_m2) * thousandth_acre_m2, 1))
                  : "";
}

std::string verdict_words(const StandShown& shown, const StandDifference& d) {
  const std::string found = capitalised(comparison(shown, d));
  const double low = std::min(std::abs(d.between.lower), std::abs(d.between.upper)),
               high = std::max(std::abs(d.between.lower), std::abs(d.between.upper));
  switch (verdict_of(d.between)) {
    case StandVerdict::shown:
      return fmt::format("{}. That is beyond chance: {} to {} {} fit the counts.", found,
                         shown_count(shown, low), shown_count(shown, high),
                         d.difference < 0.0 ? "fewer" : "more");
    case StandVerdict::not_shown:
      return fmt::format(
          "{}. The counts do not show a difference: anything from {} fewer to {} more fits them.", found,
          shown_count(shown, -d.between.lower), shown_count(shown, d.between.upper));
    case StandVerdict::open:
      break;
  }
  return fmt::format("{}. Whether that is chance cannot be told from these counts.", found);
}

std::string rate_words(const StandShown& shown, const StandRate& r) {
  std::string text = fmt::format("{}: {} {} {}", capitalised(shown_treatment(r.treatment)),
                                 shown_count(shown, r.rate), stand_counts[r.count].name, shown.per_area.unit);
  if (std::isfinite(r.between.lower)) {
    text += fmt::format(", between {} and {}", shown_count(shown, r.between.lower),
                        shown_count(shown, r.between.upper));
  }
  return text + in_thousandth(shown, r.rate) + ".";
}

/// Of one effect, "63 $/acre (41 to 86)"; "" where neither money nor grain is known.
std::string effect_amount(const StandShown& system, const StandEffect* e, bool turned) {
  if (!e) return "";
  const bool money = std::isfinite(e->value_acre);
  if (!money && !std::isfinite(e->yield_bu_acre)) return "";
  const auto canonical = [&](double x) {
    return (turned ? -1.0 : 1.0) * (money ? money_m2(x) : yield_g_m2(x));
  };
  const Shown& shown = money ? system.money : system.yield;
  const Interval& between = money ? e->value_between : e->yield_between;
  std::string text = shown_in(shown, canonical(money ? e->value_acre : e->yield_bu_acre));
  if (!std::isfinite(between.lower)) return text;
  return text + fmt::format(" ({})", shown_range(shown, canonical(turned ? between.upper : between.lower),
                                                 canonical(turned ? between.lower : between.upper)));
}

std::string model_words(const StandModel& m) {
  std::string text =
      fmt::format("{}: {} {}{}.", capitalised(std::string(stand_counts[m.count].name)), m.units,
                  m.by_plots ? "strips' counts, rows of a strip added together" : "rows",
                  m.strip_effect ? ", compared within strips (each strip has a level of its own)" : "");
  if (m.freedom == 0) {
    return text +
           " How much strips scatter cannot be told; they are taken as random, so the interval may be much "
           "too narrow.";
  }
  text += fmt::format(" They scatter {} times as much as random counts would ({} degrees of freedom).",
                      shown_number(m.dispersion, 2), m.freedom);
  const std::string factor = shown_number(std::sqrt(m.dispersion), 1);
  if (m.dispersion > 1.0) {
    text += fmt::format(" The interval is {} times as wide for it.", factor);
  } else {
    text += fmt::format(" The interval is {} times as wide for it; planters space evenly.", factor);
    if (m.freedom < 10) text += " With so few degrees of freedom it may be luck too: then it is too narrow.";
  }
  return text + chance_words(m);
}

}  // namespace stoverturn
