#include "scenarios/report/timing_tables.hpp"

#include <algorithm>
#include <set>

#include <fmt/format.h>

namespace stoverturn {
namespace {

/// Heads of the numbers of a choice.
std::vector<std::string> number_heads(const TimingLook& look) {
  const std::string N = look.as("nitrogen_useful").unit, money = look.as("net_gain").unit;
  return {"more residue gone at planting, points",
          "lost before planting, % of the N",
          look.V6_word.empty() ? "N in the soil" : fmt::format("N in the soil at {}, {}", look.V6_word, N),
          fmt::format("useful N, {}", N),
          fmt::format("cost, {}", money),
          fmt::format("gain, {}", money),
          fmt::format("{} it pays", look.runs_word())};
}

std::vector<std::string> numbers_of(const TimingLook& look, std::size_t t) {
  const auto cell = [&](const char* name, int decimals) {
    return look.spread.middle_and_range(look.of(name, t), look.as(name), decimals);
  };
  const char* mineral = "stage_mineral_nitrogen_difference";
  const bool known = !look.V6_word.empty() && look.spread.find(mineral);
  return {look.spread.middle_and_range(look.of("mass_left_at_difference", t, look.planting),
                                       turned_round(look.as("mass_left_at_difference")), 1),
          cell("share_lost", 0),
          known ? look.spread.middle_and_range(look.of(mineral, t, look.V6), look.as(mineral), 0) : "-",
          cell("nitrogen_useful", 0),
          cell("cost", 2),
          cell("net_gain", 0),
          look.paying(t)};
}

}  // namespace

ReportTable table_of_choices(const TimingLook& look, std::size_t base) {
  ReportTable table;
  table.caption = fmt::format("Choices on '{}', best first: the middle run and, in brackets, {}",
                              look.r.treatments[base], look.spread.range_of());
  table.heads = number_heads(look);
  table.heads.insert(table.heads.begin(), "choice");
  const std::vector<std::string> nothing = {"nothing spread", "0", "-", "0", "0", "0", "0", "-"};
  bool told = false;
  for (const PlacedChoice& c : best_first(look.r, look.choices, base)) {
    if (!told && gains_nothing(look.r, c)) {
      table.rows.push_back(nothing);
      told = true;
    }
    table.rows.push_back(numbers_of(look, c.treatment));
    table.rows.back().insert(table.rows.back().begin(), choice_words(c));
  }
  if (!told) table.rows.push_back(nothing);
  return table;
}

ReportTable table_of_dates(const TimingLook& look) {
  ReportTable table;
  table.caption = fmt::format("The best choice of each date: the middle run and, in brackets, {}",
                              look.spread.range_of());
  table.heads = number_heads(look);
  table.heads.insert(table.heads.begin(), {"treatment and date", "choice"});
  for (const std::size_t base : bases_of(look.choices)) {
    const std::vector<PlacedChoice> order = best_first(look.r, look.choices, base);
    std::set<std::string> told;
    for (const PlacedChoice& c : look.choices) {
      if (c.base != base || !told.insert(c.choice.date).second) continue;
      const auto best = std::find_if(order.begin(), order.end(),
                                     [&](const PlacedChoice& o) { return o.choice.date == c.choice.date; });
      std::vector<std::string> row = numbers_of(look, best->treatment);
      row.insert(row.begin(), {fmt::format("{}, {}", look.r.treatments[base], date_words(c.choice)),
                               product_words(best->choice)});
      table.rows.push_back(std::move(row));
    }
    table.rows.push_back(
        {look.r.treatments[base] + ", nothing spread", "-", "0", "-", "0", "0", "0", "0", "-"});
  }
  return table;
}

}  // namespace stoverturn
