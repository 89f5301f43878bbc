#include "scenarios/stand/stand_units.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

namespace stoverturn {
namespace {

template <class T>
int index_of(const std::vector<T>& all, const T& one) {
  return static_cast<int>(std::find(all.begin(), all.end(), one) - all.begin());
}

/// Treatments and strips whose every count is 0 go, again until none is left.
void leave_out_empty(std::vector<StandUnitCount>& units) {
  for (const auto member : {&StandUnitCount::treatment, &StandUnitCount::strip, &StandUnitCount::treatment}) {
    std::set<int> found;
    for (const StandUnitCount& u : units) {
      if (u.count > 0.0) found.insert(u.*member);
    }
    std::erase_if(units, [&](const StandUnitCount& u) { return !found.contains(u.*member); });
  }
}

/// Whether strips join all treatments.
bool joined(const std::vector<StandUnitCount>& units) {
  if (units.empty()) return false;
  std::set<int> strips, treatments = {units.front().treatment};
  for (bool more = true; more;) {
    more = false;
    for (const StandUnitCount& u : units) {
      if (treatments.contains(u.treatment)) more |= strips.insert(u.strip).second;
      if (strips.contains(u.strip)) more |= treatments.insert(u.treatment).second;
    }
  }
  return std::all_of(units.begin(), units.end(),
                     [&](const StandUnitCount& u) { return treatments.contains(u.treatment); });
}

std::vector<int> sorted_set(const std::vector<StandUnitCount>& units, int StandUnitCount::*member) {
  std::set<int> found;
  for (const StandUnitCount& u : units) found.insert(u.*member);
  return {found.begin(), found.end()};
}

StandLayout laid_out(std::vector<StandUnitCount> units, bool by_plots, bool strip_effect) {
  StandLayout layout;
  layout.by_plots = by_plots;
  layout.strip_effect = strip_effect;
  layout.treatments = sorted_set(units, &StandUnitCount::treatment);
  const std::vector<int> strips = sorted_set(units, &StandUnitCount::strip);
  layout.strips = static_cast<int>(strips.size());
  const auto n = static_cast<Eigen::Index>(units.size());
  const auto t = static_cast<Eigen::Index>(layout.treatments.size());
  layout.counts.resize(n);
  layout.areas.resize(n);
  layout.design = Eigen::MatrixXd::Zero(n, t + (strip_effect ? layout.strips - 1 : 0));
  for (Eigen::Index i = 0; i < n; ++i) {
    const StandUnitCount& u = units[static_cast<std::size_t>(i)];
    layout.counts(i) = u.count;
    layout.areas(i) = u.area_m2;
    layout.design(i, index_of(layout.treatments, u.treatment)) = 1.0;
    const int strip = index_of(strips, u.strip);
    if (strip_effect && strip > 0) layout.design(i, t + strip - 1) = 1.0;
  }
  layout.units = std::move(units);
  return layout;
}

}  // namespace

std::vector<std::string> strip_names(const StandData& data) {
  std::vector<std::string> strips;
  for (const StandRow& r : data.rows) {
    if (index_of(strips, r.strip) == static_cast<int>(strips.size())) strips.push_back(r.strip);
  }
  return strips;
}

std::vector<StandUnitCount> stand_units(const StandData& data, std::size_t count, bool by_plots) {
  const std::vector<std::string> strips = strip_names(data);
  std::vector<StandUnitCount> units;
  for (const StandRow& r : data.rows) {
    if (std::isnan(r.counts[count])) continue;
    const int treatment = index_of(data.treatments, r.treatment), strip = index_of(strips, r.strip);
    auto unit = std::find_if(units.begin(), units.end(), [&](const StandUnitCount& u) {
      return by_plots && u.treatment == treatment && u.strip == strip;
    });
    if (unit == units.end()) unit = units.insert(units.end(), {treatment, strip, 0, 0.0, 0.0, 0.0});
    ++unit->rows;
    unit->count += r.counts[count];
    unit->area_m2 += r.area_m2();
    unit->length_mm += r.length_mm;
  }
  return units;
}

StandLayout stand_layout(const StandData& data, std::size_t count, StandUnit unit) {
  const auto with = [&](bool by_plots) {
    std::vector<StandUnitCount> units = stand_units(data, count, by_plots);
    leave_out_empty(units);
    const bool strips_join = joined(units) && sorted_set(units, &StandUnitCount::strip).size() > 1;
    return laid_out(std::move(units), by_plots, strips_join);
  };
  StandLayout plots = with(true);
  if (unit == StandUnit::plots) return plots;
  StandLayout rows = with(false);
  if (unit == StandUnit::rows || rows.units.size() == plots.units.size()) return rows;
  return plots.design.rows() - plots.design.cols() >= 2 ? plots : rows;
}

}  // namespace stoverturn
