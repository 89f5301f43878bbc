#include "scenarios/trial/trial_look.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <boost/math/distributions/students_t.hpp>

#include "scenarios/trial/measure_names.hpp"

namespace stoverturn {
namespace {

/// n, mean and sd of rows that may be means themselves: sums of squares within and between rows.
struct Pooled {
  int n = 0;
  double sum = 0.0;
  double within = 0.0;  ///< NaN once a mean of several bags does not state its sd
  std::vector<std::pair<double, int>> rows;

  void add(const TrialNumber& x) {
    n += x.n;
    sum += x.n * x.value;
    if (x.n > 1) within += (x.n - 1) * x.sd * x.sd;
    rows.emplace_back(x.value, x.n);
  }
  double mean() const { return sum / n; }
  double sd() const {
    if (n < 2) return not_there;
    double squares = within;
    for (const auto& [value, count] : rows) squares += count * (value - mean()) * (value - mean());
    return std::sqrt(squares / (n - 1));
  }
};

/// What is compared: measure, component, placement.
using Kind3 = std::tuple<Measure, int, int>;
/// treatment -> pull -> bags
using Courses = std::map<std::size_t, std::map<int, Pooled>>;

std::string component_name(const Treatment& t, int component) {
  return component < 0 ? "" : t.parameters.component_names[static_cast<std::size_t>(component)];
}

class Look {
 public:
  Look(const LoadedTrial& trial, TrialLook& out) : trial_(trial), out_(out) {}

  void add(const TrialNumbers& numbers) {
    std::map<Kind3, Courses> kinds;
    for (const TrialNumber& x : numbers.numbers) {
      kinds[{x.measure, x.component, x.placement}][x.treatment][x.pull].add(x);
    }
    for (const auto& [kind, courses] : kinds) {
      for (const auto& [t, course] : courses) add_groups(kind, t, course);
      add_differences(kind, courses);
    }
    for (const HandlingLoss& h : numbers.handling) add_handling(h);
    for (const OddBag& bag : odd_bags(trial_.data, numbers.numbers)) add_odd(bag, numbers);
  }

 private:
  const Treatment& treatment(std::size_t t) const { return trial_.scenario.treatments[t]; }

  void add_groups(const Kind3& kind, std::size_t t, const std::map<int, Pooled>& course) {
    const auto& [measure, component, placement] = kind;
    for (const auto& [pull, bags] : course) {
      out_.groups.push_back({trial_.source.site, treatment(t).label, component_name(treatment(t), component),
                             std::string(placement_name(placement)), std::string(name_of(measure).name),
                             std::string(name_of(measure).unit), pull,
                             treatment(t).first().date + std::chrono::days{pull}, bags.n, bags.mean(),
                             bags.sd()});
    }
  }

  void add_differences(const Kind3& kind, const Courses& courses) {
    for (auto a = courses.begin(); a != courses.end(); ++a) {
      for (auto b = std::next(a); b != courses.end(); ++b) {
        std::vector<int> common;
        for (const auto& [pull, bags] : a->second) {
          if (b->second.count(pull)) common.push_back(pull);
        }
        std::vector<int> counted;
        for (const int pull : common) {
          if (pull > 0 && bags_of(*a, pull).n > 1 && bags_of(*b, pull).n > 1) counted.push_back(pull);
        }
        if (counted.size() > 1) add_difference(kind, *a, *b, counted, -1);
        for (const int pull : common) add_difference(kind, *a, *b, {pull}, pull);
      }
    }
  }

  using Course = Courses::value_type;
  static const Pooled& bags_of(const Course& course, int pull) { return course.second.at(pull); }

  void add_difference(const Kind3& kind, const Course& a, const Course& b, const std::vector<int>& pulls,
                      int pull) {
    const auto& [measure, component, placement] = kind;
    LookDifference d{trial_.source.site,
                     treatment(a.first).label,
                     treatment(b.first).label,
                     component_name(treatment(a.first), component),
                     std::string(placement_name(placement)),
                     std::string(name_of(measure).name),
                     std::string(name_of(measure).unit),
                     pull,
                     0,
                     0,
                     not_there,
                     not_there,
                     not_there,
                     {}};
    std::vector<WelchTerm> terms;
    const double share = 1.0 / static_cast<double>(pulls.size());
    for (const int p : pulls) {
      const Pooled& first = bags_of(a, p);
      const Pooled& second = bags_of(b, p);
      d.n_first += first.n;
      d.n_second += second.n;
      terms.push_back({-share, first.mean(), first.sd(), first.n});
      terms.push_back({share, second.mean(), second.sd(), second.n});
    }
    const WelchInterval w = welch(terms, out_.level);
    d.difference = w.value;
    d.se = w.se;
    d.freedom = w.freedom;
    d.between = w.between;
    out_.differences.push_back(d);
  }

  void add_handling(const HandlingLoss& h) {
    const WelchInterval w = welch({{1.0, h.loss, h.sd, h.n}}, out_.level);
    out_.handling.push_back({trial_.source.site, treatment(h.treatment).label,
                             component_name(treatment(h.treatment), h.component),
                             std::string(placement_name(h.placement)), h.n, h.loss, w.between});
  }

  void add_odd(const OddBag& bag, const TrialNumbers& numbers) {
    const TrialRow& row = trial_.data.rows[bag.row];
    const auto number = std::find_if(numbers.numbers.begin(), numbers.numbers.end(),
                                     [&](const TrialNumber& x) { return x.row == bag.row; });
    out_.odd.push_back({trial_.source.site, trial_.data.name, treatment(number->treatment).label,
                        row.component, row.placement, row.block, row.replicate, number->pull, bag,
                        why_odd(bag)});
  }

  const LoadedTrial& trial_;
  TrialLook& out_;
};

}  // namespace

WelchInterval welch(const std::vector<WelchTerm>& terms, double level) {
  WelchInterval w;
  w.value = 0.0;
  double variance = 0.0, shares = 0.0;
  for (const WelchTerm& t : terms) {
    w.value += t.coefficient * t.mean;
    const double v = t.n > 1 ? t.coefficient * t.coefficient * t.sd * t.sd / t.n : not_there;
    variance += v;
    shares += v * v / (t.n - 1);
  }
  if (!(variance > 0.0)) return w;
  w.se = std::sqrt(variance);
  w.freedom = variance * variance / shares;
  const double half = boost::math::quantile(boost::math::students_t(w.freedom), 0.5 * (1.0 + level)) * w.se;
  w.between = {w.value - half, w.value + half};
  return w;
}

TrialLook trial_look(const std::vector<LoadedTrial>& trials, double level) {
  TrialLook look;
  look.level = level;
  Mistakes mistakes;
  std::vector<TrialNumbers> numbers;
  for (const LoadedTrial& trial : trials) numbers.push_back(trial_numbers(trial, mistakes));
  mistakes.throw_if_any();
  for (std::size_t i = 0; i < trials.size(); ++i) {
    Look(trials[i], look).add(numbers[i]);
    look.warnings.insert(look.warnings.end(), numbers[i].warnings.begin(), numbers[i].warnings.end());
  }
  look.assumes = {
      "Intervals are Welch's: bags are independent and roughly normal about the mean of their group, whose "
      "scatter may differ between groups.",
      "Blocks are not taken out; replicates of one plot are not independent, and intervals are then too "
      "narrow.",
      "Each interval stands for itself: among many, some miss by chance.",
  };
  return look;
}

}  // namespace stoverturn
