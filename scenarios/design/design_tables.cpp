#include "scenarios/design/design_tables.hpp"

#include <algorithm>

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
  add_texts(t, "meaning", "what it is", rows, [](const Row& e) { return e.unknown.meaning; });
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
  add_numbers(t, "bags", "1", "bags of all kinds", rows, [&](std::size_t i) {
    return std::count_if(report.labels.begin(), report.labels.end(),
                         [&](const BagLabel& l) { return l.day == report.chosen.days[i]; });
  });
  return t;
}

/// Treatment, component, placement.
template <class Row>
void add_kind(TidyTable& t, const std::vector<Row>& rows) {
  add_texts(t, "treatment", "treatment", rows, [](const Row& r) { return r.treatment; });
  add_texts(t, "component", "part of the plant; empty: all of it", rows,
            [](const Row& r) { return r.component; });
  add_texts(t, "placement", "where it lies; empty: not told apart", rows,
            [](const Row& r) { return r.placement; });
}

TidyTable curves(const DesignReport& report) {
  TidyTable t{"curves", "what is expected to be left in bags", {}};
  const auto& rows = report.curves;
  using Row = DesignPoint;
  add_kind(t, rows);
  add_numbers(t, "day", "d", "days after laying out", rows, [](const Row& p) { return p.day; });
  add_texts(t, "date", "date", rows, [](const Row& p) { return format_date(p.date); });
  add_numbers(t, "left", "1", "left of what was put in, median of the draws", rows,
              [](const Row& p) { return p.left; });
  add_numbers(t, "lower", "1", "5 % of the draws lie below", rows,
              [](const Row& p) { return p.between.lower; });
  add_numbers(t, "upper", "1", "95 % of the draws lie below", rows,
              [](const Row& p) { return p.between.upper; });
  add_texts(t, "pulled", "whether bags are pulled then", rows,
            [](const Row& p) { return p.pulled ? "yes" : "no"; });
  return t;
}

TidyTable sizes(const DesignReport& report) {
  TidyTable t{"sizes", "the same replicates with fewer or more pulls, on the days that do best", {}};
  const auto& rows = report.sizes;
  using Row = DesignSize;
  add_numbers(t, "pulls", "1", "number of pulls", rows, [](const Row& s) { return s.pulls; });
  add_numbers(t, "bags", "1", "bags in all", rows, [](const Row& s) { return s.bags; });
  add_numbers(t, "wider", "1", "width of intervals over the best, geometric mean", rows,
              [](const Row& s) { return s.wider; });
  add_numbers(t, "power", "1", "chance that the difference of the parameter shows", rows,
              [](const Row& s) { return s.power; });
  return t;
}

TidyTable bag_power_table(const DesignReport& report) {
  TidyTable t{"bag_powers", "chance that bags of one pull show the difference in mass", {}};
  add_numbers(t, "bags", "1", "bags a treatment", report.bag_powers,
              [](const BagPower& p) { return p.bags; });
  add_numbers(t, "power", "1", "chance that it shows", report.bag_powers,
              [](const BagPower& p) { return p.power; });
  return t;
}

TidyTable bags(const DesignReport& report) {
  TidyTable t{"bags", "every bag once", {}};
  const auto& rows = report.labels;
  using Row = BagLabel;
  add_numbers(t, "bag", "1", "its number", rows, [](const Row& l) { return l.number; });
  add_kind(t, rows);
  add_numbers(t, "replicate", "1", "replicate (block)", rows, [](const Row& l) { return l.replicate; });
  add_numbers(t, "day", "d", "days after laying out; 0: handling", rows, [](const Row& l) { return l.day; });
  add_texts(t, "date", "date of its pull", rows, [](const Row& l) { return format_date(l.date); });
  return t;
}

TidyTable plan(const DesignReport& report) {
  TidyTable t{"plan", "the plan as a whole", {}};
  const DesignReport* const rows[] = {&report};
  using Row = const DesignReport*;
  add_texts(t, "units", "in which results are shown", rows, [](Row r) { return r->units; });
  add_texts(t, "chosen", "choice that is checked and labelled", rows, [](Row r) { return r->chosen.name; });
  add_texts(t, "one", "first treatment of the difference", rows, [](Row r) { return r->one; });
  add_texts(t, "other", "second treatment of the difference", rows, [](Row r) { return r->other; });
  add_numbers(t, "budget", "1", "bags that can be made", rows, [](Row r) { return r->budget; });
  add_numbers(t, "handling", "1", "bags of a kind for handling", rows, [](Row r) { return r->handling; });
  add_numbers(t, "cells", "1", "kinds of bags", rows, [](Row r) { return r->cells; });
  add_numbers(t, "bag_mass_g", "g", "dry matter in a bag", rows, [](Row r) { return r->bag_mass_g; });
  add_numbers(t, "sd", "1", "standard deviation of a bag, of what was put in", rows,
              [](Row r) { return r->sd; });
  add_numbers(t, "level", "1", "of intervals", rows, [](Row r) { return r->level; });
  add_numbers(t, "draws", "1", "draws of the parameters", rows, [](Row r) { return r->draws; });
  add_numbers(t, "trials", "1", "invented trials", rows, [](Row r) { return r->trials; });
  add_numbers(t, "converged", "1", "of them, those that could be fitted", rows,
              [](Row r) { return r->converged; });
  add_numbers(t, "scenario_difference", "1", "difference in mass left that the scenario expects", rows,
              [](Row r) { return r->scenario_difference; });
  add_numbers(t, "scenario_lower", "1", "5 % of the draws lie below", rows,
              [](Row r) { return r->scenario_between.lower; });
  add_numbers(t, "scenario_upper", "1", "95 % of the draws lie below", rows,
              [](Row r) { return r->scenario_between.upper; });
  return t;
}

}  // namespace

std::vector<TidyTable> design_tables(const DesignReport& report) {
  return {parameters(report), choices(report),         power(report), pulls(report), curves(report),
          sizes(report),      bag_power_table(report), bags(report),  plan(report)};
}

}  // namespace stoverturn
