#include "scenarios/design/design_report.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>

#include "fitting/power.hpp"
#include "fitting/quantile.hpp"
#include "scenarios/design/design_curves.hpp"

namespace stoverturn {
namespace {

Eigen::Index at(std::size_t i) { return static_cast<Eigen::Index>(i); }

class Search {
 public:
  Search(const DesignPlan& plan, const DesignModel& model) : plan_(plan), model_(model) {}

  std::vector<DesignChoice> by_replicates() const {
    std::vector<DesignChoice> found;
    const int first = plan_.replicates > 0 ? plan_.replicates : DesignPlan::least_replicates;
    const int last = plan_.replicates > 0 ? plan_.replicates : DesignPlan::most_replicates;
    for (int replicates = first; replicates <= last; ++replicates) {
      const int pulls = pulls_for(replicates);
      if (pulls == 0) break;
      const DesignSearch search = best_days(model_.problem, evenly(pulls, replicates), model_.candidates);
      found.push_back(choice(fmt::format("{} replicates", replicates), search.design));
    }
    if (found.empty()) {
      throw InputError(
          {{plan_.at,
            fmt::format("bags = {} gives no pull; {} kinds of bags with {} replicates need {} a "
                        "pull{}",
                        plan_.bags, model_.cells.size(), first, bags_a_pull(first),
                        plan_.handling > 0 ? fmt::format(", beside {} for handling", handling()) : "")}});
    }
    return found;
  }

  DesignChoice choice(std::string name, const Design& design) const {
    DesignChoice c{std::move(name),
                   design.replicates,
                   bags_a_pull(design.replicates) * static_cast<int>(design.days.size()) + handling(),
                   {},
                   design_score(model_.problem, design),
                   1.0};
    for (const std::size_t day : design.days) c.days.push_back(model_.days[day]);
    return c;
  }

  Design design_of(const DesignChoice& c) const {
    Design design{{}, c.replicates};
    for (const int day : c.days) {
      design.days.push_back(static_cast<std::size_t>(std::find(model_.days.begin(), model_.days.end(), day) -
                                                     model_.days.begin()));
    }
    return design;
  }

  /// As many days, equally far apart from the start on, on the grid.
  Design evenly(int pulls, int replicates) const {
    Design design{{}, replicates};
    const double last = model_.days[model_.candidates - 1];
    for (int i = 1; i <= pulls; ++i) {
      const double wanted = last * i / pulls;
      std::size_t day = 0;
      for (std::size_t d = 1; d < model_.candidates; ++d) {
        if (std::abs(model_.days[d] - wanted) < std::abs(model_.days[day] - wanted)) day = d;
      }
      while (std::find(design.days.begin(), design.days.end(), day) != design.days.end()) {
        day = (day + 1) % model_.candidates;
      }
      design.days.push_back(day);
    }
    std::sort(design.days.begin(), design.days.end());
    return design;
  }

  DesignChoice own() const {
    const int pulls = static_cast<int>(plan_.pulls.size());
    const int replicates =
        plan_.replicates > 0 ? plan_.replicates : (plan_.bags - handling()) / (pulls * bags_a_pull(1));
    if (replicates < 1 || pulls * bags_a_pull(replicates) + handling() > plan_.bags) {
      throw InputError(
          {{plan_.at,
            fmt::format("pulls: {} pulls of {} kinds of bags need {} bags, and there are {}", pulls,
                        model_.cells.size(), pulls * bags_a_pull(std::max(1, plan_.replicates)) + handling(),
                        plan_.bags)}});
    }
    DesignChoice c{"own pulls", replicates, 0, plan_.pulls, 0.0, 1.0};
    return choice("own pulls", design_of(c));
  }

 private:
  int bags_a_pull(int replicates) const { return static_cast<int>(model_.cells.size()) * replicates; }
  int handling() const { return bags_a_pull(plan_.handling); }
  int pulls_for(int replicates) const {
    const int pulls = std::max(0, plan_.bags - handling()) / bags_a_pull(replicates);
    return std::min({pulls, static_cast<int>(model_.candidates), DesignPlan::most_pulls});
  }

