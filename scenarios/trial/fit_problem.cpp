#include "scenarios/trial/fit_problem.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "engine/day_factors.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/trial/fit_unknowns.hpp"
#include "scenarios/trial/measure_names.hpp"
#include "scenarios/trial/odd_bags.hpp"
#include "scenarios/trial/trial_words.hpp"

namespace stoverturn {
namespace {

/// Numbers of all trials, and the treatments that they are of.
struct Collected {
  std::vector<Observation> observations;
  std::vector<ObservationOrigin> origins;
  std::vector<FitTreatment> treatments;
};

class Collector {
 public:
  void add(std::size_t trial, const std::vector<TrialNumber>& numbers) {
    for (const TrialNumber& n : numbers) {
      if (!n.counts) continue;
      const std::size_t t = treatment(trial, n.treatment);
      const bool all = !is_share_left(n.measure);
      out_.treatments[t].seen.insert(all ? -1 : n.component);
      out_.observations.push_back({t, n.measure, n.component, n.placement, n.day, n.value, n.sd, n.n});
      const int bag = numbered(bags_, {trial, n.row});
      const int stratum = numbered(strata_, {t, n.placement, n.component, n.day});
      out_.origins.push_back(
          {trial, n.row, n.treatment, bag, stratum, static_cast<int>(t), static_cast<int>(trial)});
    }
  }
  Collected collected() { return std::move(out_); }

 private:
  template <class Key>
  static int numbered(std::map<Key, int>& known, const Key& key) {
    return known.emplace(key, static_cast<int>(known.size())).first->second;
  }

  std::size_t treatment(std::size_t trial, std::size_t of_scenario) {
    const auto known = index_.find({trial, of_scenario});
    if (known != index_.end()) return known->second;
    out_.treatments.push_back({trial, of_scenario, {}});
    return index_[{trial, of_scenario}] = out_.treatments.size() - 1;
  }

  std::map<std::pair<std::size_t, std::size_t>, std::size_t> index_;
  std::map<std::pair<std::size_t, std::size_t>, int> bags_;
  std::map<std::tuple<std::size_t, int, int, int>, int> strata_;
  Collected out_;
};

/// One sentence for all odd bags of a kind.
void warn_of_odd_bags(const TrialData& data, const std::vector<OddBag>& odd,
                      std::vector<std::string>& warnings) {
  static const std::pair<Oddity, const char*> kinds[] = {
      {Oddity::off_its_group, "far off the others pulled at the same time"},
      {Oddity::above_all, "more than was put in (soil in the bag? ash_free = true corrects for it)"},
      {Oddity::gain_after_loss, "heavier than what was pulled before"},
      {Oddity::odd_content, "N content far off that of others pulled at the same time"},
  };
  for (const auto& [kind, words] : kinds) {
    std::vector<int> lines;
    for (const OddBag& bag : odd) {
      if (bag.why == kind) lines.push_back(bag.line);
    }
    if (!lines.empty()) {
      warnings.push_back(
          fmt::format("{}, {}: {}; nothing is left out, look at it", data.name, lines_text(lines), words));
    }
  }
}

/// Error sizes and effects of blocks, as unknowns after those of the model.
class Errors {
 public:
  Errors(const FitPlan& plan, const std::vector<LoadedTrial>& trials, const Collected& data,
         FitUnknowns& unknowns, Mistakes& mistakes)
      : plan_(plan), trials_(trials), data_(data), unknowns_(unknowns), mistakes_(mistakes) {}

  TrialErrors all() {
    TrialErrors errors;
    errors.tail = plan_.tail;
    for (std::size_t m = 0; m < measures; ++m) {
      const Measure measure = static_cast<Measure>(m);
      const auto is_of = [&](const Observation& o) { return o.measure == measure; };
      if (std::none_of(data_.observations.begin(), data_.observations.end(), is_of)) continue;
      const auto planned = plan_.errors.find(measure);
      errors.size[m] = size_of(measure, planned == plan_.errors.end() ? ErrorPlan{} : planned->second);
    }
    if (plan_.block_effects) add_blocks(errors);
    return errors;
  }

 private:
  std::size_t add(Unknown unknown) {
    unknowns_.unknowns.push_back(std::move(unknown));
    unknowns_.targets.emplace_back();
    return unknowns_.unknowns.size() - 1;
  }

