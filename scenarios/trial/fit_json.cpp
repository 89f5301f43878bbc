#include "scenarios/trial/fit_json.hpp"

#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "scenarios/text/mistakes.hpp"
#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

using Json = nlohmann::ordered_json;

constexpr int json_format = 1;  // raised when an older program could misread a text
constexpr const char* format_key = "stoverturn_fit";

Json number(double x) { return std::isfinite(x) ? Json(x) : Json(nullptr); }
Json pair_of(double a, double b) { return Json::array({number(a), number(b)}); }

Json unknown_of(const FittedUnknown& u) {
  Json out = {{"name", u.unknown.name},
              {"unit", u.unknown.unit},
              {"meaning", u.unknown.meaning},
              {"estimate", number(u.estimate)},
              {"scale", word_of(u.unknown.scale)},
              {"se_on_scale", number(u.se_on_scale)},
              {"bounds", pair_of(u.unknown.lower, u.unknown.upper)}};
  out["prior"] = {{"shape", word_of(u.unknown.prior.shape)}};
  if (u.unknown.prior.shape == Prior::Shape::normal) {
    out["prior"]["mean"] = number(u.unknown.prior.mean);
    out["prior"]["sd"] = number(u.unknown.prior.sd);
  }
  out["intervals"] = Json::object();
  for (const IntervalMethod& method : interval_methods) {
    const Between& b = u.*method.between;
    if (is_there(b)) out["intervals"][std::string(method.name)] = pair_of(b.lower, b.upper);
  }
  if (!u.on_bound.empty()) out["on_bound"] = u.on_bound;
  if (!u.identifiable.empty()) out["identifiable"] = u.identifiable;
  out["targets"] = Json::array();
  for (const FitTarget& t : u.targets) {
    out["targets"].push_back(
        {{"parameter", t.parameter}, {"component", t.component}, {"treatment", t.treatment}});
  }
  return out;
}

Json treatments_of(const FitResult& fit) {
  Json list = Json::array();
  for (std::size_t t = 0; t < fit.treatments.size(); ++t) {
    Json one = {{"label", fit.treatments[t]}};
    if (t < fit.treatment_keys.size()) one["key"] = fit.treatment_keys[t];
    list.push_back(std::move(one));
  }
  return list;
}

/// A text that is JSON but no fit.
struct NotAFit {
  std::string why;
};

const Json& member(const Json& object, const char* key) {
  if (!object.is_object() || !object.contains(key)) throw NotAFit{fmt::format("'{}' is missing", key)};
  return object.at(key);
}
const Json& list(const Json& object, const char* key) {
  const Json& value = member(object, key);
  if (!value.is_array()) throw NotAFit{fmt::format("'{}' is no list", key)};
  return value;
}
std::string text(const Json& object, const char* key) {
  const Json& value = member(object, key);
  if (!value.is_string()) throw NotAFit{fmt::format("'{}' is no text", key)};
  return value.get<std::string>();
}
std::string text_or_none(const Json& object, const char* key) {
  return object.contains(key) ? text(object, key) : "";
}
double number_in(const Json& value, const char* key) {
  if (value.is_null()) return not_there;
  if (!value.is_number()) throw NotAFit{fmt::format("'{}' holds what is no number", key)};
  return value.get<double>();
}
Between two(const Json& object, const char* key) {
  const Json& values = list(object, key);
  if (values.size() != 2) throw NotAFit{fmt::format("'{}' holds {} numbers; wanted 2", key, values.size())};
  return {number_in(values[0], key), number_in(values[1], key)};
}
template <class Enum>
Enum word(const Json& object, const char* key) {
  const std::string found = text(object, key);
  const std::optional<Enum> value = from_word<Enum>(found);
  if (!value) throw NotAFit{fmt::format("'{}' is '{}'", key, found)};
  return *value;
}

FittedUnknown unknown_in(const Json& in) {
  FittedUnknown u;
  u.unknown.name = text(in, "name");
  u.unknown.unit = text(in, "unit");
  u.unknown.meaning = text(in, "meaning");
  u.unknown.scale = word<Fit>(in, "scale");
  u.estimate = number_in(member(in, "estimate"), "estimate");
  u.unknown.start = u.estimate;
  u.se_on_scale = number_in(member(in, "se_on_scale"), "se_on_scale");
  const Between bounds = two(in, "bounds");
  u.unknown.lower = bounds.lower;
  u.unknown.upper = bounds.upper;
  const Json& prior = member(in, "prior");
  u.unknown.prior.shape = word<Prior::Shape>(prior, "shape");
  if (u.unknown.prior.shape == Prior::Shape::normal) {
    u.unknown.prior.mean = number_in(member(prior, "mean"), "mean");
    u.unknown.prior.sd = number_in(member(prior, "sd"), "sd");
  }
  const Json& intervals = member(in, "intervals");
  for (const IntervalMethod& method : interval_methods) {
    const std::string name(method.name);
    if (intervals.contains(name)) u.*method.between = two(intervals, name.c_str());
  }
  u.on_bound = text_or_none(in, "on_bound");
  u.identifiable = text_or_none(in, "identifiable");
  for (const Json& t : list(in, "targets")) {
    u.targets.push_back({text(t, "parameter"), text(t, "component"), text(t, "treatment")});
  }
  return u;
}

