#include "scenarios/design/design_model.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fitting/normal_draws.hpp"

namespace stoverturn {
namespace {

std::size_t treatment_named(const Scenario& scenario, const std::string& name, const Position& at,
                            Mistakes& mistakes) {
  std::vector<std::string> names;
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    if (scenario.treatments[t].name == name || scenario.treatments[t].label == name) return t;
    names.push_back(scenario.treatments[t].name);
  }
  mistakes.add(at, fmt::format("the scenario has no treatment '{}'{}", name, did_you_mean(name, names)));
  return 0;
}

std::vector<DesignCell> cells_of(const DesignPlan& plan, const Scenario& scenario) {
  Mistakes mistakes;
  std::vector<std::size_t> treatments;
  for (const std::string& name : plan.treatments) {
    treatments.push_back(treatment_named(scenario, name, plan.at, mistakes));
  }
  for (std::size_t t = 0; plan.treatments.empty() && t < scenario.treatments.size(); ++t)
    treatments.push_back(t);
  if (plan.difference) {
    for (const std::string& name : {plan.difference->one, plan.difference->other}) {
      const std::size_t t = treatment_named(scenario, name, plan.difference->at, mistakes);
      if (std::find(treatments.begin(), treatments.end(), t) == treatments.end()) {
        mistakes.add(plan.difference->at,
                     fmt::format("between: '{}' is not among the treatments of the trial", name));
      }
    }
  }
  mistakes.throw_if_any();
  const std::vector<std::string> all = {""};
  std::vector<DesignCell> cells;
  for (const std::size_t t : treatments) {
    for (const std::string& placement : plan.placements.empty() ? all : plan.placements) {
      for (const std::string& component : plan.components.empty() ? all : plan.components) {
        cells.push_back({t, component, placement});
      }
    }
  }
  return cells;
}

/// The grid, then days of the plan's own pulls and of the difference that are not on it.
void lay_days(const DesignPlan& plan, DesignModel& model) {
  const int run = run_span(model.scenario).days;
  int latest = 0;
  for (const DesignCell& cell : model.cells) {
    const Treatment& t = model.scenario.treatments[cell.treatment];
    latest = std::max(latest, static_cast<int>((t.first().date - run_span(model.scenario).start).count()));
  }
  const int last = plan.last_d > 0 ? plan.last_d : std::min(DesignPlan::usual_last_d, run - latest);
  for (int day = plan.first_d; day <= last; day += plan.every_d) model.days.push_back(day);
  model.candidates = model.days.size();
  if (model.candidates < 2) {
    throw InputError(
        {{plan.at, fmt::format("pulls every {} days from day {} to {} are none to choose from; see first, "
                               "every and last",
                               plan.every_d, plan.first_d, last)}});
  }
  const auto add = [&](int day) {
    if (std::find(model.days.begin(), model.days.end(), day) == model.days.end()) model.days.push_back(day);
  };
  for (const int day : plan.pulls) add(day);
  if (plan.difference && plan.difference->after_d > 0) add(plan.difference->after_d);
}

TrialRow row_of(const DesignPlan& plan, const DesignModel& model, const DesignCell& cell, int day, int n) {
  TrialRow row;
  row.line = plan.at.line;
  row.treatment = model.scenario.treatments[cell.treatment].name;
  row.component = cell.component;
  row.placement = cell.placement;
  row.days = day;
  row.values.fill(not_weighed);
  row.sd.fill(not_weighed);
  row.values[trial_mass_left] = 0.0;
  row.sd[trial_mass_left] = plan.sd();
  row.n = n;
  return row;
}

/// Bags in every cell on these days as a fit sees them, cell by cell; nothing was measured yet: all are 0.
FitProblem fit_of(const DesignPlan& plan, const DesignModel& model, const std::vector<int>& days, int n) {
  LoadedTrial trial{plan.fit.trials.front(), model.scenario, model.climates, {plan.name, {}}};
  for (const DesignCell& cell : model.cells) {
    for (const int day : days) trial.data.rows.push_back(row_of(plan, model, cell, day, n));
  }
  return fit_problem(plan.fit, {trial});
}

/// Own priors, else the scenario's value and the spread of the parameter table.
void know_before(const DesignPlan& plan, DesignModel& model) {
  Mistakes mistakes;
  const auto n = static_cast<Eigen::Index>(model.unknowns.size());
  model.mean.resize(n);
  model.spread.resize(n);
  for (Eigen::Index k = 0; k < n; ++k) {
    const Unknown& u = model.unknowns[static_cast<std::size_t>(k)];
    const bool own = u.prior.shape == Prior::Shape::normal;
    const std::string& name = model.targets[static_cast<std::size_t>(k)].front().parameter;
    model.mean[k] = own ? u.prior.mean : to_fit_scale(u.scale, u.start);
    model.spread[k] = own ? u.prior.sd : find_parameter(name)->spread;
    if (model.spread[k] > 0.0) continue;
    mistakes.add(
        plan.at,
        fmt::format("{0}: how far it may differ from what is expected is not in the parameter table; "
                    "write {0} = {{ prior = {{ low = ..., high = ... }} }} under [estimate]",
                    name));
  }
  mistakes.throw_if_any();
}

void find_contrasts(const DesignPlan& plan, DesignModel& model) {
  if (!plan.difference) return;
  Mistakes none;
  const auto key = [&](const std::string& name) {
    return model.scenario.treatments[treatment_named(model.scenario, name, plan.at, none)].name;
  };
  const std::string one = key(plan.difference->one), other = key(plan.difference->other);
  for (std::size_t i = 0; i < model.unknowns.size(); ++i) {
    const FitTarget& a = model.targets[i].front();
    if (a.treatment != one) continue;
    for (std::size_t j = 0; j < model.unknowns.size(); ++j) {
      const FitTarget& b = model.targets[j].front();
      if (b.treatment == other && a.parameter == b.parameter && a.component == b.component) {
        model.contrasts.emplace_back(i, j);
      }
    }
  }
  const std::string& wanted = plan.difference->parameter;
  if (wanted.empty()) return;
  const auto is_wanted = [&](const auto& pair) {
    return model.targets[pair.first].front().parameter == wanted;
  };
  const auto found = std::find_if(model.contrasts.begin(), model.contrasts.end(), is_wanted);
  if (found == model.contrasts.end()) {
    throw InputError(
        {{plan.difference->at,
          fmt::format("parameter: {0} is not estimated for each treatment by itself; write {0} = {{ vary_by "
                      "= \"treatment\" }} under [estimate]",
                      wanted)}});
  }
  std::iter_swap(model.contrasts.begin(), found);
}

/// Independent spreads; what two treatments are compared in is not held together by them.
Eigen::MatrixXd prior_of(const DesignModel& model) {
  Eigen::MatrixXd prior = model.spread.cwiseAbs2().cwiseInverse().asDiagonal();
  for (const auto& [a, b] : model.contrasts) {
    const auto i = static_cast<Eigen::Index>(a), j = static_cast<Eigen::Index>(b);
    const double mean = 1.0 / (model.spread[i] * model.spread[i] + model.spread[j] * model.spread[j]);
    prior(i, i) = prior(j, j) = mean;
    prior(i, j) = prior(j, i) = mean;
  }
  return prior;
}

void run_draws(const DesignPlan& plan, DesignModel& model, const ForEach& for_each) {
  const LeastSquares bags = measured_by(plan, model, model.days, 1);
  const auto draws = static_cast<std::size_t>(model.truths.cols());
  const auto cells = static_cast<Eigen::Index>(model.cells.size()),
             days = static_cast<Eigen::Index>(model.days.size());
  const Eigen::Index k = model.mean.size();
  std::vector<char> ran(draws, 0);
  model.left.resize(draws);
  model.slopes.resize(draws);
  model.problem.information.resize(draws);
  for_each(draws, [&](std::size_t draw) {
    Eigen::VectorXd r;
    Eigen::MatrixXd jacobian;
    ran[draw] = bags.evaluate(model.truths.col(static_cast<Eigen::Index>(draw)), r, &jacobian);
    if (!ran[draw]) return;
    model.left[draw] = plan.sd() * r.reshaped(days, cells).transpose();
    model.slopes[draw] = plan.sd() * jacobian;
    for (Eigen::Index day = 0; day < days; ++day) {
      Eigen::MatrixXd information = Eigen::MatrixXd::Zero(k, k);
      for (Eigen::Index cell = 0; cell < cells; ++cell) {
        const Eigen::RowVectorXd row = jacobian.row(cell * days + day);
        information += row.transpose() * row;
      }
      model.problem.information[draw].push_back(std::move(information));
    }
  });
  if (std::find(ran.begin(), ran.end(), 0) != ran.end()) {
    throw InputError(
        {{plan.at, "the model cannot be run at all draws of the parameters; give narrower priors"}});
  }
}

}  // namespace

