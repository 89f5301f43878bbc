#include "scenarios/trial/trial_look.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>
#include <boost/math/distributions/students_t.hpp>

namespace stoverturn {
namespace {

constexpr std::array<std::string_view, measures> measure_words = {
    "mass left",       "carbon left",      "nitrogen left",
    "phosphorus left", "potassium left",   "sulfur left",
    "respired carbon", "mineral nitrogen", "cover"};

double t_at(double level, double freedom) {
  return boost::math::quantile(boost::math::students_t(freedom), 0.5 + 0.5 * level);
}

/// Mean and variance between bags, of bags and of means of bags together.
struct Pooled {
  int n = 0;
  double sum = 0.0, squares = 0.0;

  void add(double value, double sd, int bags) {
    n += bags;
    sum += bags * value;
    squares += bags * value * value + (std::isnan(sd) ? 0.0 : (bags - 1) * sd * sd);
    lacks_sd = lacks_sd || (bags > 1 && std::isnan(sd));
  }
  bool lacks_sd = false;
  double mean() const { return sum / n; }
  double variance() const {
    return n < 2 || lacks_sd ? not_weighed : std::max(0.0, (squares - n * mean() * mean()) / (n - 1));
  }
};

using Key = std::tuple<Measure, std::string, std::string, double, std::string>;

double shown(Measure m, double value) {
  return m == Measure::mineral_nitrogen ? 10.0 * value : 100.0 * value;
}
std::string_view shown_unit(Measure m) { return m == Measure::mineral_nitrogen ? "kg/ha" : "%"; }

std::string where(const std::string& component, const std::string& placement) {
  if (component.empty()) return placement;
  return placement.empty() ? component : component + ", " + placement;
}

}  // namespace

std::string_view to_string(Measure measure) { return measure_words[static_cast<std::size_t>(measure)]; }

TrialLook look_at(const TrialData& data, const BagMeasures& bags, double level) {
  std::map<Key, Pooled> groups;
  for (const BagMeasure& m : bags.measures) {
    const TrialRow& r = data.rows[m.row];
    groups[{m.measure, r.component, r.placement, m.days, r.treatment}].add(m.value, m.sd, m.n);
  }
  TrialLook look;
  look.level = level;
  for (const auto& [key, g] : groups) {
    const auto& [measure, component, placement, days, treatment] = key;
    PullSummary s{treatment, component, placement, measure, days, g.n, g.mean(), std::sqrt(g.variance())};
    if (!std::isnan(s.sd)) {
      const double half = t_at(level, g.n - 1) * s.sd / std::sqrt(g.n);
      s.lower = s.mean - half;
      s.upper = s.mean + half;
    }
    look.pulls.push_back(s);
  }
  for (auto a = groups.begin(); a != groups.end(); ++a) {
    for (auto b = std::next(a); b != groups.end(); ++b) {
      const auto& [measure, component, placement, days, treatment] = a->first;
      if (std::tie(measure, component, placement, days) !=
          std::tie(std::get<0>(b->first), std::get<1>(b->first), std::get<2>(b->first),
                   std::get<3>(b->first))) {
        break;  // groups are in this order
      }
      const double va = a->second.variance() / a->second.n, vb = b->second.variance() / b->second.n;
      if (!(va + vb > 0.0)) continue;
      const double freedom =
          (va + vb) * (va + vb) / (va * va / (a->second.n - 1) + vb * vb / (b->second.n - 1));
      const double difference = a->second.mean() - b->second.mean();
      const double half = t_at(level, freedom) * std::sqrt(va + vb);
      look.differences.push_back({treatment, std::get<4>(b->first), component, placement, measure, days,
                                  difference, difference - half, difference + half});
    }
  }
  return look;
}

std::string printed_look(const TrialLook& look, const TrialData& data, const BagMeasures& bags) {
  std::string text =
      fmt::format("{}: {} rows, {} numbers measured\n", data.name, data.rows.size(), bags.measures.size());
  const PullSummary* before = nullptr;
  for (const PullSummary& s : look.pulls) {
    if (!before || before->measure != s.measure || before->component != s.component ||
        before->placement != s.placement) {
      text +=
          fmt::format("\n{} [{}]{}\n  {:>6}  {:<28} {:>3}  {:>7}  {:>6}  {:.0f} % interval of the mean\n",
                      to_string(s.measure), shown_unit(s.measure),
                      where(s.component, s.placement).empty() ? "" : ", " + where(s.component, s.placement),
                      "day", "treatment", "n", "mean", "sd", 100.0 * look.level);
    }
    before = &s;
    text +=
        fmt::format("  {:>6.0f}  {:<28} {:>3}  {:>7.1f}", s.days, s.treatment, s.n, shown(s.measure, s.mean));
    text += std::isnan(s.sd) ? fmt::format("  {:>6}\n", "-")
                             : fmt::format("  {:>6.1f}  {:.1f} to {:.1f}\n", shown(s.measure, s.sd),
                                           shown(s.measure, s.lower), shown(s.measure, s.upper));
  }
  bool any = false;
  for (const PullDifference& d : look.differences) {
    if (d.lower <= 0.0 && d.upper >= 0.0) continue;
    if (!any) {
      text += fmt::format(
          "\nDifferences that their {:.0f} % interval tells from zero (Welch's t, each pull by itself: of "
          "twenty "
          "pulls without any\ndifference {:.0f} would stand here too)\n",
          100.0 * look.level, 20.0 * (1.0 - look.level));
    }
    any = true;
    text += fmt::format(
        "  {:>6.0f}  {}{}: '{}' less '{}' {:+.1f} {} ({:+.1f} to {:+.1f})\n", d.days, to_string(d.measure),
        where(d.component, d.placement).empty() ? "" : ", " + where(d.component, d.placement), d.treatment,
        d.other, shown(d.measure, d.difference), d.measure == Measure::mineral_nitrogen ? "kg/ha" : "points",
        shown(d.measure, d.lower), shown(d.measure, d.upper));
  }
  if (!any && !look.differences.empty()) {
    text += "\nNo pull by itself tells two treatments apart at this level.\n";
  }
  if (!bags.doubts.empty()) text += "\nLook at these; none of them is left out\n";
  for (const BagDoubt& d : bags.doubts) text += fmt::format("  line {}: {}\n", d.line, d.what);
  if (!bags.notes.empty()) text += "\n";
  for (const std::string& note : bags.notes) text += fmt::format("Note: {}\n", note);
  return text;
}

}  // namespace stoverturn