  const DesignPlan& plan_;
  const DesignModel& model_;
};

/// Mean over the draws of the logarithm of each unknown's expected standard deviation.
Eigen::VectorXd mean_log_sd(const DesignModel& model, const Design& design) {
  Eigen::VectorXd sum = Eigen::VectorXd::Zero(model.mean.size());
  for (std::size_t draw = 0; draw < model.left.size(); ++draw) {
    const Eigen::MatrixXd covariance = design_covariance(model.problem, design, draw);
    if (covariance.size() == 0) return Eigen::VectorXd::Constant(model.mean.size(), INFINITY);
    sum += 0.5 * covariance.diagonal().array().log().matrix();
  }
  return sum / static_cast<double>(model.left.size());
}

Interval around(const Unknown& u, double mean, double half) {
  return {std::max(u.lower, from_fit_scale(u.scale, mean - half)),
          std::min(u.upper, from_fit_scale(u.scale, mean + half))};
}

class Reporter {
 public:
  Reporter(const DesignPlan& plan, const DesignModel& model, const ForEach& for_each)
      : plan_(plan), model_(model), for_each_(for_each), search_(plan, model) {}

  DesignReport report() {
    out_.title = plan_.title;
    out_.units = plan_.units;
    out_.handling = plan_.handling;
    out_.budget = plan_.bags;
    out_.bag_mass_g = plan_.bag_mass_g;
    out_.sd = plan_.sd();
    out_.level = plan_.level;
    out_.draws = static_cast<int>(model_.truths.cols());
    out_.cells = model_.cells.size();
    choose();
    estimates();
    powers();
    sizes();
    out_.curves = design_curves(model_, out_.chosen.days);
    if (plan_.trials > 0) check();
    out_.labels = bag_labels(plan_, model_, out_.chosen.days, out_.chosen.replicates);
    notes();
    return std::move(out_);
  }

 private:
  void choose() {
    out_.searched = search_.by_replicates();
    DesignChoice best = *std::min_element(out_.searched.begin(), out_.searched.end(),
                                          [](const auto& a, const auto& b) { return a.score < b.score; });
    best.name = "best";
    out_.choices = {best, search_.choice("evenly spaced", search_.evenly(static_cast<int>(best.days.size()),
                                                                         best.replicates))};
    if (!plan_.pulls.empty()) out_.choices.push_back(search_.own());
    for (auto* list : {&out_.searched, &out_.choices}) {
      for (DesignChoice& c : *list) c.wider = std::exp(c.score - best.score);
    }
    out_.chosen = plan_.keep_pulls ? out_.choices.back() : out_.choices.front();
    const auto first = model_.scenario.treatments[model_.cells.front().treatment].first().date;
    for (const int day : out_.chosen.days) out_.dates.push_back(first + std::chrono::days(day));
  }

  void estimates() {
    const double z = boost::math::quantile(boost::math::normal(), 0.5 + plan_.level / 2.0);
    std::vector<Eigen::VectorXd> log_sd;
    for (const DesignChoice& c : out_.choices) log_sd.push_back(mean_log_sd(model_, search_.design_of(c)));
    expected_ = mean_log_sd(model_, search_.design_of(out_.chosen));
    for (std::size_t i = 0; i < model_.unknowns.size(); ++i) {
      const Unknown& u = model_.unknowns[i];
      DesignEstimate e;
      e.unknown = u;
      e.expected = from_fit_scale(u.scale, model_.mean[at(i)]);
      e.known = around(u, model_.mean[at(i)], z * model_.spread[at(i)]);
      const double sd = std::exp(expected_[at(i)]);
      e.interval = around(u, model_.mean[at(i)], z * sd);
      e.told = std::max(0.0, 1.0 - std::pow(sd / model_.spread[at(i)], 2));
      const auto wider = [&](std::size_t choice) {
        return std::exp(log_sd[choice][at(i)] - log_sd[0][at(i)]);
      };
      e.even_wider = wider(1);
      e.own_wider = log_sd.size() > 2 ? wider(2) : not_there;
      out_.estimates.push_back(e);
    }
  }

  double freedom(const DesignChoice& c) const {
    return std::max(1.0, static_cast<double>(out_.cells * c.days.size()) * c.replicates -
                             static_cast<double>(model_.unknowns.size()));
  }

  /// Of a combination of unknowns, one for each draw.
  template <class Gradient>
  double mean_power(const DesignChoice& choice, double size, Gradient gradient) const {
    double sum = 0.0;
    for (std::size_t draw = 0; draw < model_.left.size(); ++draw) {
      const Eigen::MatrixXd covariance = design_covariance(model_.problem, search_.design_of(choice), draw);
      if (covariance.size() == 0) continue;
      const Eigen::VectorXd g = gradient(draw);
      sum += power_of_t(size / std::sqrt(g.dot(covariance * g)), freedom(choice), plan_.level);
    }
    return sum / static_cast<double>(model_.left.size());
  }

