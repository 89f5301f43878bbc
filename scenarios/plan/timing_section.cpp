#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/products.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t most_choices = 500;
constexpr std::string_view cold = "soil below ";

/// Words of a list that `fine` accepts; a mistake for each other, with what was wanted.
template <class Fine>
std::vector<std::string> list_of(TableReader& in, const std::string& key, const std::string& wanted,
                                 const Fine& fine, Mistakes& mistakes,
                                 const std::vector<std::string>& names = {}) {
  std::vector<std::string> words;
  const List* list = in.list(key);
  for (const Value& v : list ? *list : List{}) {
    const std::string* text = v.text();
    if (v.date() && fine(format_date(*v.date()))) {
      words.push_back(format_date(*v.date()));
    } else if (text && fine(*text)) {
      words.push_back(*text);
    } else {
      const bool near = text && !closest(*text, names).empty();
      mistakes.add(v.at, fmt::format("{}: found {}; wanted {}{}", key,
                                     text ? fmt::format("'{}'", *text) : std::string(kind_name(v)), wanted,
                                     near ? did_you_mean(*text, names) : ""));
    }
  }
  return words;
}

bool is_date(const std::string& text) {
  try {
    parse_date(text);
    return true;
  } catch (const DateError&) {
    return false;
  }
}

bool is_time_to_spread(const std::string& text) {
  if (text.starts_with(cold)) {
    const std::string limit = text.substr(cold.size());
    if (!is_quantity(limit, Kind::temperature)) return false;
    const double limit_C = quantity(limit, Kind::temperature).value;
    return limit_C >= -5.0 && limit_C <= 30.0;
  }
  return parse_month_day(text) || is_date(text) || is_quantity(text, Kind::time);
}

std::vector<std::string> product_names() {
  std::vector<std::string> names;
  for (const ProductRow& row : product_table()) {
    if (row.name != "urea with inhibitor") names.emplace_back(row.name);
  }
  return names;
}

}  // namespace

std::string event_lines(const TimingChoice& c) {
  std::string lines =
      fmt::format("kind = \"fertiliser\"\nproduct = \"{}\"\nnitrogen = \"{}\"\n", c.product, c.rate);
  if (!c.placement.empty()) lines += fmt::format("placement = \"{}\"\n", c.placement);
  if (c.date.starts_with(cold)) {
    lines += fmt::format("after_harvest = \"0 d\"\nsoil_below = \"{}\"\n", c.date.substr(cold.size()));
  } else if (is_date(c.date)) {
    lines += fmt::format("date = {}\n", c.date);
  } else if (parse_month_day(c.date)) {
    lines += fmt::format("date = \"{}\"\n", c.date);
  } else {
    lines += fmt::format("after_harvest = \"{}\"\n", c.date);
  }
  return lines;
}

void read_timing_section(TableReader& top, Scenario& scenario, Mistakes& mistakes) {
  const Table* table = top.table("timing");
  if (!table) return;
  TableReader in(*table, "[timing]", top.at("timing"), mistakes);
  TimingPlan& plan = scenario.timing;
  plan.given = true;
  plan.at = top.at("timing");
  in.require("dates", "dates = [\"10 d\", \"soil below 50 degF\", \"04-10\"]");
  in.require("rates", "rates = [\"30 lb N/acre\", \"60 lb N/acre\"]");
  in.require("products", "products = [\"UAN 28\", \"urea\"]");
  const auto dates = list_of(in, "dates",
                             "days after the harvest (\"10 d\"), a date, a day of the year (\"04-10\"), or "
                             "\"soil below 50 degF\"",
                             is_time_to_spread, mistakes);
  const auto rates = list_of(
      in, "rates", "N on an area, such as \"30 lb N/acre\", more than 0 and at most 1000 kg/ha",
      [](const std::string& t) {
        if (!is_quantity(t, Kind::mass_per_area)) return false;
        const double N_g_m2 = quantity(t, Kind::mass_per_area).value;
        return N_g_m2 > 0.0 && N_g_m2 <= 100.0;
      },
      mistakes);
  const std::vector<std::string> names = product_names();
  const auto products = list_of(
      in, "products", fmt::format("one of '{}'", fmt::join(names, "', '")),
      [](const std::string& t) {
        const ProductRow* row = find_product(t);
        return row && row->name != "urea with inhibitor";
      },
      mistakes, names);
  auto where = list_of(
      in, "placements", "\"surface\" or \"buried\"",
      [](const std::string& t) { return t == "surface" || t == "buried"; }, mistakes);
  if (!in.has("placements")) where = {""};
  for (const std::string& date : dates) {
    for (const std::string& product : products) {
      for (const std::string& rate : rates) {
        for (const std::string& placement : where) {
          const ProductRow* row = find_product(product);
          if (placement == "surface" && row && row->in_soil_only) {
            if (where.size() == 1) {
              in.mistake(
                  "placements",
                  fmt::format("{} is a gas in the open and goes into the soil: add 'buried'", product));
            }
            continue;
          }
          plan.choices.push_back({date, rate, product, placement});
        }
      }
    }
  }
  if (plan.choices.size() > most_choices) {
    in.mistake("dates", fmt::format("the lists make {} ways to spread; wanted at most {}",
                                    plan.choices.size(), most_choices));
  }
  plan.treatments = list_of(
      in, "treatments", "names of [treatment.NAME] tables", [](const std::string&) { return true; },
      mistakes);
  plan.treatments_at = in.at("treatments");
  if (in.amount("duration", Kind::time, 200.0, 10.1 * 365.25)) plan.duration = *in.value("duration")->text();
  in.finish();
}

}  // namespace stoverturn