/// Lists of as many numbers as there are unknowns, as the columns of a matrix.
Eigen::MatrixXd columns_in(const Json& in, const char* key, std::size_t unknowns) {
  const Json& columns = list(in, key);
  Eigen::MatrixXd values(static_cast<Eigen::Index>(unknowns), static_cast<Eigen::Index>(columns.size()));
  if (columns.empty()) return {};
  for (std::size_t c = 0; c < columns.size(); ++c) {
    if (!columns[c].is_array() || columns[c].size() != unknowns) {
      throw NotAFit{fmt::format("'{}' does not hold {} numbers in each of its lists", key, unknowns)};
    }
    for (std::size_t r = 0; r < unknowns; ++r) {
      values(static_cast<Eigen::Index>(r), static_cast<Eigen::Index>(c)) = number_in(columns[c][r], key);
    }
  }
  return values;
}

Json columns_of(const Eigen::MatrixXd& values, const std::vector<std::size_t>& chosen) {
  Json columns = Json::array();
  for (const std::size_t c : chosen) {
    Json column = Json::array();
    for (Eigen::Index r = 0; r < values.rows(); ++r) {
      column.push_back(number(values(r, static_cast<Eigen::Index>(c))));
    }
    columns.push_back(std::move(column));
  }
  return columns;
}

FitResult fit_in(const Json& in) {
  const Json& format = member(in, format_key);
  if (format != json_format) {
    throw NotAFit{
        fmt::format("it is in format {}, this program reads format {}", format.dump(), json_format)};
  }
  FitResult fit;
  fit.program = text(in, "program");
  fit.title = text(in, "title");
  fit.level = number_in(member(in, "level"), "level");
  if (!(fit.level > 0.0 && fit.level < 1.0)) throw NotAFit{"'level' is not between 0 and 1"};
  fit.observations = static_cast<int>(number_in(member(in, "observations"), "observations"));
  fit.converged = member(in, "converged") == true;
  for (const Json& t : list(in, "treatments")) {
    fit.treatments.push_back(text(t, "label"));
    if (t.contains("key")) fit.treatment_keys.push_back(text(t, "key"));
  }
  for (const Json& u : list(in, "unknowns")) fit.unknowns.push_back(unknown_in(u));
  if (fit.unknowns.empty()) throw NotAFit{"it estimates nothing"};
  fit.covariance = columns_in(in, "covariance", fit.unknowns.size());
  fit.draws_are = text_or_none(in, "draws_are");
  fit.draws_refused = text_or_none(in, "draws_refused");
  fit.draws = columns_in(in, "draws", fit.unknowns.size());
  return fit;
}

}  // namespace

std::vector<std::size_t> thinned(std::size_t have, std::size_t wanted) {
  std::vector<std::size_t> chosen;
  const std::size_t count = std::min(have, wanted);
  for (std::size_t i = 0; i < count; ++i) chosen.push_back(i * have / count);
  return chosen;
}

std::string fit_json(const FitResult& fit, std::size_t most_draws) {
  const auto all = static_cast<std::size_t>(fit.draws.cols());
  Json out = {{format_key, json_format}, {"program", fit.program},           {"title", fit.title},
              {"level", fit.level},      {"observations", fit.observations}, {"converged", fit.converged}};
  out["treatments"] = treatments_of(fit);
  out["unknowns"] = Json::array();
  for (const FittedUnknown& u : fit.unknowns) out["unknowns"].push_back(unknown_of(u));
  const auto columns = static_cast<std::size_t>(fit.covariance.cols());
  out["covariance"] = columns_of(fit.covariance, thinned(columns, columns));
  if (!fit.draws_are.empty()) out["draws_are"] = fit.draws_are;
  if (!fit.draws_refused.empty()) out["draws_refused"] = fit.draws_refused;
  out["draws_in_all"] = all;
  out["draws"] = columns_of(fit.draws, thinned(all, most_draws));
  out["warnings"] = fit.warnings;
  return out.dump(1, ' ', false, Json::error_handler_t::replace) + "\n";
}

FitResult read_fit_json(std::string_view text, const std::string& name) {
  const Json parsed = Json::parse(text.begin(), text.end(), nullptr, false);
  if (parsed.is_discarded()) {
    throw InputError({{{name, 0, 0}, "is neither JSON nor HDF5; wanted fit.h5 or fit.json of `fit`"}});
  }
  if (!parsed.is_object() || !parsed.contains(format_key)) {
    throw InputError({{{name, 0, 0}, "is JSON, but no fit of stoverturn"}});
  }
  try {
    return fit_in(parsed);
  } catch (const NotAFit& error) {
    throw InputError({{{name, 0, 0}, fmt::format("is no whole fit: {}", error.why)}});
  }
}

}  // namespace stoverturn
