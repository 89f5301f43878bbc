#include "scenarios/trial/bag_measures.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

namespace stoverturn {
namespace {

struct Element {
  std::size_t content, left;
  Measure measure;
};
constexpr Element elements_of_bags[] = {
    {trial_nitrogen, trial_nitrogen_left, Measure::nitrogen_left},
    {trial_carbon, trial_carbon_left, Measure::carbon},
    {trial_phosphorus, trial_phosphorus_left, Measure::phosphorus_left},
    {trial_potassium, trial_potassium_left, Measure::potassium_left},
    {trial_sulfur, trial_sulfur_left, Measure::sulfur_left},
};
constexpr std::pair<std::size_t, Measure> as_measured[] = {
    {trial_respired_carbon, Measure::respired},
    {trial_mineral_nitrogen, Measure::mineral_nitrogen},
    {trial_cover, Measure::cover},
};

/// Treatment, component and placement: bags that hold the same.
using Group = std::tuple<std::string, std::string, std::string>;
Group group_of(const TrialRow& r) { return {r.treatment, r.component, r.placement}; }

double mean(const std::vector<double>& values) {
  double sum = 0.0;
  for (const double v : values) sum += v;
  return sum / static_cast<double>(values.size());
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

class Measurer {
 public:
  Measurer(const TrialData& data, const BagsPlan& bags,
           const std::function<BagReference(const std::string&)>& reference)
      : data_(data), bags_(bags), reference_(reference) {}

  BagMeasures measure() {
    for (std::size_t i = 0; i < data_.rows.size(); ++i) days_.push_back(days_of(data_.rows[i]));
    collect_day_0();
    for (std::size_t i = 0; i < data_.rows.size(); ++i) measure_row(i);
    mistakes_.throw_if_any();
    if (bags_.start_at_day_0) count_from_day_0();
    doubt();
    say_what_was_done();
    return std::move(out_);
  }

 private:
  double days_of(const TrialRow& r) {
    if (!r.date) return r.days;
    return static_cast<double>((*r.date - reference_(r.treatment).laid_out).count());
  }

  void collect_day_0() {
    for (std::size_t i = 0; i < data_.rows.size(); ++i) {
      if (days_[i] != 0.0) continue;
      const TrialRow& r = data_.rows[i];
      for (std::size_t f = 0; f < trial_fields.size(); ++f) {
        if (!std::isnan(r.values[f])) day_0_[{group_of(r), f}].push_back(r.values[f]);
      }
    }
  }

  double day_0(const TrialRow& r, std::size_t field) const {
    const auto found = day_0_.find({group_of(r), field});
    return found == day_0_.end() ? not_weighed : mean(found->second);
  }

  double initial_ash(const TrialRow& r) const {
    return std::isnan(bags_.initial_ash) ? day_0(r, trial_ash) : bags_.initial_ash;
  }

  /// Share of the mass put in that is left, corrected for ash. NaN where it was not weighed.
  double mass_left(const TrialRow& r) {
    const double share = std::isnan(r.values[trial_mass_left])
                             ? r.values[trial_mass] / r.values[trial_initial_mass]
                             : r.values[trial_mass_left];
    if (std::isnan(share) || bags_.ash == AshChoice::as_weighed) return share;
    const double ash = r.values[trial_ash], ash_0 = initial_ash(r);
    if (std::isnan(ash)) {
      ++without_ash_;
      return not_weighed;
    }
    if (std::isnan(ash_0)) {
      mistakes_.add({data_.name, r.line, 1},
                    "the ash correction needs the ash of what was put in: initial_ash under [bags], or day-0 "
                    "bags with ash");
      return not_weighed;
    }
    if (bags_.ash == AshChoice::ash_free) return share * (1.0 - ash) / (1.0 - ash_0);
    return share * (1.0 - (ash - ash_0) / (bags_.soil_ash - ash_0));
  }

  void add(std::size_t row, Measure measure, double value, std::size_t sd_field, double sd_factor) {
    if (std::isnan(value)) return;
    const TrialRow& r = data_.rows[row];
    out_.measures.push_back({row, measure, days_[row], value, sd_factor * r.sd[sd_field], r.n});
  }

  void measure_row(std::size_t i) {
    const TrialRow& r = data_.rows[i];
    const double left = mass_left(r);
    const bool weighed = std::isnan(r.values[trial_mass_left]);
    const double raw =
        weighed ? r.values[trial_mass] / r.values[trial_initial_mass] : r.values[trial_mass_left];
    const double corrected = std::isnan(left) ? 1.0 : left / raw;
    add(i, Measure::mass, left, weighed ? trial_mass : trial_mass_left,
        weighed ? corrected / r.values[trial_initial_mass] : corrected);
    for (const Element& e : elements_of_bags) {
      add(i, e.measure, r.values[e.left], e.left, 1.0);
      if (std::isnan(r.values[e.content]) || std::isnan(raw)) continue;
      double initial = day_0(r, e.content);
      if (std::isnan(initial)) {
        initial = reference_(r.treatment).initial_content(e.content, r.component);
        by_scenario_[e.content] = true;
      }
      add(i, e.measure, r.values[e.content] * raw / initial, e.content, raw / initial);
    }
    for (const auto& [field, measure] : as_measured) add(i, measure, r.values[field], field, 1.0);
  }

  void count_from_day_0() {
    std::map<std::pair<Group, Measure>, std::vector<double>> start;
    for (const BagMeasure& m : out_.measures) {
      if (m.days == 0.0) start[{group_of(data_.rows[m.row]), m.measure}].push_back(m.value);
    }
    for (BagMeasure& m : out_.measures) {
      if (m.measure == Measure::respired || m.measure == Measure::mineral_nitrogen ||
          m.measure == Measure::cover) {
        continue;
      }
      const auto found = start.find({group_of(data_.rows[m.row]), m.measure});
      if (found == start.end()) continue;
      const double at_start = mean(found->second);
      m.value /= at_start;
      m.sd /= at_start;
    }
  }

  void doubt() {
    std::map<Group, std::map<double, std::vector<const BagMeasure*>>> pulls;
    for (const BagMeasure& m : out_.measures) {
      if (m.measure == Measure::mass) pulls[group_of(data_.rows[m.row])][m.days].push_back(&m);
    }
    for (const auto& [group, by_time] : pulls) {
      double lowest = 2.0, lowest_at = 0.0;
      for (const auto& [days, bags] : by_time) {
        std::vector<double> values;
        for (const BagMeasure* b : bags) values.push_back(b->value);
        doubt_apart(bags, values);
        const double here = mean(values);
        if (here > lowest + 0.05) {
          doubt(*bags.front(),
                fmt::format("the bags of this pull hold {:.0f} % on average, more than the {:.0f} % "
                            "of day {:.0f}: they cannot gain mass (soil in the bags?)",
                            100.0 * here, 100.0 * lowest, lowest_at));
        }
        if (here < lowest) {
          lowest = here;
          lowest_at = days;
        }
      }
    }
    std::stable_sort(out_.doubts.begin(), out_.doubts.end(),
                     [](const BagDoubt& a, const BagDoubt& b) { return a.line < b.line; });
  }

  void doubt(const BagMeasure& m, std::string what) {
    out_.doubts.push_back({data_.rows[m.row].line, std::move(what)});
  }

  void doubt_apart(const std::vector<const BagMeasure*>& bags, const std::vector<double>& values) {
    const double centre = median(values);
    std::vector<double> apart;
    for (const double v : values) apart.push_back(std::abs(v - centre));
    // fewer than four fellows tell nothing; half a point of mass is the least spread bags have (assumption)
    const double spread = std::max(0.005, median(apart) / 0.6745);
    for (std::size_t i = 0; i < bags.size(); ++i) {
      if (values[i] < 0.0) doubt(*bags[i], "less than nothing is left after the ash correction");
      if (values[i] > 1.005 && bags[i]->days > 0.0) {
        doubt(*bags[i], fmt::format("{:.1f} % left, more than was put in", 100.0 * values[i]));
      }
      if (bags.size() >= 4 && apart[i] > 3.5 * spread) {
        doubt(*bags[i], fmt::format("{:.1f} % left, its {} fellows of that pull {:.1f} % (median)",
                                    100.0 * values[i], bags.size() - 1, 100.0 * centre));
      }
    }
  }

  void say_what_was_done() {
    if (bags_.ash == AshChoice::ash_free) out_.notes.emplace_back("Masses are free of ash.");
    if (bags_.ash == AshChoice::soil) out_.notes.emplace_back("Soil in the bags was taken off by its ash.");
    if (bags_.ash == AshChoice::as_weighed && data_.has(trial_ash)) {
      out_.notes.emplace_back(
          "Ash was measured and is not used: bags that hold soil look too heavy. Set ash = \"ash_free\" or "
          "\"soil\" under [bags].");
    }
    if (without_ash_ > 0) {
      out_.notes.push_back(
          fmt::format("{} weighed bags have no ash and are left out of the masses, since the others are "
                      "corrected for it.",
                      without_ash_));
    }
    for (const auto& [field, used] : by_scenario_) {
      if (used) {
        out_.notes.push_back(
            fmt::format("No day-0 bags with {0}: what was put in has the {0} of the scenario.",
                        trial_fields[field].name));
      }
    }
    if (bags_.start_at_day_0) out_.notes.emplace_back("Shares are of what the day-0 bags held.");
  }

  const TrialData& data_;
  const BagsPlan& bags_;
  const std::function<BagReference(const std::string&)>& reference_;
  std::vector<double> days_;
  std::map<std::pair<Group, std::size_t>, std::vector<double>> day_0_;
  std::map<std::size_t, bool> by_scenario_;
  int without_ash_ = 0;
  Mistakes mistakes_;
  BagMeasures out_;
};

}  // namespace

BagMeasures bag_measures(const TrialData& data, const BagsPlan& bags,
                         const std::function<BagReference(const std::string&)>& reference) {
  return Measurer(data, bags, reference).measure();
}

}  // namespace stoverturn
