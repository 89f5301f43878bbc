#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr int most_weather_years = 10000;

std::vector<PlacedWord> words(TableReader& in, const std::string& key, const char* example) {
  std::vector<PlacedWord> found;
  const List* list = in.list(key);
  for (const Value& v : list ? *list : List{}) {
    if (const std::string* text = v.text()) {
      found.push_back({*text, v.at});
    } else {
      in.mistake(key, fmt::format("found {} in the list; wanted names in quotes, such as {}", kind_name(v),
                                  example));
    }
  }
  return found;
}

void read_weather_years(TableReader& in, EnsemblePlan& plan) {
  const Value* v = in.value("weather_years");
  if (!v) return;
  plan.weather_years_at = v->at;
  const auto whole = [](const double* n, double lowest, double highest) {
    return n && *n == std::floor(*n) && *n >= lowest && *n <= highest;
  };
  const std::string wanted = fmt::format(
      "wanted \"all\", a number of series from 1 to {}, or years, such as [2012, 2013]", most_weather_years);
  if (const List* list = v->list()) {
    std::vector<int> years;
    for (const Value& year : *list) {
      if (!whole(year.number(), 1500.0, 2500.0)) return in.mistake("weather_years", wanted);
      years.push_back(static_cast<int>(*year.number()));
      if (std::count(years.begin(), years.end(), years.back()) > 1) {
        return in.mistake("weather_years", fmt::format("{} stands twice", years.back()));
      }
    }
    if (years.empty()) return in.mistake("weather_years", wanted);
    plan.weather_years = years;
  } else if (whole(v->number(), 1.0, most_weather_years)) {
    plan.weather_years = static_cast<int>(*v->number());
  } else if (!v->text() || *v->text() != "all") {
    in.mistake("weather_years", wanted);
  }
}

/// "04-15" is a date of every year, "60 d" days after the first harvest.
void read_dates(TableReader& in, EnsemblePlan& plan, Mistakes& mistakes) {
  for (const PlacedWord& date : words(in, "dates", "\"04-15\" or \"60 d\"")) {
    if (const auto md = parse_month_day(date.word)) {
      plan.dates.push_back(*md);
      continue;
    }
    if (!is_quantity(date.word, Kind::time)) {
      mistakes.add(
          date.at,
          fmt::format("dates: found '{}'; wanted a day of every year, such as \"04-15\", or a time after "
                      "the harvest, such as \"60 d\"",
                      date.word));
      continue;
    }
    const double after_d = quantity(date.word, Kind::time).value;
    if (after_d >= 0.0 && after_d <= 40.0 * 365.25) {
      plan.days_after.push_back(static_cast<int>(std::lround(after_d)));
    } else {
      mistakes.add(date.at,
                   fmt::format("dates: found '{}'; wanted 0 d to 40 years after the harvest", date.word));
    }
  }
}

void read_quantiles(TableReader& in, EnsemblePlan& plan) {
  const List* list = in.list("quantiles");
  if (!list) return;
  plan.quantiles.clear();
  for (const Value& v : *list) {
    const double* share = v.number();
    if (!share || *share < 0.0 || *share > 1.0 ||
        (!plan.quantiles.empty() && *share <= plan.quantiles.back())) {
      return in.mistake("quantiles", "wanted rising shares from 0 to 1, such as [0.1, 0.5, 0.9]");
    }
    plan.quantiles.push_back(*share);
  }
  if (plan.quantiles.empty()) in.mistake("quantiles", "wanted at least one share");
}

}  // namespace

void read_ensemble_section(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("ensemble");
  if (!table) return;
  TableReader in(*table, "[ensemble]", top.at("ensemble"), mistakes);
  EnsemblePlan& plan = scenario.ensemble;
  plan.given = true;
  read_weather_years(in, plan);
  plan.sites_file = in.text("sites").value_or("");
  plan.sites_at = in.at("sites");
  plan.numbers = words(in, "numbers", "\"mass_left\"");
  read_dates(in, plan, mistakes);
  plan.series = words(in, "series", "\"mass_left\"");
  plan.every_d =
      static_cast<int>(std::lround(in.amount("every", Kind::time, 1.0, 366.0).value_or(plan.every_d)));
  read_quantiles(in, plan);
  plan.keep_runs = in.flag("keep_runs");
  in.finish();
}

}  // namespace stoverturn
