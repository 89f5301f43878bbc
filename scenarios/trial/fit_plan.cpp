#include "scenarios/trial/fit_plan.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/table_reader.hpp"
#include "scenarios/trial/fit_estimates.hpp"
#include "scenarios/trial/measure_names.hpp"

namespace stoverturn {
namespace {

const Table nothing;

/// `data = "file.csv"` says the same as `data = { file = "file.csv" }`.
Table data_table(const Value& value, Mistakes& mistakes) {
  if (value.table()) return *value.table();
  if (value.text()) return {{"file", value.at, {value}}};
  mistakes.add(value.at,
               fmt::format("data: found {}; wanted the name of a file in quotes, or [data] with file",
                           kind_name(value)));
  return {};
}

void lay_over(Table& top, const std::vector<std::string>& overrides, Mistakes& mistakes) {
  static const std::vector<std::string> root_keys = {"title", "units", "data", "scenario"};
  for (const std::string& text : overrides) {
    const Override o = split_override(text, mistakes);
    if (o.address.empty()) continue;
    const bool root = std::find(root_keys.begin(), root_keys.end(), o.address) != root_keys.end();
    if (!root && o.address.find('.') == std::string::npos) {
      mistakes.add(o.value.at, fmt::format("found `--set {}`; wanted the path of a key of the fit file, such "
                                           "as methods.seed=7 or estimate.k_hol.start=0.03",
                                           text));
      continue;
    }
    const Value* data = find(top, "data");
    if (o.address.rfind("data.", 0) == 0 && data && data->text()) {
      set_path(top, "data", Value{data->at, data_table(*data, mistakes)});
    }
    set_path(top, o.address, o.value);
  }
}

std::vector<Measure> read_measures(TableReader& in) {
  std::vector<Measure> measures_listed;
  const List* list = in.list("measures");
  if (!list) return measures_listed;
  std::vector<std::string> keys;
  for (const MeasureName& m : measure_names) keys.emplace_back(m.key);
  for (const Value& value : *list) {
    const std::string word = value.text() ? *value.text() : std::string(kind_name(value));
    const auto found = std::find(keys.begin(), keys.end(), word);
    if (found == keys.end()) {
      in.mistake("measures", fmt::format("found '{}'{}", word, did_you_mean(word, keys)));
    } else {
      measures_listed.push_back(static_cast<Measure>(found - keys.begin()));
    }
  }
  return measures_listed;
}

/// What one trial says of its data and scenario. `shared` is the [data] of the file, where there are several.
TrialSource read_trial(TableReader& in, const Table& shared, Mistakes& mistakes) {
  TrialSource t;
  const Value* data = in.value("data");
  const Table own = merged(shared, data ? data_table(*data, mistakes) : nothing);
  TableReader bags(own, "data", in.at("data"), mistakes);
  if (!data) {
    in.require("data", "data = \"trial.csv\"");
  } else if (data->text() || data->table()) {
    bags.require("file", "file = \"trial.csv\"");
  }
  in.require("scenario", "scenario = \"trial-scenario.toml\"");
  t.data_file = bags.text("file").value_or("");
  t.scenario_file = in.text("scenario").value_or("");
  t.at = bags.at("file");
  t.scenario_at = in.at("scenario");
  t.ash_free = bags.flag("ash_free").value_or(false);
  t.initial_ash = bags.amount("initial_ash", Kind::fraction, 0.0, 0.5).value_or(not_there);
  if (bags.has("initial_ash") && !t.ash_free) {
    bags.mistake("initial_ash", "belongs to ash_free = true");
  }
  t.start_from_handling = bags.flag("handling").value_or(false);
  t.bulk_density_g_cm3 = bags.amount("bulk_density", Kind::density, 0.1, 2.5).value_or(not_there);
  t.soil_depth_mm = bags.amount("depth", Kind::length, 10.0, 2000.0).value_or(not_there);
  if (std::isnan(t.bulk_density_g_cm3) != std::isnan(t.soil_depth_mm)) {
    bags.mistake(bags.has("depth") ? "depth" : "bulk_density",
                 "bulk_density and depth go together: how much soil a mg/kg is of");
  }
  t.measures = read_measures(bags);
  bags.finish();
  return t;
}

void read_trials(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  if (!top.has("trial")) {
    plan.trials.push_back(read_trial(top, nothing, mistakes));
    return;
  }
  const Value* data = top.value("data");
  const Table shared = data ? data_table(*data, mistakes) : nothing;
  if (find(shared, "file")) top.mistake("data", "the file stands under each [[trial]]");
  if (top.has("scenario")) top.mistake("scenario", "stands under each [[trial]]");
  const List* list = top.list("trial");
  if (!list) return;
  for (const Value& value : *list) {
    if (!value.table()) {
      mistakes.add(value.at, fmt::format("trial: found {}; wanted a table [[trial]]", kind_name(value)));
      continue;
    }
    TableReader in(*value.table(), "[[trial]]", value.at, mistakes);
    plan.trials.push_back(read_trial(in, shared, mistakes));
    TrialSource& t = plan.trials.back();
    if (list->size() > 1) in.require("site", "site = \"north\"");
    t.site = in.text("site").value_or("");
    const auto same = [&](const TrialSource& other) { return other.site == t.site; };
    if (!t.site.empty() && std::count_if(plan.trials.begin(), plan.trials.end(), same) > 1) {
      in.mistake("site", fmt::format("'{}' stands twice; every trial needs a name of its own", t.site));
    }
    in.finish();
  }
}

void read_errors(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  const Table* table = top.table("error");
  TableReader in(table ? *table : nothing, "[error]", top.at("error"), mistakes);
  for (std::size_t m = 0; m < measures; ++m) {
    const std::string key(measure_names[m].key);
    ErrorPlan error;
    if (const auto size = in.one_of(key, {"absolute", "proportional", "both", "as stated"})) {
      error.absolute = *size == "absolute" || *size == "both";
      error.proportional = *size == "proportional" || *size == "both";
    }
    error.at = in.at(key);
    plan.errors[static_cast<Measure>(m)] = error;
  }
  if (in.one_of("outliers", {"robust", "normal"}) == "robust") plan.tail = Tail::student;
  plan.block_effects = in.flag("blocks").value_or(false);
  in.finish();
}

template <class Whole>
void read_whole(TableReader& in, const std::string& key, double lowest, double highest, Whole& value) {
  const std::optional<double> number = in.number(key, lowest, highest);
  if (!number) return;
  if (*number != std::floor(*number)) {
    in.mistake(key, fmt::format("found {}; wanted a whole number", *number));
    return;
  }
  value = static_cast<Whole>(*number);
}

void read_methods(TableReader& top, FitPlan& plan, Mistakes& mistakes) {
  const Table* table = top.table("methods");
  TableReader in(table ? *table : nothing, "[methods]", top.at("methods"), mistakes);
  plan.level = in.amount("level", Kind::fraction, 0.5, 0.999).value_or(plan.level);
  read_whole(in, "seed", 0.0, 1e15, plan.seed);
  read_whole(in, "starts", 1.0, 1000.0, plan.starts);
  plan.population = in.flag("population").value_or(plan.population);
  if (const Value* profiles = in.value("profiles"); profiles && profiles->text()) {
    plan.profiles = ProfilesOf::all;
    if (*profiles->text() != "all") {
      in.mistake("profiles", fmt::format("found '{}'; wanted true, false or \"all\"", *profiles->text()));
    }
  } else if (const std::optional<bool> wanted = in.flag("profiles")) {
    plan.profiles = *wanted ? ProfilesOf::model : ProfilesOf::none;
  }
  read_whole(in, "draws", 0.0, 1e8, plan.draws);
  read_whole(in, "resamples", 0.0, 1e6, plan.resamples);
  in.finish();
}

}  // namespace

bool is_fit_plan(std::string_view text) {
  try {
    const Table top = read_toml(text, "");
    return find(top, "estimate") || find(top, "trial") || (find(top, "data") && find(top, "scenario"));
  } catch (const InputError&) {
    return false;
  }
}

FitPlan read_fit_plan(std::string_view text, const std::string& name,
                      const std::vector<std::string>& overrides) {
  Mistakes mistakes;
  Table table = read_toml(text, name);
  lay_over(table, overrides, mistakes);
  const Position start{name, 1, 1};
  TableReader top(table, "the file", start, mistakes);
  FitPlan plan;
  plan.title = top.text("title").value_or(name);
  plan.units = top.one_of("units", {"us", "si"}).value_or("si");
  read_trials(top, plan, mistakes);
  top.require("estimate", "[estimate] with k_hol = {} and what else is to be found");
  const Table* estimates = top.table("estimate");
  if (estimates) {
    read_estimates(*estimates, plan.trials.size() > 1, plan, mistakes);
    if (estimates->empty()) top.mistake("estimate", "is empty; name a parameter, such as k_hol = {}");
  }
  read_errors(top, plan, mistakes);
  read_methods(top, plan, mistakes);
  top.finish();
  mistakes.throw_if_any();
  return plan;
}

}  // namespace stoverturn
