#include "scenarios/trial/odd_bags.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "scenarios/trial/measure_names.hpp"

namespace stoverturn {
namespace {

constexpr double limit = 3.5;
constexpr double normal_quartile = 0.6745;
constexpr std::size_t fewest_others = 2;
constexpr double any_gain = 0.05;  // where replicates say nothing of the scatter

using Group =
    std::tuple<Measure, std::size_t, int, int, int>;  ///< measure, treatment, component, placement, pull

struct Member {
  std::size_t row;
  double value;
};
using Groups = std::map<Group, std::vector<Member>>;

double median_of_others(const std::vector<Member>& group, std::size_t left_out) {
  std::vector<double> others;
  for (std::size_t i = 0; i < group.size(); ++i) {
    if (i != left_out) others.push_back(group[i].value);
  }
  return median(others);
}

/// Robust size of a bag's difference from the others of its group, by measure; absent where no group has
/// three or all are alike.
std::map<Measure, double> deviations_of(const Groups& groups) {
  std::map<Measure, std::vector<double>> apart;
  for (const auto& [key, group] : groups) {
    for (std::size_t i = 0; i < group.size() && group.size() > fewest_others; ++i) {
      apart[std::get<Measure>(key)].push_back(std::abs(group[i].value - median_of_others(group, i)));
    }
  }
  std::map<Measure, double> deviation;
  for (const auto& [measure, differences] : apart) {
    const double size = median(differences) / normal_quartile;
    if (size > 0.0) deviation[measure] = size;
  }
  return deviation;
}

double size_of(const std::map<Measure, double>& deviations, Measure m) {
  const auto found = deviations.find(m);
  return found == deviations.end() ? not_weighed : found->second;
}

void far_from_others(const Groups& groups, const std::map<Measure, double>& deviations, Oddity why,
                     std::vector<OddBag>& odd) {
  for (const auto& [key, group] : groups) {
    const double size = size_of(deviations, std::get<Measure>(key));
    for (std::size_t i = 0; i < group.size() && group.size() > fewest_others; ++i) {
      const double reference = median_of_others(group, i);
      const double away = std::abs(group[i].value - reference) / size;
      if (away > limit)
        odd.push_back({group[i].row, 0, why, std::get<Measure>(key), group[i].value, reference, away});
    }
  }
}

void too_heavy(const Groups& groups, double size, std::vector<OddBag>& odd) {
  const std::vector<Member>* before = nullptr;
  Group before_key{};
  for (const auto& [key, group] : groups) {
    if (std::get<Measure>(key) != Measure::mass) continue;
    const bool same = before && std::get<1>(before_key) == std::get<1>(key) &&
                      std::get<2>(before_key) == std::get<2>(key) &&
                      std::get<3>(before_key) == std::get<3>(key);
    const int pull = std::get<4>(key);
    std::vector<double> earlier;
    for (std::size_t i = 0; same && i < before->size(); ++i) earlier.push_back((*before)[i].value);
    for (const Member& m : group) {
      const double over = (m.value - 1.0) / size;
      const bool at_start = pull == 0 && (std::isnan(over) ? m.value <= 1.0 + any_gain : over <= limit);
      if (m.value > 1.0 && !at_start)
        odd.push_back({m.row, 0, Oddity::above_all, Measure::mass, m.value, 1.0, over});
      if (earlier.empty()) continue;
      const double reference = median(earlier);
      const double gain = (m.value - reference) / size;
      if (gain > limit || (std::isnan(gain) && m.value - reference > any_gain))
        odd.push_back({m.row, 0, Oddity::gain_after_loss, Measure::mass, m.value, reference, gain});
    }
    before = &group;
    before_key = key;
  }
}

/// N contents by component, placement and day, treatments together: replicates are few where every third bag
/// is analysed.
Groups contents(const TrialData& data, const std::vector<TrialNumber>& numbers) {
  Groups groups;
  for (const TrialNumber& number : numbers) {
    const double content = data.rows[number.row].values[trial_nitrogen];
    if (number.measure != Measure::nitrogen_left || std::isnan(content) || content <= 0.0) continue;
    groups[{number.measure, 0, number.component, number.placement, number.pull}].push_back(
        {number.row, std::log(content)});
  }
  return groups;
}

}  // namespace

double median(std::vector<double> values) {
  if (values.empty()) return not_weighed;
  std::sort(values.begin(), values.end());
  const std::size_t n = values.size();
  return 0.5 * (values[(n - 1) / 2] + values[n / 2]);
}

std::vector<OddBag> odd_bags(const TrialData& data, const std::vector<TrialNumber>& numbers) {
  Groups groups;
  for (const TrialNumber& n : numbers) {
    groups[{n.measure, n.treatment, n.component, n.placement, n.pull}].push_back({n.row, n.value});
  }
  const std::map<Measure, double> deviations = deviations_of(groups);
  std::vector<OddBag> odd;
  far_from_others(groups, deviations, Oddity::off_its_group, odd);
  too_heavy(groups, size_of(deviations, Measure::mass), odd);
  const Groups of_contents = contents(data, numbers);
  const std::size_t first_content = odd.size();
  far_from_others(of_contents, deviations_of(of_contents), Oddity::odd_content, odd);
  for (std::size_t i = first_content; i < odd.size(); ++i) {
    odd[i].value = std::exp(odd[i].value);
    odd[i].reference = std::exp(odd[i].reference);
  }
  for (OddBag& bag : odd) bag.line = data.rows[bag.row].line;
  std::stable_sort(odd.begin(), odd.end(), [](const OddBag& a, const OddBag& b) {
    return std::tuple(a.line, a.why, a.measure) < std::tuple(b.line, b.why, b.measure);
  });
  return odd;
}

std::string why_odd(const OddBag& bag) {
  const std::string_view name = name_of(bag.measure).name;
  const std::string away =
      std::isnan(bag.deviations) ? "" : fmt::format(", {:.1f} robust deviations away", bag.deviations);
  switch (bag.why) {
    case Oddity::above_all:
      return fmt::format("{:.1f} % of what was put in", 100.0 * bag.value);
    case Oddity::gain_after_loss:
      return fmt::format("{:.1f} % left after {:.1f} % at the pull before", 100.0 * bag.value,
                         100.0 * bag.reference);
    case Oddity::odd_content:
      return fmt::format("N content {:.3g} g/kg, the others' {:.3g}{}", 1000.0 * bag.value,
                         1000.0 * bag.reference, away);
    case Oddity::off_its_group:
      break;
  }
  if (name_of(bag.measure).unit == "1") {
    return fmt::format("{} {:.1f} %, the others' {:.1f} %{}", name, 100.0 * bag.value, 100.0 * bag.reference,
                       away);
  }
  return fmt::format("{} {:.3g} {}, the others' {:.3g}{}", name, bag.value, name_of(bag.measure).unit,
                     bag.reference, away);
}

}  // namespace stoverturn