  /// A share's error starts at 5 % of the start; that of an amount at a tenth of the largest.
  ErrorSize size_of(Measure measure, const ErrorPlan& plan) {
    const MeasureName& name = name_of(measure);
    double unit = 1.0;
    if (name.unit != "1") {
      unit = 1e-3;
      for (const Observation& o : data_.observations) {
        if (o.measure == measure) unit = std::max(unit, 2.0 * std::abs(o.value));
      }
    }
    ErrorSize size;
    if (plan.absolute) {
      size.absolute = add(size_unknown(fmt::format("error of {}", name.noun), std::string(name.unit),
                                       "standard deviation of a bag", 0.05 * unit, 0.001 * unit, unit));
    }
    if (plan.proportional) {
      size.proportional =
          add(size_unknown(fmt::format("proportional error of {}", name.noun), "1",
                           "standard deviation of a bag, of the predicted value", 0.05, 0.001, 1.0));
    }
    if (!plan.absolute && !plan.proportional) require_sd(measure, plan);
    return size;
  }

  void require_sd(Measure measure, const ErrorPlan& plan) {
    std::map<std::size_t, std::vector<int>> without;
    for (std::size_t i = 0; i < data_.observations.size(); ++i) {
      const Observation& o = data_.observations[i];
      const ObservationOrigin& origin = data_.origins[i];
      if (o.measure == measure && !(o.sd > 0.0)) {
        without[origin.trial].push_back(trials_[origin.trial].data.rows[origin.row].line);
      }
    }
    for (const auto& [trial, lines] : without) {
      mistakes_.add(plan.at,
                    fmt::format("{}: \"as stated\", but {} states no sd above 0 ({}); estimate the error "
                                "with \"absolute\"",
                                name_of(measure).key, trials_[trial].data.name, lines_text(lines)));
    }
  }

  void add_blocks(TrialErrors& errors) {
    std::map<std::pair<std::size_t, std::string>, std::size_t> effects;
    const auto block_of = [&](std::size_t i) {
      const ObservationOrigin& o = data_.origins[i];
      return std::pair(o.trial, trials_[o.trial].data.rows[o.row].block);
    };
    for (std::size_t i = 0; i < data_.observations.size(); ++i) {
      if (data_.observations[i].measure == Measure::mass && !block_of(i).second.empty())
        effects[block_of(i)] = 0;
    }
    if (effects.size() < 2) {
      mistakes_.add({trials_.front().data.name, 1, 1},
                    "blocks = true needs a column block that names at least two blocks");
      return;
    }
    errors.shift_spread = add(size_unknown(
        "spread of blocks", "1", "standard deviation of mass left between blocks", 0.02, 0.001, 0.3));
    unknowns_.unknowns.back().prior = prior_between(Fit::log, 0.003, 0.1);
    for (auto& [block, effect] : effects) {
      const std::string& site = trials_[block.first].source.site;
      effect = add(
          effect_unknown(fmt::format("effect of block {}{}{}", site, site.empty() ? "" : " ", block.second),
                         "deviation of mass left in the block, in spreads"));
    }
    errors.shift.resize(data_.observations.size());
    for (std::size_t i = 0; i < errors.shift.size(); ++i) {
      const auto found = effects.find(block_of(i));
      if (data_.observations[i].measure == Measure::mass && found != effects.end())
        errors.shift[i] = found->second;
    }
  }

