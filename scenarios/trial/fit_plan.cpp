#include "scenarios/trial/fit_plan.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/parameter_settings.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {
namespace {

constexpr std::array varies_words = {"shared", "component", "treatment", "trial"};

std::vector<std::string> estimable_names() {
  std::vector<std::string> names;
  for (const ParameterRow& row : parameter_table()) {
    if (row.fit != Fit::fixed && row.scope != Scope::driver) names.emplace_back(row.name);
  }
  return names;
}

const ParameterRow* estimable(const std::string& name, const Position& at, Mistakes& mistakes) {
  const ParameterRow* row = find_parameter(name);
  const std::vector<std::string> names = estimable_names();
  if (row && std::find(names.begin(), names.end(), name) != names.end()) return row;
  if (row) {
    mistakes.add(at, fmt::format("{} cannot be estimated: it {}", name,
                                 row->scope == Scope::driver ? "is used before the simulation"
                                                             : "is a fixed property"));
  } else {
    mistakes.add(at, fmt::format("unknown parameter `{}`{}", name, did_you_mean(name, names)));
  }
  return nullptr;
}

/// { median, factor }, { mean, sd } or { half_normal }.
std::optional<Prior> read_prior(const Table& table, const EstimatePlan& e, Position at, Mistakes& mistakes) {
  const std::string name(e.row->name);
  TableReader in(table, "prior of " + name, at, mistakes);
  const auto amount = [&](const char* key) -> std::optional<double> {
    const Value* value = in.value(key);
    return value ? read_parameter_value(*e.row, *value, mistakes) : std::nullopt;
  };
  Prior prior;
  prior.lower = e.lower;
  prior.upper = e.upper;
  const int kinds = static_cast<int>(in.has("median")) + static_cast<int>(in.has("mean")) +
                    static_cast<int>(in.has("half_normal"));
  if (kinds != 1) {
    mistakes.add(at,
                 "prior: wanted { median = ..., factor = 2 }, { mean = ..., sd = ... } or { half_normal = "
                 "... }");
    return std::nullopt;
  }
  if (in.has("median")) {
    prior.kind = PriorKind::lognormal;
    in.require("factor", "factor = 2: two thirds lie within half and twice the median");
    prior.centre = amount("median").value_or(0.0);
    prior.spread = std::log(in.number("factor", 1.001, 1000.0).value_or(2.0));
  } else if (in.has("mean")) {
    prior.kind = PriorKind::normal;
    in.require("sd", "sd = ..., the standard deviation");
    prior.centre = amount("mean").value_or(0.0);
    prior.spread = in.number("sd", 1e-12, 1e12).value_or(1.0);
  } else {
    prior.kind = PriorKind::half_normal;
    prior.spread = in.number("half_normal", 1e-12, 1e12).value_or(1.0);
  }
  in.finish();
  if (const std::string fault = prior_fault(prior); !fault.empty()) {
    mistakes.add(at, fmt::format("prior of {}: {}", name, fault));
    return std::nullopt;
  }
  return prior;
}

void read_estimate(const std::string& name, const Table* table, Position at, FitPlan& plan,
                   Mistakes& mistakes) {
  EstimatePlan e;
  e.row = estimable(name, at, mistakes);
  e.at = at;
  if (!e.row) return;
  e.lower = e.row->lower;
  e.upper = e.row->upper;
  if (table) {
    TableReader in(*table, fmt::format("[estimate.{}]", name), at, mistakes);
    if (const auto by = in.one_of("varies_by", {varies_words.begin() + 1, varies_words.end()})) {
      const auto word = std::find(varies_words.begin(), varies_words.end(), *by);
      e.varies = static_cast<Varies>(word - varies_words.begin());
    }
    if (e.varies == Varies::component && e.row->scope != Scope::component) {
      in.mistake("varies_by", fmt::format("{} is one value for the whole field", name));
    }
    e.pooled = in.flag("pooled").value_or(false);
    if (e.pooled && e.varies == Varies::shared) {
      in.mistake("pooled",
                 "needs varies_by: what scatters about the common mean? (treatment, trial or component)");
    }
    if (const List* components = in.list("components")) {
      for (const Value& c : *components) {
        if (c.text()) e.components.push_back(*c.text());
      }
    }
    if (const Value* v = in.value("lower"))
      e.lower = read_parameter_value(*e.row, *v, mistakes).value_or(e.lower);
    if (const Value* v = in.value("upper"))
      e.upper = read_parameter_value(*e.row, *v, mistakes).value_or(e.upper);
    if (!(e.lower < e.upper)) in.mistake("lower", "wanted lower below upper");
    if (const Table* prior = in.table("prior")) e.prior = read_prior(*prior, e, in.at("prior"), mistakes);
    in.finish();
  }
  plan.estimates.push_back(e);
}

void read_estimates(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  top.require("estimate", "estimate = [\"k_sol\", \"k_hol\"], or [estimate.k_hol] tables");
  const Value* value = top.value("estimate");
  if (!value) return;
  if (const Table* table = value->table()) {
    for (const Entry& entry : *table) {
      read_estimate(entry.key, entry.value.front().table(), entry.key_at, plan, mistakes);
    }
  } else if (const List* list = value->list()) {
    for (const Value& item : *list) {
      if (item.text()) {
        read_estimate(*item.text(), nullptr, item.at, plan, mistakes);
      } else {
        mistakes.add(item.at, fmt::format("estimate: found {}; wanted names of parameters", kind_name(item)));
      }
    }
  } else {
    mistakes.add(value->at,
                 fmt::format("estimate: found {}; wanted a list of names, or tables", kind_name(*value)));
  }
  for (std::size_t i = 1; i < plan.estimates.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (plan.estimates[i].row == plan.estimates[j].row) {
        mistakes.add(plan.estimates[i].at, fmt::format("{} stands twice", plan.estimates[i].row->name));
      }
    }
  }
}