LeastSquares measured_by(const DesignPlan& plan, const DesignModel& model, const std::vector<int>& days,
                         int n) {
  const FitProblem problem = fit_of(plan, model, days, n);
  LeastSquares bags = problem.posterior->least_squares(problem.posterior->start(), nullptr);
  const std::size_t numbers = problem.posterior->model().observations().size();
  const auto rows = static_cast<Eigen::Index>(numbers);
  bags.residuals = numbers;  // without those of priors, which stand behind
  bags.evaluate = [whole = bags.evaluate, rows](const Eigen::VectorXd& z, Eigen::VectorXd& r,
                                                Eigen::MatrixXd* jacobian) {
    if (!whole(z, r, jacobian)) return false;
    r.conservativeResize(rows);
    if (jacobian) jacobian->conservativeResize(rows, Eigen::NoChange);
    return true;
  };
  return bags;
}

double contrast_size(const DesignPlan& plan, const DesignModel& model) {
  if (!plan.difference || plan.difference->parameter.empty()) return not_there;
  const std::size_t i = model.contrasts.front().first;
  const Unknown& u = model.unknowns[i];
  const double value = from_fit_scale(u.scale, model.mean[static_cast<Eigen::Index>(i)]);
  return to_fit_scale(u.scale, value * (1.0 + plan.difference->parameter_share)) -
         to_fit_scale(u.scale, value);
}

