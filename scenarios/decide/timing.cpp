#include "scenarios/decide/timing.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/crop_seasons.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

/// "60 lb N/acre as UAN 28, 10 d after harvest"
std::string words_of(const TimingChoice& c) {
  const bool after = is_quantity(c.date, Kind::time);
  const std::string when = after                               ? c.date + " after harvest"
                           : c.date.starts_with("soil below ") ? "once the " + c.date
                                                               : "on " + c.date;
  return fmt::format("{} as {}{}, {}", c.rate, c.product, c.placement.empty() ? "" : ", " + c.placement,
                     when);
}

void require_a_season(const Scenario& scenario) {
  const bool named = std::any_of(scenario.treatments.begin(), scenario.treatments.end(), named_next_crop);
  if (named) return;
  throw InputError(
      {{scenario.timing.at,
        "timing looks at the next crop's season; write [next_crop] with planting = \"05-05\" and, so that "
        "it takes N, nitrogen = \"160 lb/acre\""}});
}

std::vector<const Treatment*> chosen_bases(const Scenario& scenario) {
  std::vector<const Treatment*> bases;
  std::vector<std::string> names;
  for (const Treatment& t : scenario.treatments) names.push_back(t.name);
  Mistakes mistakes;
  for (const std::string& name : scenario.timing.treatments) {
    const auto found = std::find(names.begin(), names.end(), name);
    if (found == names.end()) {
      mistakes.add(scenario.timing.treatments_at,
                   fmt::format("treatments: no treatment is called '{}'{}", name, did_you_mean(name, names)));
    } else {
      bases.push_back(&scenario.treatments[static_cast<std::size_t>(found - names.begin())]);
    }
  }
  mistakes.throw_if_any();
  if (bases.empty()) {
    for (const Treatment& t : scenario.treatments) bases.push_back(&t);
  }
  return bases;
}

/// A day of the year that has passed by harvest comes round only after the season that is looked at.
void require_before_the_season_ends(const Scenario& scenario, const Treatment& base) {
  constexpr auto season = std::chrono::days{120};
  std::optional<std::chrono::sys_days> planting;
  for (const PlantedCrop& s : base.crop_seasons) {
    if (s.planting > base.first().date && (!planting || s.planting < *planting)) planting = s.planting;
  }
  Mistakes mistakes;
  for (const TimingChoice& c : scenario.timing.choices) {
    const auto day = parse_month_day(c.date);
    if (!day || !planting) continue;
    const std::chrono::sys_days date = next_on_or_after(base.first().date, *day);
    if (date <= *planting + season) continue;
    mistakes.add(
        scenario.timing.at,
        fmt::format("dates: '{}' comes after the harvest on {} only, when the next crop is ripe; wanted a "
                    "day between the harvest ({}) and the summer",
                    c.date, format_date(date), format_date(base.first().date)));
  }
  mistakes.throw_if_any();
}

}  // namespace

void tell_of_choices(const Scenario& as_written, std::string_view text, const InputError& error) {
  const auto lines = std::count(text.begin(), text.end(), '\n') + 1;
  Mistakes mistakes;
  for (Mistake m : error.mistakes) {
    if (m.at.line > lines) m = {as_written.timing.at, "a way to spread: " + m.message};
    mistakes.add(m.at, m.message);
  }
  mistakes.throw_if_any();
  throw error;  // of nothing
}

std::string with_choices(std::string_view text, const Scenario& scenario, std::vector<ChosenTiming>& chosen) {
  if (!scenario.timing.given) {
    throw InputError(
        {{scenario.weather ? Position{scenario.weather->at.source, 0, 0} : Position{},
          "the file lacks `timing`; write [timing] with dates = [\"10 d\", \"soil below 50 degF\", "
          "\"04-10\"], rates = [\"60 lb N/acre\"] and products = [\"UAN 28\"]"}});
  }
  require_a_season(scenario);
  if (!scenario.ensemble.sites_file.empty()) {
    throw InputError(
        {{scenario.ensemble.sites_at,
          "sites: timing and planting look at one place; leave this key out, or write the place's own "
          "values in the scenario"}});
  }
  std::string with = std::string(text) + "\n";
  const bool unnamed = scenario.treatments.front().name.empty();
  if (unnamed) with += "[treatment.as_planned]\nlabel = \"as planned\"\n";
  chosen.clear();
  for (const Treatment* base : chosen_bases(scenario)) {
    require_before_the_season_ends(scenario, *base);
    const std::string name = unnamed ? "as_planned" : base->name;
    const std::string label = unnamed ? "as planned" : base->label;
    for (const TimingChoice& choice : scenario.timing.choices) {
      const std::string own = fmt::format("{} + {}", name, chosen.size() + 1);
      with += fmt::format("[treatment.{}]\nlike = {}\nlabel = {}\n[[treatment.{}.add_event]]\n{}",
                          quoted(own), quoted(name), quoted(fmt::format("{}: {}", label, words_of(choice))),
                          quoted(own), event_lines(choice));
      chosen.push_back({own, name, choice});
    }
  }
  return with;
}

void ask_for_timing(Scenario& scenario) {
  EnsemblePlan& plan = scenario.ensemble;
  plan.numbers.clear();
  for (const char* name :
       {"mass_left", "soil_cover", "nitrogen_released", "nitrogen_applied", "nitrogen_leached",
        "nitrogen_volatilised", "nitrogen_denitrified", "nitrogen_to_crop", "phosphorus_released",
        "potassium_released", "sulfur_released", "carbon_respired", "value_released"}) {
    plan.numbers.push_back({name, {}});
  }
  plan.dates.clear();
  plan.days_after = {60};
  plan.series.clear();
  plan.quantiles = {0.0, 0.1, 0.5, 0.9, 1.0};
  plan.sites_file.clear();
}

std::string choices_csv(const Scenario& scenario, const std::vector<ChosenTiming>& chosen) {
  std::string csv = "treatment,base,product,rate,date,placement\n";
  const auto label = [&](const std::string& name) {
    for (const Treatment& t : scenario.treatments) {
      if (t.name == name) return csv_cell(t.label);
    }
    return std::string();
  };
  for (const ChosenTiming& c : chosen) {
    csv += fmt::format("{},{},{},{},{},{}\n", label(c.treatment), label(c.base), csv_cell(c.choice.product),
                       csv_cell(c.choice.rate), csv_cell(c.choice.date), csv_cell(c.choice.placement));
  }
  return csv;
}

}  // namespace stoverturn