void read_trials(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  const auto one = [&](TableReader& in, std::string name) {
    in.require("scenario", "scenario = \"trial.toml\"");
    in.require("data", "data = \"bags.csv\"");
    plan.trials.push_back({std::move(name), in.text("data").value_or(""), in.text("scenario").value_or(""),
                           in.at("data"), in.at("scenario")});
  };
  const Table* trials = top.table("trial");
  if (!trials) return one(top, "");
  if (top.has("data") || top.has("scenario")) {
    top.mistake("trial", "found with `data` or `scenario` at the top; keep one of the two");
  }
  for (const Entry& entry : *trials) {
    const Table* table = entry.value.front().table();
    if (!table) {
      mistakes.add(entry.key_at, fmt::format("trial `{0}`: wanted a table [trial.{0}]", entry.key));
      continue;
    }
    TableReader in(*table, fmt::format("[trial.{}]", entry.key), entry.key_at, mistakes);
    one(in, entry.key);
    in.finish();
  }
}

void read_errors(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  const Table* table = top.table("error");
  if (!table) return;
  TableReader in(*table, "[error]", top.at("error"), mistakes);
  for (std::size_t f = 0; f < trial_fields.size(); ++f) {
    std::string key(trial_fields[f].name);
    std::replace(key.begin(), key.end(), ' ', '_');
    const Table* own = in.table(key);
    if (!own) continue;
    TableReader error(*own, fmt::format("[error.{}]", key), in.at(key), mistakes);
    ErrorPlan plan_of_field;
    plan_of_field.field = f;
    if (const auto form = error.one_of("form", {"absolute", "proportional", "both"})) {
      plan_of_field.absolute = *form != "proportional";
      plan_of_field.proportional = *form != "absolute";
    }
    const Kind kind = trial_fields[f].kind == Kind::fraction ? Kind::fraction : trial_fields[f].kind;
    plan_of_field.given_absolute = error.amount("absolute", kind, 1e-9, 1e3);
    plan_of_field.given_proportional = error.amount("proportional", Kind::fraction, 1e-9, 10.0);
    error.finish();
    plan.errors.push_back(plan_of_field);
  }
  in.finish();
}

void read_bags(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  const Table* table = top.table("bags");
  if (!table) return;
  TableReader in(*table, "[bags]", top.at("bags"), mistakes);
  BagsPlan& b = plan.bags;
  const auto ash = in.one_of("ash", {"as_weighed", "ash_free", "soil"});
  if (ash == "ash_free") b.ash = AshChoice::ash_free;
  if (ash == "soil") b.ash = AshChoice::soil;
  b.initial_ash = in.amount("initial_ash", Kind::fraction, 0.0, 0.5).value_or(not_weighed);
  b.soil_ash = in.amount("soil_ash", Kind::fraction, 0.5, 1.0).value_or(not_weighed);
  if (b.ash == AshChoice::soil && std::isnan(b.soil_ash)) {
    in.mistake("ash", "\"soil\" needs soil_ash = \"92 %\", the ash content of the soil");
  }
  const auto start = in.one_of("start", {"put_in", "day_0"});
  b.start_at_day_0 = start == "day_0";
  b.soil.bulk_density_g_cm3 = in.amount("bulk_density", Kind::density, 0.2, 2.2).value_or(not_weighed);
  b.soil.depth_mm = in.amount("depth", Kind::length, 1.0, 2000.0).value_or(not_weighed);
  in.finish();
}

void read_method(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  const Table* table = top.table("method");
  if (!table) return;
  TableReader in(*table, "[method]", top.at("method"), mistakes);
  FitMethod& m = plan.method;
  m.level = in.amount("level", Kind::fraction, 0.5, 0.999).value_or(m.level);
  m.seed = static_cast<std::uint64_t>(in.number("seed", 0.0, 9e15).value_or(1.0));
  m.starts = static_cast<int>(in.number("starts", 1.0, 1000.0).value_or(m.starts));
  m.draws = static_cast<int>(in.number("draws", 100.0, 1e6).value_or(m.draws));
  m.bootstrap = static_cast<int>(in.number("bootstrap", 0.0, 1e5).value_or(m.bootstrap));
  m.profiles = in.flag("profiles").value_or(m.profiles);
  m.posterior = in.flag("posterior").value_or(m.posterior);
  m.robust = in.flag("robust").value_or(m.robust);
  in.finish();
}

}  // namespace

std::string_view to_string(Varies varies) { return varies_words[static_cast<std::size_t>(varies)]; }

FitPlan read_fit_plan(std::string_view text, const std::string& name,
                      const std::vector<std::string>& overrides) {
  Mistakes mistakes;
  Table table = read_toml(text, name);
  for (const std::string& o : overrides) {
    const std::size_t equals = o.find('=');
    if (equals == std::string::npos || equals == 0) {
      mistakes.add({"command line", 0, 0}, fmt::format("found `--set {}`; wanted --set key.path=value", o));
      continue;
    }
    set_path(table, o.substr(0, equals), command_line_value(std::string_view(o).substr(equals + 1)));
  }
  FitPlan plan;
  TableReader top(table, "the file", {name, 1, 1}, mistakes);
  plan.title = top.text("title").value_or(name);
  read_trials(top, plan, mistakes);
  read_estimates(top, plan, mistakes);
  read_errors(top, plan, mistakes);
  read_bags(top, plan, mistakes);
  read_method(top, plan, mistakes);
  top.finish();
  mistakes.throw_if_any();
  return plan;
}

}  // namespace stoverturn
