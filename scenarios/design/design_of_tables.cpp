#include <sstream>

#include "scenarios/design/design_tables.hpp"
#include "scenarios/results/tidy_rows.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

template <class Row>
void set_dates(const TidyRows& t, std::vector<Row>& rows) {
  const std::vector<std::string> dates = t.texts("date");
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i].date = parse_date(dates[i]);
}
template <class Row>
void set_kind(const TidyRows& t, std::vector<Row>& rows) {
  t.set(rows, "treatment", &Row::treatment);
  t.set(rows, "component", &Row::component);
  t.set(rows, "placement", &Row::placement);
}

std::vector<DesignEstimate> estimates_in(const TidyRows& t) {
  std::vector<DesignEstimate> rows(t.rows());
  const std::vector<std::string> names = t.texts("parameter"), units = t.texts("unit"),
                                 meanings = t.texts("meaning");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    rows[i].unknown.name = names[i];
    rows[i].unknown.unit = units[i];
    rows[i].unknown.meaning = meanings[i];
  }
  t.set(rows, "expected", &DesignEstimate::expected);
  t.set(rows, "known_lower", "known_upper", &DesignEstimate::known);
  t.set(rows, "lower", "upper", &DesignEstimate::interval);
  t.set(rows, "told", &DesignEstimate::told);
  t.set(rows, "even_wider", &DesignEstimate::even_wider);
  t.set(rows, "own_wider", &DesignEstimate::own_wider);
  t.set(rows, "width_ratio", &DesignEstimate::width_ratio);
  t.set(rows, "width_ratio_se", &DesignEstimate::width_ratio_se);
  t.set(rows, "held", &DesignEstimate::held);
  t.set(rows, "held_se", &DesignEstimate::held_se);
  return rows;
}

std::vector<DesignChoice> choices_in(const TidyRows& t) {
  std::vector<DesignChoice> rows(t.rows());
  t.set(rows, "choice", &DesignChoice::name);
  t.set(rows, "replicates", &DesignChoice::replicates);
  t.set(rows, "bags", &DesignChoice::bags);
  t.set(rows, "wider", &DesignChoice::wider);
  const std::vector<std::string> days = t.texts("days");
  for (std::size_t i = 0; i < rows.size(); ++i) {
    std::istringstream words(days[i]);
    for (int day = 0; words >> day;) rows[i].days.push_back(day);
  }
  return rows;
}

std::vector<DesignPower> powers_in(const TidyRows& t) {
  std::vector<DesignPower> rows(t.rows());
  t.set(rows, "what", &DesignPower::what);
  t.set(rows, "difference", &DesignPower::difference);
  t.set(rows, "day", &DesignPower::day);
  t.set(rows, "power", &DesignPower::power);
  t.set(rows, "invented", &DesignPower::invented);
  t.set(rows, "invented_se", &DesignPower::invented_se);
  t.set(rows, "bags_needed", &DesignPower::bags_needed);
  return rows;
}

std::vector<DesignPoint> curves_in(const TidyRows& t) {
  std::vector<DesignPoint> rows(t.rows());
  set_kind(t, rows);
  t.set(rows, "day", &DesignPoint::day);
  set_dates(t, rows);
  t.set(rows, "left", &DesignPoint::left);
  t.set(rows, "lower", "upper", &DesignPoint::between);
  const std::vector<std::string> pulled = t.texts("pulled");
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i].pulled = pulled[i] == "yes";
  return rows;
}

std::vector<DesignSize> sizes_in(const TidyRows& t) {
  std::vector<DesignSize> rows(t.rows());
  t.set(rows, "pulls", &DesignSize::pulls);
  t.set(rows, "bags", &DesignSize::bags);
  t.set(rows, "wider", &DesignSize::wider);
  t.set(rows, "power", &DesignSize::power);
  return rows;
}

std::vector<BagLabel> labels_in(const TidyRows& t) {
  std::vector<BagLabel> rows(t.rows());
  t.set(rows, "bag", &BagLabel::number);
  set_kind(t, rows);
  t.set(rows, "replicate", &BagLabel::replicate);
  t.set(rows, "day", &BagLabel::day);
  set_dates(t, rows);
  return rows;
}

/// One row: the members of the report itself.
void read_plan(const TidyRows& t, DesignReport& report) {
  std::vector<DesignReport> row(std::min<std::size_t>(t.rows(), 1));
  if (row.empty()) return;
  t.set(row, "units", &DesignReport::units);
  t.set(row, "one", &DesignReport::one);
  t.set(row, "other", &DesignReport::other);
  t.set(row, "budget", &DesignReport::budget);
  t.set(row, "handling", &DesignReport::handling);
  t.set(row, "cells", &DesignReport::cells);
  t.set(row, "bag_mass_g", &DesignReport::bag_mass_g);
  t.set(row, "sd", &DesignReport::sd);
  t.set(row, "level", &DesignReport::level);
  t.set(row, "draws", &DesignReport::draws);
  t.set(row, "trials", &DesignReport::trials);
  t.set(row, "converged", &DesignReport::converged);
  t.set(row, "scenario_difference", &DesignReport::scenario_difference);
  t.set(row, "scenario_lower", "scenario_upper", &DesignReport::scenario_between);
  row.front().chosen.name = t.texts("chosen").front();
  report = std::move(row.front());
}

}  // namespace

DesignReport design_of_tables(const TidyFile& file) {
  DesignReport report;
  read_plan({file, "plan"}, report);
  report.title = file.title;
  report.notes = file.notes;
  for (DesignChoice& c : choices_in({file, "choices"})) {
    if (c.name == report.chosen.name) report.chosen = c;
    (c.name.ends_with("replicates") ? report.searched : report.choices).push_back(std::move(c));
  }
  for (const std::string& date : texts_in(file, "pulls", "date")) report.dates.push_back(parse_date(date));
  report.estimates = estimates_in({file, "parameters"});
  report.powers = powers_in({file, "power"});
  report.curves = curves_in({file, "curves"});
  report.sizes = sizes_in({file, "sizes"});
  const std::vector<double> bags = numbers_in(file, "bag_powers", "bags"),
                            power = numbers_in(file, "bag_powers", "power");
  for (std::size_t i = 0; i < bags.size(); ++i)
    report.bag_powers.push_back({static_cast<int>(bags[i]), power[i]});
  report.labels = labels_in({file, "bags"});
  return report;
}

}  // namespace stoverturn
