#pragma once
#include <algorithm>
#include <functional>
#include <string>
#include <type_traits>

#include "scenarios/trial/fit_words.hpp"

/// The members of a fit and their names in its file, once for writer and reader. `Io` either puts each or
/// gets each.
namespace stoverturn::fit_file {

struct FlatTarget {
  std::size_t unknown = 0;
  FitTarget target;
};

inline std::vector<FlatTarget> flat_targets(const std::vector<FittedUnknown>& unknowns) {
  std::vector<FlatTarget> flat;
  for (std::size_t i = 0; i < unknowns.size(); ++i) {
    for (const FitTarget& target : unknowns[i].targets) flat.push_back({i, target});
  }
  return flat;
}

template <class Rows, class Get>
std::size_t longest(const Rows& rows, Get get) {
  std::size_t most = 0;
  for (const auto& row : rows) most = std::max(most, std::invoke(get, row).size());
  return most;
}

/// A member of a member of a row.
template <class A, class B>
auto through(A a, B b) {
  return [ a, b ](auto& row) -> auto& { return (row.*a).*b; };
}

template <class Fit, class Io>
void unknowns(Fit& f, Io& io) {
  io.labelled_rows("unknown", f.unknowns, through(&FittedUnknown::unknown, &Unknown::name),
                   "what is estimated");
  const auto column = [&](const char* name, auto get, const char* meaning) {
    io.column("unknown", name, f.unknowns, get, meaning);
  };
  const auto prior = [](auto member) {
    return [member](auto& row) -> auto& { return row.unknown.prior.*member; };
  };
  column("unit", through(&FittedUnknown::unknown, &Unknown::unit),
         "unit of estimate, bounds, intervals and draws");
  column("meaning", through(&FittedUnknown::unknown, &Unknown::meaning), "what it is");
  column("scale", through(&FittedUnknown::unknown, &Unknown::scale), "scale on which it was searched for");
  column("start", through(&FittedUnknown::unknown, &Unknown::start), "where the search began");
  column("bound_lower", through(&FittedUnknown::unknown, &Unknown::lower), "lower bound");
  column("bound_upper", through(&FittedUnknown::unknown, &Unknown::upper), "upper bound");
  column("prior_shape", prior(&Prior::shape), "prior on the fit scale");
  column("prior_mean", prior(&Prior::mean), "mean of a normal prior, on the fit scale");
  column("prior_sd", prior(&Prior::sd), "standard deviation of it, on the fit scale");
  column("estimate", &FittedUnknown::estimate, "most probable value");
  column("se_on_scale", &FittedUnknown::se_on_scale, "standard error on the fit scale");
  column("on_bound", &FittedUnknown::on_bound, "bound at which it ended");
  for (const IntervalMethod& method : interval_methods) {
    const auto between = method.between;
    const std::string name(method.name);
    io.column(
        "unknown", name + "_lower", f.unknowns, [between](auto& u) -> auto& { return (u.*between).lower; },
        "lower end of the interval, " + name);
    io.column(
        "unknown", name + "_upper", f.unknowns, [between](auto& u) -> auto& { return (u.*between).upper; },
        "upper end of the interval, " + name);
  }
  column("identifiable", &FittedUnknown::identifiable, "how well the data tell it");
  column("rhat", &FittedUnknown::rhat, "scale reduction of the chains, 1 when they agree");
  column("ess", &FittedUnknown::ess, "effective number of draws");

  std::vector<FlatTarget> targets = flat_targets(f.unknowns);
  io.rows("target", targets);
  io.column("target", "unknown", targets, &FlatTarget::unknown, "index of the unknown");
  io.column("target", "parameter", targets, through(&FlatTarget::target, &FitTarget::parameter),
            "parameter it is written to");
  io.column("target", "component", targets, through(&FlatTarget::target, &FitTarget::component),
            "component, empty for all");
  io.column("target", "treatment", targets, through(&FlatTarget::target, &FitTarget::treatment),
            "treatment, empty for all");
  if constexpr (!std::is_const_v<Fit>) {
    for (FlatTarget& t : targets) {
      io.check_index("target_unknown", t.unknown, f.unknowns.size());
      f.unknowns[t.unknown].targets.push_back(std::move(t.target));
    }
  }
}

template <class Fit, class Io>
void tables(Fit& f, Io& io) {
  const auto table = [&](const char* list, auto& rows) {
    io.rows(list, rows);
    return [&io, &rows, list](const char* name, auto get, const char* meaning) {
      io.column(list, name, rows, get, meaning);
    };
  };
  const auto stage = table("search", f.stages);
  stage("name", &FitStage::name, "stage of the search");
  stage("stop", &FitStage::stop, "why it ended");
  stage("evaluations", &FitStage::evaluations, "runs of the model");
  stage("best_cost", &FitStage::best_cost, "least cost, minus the log density");
  const auto derived = table("derived", f.derived);
  derived("name", &DerivedQuantity::name, "derived quantity");
  derived("treatment", &DerivedQuantity::treatment, "treatment");
  derived("unit", &DerivedQuantity::unit, "unit");
  derived("estimate", &DerivedQuantity::estimate, "value at the estimates");
  derived("lower", through(&DerivedQuantity::between, &Between::lower),
          "lower end of its interval, from draws");
  derived("upper", through(&DerivedQuantity::between, &Between::upper),
          "upper end of its interval, from draws");
  const auto quality = table("quality", f.quality);
  quality("treatment", &FitQuality::treatment, "treatment");
  quality("measure", &FitQuality::measure, "what was measured");
  quality("unit", &FitQuality::unit, "unit of rmse and bias");
  quality("n", &FitQuality::n, "measured numbers");
  quality("rmse", &FitQuality::rmse, "root mean square error");
  quality("bias", &FitQuality::bias, "mean of predicted less observed");
  quality("efficiency", &FitQuality::efficiency, "model efficiency, 1 when perfect");
  const auto model = table("model", f.models);
  model("name", &ComparedModel::name, "compared model");
  model("parameters", &ComparedModel::parameters, "its estimated numbers");
  model("rmse", &ComparedModel::rmse, "root mean square error");
  model("aicc", &ComparedModel::aicc, "Akaike's criterion, corrected");
  model("bic", &ComparedModel::bic, "Bayesian criterion");
  model("weight", &ComparedModel::weight, "Akaike weight");
  model("left_out_treatment", &ComparedModel::left_out_treatment, "rmse of treatments left out in turn");
  model("left_out_site", &ComparedModel::left_out_site, "rmse of sites left out in turn");
  model("remark", &ComparedModel::remark, "why a number is missing");
  const auto checksum = table("checksum", f.checksums);
  checksum("name", &std::pair<std::string, std::string>::first, "input");
  checksum("sha256", &std::pair<std::string, std::string>::second, "its SHA-256");
}

template <class Fit, class Io>
void residuals(Fit& f, Io& io) {
  io.rows("residual", f.residuals);
  const auto column = [&](const char* name, auto get, const char* meaning) {
    io.column("residual", name, f.residuals, get, meaning);
  };
  column("line", &FitResidual::line, "line of the data file");
  column("data", &FitResidual::data, "data file");
  column("treatment", &FitResidual::treatment, "treatment");
  column("placement", &FitResidual::placement, "placement");
  column("component", &FitResidual::component, "component");
  column("block", &FitResidual::block, "block");
  column("replicate", &FitResidual::replicate, "replicate");
  column("measure", &FitResidual::measure, "what was measured");
  column("unit", &FitResidual::unit, "unit of observed, predicted and sd");
  column("day", &FitResidual::day, "day since the start");
  column("observed", &FitResidual::observed, "measured number");
  column("predicted", &FitResidual::predicted, "at the estimates");
  column("sd", &FitResidual::sd, "standard deviation of its error");
  column("standardised", &FitResidual::standardised, "observed less predicted, over sd");
  column("suspicious", &FitResidual::suspicious, "1: beyond 3.5 standard deviations");
}

template <class Fit, class Io>
void curves(Fit& f, Io& io) {
  io.rows("curve", f.curves);
  const auto column = [&](const char* name, auto get, const char* meaning) {
    io.column("curve", name, f.curves, get, meaning);
  };
  column("treatment", &FitCurve::treatment, "treatment");
  column("placement", &FitCurve::placement, "placement");
  column("component", &FitCurve::component, "component");
  column("measure", &FitCurve::measure, "what is predicted");
  column("unit", &FitCurve::unit, "unit");
  io.days("time", f.start, longest(f.curves, &FitCurve::estimate));
  const auto daily = [&](const char* name, auto get, const char* meaning) {
    io.lists("curve", name, "time", f.curves, get, meaning);
  };
  daily("estimate", &FitCurve::estimate, "predicted at the estimates");
  daily("median", &FitCurve::median, "median of the draws");
  daily("lower", &FitCurve::lower, "lower end of the band, from draws");
  daily("upper", &FitCurve::upper, "upper end of the band, from draws");

  io.rows("profile", f.profiles);
  io.column("profile", "unknown", f.profiles, &FitProfile::unknown, "index of the unknown");
  io.points("profile_point", longest(f.profiles, &FitProfile::value));
  io.lists("profile", "value", "profile_point", f.profiles, &FitProfile::value, "value at which it is held");
  io.lists("profile", "cost_above_best", "profile_point", f.profiles, &FitProfile::cost_above_best,
           "least cost there, above that of the estimates");
}

template <class Fit, class Io>
void members(Fit& f, Io& io) {
  io.attribute("title", f.title);
  io.attribute("source", f.program);
  io.attribute("units_shown", f.units);
  io.attribute("level", f.level);
  io.attribute("log_density", f.log_density);
  io.attribute("log_likelihood", f.log_likelihood);
  io.attribute("observations", f.observations);
  io.attribute("converged", f.converged);
  io.attribute("draws_are", f.draws_are);
  io.attribute("draws_refused", f.draws_refused);
  io.attribute("first_day", f.start);
  io.labels("treatment", f.treatments, "label of the treatment");
  io.labels("treatment_key", f.treatment_keys, "name of the treatment in its scenario");
  io.labels("warning", f.warnings, "what to do about what");
  io.labels("method", f.methods, "sentence of the methods paragraph");
  unknowns(f, io);
  io.matrix("covariance", f.covariance, "unknown", "other_unknown", "covariance on the fit scale");
  io.matrix("draws", f.draws, "unknown", "draw", "draws of the unknowns");
  tables(f, io);
  residuals(f, io);
  curves(f, io);
  io.texts(f.texts);
}

}  // namespace stoverturn::fit_file
