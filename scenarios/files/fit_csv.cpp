#include <cmath>

#include <fmt/format.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/csv_write.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

std::string cell(double x) { return std::isfinite(x) ? fmt::format("{:.10g}", x + 0.0) : ""; }

std::string parameters_text(const FitResult& fit) {
  std::string text = "parameter,unit,estimate,on_bound,scale,se_on_scale";
  for (const IntervalMethod& m : interval_methods) text += fmt::format(",{0}_lower,{0}_upper", m.name);
  text += ",level,bound_lower,bound_upper,prior,prior_mean,prior_sd,rhat,ess,identifiable,meaning\n";
  for (const FittedUnknown& u : fit.unknowns) {
    text += fmt::format("{},{},{},{},{},{}", csv_cell(u.unknown.name), csv_cell(u.unknown.unit),
                        cell(u.estimate), u.on_bound, word_of(u.unknown.scale), cell(u.se_on_scale));
    for (const IntervalMethod& m : interval_methods) {
      text += fmt::format(",{},{}", cell((u.*m.between).lower), cell((u.*m.between).upper));
    }
    const Prior& prior = u.unknown.prior;
    const bool normal = prior.shape == Prior::Shape::normal;
    text += fmt::format(",{},{},{},{},{},{},{},{},{},{}\n", cell(fit.level), cell(u.unknown.lower),
                        cell(u.unknown.upper), word_of(prior.shape), normal ? cell(prior.mean) : "",
                        normal ? cell(prior.sd) : "", cell(u.rhat), cell(u.ess), csv_cell(u.identifiable),
                        csv_cell(u.unknown.meaning));
  }
  return text;
}

std::string residuals_text(const FitResult& fit) {
  std::string text =
      "data,line,treatment,placement,component,block,replicate,measure,unit,day,observed,predicted,sd,"
      "standardised,suspicious\n";
  for (const FitResidual& r : fit.residuals) {
    text += fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", csv_cell(r.data), r.line,
                        csv_cell(r.treatment), csv_cell(r.placement), csv_cell(r.component),
                        csv_cell(r.block), csv_cell(r.replicate), csv_cell(r.measure), csv_cell(r.unit),
                        cell(r.day), cell(r.observed), cell(r.predicted), cell(r.sd), cell(r.standardised),
                        r.suspicious ? "yes" : "");
  }
  return text;
}

}  // namespace

void write_fit_parameters_csv(const std::filesystem::path& path, const FitResult& fit) {
  write_text(path, parameters_text(fit));
}

void write_fit_residuals_csv(const std::filesystem::path& path, const FitResult& fit) {
  write_text(path, residuals_text(fit));
}

}  // namespace stoverturn
