#include "scenarios/trial/fit_text.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

constexpr const char* later = "> run";

/// A number that someone has stated.
std::string stated(double x) { return fmt::format("{:.3g}", x + 0.0); }

/// What is said of several, once, in the order in which it is first said.
class SaidOf {
 public:
  void add(const std::string& words, const std::string& name) {
    if (words.empty()) return;
    auto same = std::find_if(said_.begin(), said_.end(), [&](const auto& s) { return s.first == words; });
    if (same == said_.end()) same = said_.insert(said_.end(), {words, {}});
    same->second.push_back(name);
  }
  std::vector<std::string> sentences(const char* between_names) const {
    std::vector<std::string> all;
    for (const auto& [words, names] : said_)
      all.push_back(fmt::format("{}: {}", fmt::join(names, between_names), words));
    return all;
  }

 private:
  std::vector<std::pair<std::string, std::vector<std::string>>> said_;
};

}  // namespace

std::string fit_number(double x, int digits) {
  if (std::isinf(x)) return later;
  if (!std::isfinite(x)) return "-";
  // whole digits enough: libraries differ in what they then write behind the point
  if (std::abs(x) >= std::pow(10.0, digits - 1)) return fmt::format("{:.{}g}", x, digits);
  return fmt::format("{:#.{}g}", x + 0.0, digits);
}

std::string fixed_number(double x, int decimals) {
  return std::isfinite(x) ? fmt::format("{:.{}f}", x + 0.0, decimals) : "-";
}

std::string between_words(const Between& b) {
  if (std::isinf(b.lower)) return later;
  if (!std::isfinite(b.lower)) return std::isfinite(b.upper) ? "up to " + fit_number(b.upper, 3) : "-";
  if (!std::isfinite(b.upper)) return "from " + fit_number(b.lower, 3);
  return fmt::format("{} to {}", fit_number(b.lower, 3), fit_number(b.upper, 3));
}

std::string level_words(const FitResult& fit) { return fmt::format("{:.4g} %", 100.0 * fit.level); }

std::string unit_words_of(const std::string& unit) { return unit == "1" ? "" : unit; }

std::string with_unit(const std::string& name, const std::string& unit) {
  const std::string words = unit_words_of(unit);
  return words.empty() ? name : fmt::format("{}, {}", name, words);
}

std::string prior_words(const Unknown& u, double level) {
  if (u.prior.shape == Prior::Shape::flat) {
    return fmt::format("{} to {}, flat", stated(u.lower), stated(u.upper));
  }
  // the central interval of a normal distribution, for the common levels; else one standard deviation
  const bool central = std::abs(level - 0.9) < 1e-9;
  const auto [low, high] =
      central ? central_range(u.prior) : std::pair(u.prior.mean - u.prior.sd, u.prior.mean + u.prior.sd);
  return fmt::format("{} to {}, normal{}", stated(from_fit_scale(u.scale, low)),
                     stated(from_fit_scale(u.scale, high)), central ? "" : ", +-1 sd");
}

FitTable estimates_table(const FitResult& fit, bool every_method) {
  FitTable table{{{"parameter"},
                  {"unit"},
                  {"estimate", true},
                  {level_words(fit) + " interval", true},
                  {"by"},
                  {"prior"}},
                 {},
                 {}};
  for (const FittedUnknown& u : fit.unknowns) {
    const IntervalMethod* best = best_interval(u);
    const std::string bound = u.on_bound.empty() ? "" : "*";
    table.rows.push_back({u.unknown.name, unit_words_of(u.unknown.unit), fit_number(u.estimate) + bound,
                          best ? between_words(u.*best->between) : "-", std::string(best ? best->name : ""),
                          prior_words(u.unknown, fit.level)});
    for (const IntervalMethod& m : interval_methods) {
      if (every_method && best != &m && is_there(u.*m.between)) {
        table.rows.push_back({"", "", "", between_words(u.*m.between), std::string(m.name), ""});
      }
    }
  }
  const bool on_bound = std::any_of(fit.unknowns.begin(), fit.unknowns.end(),
                                    [](const FittedUnknown& u) { return !u.on_bound.empty(); });
  if (on_bound) table.notes.emplace_back("* ended on a bound");
  return table;
}

FitTable checks_table(const FitResult& fit) {
  FitTable table{
      {{"parameter"}, {"se on scale", true}, {"scale"}, {"R-hat", true}, {"effective draws", true}}, {}, {}};
  for (const FittedUnknown& u : fit.unknowns) {
    table.rows.push_back({u.unknown.name, fit_number(u.se_on_scale, 3), std::string(word_of(u.unknown.scale)),
                          fixed_number(u.rhat, 3), fixed_number(u.ess, 0)});
  }
  return table;
}