Eigen::MatrixXd drawn_truths(const DesignPlan& plan, const DesignModel& model, std::uint64_t seed,
                             int count) {
  const auto n = static_cast<Eigen::Index>(model.unknowns.size());
  Eigen::VectorXd lower(n), upper(n);
  for (Eigen::Index k = 0; k < n; ++k) {
    const Unknown& u = model.unknowns[static_cast<std::size_t>(k)];
    lower[k] = to_fit_scale(u.scale, u.lower);
    upper[k] = to_fit_scale(u.scale, u.upper);
  }
  const Eigen::MatrixXd covariance = model.spread.cwiseAbs2().asDiagonal();
  Eigen::MatrixXd truths = normal_draws(model.mean, covariance, lower, upper, seed, count);
  const double size = contrast_size(plan, model);
  if (!std::isfinite(size)) return truths;
  const auto i = static_cast<Eigen::Index>(model.contrasts.front().first),
             j = static_cast<Eigen::Index>(model.contrasts.front().second);
  for (Eigen::Index draw = 0; draw < truths.cols(); ++draw) {
    const double middle = 0.5 * (truths(i, draw) + truths(j, draw));
    truths(i, draw) = std::clamp(middle + 0.5 * size, lower[i], upper[i]);
    truths(j, draw) = std::clamp(middle - 0.5 * size, lower[j], upper[j]);
  }
  return truths;
}

DesignModel design_model(const DesignPlan& plan, Scenario scenario, Climates climates,
                         const ForEach& for_each) {
  DesignModel model;
  model.scenario = std::move(scenario);
  model.climates = std::move(climates);
  model.cells = cells_of(plan, model.scenario);
  lay_days(plan, model);
  const FitProblem problem = fit_of(plan, model, model.days, 1);
  model.unknowns = problem.posterior->unknowns();
  model.targets = problem.targets;
  know_before(plan, model);
  find_contrasts(plan, model);
  model.problem.prior = prior_of(model);
  model.truths = drawn_truths(plan, model, plan.seed, plan.draws);
  run_draws(plan, model, for_each);
  return model;
}

}  // namespace stoverturn
