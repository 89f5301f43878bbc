#include "scenarios/design/design_plan.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/table_reader.hpp"
#include "scenarios/trial/fit_estimates.hpp"

namespace stoverturn {
namespace {

const Table nothing;

void read_count(TableReader& in, const std::string& key, double lowest, double highest, int& value) {
  const std::optional<double> number = in.number(key, lowest, highest);
  if (!number) return;
  if (*number != std::floor(*number))
    return in.mistake(key, fmt::format("found {}; wanted a whole number", *number));
  value = static_cast<int>(*number);
}

void read_days(TableReader& in, const std::string& key, int lowest, int& value) {
  if (const auto days = in.amount(key, Kind::time, lowest, 36525.0))
    value = static_cast<int>(std::lround(*days));
}

std::vector<std::string> read_names(TableReader& in, const std::string& key, Mistakes& mistakes) {
  std::vector<std::string> names;
  const List* list = in.list(key);
  if (!list) return names;
  for (const Value& value : *list) {
    if (!value.text()) {
      mistakes.add(value.at, fmt::format("{}: found {}; wanted names in quotes", key, kind_name(value)));
    } else if (std::find(names.begin(), names.end(), *value.text()) != names.end()) {
      mistakes.add(value.at, fmt::format("{}: '{}' stands twice", key, *value.text()));
    } else {
      names.push_back(*value.text());
    }
  }
  if (list->empty()) in.mistake(key, "is empty; leave it out to take all");
  return names;
}

void read_pulls(TableReader& in, DesignPlan& plan, Mistakes& mistakes) {
  const List* list = in.list("pulls");
  if (!list) return;
  for (const Value& value : *list) {
    const auto days = read_quantity(value, Kind::time, "pulls", mistakes);
    if (!days) continue;
    if (days->value < 1.0 || days->value > 36525.0) {
      mistakes.add(value.at, "pulls: wanted days after the bags were laid out, 1 or more, such as \"45 d\"");
      continue;
    }
    plan.pulls.push_back(static_cast<int>(std::lround(days->value)));
  }
  std::sort(plan.pulls.begin(), plan.pulls.end());
  plan.pulls.erase(std::unique(plan.pulls.begin(), plan.pulls.end()), plan.pulls.end());
}

void read_placements(TableReader& in, DesignPlan& plan, Mistakes& mistakes) {
  static const std::vector<std::string> places = {"standing", "surface", "buried"};
  plan.placements = read_names(in, "placements", mistakes);
  for (const std::string& p : plan.placements) {
    if (std::find(places.begin(), places.end(), p) == places.end()) {
      in.mistake("placements", fmt::format("found '{}'; wanted standing, surface or buried", p));
    }
  }
}

void read_difference(TableReader& trial, DesignPlan& plan, Mistakes& mistakes) {
  const Table* table = trial.table("difference");
  if (!table) return;
  TableReader in(*table, "[trial.difference]", trial.at("difference"), mistakes);
  PlannedDifference d;
  d.at = trial.at("difference");
  in.require("between", "between = [\"closed\", \"opened\"]");
  const std::vector<std::string> between = read_names(in, "between", mistakes);
  if (in.has("between") && between.size() != 2) in.mistake("between", "wanted two treatments");
  if (between.size() == 2) {
    d.one = between[0];
    d.other = between[1];
  }
  d.mass = in.amount("mass", Kind::fraction, 1e-3, 1.0).value_or(not_there);
  if (in.has("after")) read_days(in, "after", 1, d.after_d);
  d.parameter = in.text("parameter").value_or("");
  d.parameter_share = in.amount("larger_by", Kind::fraction, 1e-3, 10.0).value_or(d.parameter_share);
  if (in.has("larger_by") && d.parameter.empty()) in.mistake("larger_by", "belongs to parameter = \"k_hol\"");
  if (std::isnan(d.mass) && d.parameter.empty()) {
    in.mistake("between",
               "of what? Write mass = \"5 %\" (of what was put in), parameter = \"k_hol\", or both");
  }
  in.finish();
  plan.difference = d;
}

void read_trial(TableReader& top, DesignPlan& plan, Mistakes& mistakes) {
  top.require("trial", "[trial] with bags = 120");
  const Table* table = top.table("trial");
  TableReader in(table ? *table : nothing, "[trial]", top.at("trial"), mistakes);
  plan.at = top.at("trial");
  if (table) in.require("bags", "bags = 120, how many can be made");
  read_count(in, "bags", 1, 100000, plan.bags);
  plan.treatments = read_names(in, "treatments", mistakes);
  plan.components = read_names(in, "components", mistakes);
  read_placements(in, plan, mistakes);
  read_count(in, "replicates", 1, 100, plan.replicates);
  read_count(in, "handling", 0, 100, plan.handling);
  plan.bag_mass_g = in.amount("bag_mass", Kind::mass, 0.1, 5000.0).value_or(plan.bag_mass_g);
  plan.weighing_g = in.amount("weighing", Kind::mass, 0.0, 100.0).value_or(plan.weighing_g);
  plan.between_bags = in.amount("between_bags", Kind::fraction, 0.0, 0.5).value_or(plan.between_bags);
  if (!(plan.sd() > 0.0))
    in.mistake("between_bags", "bags without any error tell everything; wanted an error");
  read_days(in, "every", 1, plan.every_d);
  plan.first_d = plan.every_d;
  read_days(in, "first", 1, plan.first_d);
  read_days(in, "last", 1, plan.last_d);
  read_pulls(in, plan, mistakes);
  plan.keep_pulls = in.flag("keep_pulls").value_or(false);
  if (plan.keep_pulls && plan.pulls.empty())
    in.mistake("keep_pulls", "which? Write pulls = [\"45 d\", \"90 d\"]");
  read_count(in, "draws", 1, 1000, plan.draws);
  read_count(in, "trials", 0, 10000, plan.trials);
  plan.level = in.amount("level", Kind::fraction, 0.5, 0.999).value_or(plan.level);
  if (const auto seed = in.number("seed", 0.0, 1e15)) plan.seed = static_cast<std::uint64_t>(*seed);
  read_difference(in, plan, mistakes);
  in.finish();
}

void lay_over(Table& top, const std::vector<std::string>& overrides, Mistakes& mistakes) {
  for (const std::string& text : overrides) {
    const Override o = split_override(text, mistakes);
    if (!o.address.empty()) set_path(top, o.address, o.value);
  }
}

}  // namespace

double DesignPlan::sd() const { return std::hypot(between_bags, weighing_g / bag_mass_g); }

bool is_design_plan(std::string_view text) {
  try {
    const Table top = read_toml(text, "");
    const Value* trial = find(top, "trial");
    return trial && trial->table();
  } catch (const InputError&) {
    return false;
  }
}

DesignPlan read_design_plan(std::string_view text, const std::string& name,
                            const std::vector<std::string>& overrides) {
  Mistakes mistakes;
  Table table = read_toml(text, name);
  lay_over(table, overrides, mistakes);
  TableReader top(table, "the file", {name, 1, 1}, mistakes);
  DesignPlan plan;
  plan.name = name;
  plan.title = top.text("title").value_or(name);
  plan.units = top.one_of("units", {"us", "si"}).value_or("si");
  top.require("scenario", "scenario = \"field.toml\"");
  TrialSource source;
  source.data_file = name;
  source.scenario_file = top.text("scenario").value_or("");
  source.at = source.scenario_at = top.at("scenario");
  plan.fit.trials.push_back(source);
  read_trial(top, plan, mistakes);
  top.require("estimate", "[estimate] with k_hol = {} and what else is to be found");
  if (const Table* estimates = top.table("estimate")) {
    read_estimates(*estimates, false, plan.fit, mistakes);
    if (estimates->empty()) top.mistake("estimate", "is empty; name a parameter, such as k_hol = {}");
  }
  for (std::size_t m = 0; m < measures; ++m)
    plan.fit.errors[static_cast<Measure>(m)] = {plan.at, false, false};
  top.finish();
  mistakes.throw_if_any();
  return plan;
}

}  // namespace stoverturn
