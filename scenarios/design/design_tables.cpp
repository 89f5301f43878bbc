#include "scenarios/design/design_tables.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

TidyTable parameters(const DesignReport& report) {
  TidyTable t{"parameters", "what is expected of each unknown", {}};
  const auto& rows = report.estimates;
  using Row = DesignEstimate;
  add_texts(t, "parameter", "unknown", rows, [](const Row& e) { return e.unknown.name; });
  add_texts(t, "unit", "its unit", rows, [](const Row& e) { return e.unknown.unit; });
  add_numbers(t, "expected", "", "expected value", rows, [](const Row& e) { return e.expected; });
  add_numbers(t, "known_lower", "", "lower end of what is known before", rows,
              [](const Row& e) { return e.known.lower; });
  add_numbers(t, "known_upper", "", "upper end of what is known before", rows,
              [](const Row& e) { return e.known.upper; });
  add_numbers(t, "lower", "", "lower end of the interval expected", rows,
              [](const Row& e) { return e.interval.lower; });
  add_numbers(t, "upper", "", "upper end of the interval expected", rows,
              [](const Row& e) { return e.interval.upper; });
  add_numbers(t, "told", "1", "share of the variance before that bags take away", rows,
              [](const Row& e) { return e.told; });
  add_numbers(t, "even_wider", "1", "width with evenly spaced pulls over the best", rows,
              [](const Row& e) { return e.even_wider; });
  add_numbers(t, "own_wider", "1", "width with own pulls over the best", rows,
              [](const Row& e) { return e.own_wider; });
  add_numbers(t, "width_ratio", "1", "width in invented trials over that expected", rows,
              [](const Row& e) { return e.width_ratio; });
  add_numbers(t, "width_ratio_se", "1", "its Monte Carlo standard error", rows,
              [](const Row& e) { return e.width_ratio_se; });
  add_numbers(t, "held", "1", "share of invented intervals that held the truth", rows,
              [](const Row& e) { return e.held; });
  add_numbers(t, "held_se", "1", "its Monte Carlo standard error", rows,
              [](const Row& e) { return e.held_se; });
  return t;
}

TidyTable choices(const DesignReport& report) {
  TidyTable t{"choices", "ways to use the bags", {}};
  std::vector<DesignChoice> rows = report.choices;
  rows.insert(rows.end(), report.searched.begin(), report.searched.end());
  using Row = DesignChoice;
  add_texts(t, "choice", "name", rows, [](const Row& c) { return c.name; });
  add_numbers(t, "replicates", "1", "bags of a kind and pull", rows,
              [](const Row& c) { return c.replicates; });
  add_numbers(t, "pulls", "1", "number of pulls", rows, [](const Row& c) { return c.days.size(); });
  add_numbers(t, "bags", "1", "bags in all", rows, [](const Row& c) { return c.bags; });
  add_numbers(t, "wider", "1", "width of intervals over the best, geometric mean", rows,
              [](const Row& c) { return c.wider; });
  add_texts(t, "days", "days of pulls after laying out", rows,
            [](const Row& c) { return fmt::format("{}", fmt::join(c.days, " ")); });
  return t;
}

TidyTable power(const DesignReport& report) {
  TidyTable t{"power", "how likely a difference shows", {}};
  const auto& rows = report.powers;
  using Row = DesignPower;
  add_texts(t, "what", "what is compared", rows, [](const Row& p) { return p.what; });
  add_numbers(t, "difference", "1", "share of what was put in, or of the parameter", rows,
              [](const Row& p) { return p.difference; });
  add_numbers(t, "day", "d", "day of a difference in mass", rows,
              [](const Row& p) { return p.day < 0 ? not_there : p.day; });
  add_numbers(t, "power", "1", "chance that it shows", rows, [](const Row& p) { return p.power; });
  add_numbers(t, "invented", "1", "the same in invented trials", rows,
              [](const Row& p) { return p.invented; });
  add_numbers(t, "invented_se", "1", "its Monte Carlo standard error", rows,
              [](const Row& p) { return p.invented_se; });
  add_numbers(t, "bags_needed", "1", "bags a treatment and pull for 80 %", rows,
              [](const Row& p) { return p.bags_needed; });
  return t;
}

TidyTable pulls(const DesignReport& report) {
  TidyTable t{"pulls", "pulls of the chosen plan", {}};
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < report.chosen.days.size(); ++i) rows.push_back(i);
  add_numbers(t, "day", "d", "days after laying out", rows,
              [&](std::size_t i) { return report.chosen.days[i]; });
  add_texts(t, "date", "date, of the first treatment", rows,
            [&](std::size_t i) { return format_date(report.dates[i]); });
  return t;
}

}  // namespace

std::vector<TidyTable> design_tables(const DesignReport& report) {
  return {parameters(report), choices(report), power(report), pulls(report)};
}

}  // namespace stoverturn
