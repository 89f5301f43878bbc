#include "scenarios/design/design_print.hpp"

#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/design/design_words.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/results/text_table.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/wrapped.hpp"

namespace stoverturn {
namespace {

std::string head(const DesignReport& report) {
  const DesignChoice& c = report.chosen;
  std::string text = report.title + "\n";
  text += wrapped(
      "",
      fmt::format("{} kinds of bags x {} replicates x {} pulls: {} bags of {} are used. {:g} g a bag; a bag "
                  "is off by {:.1f} % of what was put in (standard deviation).",
                  report.cells, c.replicates, c.days.size(), c.bags, report.budget, report.bag_mass_g,
                  100.0 * report.sd));
  std::vector<std::string> pulls;
  for (std::size_t i = 0; i < c.days.size(); ++i) {
    pulls.push_back(fmt::format("{} (day {})", format_date(report.dates[i]), c.days[i]));
  }
  return text + "\n" +
         wrapped(c.name == "own pulls" ? "Own pulls: " : "Best pulls: ",
                 fmt::format("{}.", fmt::join(pulls, ", ")));
}

std::string choices(const DesignReport& report) {
  std::vector<std::vector<std::string>> rows = {
      {"bags used", "replicates", "pulls", "bags", "intervals wider"}};
  const auto add = [&](const DesignChoice& c, const std::string& name) {
    rows.push_back({name, fmt::format("{}", c.replicates), fmt::format("{}", c.days.size()),
                    fmt::format("{}", c.bags), wider_words(c.wider)});
  };
  for (const DesignChoice& c : report.choices) add(c, c.name);
  for (const DesignChoice& c : report.searched) add(c, "best with " + c.name);
  return "\nWays to use the bags\n" + text_table(rows);
}

std::string estimates(const DesignReport& report) {
  const std::string interval = fmt::format("{:.0f} % interval", 100.0 * report.level);
  std::vector<std::vector<std::string>> rows = {{"parameter", "unit", "expected", "thought between",
                                                 interval + " then", "told, %", "evenly spaced",
                                                 "own pulls"}};
  for (const DesignEstimate& e : report.estimates) {
    rows.push_back({e.unknown.name, e.unknown.unit == "1" ? "" : e.unknown.unit, short_number(e.expected),
                    interval_words(e.known), interval_words(e.interval), percent_words(e.told),
                    wider_words(e.even_wider), wider_words(e.own_wider)});
  }
  std::string text = "\nWhat the bags will tell\n" + text_table(rows);
  return text +
         wrapped("  ", fmt::format(
                           "Mean width over {} draws of the parameters. told: share of what was open before. "
                           "Last columns: how much wider with other dates.",
                           report.draws));
}

std::string powers(const DesignReport& report) {
  if (report.powers.empty()) return "";
  std::vector<std::vector<std::string>> rows = {
      {"difference in", "of", "on day", "shows in %", "invented trials, %", "bags for 80 %"}};
  for (const DesignPower& p : report.powers) {
    rows.push_back({p.what, fmt::format("{} %", percent_words(p.difference, 1)),
                    p.day < 0 ? "-" : fmt::format("{}", p.day), percent_words(p.power),
                    share_with_error(p.invented, p.invented_se),
                    p.bags_needed > 0 ? fmt::format("{}", p.bags_needed) : "-"});
  }
  std::string text = "\nWhether a difference will show\n" + text_table(rows);
  if (std::isfinite(report.scenario_difference)) {
    text += wrapped(
        "  ",
        fmt::format(
            "The scenario itself expects {} points of mass left between the two on that day ({} "
            "in nine of ten draws).",
            percent_words(report.scenario_difference, 1),
            fixed_range(100.0 * report.scenario_between.lower, 100.0 * report.scenario_between.upper, 1)));
  }
  return text;
}

std::string check(const DesignReport& report) {
  if (report.trials == 0) return "\nNot checked by invented trials (trials = 0).\n";
  std::vector<std::vector<std::string>> rows = {
      {"parameter", "width over expected", "interval held the truth, %"}};
  for (const DesignEstimate& e : report.estimates) {
    rows.push_back({e.unknown.name,
                    std::isfinite(e.width_ratio)
                        ? fmt::format("{:.2f} +- {:.2f}", e.width_ratio, e.width_ratio_se)
                        : "-",
                    share_with_error(e.held, e.held_se)});
  }
  return fmt::format("\nChecked by {} invented trials, each fitted\n", report.trials) + text_table(rows);
}

}  // namespace

std::string print_design(const DesignReport& report) {
  std::string text =
      head(report) + choices(report) + estimates(report) + powers(report) + check(report) + "\nNotes\n";
  for (const std::string& note : report.notes) text += wrapped("  ", note);
  return text;
}

}  // namespace stoverturn