  Eigen::VectorXd contrast() const {
    Eigen::VectorXd g = Eigen::VectorXd::Zero(model_.mean.size());
    g[at(model_.contrasts.front().first)] = 1.0;
    g[at(model_.contrasts.front().second)] = -1.0;
    return g;
  }

  void powers() {
    if (!plan_.difference) return;
    out_.one = plan_.difference->one;
    out_.other = plan_.difference->other;
    if (std::isfinite(plan_.difference->mass)) mass_powers(*plan_.difference);
    if (!plan_.difference->parameter.empty()) {
      out_.powers.push_back(
          {plan_.difference->parameter, plan_.difference->parameter_share, -1, parameter_power(out_.chosen)});
    }
  }

  double parameter_power(const DesignChoice& choice) const {
    return mean_power(choice, contrast_size(plan_, model_), [&](std::size_t) { return contrast(); });
  }

  void sizes() {
    const double best = out_.choices.front().score;
    const int most = std::min({2 * static_cast<int>(out_.chosen.days.size()), DesignPlan::most_pulls,
                               static_cast<int>(model_.candidates)});
    for (int pulls = 1; pulls <= most; ++pulls) {
      const DesignSearch found =
          best_days(model_.problem, search_.evenly(pulls, out_.chosen.replicates), model_.candidates);
      const DesignChoice c = search_.choice("", found.design);
      DesignSize size{pulls, c.bags, std::exp(c.score - best), not_there};
      if (plan_.difference && !plan_.difference->parameter.empty()) size.power = parameter_power(c);
      out_.sizes.push_back(size);
    }
  }

  void mass_powers(const PlannedDifference& d) {
    const int day = d.after_d > 0 ? d.after_d : out_.chosen.days.back();
    const double variance = plan_.sd() * plan_.sd();
    const int n = out_.chosen.replicates;
    DesignPower raw{"mass left, bags of one pull", d.mass, day,
                    n < 2 ? 0.0 : power_of_units(d.mass, variance, false, plan_.level, n)};
    raw.bags_needed =
        units_needed(d.mass, variance, false, plan_.level, DesignPower::wanted, DesignPower::most_bags);
    out_.powers.push_back(raw);
    out_.bag_powers = bag_powers(plan_, n);
    scenario_difference(d, day);
    if (model_.contrasts.empty()) return;
    out_.powers.push_back({"mass left, by the fit", d.mass, day,
                           mean_power(out_.chosen, d.mass,
                                      [&](std::size_t draw) { return slope_of_difference(d, day, draw); })});
  }

  /// +1 over the cells of `one`, -1 over those of `other`; 0 for the rest.
  Eigen::VectorXd signs(const PlannedDifference& d) const {
    Eigen::VectorXd sign = Eigen::VectorXd::Zero(at(model_.cells.size()));
    const auto is = [&](std::size_t cell, const std::string& name) {
      const Treatment& t = model_.scenario.treatments[model_.cells[cell].treatment];
      return t.name == name || t.label == name;
    };
    for (std::size_t c = 0; c < model_.cells.size(); ++c)
      sign[at(c)] = is(c, d.one) ? 1.0 : is(c, d.other) ? -1.0 : 0.0;
    return 2.0 * sign / sign.cwiseAbs().sum();
  }

  std::size_t day_index(int day) const {
    return static_cast<std::size_t>(std::find(model_.days.begin(), model_.days.end(), day) -
                                    model_.days.begin());
  }

  Eigen::VectorXd slope_of_difference(const PlannedDifference& d, int day, std::size_t draw) const {
    const Eigen::VectorXd sign = signs(d);
    Eigen::VectorXd g = Eigen::VectorXd::Zero(model_.mean.size());
    for (std::size_t c = 0; c < model_.cells.size(); ++c) {
      g += sign[at(c)] * model_.slopes[draw].row(at(c * model_.days.size() + day_index(day))).transpose();
    }
    return g;
  }

  void scenario_difference(const PlannedDifference& d, int day) {
    std::vector<double> found;
    for (const Eigen::MatrixXd& left : model_.left)
      found.push_back(signs(d).dot(left.col(at(day_index(day)))));
    std::sort(found.begin(), found.end());
    out_.scenario_difference = quantile_of_sorted(found, 0.5);
    out_.scenario_between = {quantile_of_sorted(found, 0.05), quantile_of_sorted(found, 0.95)};
  }