FitTable quality_table(const FitResult& fit) {
  FitTable table{{{"treatment"},
                  {"measured"},
                  {"unit"},
                  {"n", true},
                  {"RMSE", true},
                  {"bias", true},
                  {"efficiency", true}},
                 {},
                 {}};
  for (const FitQuality& q : fit.quality) {
    table.rows.push_back({q.treatment, q.measure, unit_words_of(q.unit), fmt::format("{}", q.n),
                          fit_number(q.rmse, 3), fit_number(q.bias, 2), fixed_number(q.efficiency, 2)});
  }
  const bool shares =
      std::any_of(fit.quality.begin(), fit.quality.end(), [](const FitQuality& q) { return q.unit == "1"; });
  if (shares) table.notes.emplace_back("without a unit: shares of what was there at the start");
  return table;
}

FitTable models_table(const FitResult& fit) {
  const auto any = [&](double ComparedModel::*left_out) {
    return std::any_of(fit.models.begin(), fit.models.end(),
                       [&](const ComparedModel& m) { return std::isfinite(m.*left_out); });
  };
  std::vector<std::pair<const char*, double ComparedModel::*>> left_out;
  if (any(&ComparedModel::left_out_treatment))
    left_out.emplace_back("new treatment", &ComparedModel::left_out_treatment);
  if (any(&ComparedModel::left_out_site)) left_out.emplace_back("new site", &ComparedModel::left_out_site);
  FitTable table{
      {{"model"}, {"numbers", true}, {"RMSE", true}, {"AICc", true}, {"BIC", true}, {"weight", true}},
      {},
      {}};
  for (const auto& [head, member] : left_out) table.columns.push_back({head, true});
  bool missing = false;
  for (const ComparedModel& m : fit.models) {
    std::vector<std::string> cells = {m.name,
                                      fmt::format("{}", m.parameters),
                                      fit_number(m.rmse, 3),
                                      fixed_number(m.aicc, 1),
                                      fixed_number(m.bic, 1),
                                      fixed_number(m.weight, 2)};
    for (const auto& [head, member] : left_out) {
      cells.push_back(fit_number(m.*member, 3));
      missing = missing || !std::isfinite(m.*member);
    }
    table.rows.push_back(std::move(cells));
  }
  if (table.rows.empty()) return table;
  std::string notes = "numbers: estimated, the size of the error among them";
  for (const auto& [head, member] : left_out) notes += fmt::format("; {}: RMSE where it was left out", head);
  if (missing) notes += "; -: has numbers of its own for each, and cannot predict another";
  table.notes = {std::move(notes)};
  return table;
}

std::vector<std::string> model_remarks(const FitResult& fit) {
  SaidOf remarks;
  for (const ComparedModel& m : fit.models) remarks.add(m.remark, m.name);
  return remarks.sentences("; ");
}

std::vector<std::string> what_data_tell(const FitResult& fit) {
  SaidOf said;
  for (const FittedUnknown& u : fit.unknowns) said.add(u.identifiable, u.unknown.name);
  return said.sentences(", ");
}

std::vector<std::string> search_words(const FitResult& fit, bool details) {
  std::vector<std::string> all;
  for (const FitStage& s : fit.stages) {
    std::string words = fmt::format("{}: {}", s.name, s.stop);
    if (details) {
      words += fmt::format(" ({} runs of the model", s.evaluations);
      if (s.seconds > 0.0) words += fmt::format(", {:.1f} s", s.seconds);
      words += std::isfinite(s.best_cost) ? fmt::format(", cost {:.6g})", s.best_cost) : ")";
    }
    all.push_back(std::move(words));
  }
  return all;
}

std::string odd_residual_words(const FitResidual& r) {
  return fmt::format("{}:{}: {}, {} on day {:.4g} is {}{}, the fit says {} ({} sd)", r.data, r.line,
                     r.treatment, r.measure, r.day, fit_number(r.observed), r.unit == "1" ? "" : " " + r.unit,
                     fit_number(r.predicted), fixed_number(r.standardised, 1));
}

std::string no_draws_words(const FitResult& fit) {
  const bool told = std::any_of(fit.warnings.begin(), fit.warnings.end(), [&](const std::string& w) {
    return w.find(fit.draws_refused) != std::string::npos;
  });
  return told ? "" : fit.draws_refused;
}

}  // namespace stoverturn
