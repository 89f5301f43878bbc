#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/report/fit_charts.hpp"
#include "scenarios/report/fit_curve_names.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "scenarios/trial/fit_text.hpp"
#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

using nlohmann::json;

constexpr std::size_t most_pairs_of = 5;  ///< unknowns
constexpr std::size_t most_points = 300;
constexpr double shown_costs = 2.5;  ///< times the cost at which an interval ends

std::string axis_words(const Unknown& u) {
  return u.unit.empty() || u.unit == "1" ? u.name : fmt::format("{} [{}]", u.name, u.unit);
}

json small_axis(const Chart& chart, std::string_view field, const std::string& title) {
  json axis = on_axis(chart, field);
  axis["title"] = title;
  axis["axis"] = {{"tickCount", 3},
                  {"labelOverlap", true},
                  {"labelFontSize", 10},
                  {"titleFontSize", 11},
                  {"titleLimit", 200}};
  axis["scale"] = {{"zero", false}};
  return axis;
}

json rule_at(const char* channel, double value) {
  return {{"mark", {{"type", "rule"}, {"strokeDash", {4, 3}}}},
          {"encoding", {{channel, {{"datum", value}}}}}};
}

const Unknown* unknown_of(const FitResult& fit, const FitProfile& p) {
  const bool whole =
      p.unknown < fit.unknowns.size() && p.value.size() > 1 && p.value.size() == p.cost_above_best.size();
  return whole ? &fit.unknowns[p.unknown].unknown : nullptr;
}

json profile_view(const Chart& chart, const FittedUnknown& u, double level_cost) {
  const json x = small_axis(chart, "value", axis_words(u.unknown));
  json y = small_axis(chart, "cost", "cost above best");
  y["scale"] = {{"domain", {0.0, shown_costs * level_cost}}};
  json view = {
      {"transform", {{{"filter", {{"field", "unknown"}, {"equal", u.unknown.name}}}}}},
      {"layer",
       {{{"mark", {{"type", "line"}, {"clip", true}, {"interpolate", "monotone"}}},
         {"encoding", {{"x", x}, {"y", y}}}},
        {{"mark", {{"type", "point"}, {"clip", true}, {"size", 22}}}, {"encoding", {{"x", x}, {"y", y}}}},
        rule_at("y", level_cost)}}};
  for (const double end : {u.profile.lower, u.profile.upper}) {
    if (std::isfinite(end)) view["layer"].push_back(rule_at("x", end));
  }
  return view;
}

/// Which unknowns are worth a look: those of the model first, and of these the ones most tied to another.
std::vector<std::size_t> most_tied(const FitResult& fit, const Eigen::MatrixXd& r) {
  std::vector<std::size_t> chosen;
  std::vector<double> tied(fit.unknowns.size(), 0.0);
  for (std::size_t i = 0; i < fit.unknowns.size(); ++i) {
    const auto at = static_cast<Eigen::Index>(i);
    if (std::isnan(r(at, at))) continue;
    chosen.push_back(i);
    for (Eigen::Index j = 0; j < r.cols(); ++j) {
      if (j != at && std::isfinite(r(at, j))) tied[i] = std::max(tied[i], std::abs(r(at, j)));
    }
    if (!fit.unknowns[i].targets.empty()) tied[i] += 1.0;
  }
  std::stable_sort(chosen.begin(), chosen.end(),
                   [&](std::size_t a, std::size_t b) { return tied[a] > tied[b]; });
  chosen.resize(std::min(chosen.size(), most_pairs_of));
  std::sort(chosen.begin(), chosen.end());
  return chosen;
}

json pair_view(const json& x, const json& y, double x_estimate, double y_estimate) {
  json view = {{"layer",
                {{{"mark", {{"type", "point"}, {"size", 10}, {"opacity", 0.35}}},
                  {"encoding", {{"x", x}, {"y", y}}}}}}};
  if (std::isfinite(x_estimate) && std::isfinite(y_estimate)) {
    view["layer"].push_back(
        {{"data", {{"values", json::array({json::object()})}}},
         {"mark",
          {{"type", "point"}, {"shape", "cross"}, {"size", 60}, {"opacity", 1.0}, {"color", "#c2571a"}}},
         {"encoding", {{"x", {{"datum", x_estimate}}}, {"y", {{"datum", y_estimate}}}}}});
  }
  return view;
}

/// Of the pairs that are shown, the one whose unknowns are most tied.
std::string says_of_draws(const FitResult& fit, const Eigen::MatrixXd& r,
                          const std::vector<std::size_t>& chosen) {
  double most = 0.0;
  std::string pair;
  for (const std::size_t i : chosen) {
    for (const std::size_t j : chosen) {
      const double of_both = r(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(j));
      if (j <= i || !(std::abs(of_both) > std::abs(most))) continue;
      most = of_both;
      pair = fmt::format("{} and {}", fit.unknowns[i].unknown.name, fit.unknowns[j].unknown.name);
    }
  }
  if (pair.empty()) return "No two of these go together.";
  std::string text = fmt::format("Most tied are {}: correlation {:.2f}. ", pair, most);
  if (std::abs(most) < 0.5) return text + "That is little: each is told by itself.";
  text += most > 0.0 ? "Where one is larger the other is, too" : "Where one is larger the other is smaller";
  return text + (std::abs(most) > 0.9 ? "; the data hardly tell the two apart."
                                      : ": part of what is not known of one is not known of the other.");
}

}  // namespace