  const FitPlan& plan_;
  const std::vector<LoadedTrial>& trials_;
  const Collected& data_;
  FitUnknowns& unknowns_;
  Mistakes& mistakes_;
};

/// Days at 25 C and with water in plenty that have gone by, by placement, until a day of the run.
std::array<std::vector<double>, placements> corrected_days(const Job<double>& job, int last) {
  std::array<std::vector<double>, placements> days;
  for (std::vector<double>& d : days) d.assign(1, 0.0);
  const SoilReaction pH = soil_reaction(job.pH);
  for (int day = 0; day < last; ++day) {
    const DayFactors<double> factors =
        day_factors<double>(job.drivers->days[static_cast<std::size_t>(day)], job.forms, job.field, pH);
    for (std::size_t p = 0; p < placements; ++p) days[p].push_back(days[p].back() + factors.f[p]);
  }
  return days;
}

/// What nothing measured depends on cannot be estimated, whatever the data say.
void refuse_unseen(const TrialModel& model, const FitUnknowns& unknowns, Mistakes& mistakes) {
  Eigen::VectorXd x(static_cast<Eigen::Index>(unknowns.values.size())), values;
  for (Eigen::Index k = 0; k < x.size(); ++k) {
    x[k] = unknowns.unknowns[unknowns.values[static_cast<std::size_t>(k)].base].start;
  }
  Eigen::MatrixXd jacobian;
  if (!model.predict(x, values, &jacobian)) {
    mistakes.add(unknowns.value_at.front(),
                 "the model cannot be run at the starting values; state others with start = ...");
    return;
  }
  for (Eigen::Index k = 0; k < x.size(); ++k) {
    const std::size_t v = static_cast<std::size_t>(k);
    if (jacobian.rows() > 0 && jacobian.col(k).cwiseAbs().maxCoeff() > 0.0) continue;
    mistakes.add(unknowns.value_at[v], fmt::format("{}: nothing that was measured depends on it; leave this "
                                                   "estimate out",
                                                   unknowns.value_names[v]));
  }
}

/// A run goes on with years of the record again; bags were in the weather of their own.
void warn_of_other_years(const LoadedTrial& trial, int last_day, std::vector<std::string>& warnings) {
  const Weather& weather = trial.climates.weather;
  if (weather.days.empty() || trial.scenario.weather->normals) return;
  const std::chrono::sys_days from = run_span(trial.scenario).start, to = from + std::chrono::days(last_day);
  const std::chrono::sys_days end = weather.start + std::chrono::days(weather.days.size());
  if (from >= weather.start && to <= end) return;
  std::string text = fmt::format(
      "{}: bags lay out from {} to {}, but the weather record holds {} to {} only, so that weather of other "
      "years was "
      "used; fit with the weather that the bags had",
      trial.data.name, format_date(from), format_date(to), format_date(weather.start),
      format_date(end - std::chrono::days(1)));
  if (std::find(warnings.begin(), warnings.end(), text) == warnings.end())
    warnings.push_back(std::move(text));
}

}  // namespace

std::vector<TrialTreatmentNames> treatment_names(const Scenario& scenario) {
  std::vector<TrialTreatmentNames> names;
  for (const Treatment& t : scenario.treatments) {
    names.push_back({t.name, t.label, t.first().date, t.parameters.component_names});
  }
  return names;
}

double corrected_time_d(const FitProblem& problem, std::size_t treatment, int placement, int day) {
  if (placement < 0) return not_there;
  const std::vector<double>& time = problem.corrected_time_d[treatment][static_cast<std::size_t>(placement)];
  return static_cast<std::size_t>(day) < time.size() ? time[static_cast<std::size_t>(day)] : not_there;
}

FitProblem fit_problem(const FitPlan& plan, const std::vector<LoadedTrial>& trials, ForEach for_each) {
  Mistakes mistakes;
  FitProblem problem;
  problem.warnings = plan.warnings;
  Collector collector;
  for (std::size_t i = 0; i < trials.size(); ++i) {
    TrialNumbers numbers = trial_numbers(trials[i], mistakes);
    collector.add(i, numbers.numbers);
    problem.warnings.insert(problem.warnings.end(), numbers.warnings.begin(), numbers.warnings.end());
    warn_of_odd_bags(trials[i].data, odd_bags(trials[i].data, numbers.numbers), problem.warnings);
  }
  mistakes.throw_if_any();
  Collected data = collector.collected();
  if (data.observations.empty()) {
    throw InputError({{{trials.front().data.name, 1, 1}, "the data hold no number that can be used"}});
  }
  FitUnknowns unknowns = fit_unknowns(plan, trials, data.treatments, mistakes, problem.warnings);
  for (const ModelValue& value : unknowns.values) {
    if (std::find(problem.model_unknowns.begin(), problem.model_unknowns.end(), value.base) ==
        problem.model_unknowns.end())
      problem.model_unknowns.push_back(value.base);
  }
  TrialErrors errors = Errors(plan, trials, data, unknowns, mistakes).all();
  mistakes.throw_if_any();

  std::vector<TrialTreatment> simulated;
  for (std::size_t t = 0; t < data.treatments.size(); ++t) {
    const LoadedTrial& trial = trials[data.treatments[t].trial];
    Scenario scenario = trial.scenario;
    scenario.model.merge_after_d = never_merged_d;
    const Treatment& treatment = scenario.treatments[data.treatments[t].treatment];
    TreatmentJob made = treatment_job(scenario, treatment, trial.climates);
    int last = 0;
    for (const Observation& o : data.observations) {
      if (o.treatment == t) last = std::max(last, o.day);
    }
    problem.corrected_time_d.push_back(corrected_days(made.job, last));
    warn_of_other_years(trial, last, problem.warnings);
    const std::string& site = trial.source.site;
    problem.treatments.push_back(at_site(site, treatment.label));
    problem.treatment_keys.push_back(at_site(site, treatment.name));
    problem.sites.push_back(static_cast<int>(data.treatments[t].trial));
    problem.components.push_back(treatment.parameters.component_names);
    simulated.push_back({std::move(made.plan), treatment.parameters.field, treatment.parameters.components});
  }
  auto model = std::make_shared<const TrialModel>(std::move(simulated), std::move(unknowns.slots),
                                                  unknowns.values.size(), std::move(data.observations),
                                                  std::move(for_each));
  refuse_unseen(*model, unknowns, mistakes);
  mistakes.throw_if_any();
  problem.origins = std::move(data.origins);
  problem.targets = std::move(unknowns.targets);
  problem.posterior = std::make_shared<const TrialPosterior>(std::move(model), std::move(unknowns.values),
                                                             std::move(unknowns.unknowns), std::move(errors));
  return problem;
}

}  // namespace stoverturn