  void check() {
    const LeastSquares bags = measured_by(plan_, model_, out_.chosen.days, out_.chosen.replicates);
    const Eigen::MatrixXd truths = drawn_truths(plan_, model_, plan_.seed + 1, plan_.trials);
    const InventedFits fits =
        fit_invented(bags, model_.mean, model_.problem.prior, truths, plan_.seed, for_each_);
    out_.trials = static_cast<int>(truths.cols());
    std::vector<std::size_t> good;
    for (std::size_t t = 0; t < fits.covariance.size(); ++t) {
      if (fits.covariance[t].size() > 0 && fits.covariance[t].diagonal().allFinite()) good.push_back(t);
    }
    out_.converged = static_cast<int>(good.size());
    if (good.size() < 2) return;
    for (std::size_t i = 0; i < model_.unknowns.size(); ++i) check_estimate(fits, good, i);
    check_power(fits, good);
  }

  void check_estimate(const InventedFits& fits, const std::vector<std::size_t>& good, std::size_t i) {
    const double z = boost::math::quantile(boost::math::normal(), 0.5 + plan_.level / 2.0);
    const auto n = static_cast<double>(good.size());
    double held = 0.0, sum = 0.0, squares = 0.0;
    for (const std::size_t t : good) {
      const double se = std::sqrt(fits.covariance[t](at(i), at(i)));
      held += std::abs(fits.estimate(at(i), at(t)) - fits.truth(at(i), at(t))) <= z * se;
      const double x = std::log(se) - expected_[at(i)];
      sum += x;
      squares += x * x;
    }
    DesignEstimate& e = out_.estimates[i];
    e.width_ratio = std::exp(sum / n);
    e.width_ratio_se = e.width_ratio * std::sqrt(std::max(0.0, squares / n - sum * sum / n / n) / (n - 1.0));
    e.held = held / n;
    e.held_se = std::sqrt(e.held * (1.0 - e.held) / n);
  }

  void check_power(const InventedFits& fits, const std::vector<std::size_t>& good) {
    if (!plan_.difference || plan_.difference->parameter.empty()) return;
    const double limit =
        boost::math::quantile(boost::math::students_t(freedom(out_.chosen)), 0.5 + plan_.level / 2.0);
    const Eigen::VectorXd g = contrast();
    double seen = 0.0;
    for (const std::size_t t : good) {
      const double se = std::sqrt(g.dot(fits.covariance[t] * g));
      seen += g.dot(fits.estimate.col(at(t))) > limit * se;
    }
    DesignPower& p = out_.powers.back();
    p.invented = seen / static_cast<double>(good.size());
    p.invented_se = std::sqrt(p.invented * (1.0 - p.invented) / static_cast<double>(good.size()));
  }

  void notes() {
    for (const DesignEstimate& e : out_.estimates) {
      if (e.told >= 0.5) continue;
      out_.notes.push_back(
          fmt::format("{}: these bags tell little of it ({:.0f} % of what is open). Leave it out, or measure "
                      "what depends on it.",
                      e.unknown.name, 100.0 * e.told));
    }
    if (out_.trials > out_.converged) {
      out_.notes.push_back(
          fmt::format("{} of {} invented trials could not be fitted from their truth, or ended on a bound; "
                      "they are left out.",
                      out_.trials - out_.converged, out_.trials));
    }
    if (out_.chosen.replicates < 3) {
      out_.notes.emplace_back(
          "With fewer than three replicates a lost bag or an odd one cannot be told from chance.");
    }
    const int last = model_.days[model_.candidates - 1];
    if (4 * out_.chosen.days.front() > last || 4 * out_.chosen.days.back() < 3 * last) {
      out_.notes.emplace_back(
          "These pulls leave the first or the last quarter of the time without bags: best for these "
          "parameters if the "
          "model is right. Give a few bags to an early and a late pull, which show where it is not (pulls, "
          "keep_pulls).");
    }
    if (plan_.handling == 0) {
      out_.notes.emplace_back(
          "No bags for handling (handling = 2): what falls out on the way to the field will look like "
          "decay.");
    }
    out_.notes.emplace_back(
        "Errors of bags are taken as independent and of known size. Blocks that differ, lost bags, soil in "
        "bags and a "
        "model that is wrong for the field are not in these numbers: real intervals are wider.");
  }

  const DesignPlan& plan_;
  const DesignModel& model_;
  const ForEach& for_each_;
  Search search_;
  Eigen::VectorXd expected_;
  DesignReport out_;
};

}  // namespace

DesignReport design_report(const DesignPlan& plan, const DesignModel& model, const ForEach& for_each) {
  return Reporter(plan, model, for_each).report();
}

}  // namespace stoverturn