std::vector<Chart> profile_charts(const FitResult& fit) {
  Chart chart;
  chart.name = "profiles";
  chart.title = "How well each number is told: its profile";
  chart.height_px = 145;
  chart.fields.reserve(3);
  auto& unknown = add_texts(chart, "unknown", "parameter");
  auto& value = add_numbers(chart, "value", "value in its unit", {"1", "", 1.0, 0.0});
  auto& cost = add_numbers(chart, "cost", "cost above the best", {"1", "", 1.0, 0.0});
  const double level_cost = cost_at_interval(fit.level);
  json views = json::array();
  std::string ends;
  for (const FitProfile& p : fit.profiles) {
    const Unknown* u = unknown_of(fit, p);
    if (!u) continue;
    for (std::size_t i = 0; i < p.value.size(); ++i) {
      unknown.push_back(u->name);
      value.push_back(p.value[i]);
      cost.push_back(p.cost_above_best[i]);
    }
    const FittedUnknown& fitted = fit.unknowns[p.unknown];
    views.push_back(profile_view(chart, fitted, level_cost));
    if (is_there(fitted.profile))
      ends += fmt::format("{}{} {}", ends.empty() ? "" : "; ", u->name, between_words(fitted.profile));
  }
  if (views.empty()) return {};
  chart.spec = {{"concat", std::move(views)}};
  chart.says = fmt::format("Below the broken line, {:.3f} above the best, lies the {} interval", level_cost,
                           level_words(fit));
  chart.says += ends.empty() ? "." : fmt::format(": {}.", ends);
  return {std::move(chart)};
}

Eigen::MatrixXd draws_correlation(const FitResult& fit) {
  const auto n = static_cast<Eigen::Index>(fit.unknowns.size());
  if (fit.draws.rows() != n || fit.draws.cols() < 3 || n == 0) return {};
  Eigen::MatrixXd z = fit.draws;
  for (Eigen::Index i = 0; i < n; ++i) {
    const Fit scale = fit.unknowns[static_cast<std::size_t>(i)].unknown.scale;
    for (Eigen::Index d = 0; d < z.cols(); ++d) z(i, d) = to_fit_scale(scale, z(i, d));
  }
  const Eigen::VectorXd mean = z.rowwise().mean();
  z.colwise() -= mean;
  Eigen::VectorXd size = z.rowwise().norm();
  for (Eigen::Index i = 0; i < n; ++i) {
    const double rounding = 1e-12 * std::sqrt(static_cast<double>(z.cols())) * std::abs(mean[i]);
    if (size[i] <= rounding) size[i] = 0.0;
  }
  Eigen::MatrixXd r = z * z.transpose();
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      const double both = size[i] * size[j];
      r(i, j) = both > 0.0 ? r(i, j) / both : not_there;
    }
  }
  return r;
}

std::vector<Chart> draws_charts(const FitResult& fit) {
  const Eigen::MatrixXd r = draws_correlation(fit);
  if (r.size() == 0) return {};
  const std::vector<std::size_t> chosen = most_tied(fit, r);
  if (chosen.size() < 2) return {};
  Chart chart;
  chart.name = "draws";
  chart.title = "What the numbers have to do with each other: draws in pairs";
  chart.height_px = 140;
  chart.says = says_of_draws(fit, r, chosen);
  chart.fields.reserve(chosen.size());
  std::vector<std::string> fields;
  for (const std::size_t i : chosen) {
    const Unknown& u = fit.unknowns[i].unknown;
    std::string name = plain_name(u.name, '_');
    if (name.empty() || index_of(fields, name) < fields.size()) name += fmt::format("_{}", i + 1);
    fields.push_back(name);
    auto& values = add_numbers(chart, name, u.name, {u.unit, "", 1.0, 0.0});
    for (const std::size_t d : thinned(static_cast<std::size_t>(fit.draws.cols()), most_points))
      values.push_back(fit.draws(static_cast<Eigen::Index>(i), static_cast<Eigen::Index>(d)));
  }
  json views = json::array();
  for (std::size_t b = 1; b < chosen.size(); ++b) {
    for (std::size_t a = 0; a < b; ++a) {
      const FittedUnknown &across = fit.unknowns[chosen[a]], &up = fit.unknowns[chosen[b]];
      views.push_back(pair_view(small_axis(chart, fields[a], axis_words(across.unknown)),
                                small_axis(chart, fields[b], axis_words(up.unknown)), across.estimate,
                                up.estimate));
    }
  }
  chart.spec = {{"concat", std::move(views)}};
  return {std::move(chart)};
}

}  // namespace stoverturn
