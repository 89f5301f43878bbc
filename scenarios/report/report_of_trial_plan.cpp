#include "scenarios/report/report_of_trial_plan.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/design/design_tables.hpp"
#include "scenarios/design/design_words.hpp"
#include "scenarios/report/trial_plan_charts.hpp"
#include "scenarios/results/text_table.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

class PlanPage {
 public:
  PlanPage(const TidyFile& file) : plan_(design_of_tables(file)) {
    out_.title = file.title;
    out_.kind = "the plan of a litterbag trial";
    out_.program = file.program;
    out_.units = plan_.units;
    out_.texts = file.texts;
  }

  Report report() {
    about();
    says();
    pulls();
    tell();
    power();
    choice();
    checked();
    labels();
    limits();
    handout();
    cautions();
    return std::move(out_);
  }

 private:
  const DesignChoice& chosen() const { return plan_.chosen; }

  ReportSection& section(std::string name, std::string heading) {
    ReportSection s;
    s.name = std::move(name);
    s.heading = std::move(heading);
    out_.sections.push_back(std::move(s));
    return out_.sections.back();
  }

  void about() {
    out_.about.push_back(
        fmt::format("{} kinds of bags, {} replicates, {} pulls: {} bags of the {} that can be made are used.",
                    plan_.cells, chosen().replicates, chosen().days.size(), chosen().bags, plan_.budget));
    out_.about.push_back(fmt::format(
        "{:g} g of dry residue a bag; a bag is taken to be off by {} % of what was put in (standard "
        "deviation).",
        plan_.bag_mass_g, percent_words(plan_.sd, 1)));
    out_.about.push_back(fmt::format(
        "What is not known yet was drawn {} times{}.", plan_.draws,
        plan_.trials > 0 ? fmt::format("; {} trials were invented and fitted to check the plan", plan_.trials)
                         : ""));
  }

  std::string pull_words() const {
    std::vector<std::string> dates;
    for (const auto date : plan_.dates) dates.push_back(format_date(date));
    return fmt::format("{}", fmt::join(dates, ", "));
  }

  void says() {
    if (!plan_.dates.empty()) {
      out_.says.push_back(fmt::format("Pull {} times, {} bags of each kind a time: {}.", plan_.dates.size(),
                                      chosen().replicates, pull_words()));
    }
    // what all pulls together show, where the plan has it
    const auto surest = std::max_element(
        plan_.powers.begin(), plan_.powers.end(), [](const DesignPower& a, const DesignPower& b) {
          return std::pair(a.day >= 0, a.power) < std::pair(b.day >= 0, b.power);
        });
    if (surest != plan_.powers.end()) out_.says.push_back(power_words(*surest));
    const auto least = std::min_element(plan_.estimates.begin(), plan_.estimates.end(),
                                        [](const auto& a, const auto& b) { return a.told < b.told; });
    if (least != plan_.estimates.end()) {
      out_.says.push_back(fmt::format(
          "Least is learned of {} ({}): thought to lie between {}{}, and about {} after the trial.",
          least->unknown.name, least->unknown.meaning, interval_words(least->known, "and"), unit_of(*least),
          interval_words(least->interval)));
    }
  }

  static std::string unit_of(const DesignEstimate& e) {
    return e.unknown.unit.empty() || e.unknown.unit == "1" ? "" : " " + e.unknown.unit;
  }

  /// "A difference of 5 % ... shows in 48 of 100 such trials: about half of them show nothing."
  std::string power_words(const DesignPower& p) const {
    const std::string what = p.day >= 0 ? fmt::format("{} % of what was put in after {} days ({})",
                                                      percent_words(p.difference), p.day, p.what)
                                        : fmt::format("{} % in {}", percent_words(p.difference), p.what);
    std::string text = fmt::format("A difference of {} between {} and {} shows in {} of 100 such trials",
                                   what, plan_.one, plan_.other, percent_words(p.power));
    if (p.what.ends_with("by the fit")) text += ", if the model is right for the field";
    if (p.power < DesignPower::wanted) {
      text += fmt::format("; the other {} show nothing", percent_words(1.0 - p.power));
      if (p.bags_needed > 0)
        text += fmt::format(". For 80 of 100 it takes {} bags of each treatment on that day", p.bags_needed);
    }
    return text + ".";
  }

  ReportTable calendar() const {
    ReportTable table{"Calendar", {"pull", "date", "days after laying out", "bags to fetch"}, {}};
    const auto bags_on = [&](int day) {
      return std::count_if(plan_.labels.begin(), plan_.labels.end(),
                           [&](const BagLabel& l) { return l.day == day; });
    };
    if (const auto n = bags_on(0); n > 0) {
      const auto first = std::find_if(plan_.labels.begin(), plan_.labels.end(),
                                      [](const BagLabel& l) { return l.day == 0; });
      table.rows.push_back({"handling", format_date(first->date), "0", fmt::format("{}", n)});
    }
    for (std::size_t i = 0; i < plan_.dates.size() && i < chosen().days.size(); ++i) {
      table.rows.push_back({fmt::format("{}", i + 1), format_date(plan_.dates[i]),
                            fmt::format("{}", chosen().days[i]),
                            fmt::format("{}", bags_on(chosen().days[i]))});
    }
    return table;
  }

  void pulls() {
    ReportSection& s = section("pulls", "When to pull the bags");
    s.words.push_back(
        chosen().name == "own pulls"
            ? "These are pulls of your own, kept as they are."
            : "These days were found by search: of all days that bags may be pulled on, those that leave the "
              "parameters least open. They gather where the curves, and what is not known of them, change "
              "most.");
    s.words.emplace_back(
        "Keep a pull in the first weeks and one at the end even where the search leaves one out: they show "
        "where the model is wrong.");
    if (different_dates())
      s.words.emplace_back("Treatments are laid out on different days; dates are those of the first.");
    if (!plan_.curves.empty()) s.charts.push_back(expected_left_chart(plan_));
    s.tables.push_back(calendar());
  }

  bool different_dates() const {
    return std::any_of(plan_.curves.begin(), plan_.curves.end(), [&](const DesignPoint& p) {
      return p.day == 0 && p.date != plan_.curves.front().date;
    });
  }

  void tell() {
    if (plan_.estimates.empty()) return;
    ReportSection& s = section("tell", "What the bags will tell");
    s.words.push_back(
        fmt::format("Each parameter before the trial, and the {} % interval that the bags should leave. Told "
                    "is the share of "
                    "what was open before that the bags take away.",
                    percent_words(plan_.level)));
    s.charts.push_back(plan_intervals_chart(plan_));
    ReportTable table{
        fmt::format("Mean over {} draws. Last columns: how much wider with other dates", plan_.draws),
        {"parameter", "what it is", "unit", "expected", "thought between",
         fmt::format("{} % interval then", percent_words(plan_.level)), "told, %", "evenly spaced",
         "own pulls"},
        {}};
    for (const DesignEstimate& e : plan_.estimates) {
      table.rows.push_back({e.unknown.name, e.unknown.meaning, unit_of(e), fmt::format("{:.3g}", e.expected),
                            interval_words(e.known), interval_words(e.interval), percent_words(e.told),
                            wider_words(e.even_wider), wider_words(e.own_wider)});
    }
    s.tables.push_back(std::move(table));
  }

  void power() {
    if (plan_.powers.empty()) return;
    ReportSection& s = section("power", "Whether the difference will show");
    for (const DesignPower& p : plan_.powers) s.words.push_back(power_words(p));
    if (std::isfinite(plan_.scenario_difference)) {
      s.words.push_back(fmt::format(
          "The scenario itself expects {} points of mass left between the two on that day ({} in nine of ten "
          "draws).",
          percent_words(plan_.scenario_difference, 1),
          fixed_range(100.0 * plan_.scenario_between.lower, 100.0 * plan_.scenario_between.upper, 1)));
    }
    s.words.emplace_back(
        "More bags, fewer treatments or another question raise the chance; a trial that shows nothing does "
        "not "
        "show that there is nothing.");
    if (!plan_.bag_powers.empty()) s.charts.push_back(bag_power_chart(plan_));
    ReportTable table{
        "Chances",
        {"difference in", "of, %", "on day", "shows in %", "invented trials, %", "bags for 80 %"},
        {}};
    for (const DesignPower& p : plan_.powers) {
      table.rows.push_back({p.what, percent_words(p.difference, 1),
                            p.day < 0 ? "-" : fmt::format("{}", p.day), percent_words(p.power),
                            share_with_error(p.invented, p.invented_se),
                            p.bags_needed > 0 ? fmt::format("{}", p.bags_needed) : "-"});
    }
    s.tables.push_back(std::move(table));
  }

  void choice() {
    if (plan_.choices.empty() && plan_.searched.empty()) return;
    ReportSection& s = section("choice", "How the choice was made");
    s.words.push_back(fmt::format(
        "For each number of replicates, as many pulls as the {} bags give. From evenly spaced pulls, one day "
        "at "
        "a time is exchanged for the one that narrows the intervals of all parameters most, until none does. "
        "The best of all is taken.",
        plan_.budget));
    if (!plan_.searched.empty()) s.words.push_back(flat_words());
    s.charts.push_back(plan_choices_chart(plan_));
    if (!plan_.sizes.empty()) s.charts.push_back(plan_sizes_chart(plan_));
    ReportTable table{"Ways to use the bags", {"bags used", "replicates", "pulls", "bags", "intervals"}, {}};
    for (const auto* list : {&plan_.choices, &plan_.searched}) {
      for (const DesignChoice& c : *list) {
        table.rows.push_back({c.name, fmt::format("{}", c.replicates), fmt::format("{}", c.days.size()),
                              fmt::format("{}", c.bags), wider_words(c.wider)});
      }
    }
    s.tables.push_back(std::move(table));
  }

  /// How much the number of replicates matters.
  std::string flat_words() const {
    constexpr double near = 1.03;
    std::vector<int> close;
    for (const DesignChoice& c : plan_.searched) {
      if (c.wider <= near) close.push_back(c.replicates);
    }
    if (close.size() < 2)
      return fmt::format("Only one number of replicates comes within {} % of the best.",
                         percent_words(near - 1.0));
    return fmt::format("{} replicates come within {} % of the best: take what suits the work.",
                       fmt::join(close, ", "), percent_words(near - 1.0));
  }

  void checked() {
    if (plan_.trials == 0) return;
    ReportSection& s = section("checked", "Checked by invented trials");
    s.folded = true;
    s.words.push_back(
        fmt::format("{} trials were invented from what is thought before, with errors of bags as stated, and "
                    "fitted; {} fits "
                    "came to an end. A width over expected near 1 and intervals that hold the truth about as "
                    "often as they "
                    "say mean that the plan can be trusted where the model holds.",
                    plan_.trials, plan_.converged));
    ReportTable table{"Invented trials", {"parameter", "width over expected", "held the truth, %"}, {}};
    for (const DesignEstimate& e : plan_.estimates) {
      table.rows.push_back({e.unknown.name,
                            std::isfinite(e.width_ratio)
                                ? fmt::format("{:.2f} +- {:.2f}", e.width_ratio, e.width_ratio_se)
                                : "-",
                            share_with_error(e.held, e.held_se)});
    }
    s.tables.push_back(std::move(table));
  }

  void labels() {
    if (plan_.labels.empty()) return;
    ReportSection& s = section("labels", "Bags and labels");
    s.folded = true;
    s.words.push_back(fmt::format(
        "{} bags, numbered in random order within each replicate: place them by number, so that nothing goes "
        "with where a bag lies. The sheet of labels (the file that ends in -bags.csv) is also the one to "
        "fill "
        "in, and `stoverturn fit` reads it.",
        plan_.labels.size()));
    if (plan_.handling > 0) {
      s.words.push_back(
          fmt::format("{} of each kind are carried out, laid down and brought back the same day: what is "
                      "missing fell out on "
                      "the way.",
                      plan_.handling));
    }
    std::vector<std::string> kinds;
    std::map<std::string, std::pair<int, int>> of_kind;
    for (const BagLabel& l : plan_.labels) {
      const std::string kind = bag_kind(l.treatment, l.component, l.placement);
      if (of_kind.find(kind) == of_kind.end()) kinds.push_back(kind);
      auto& [all, handling] = of_kind[kind];
      ++all;
      handling += l.day == 0;
    }
    std::sort(kinds.begin(), kinds.end());
    ReportTable table{"Bags of each kind", {"kind", "bags", "of them for handling", "a pull"}, {}};
    for (const std::string& kind : kinds) {
      const auto& [all, handling] = of_kind[kind];
      table.rows.push_back({kind, fmt::format("{}", all), fmt::format("{}", handling),
                            fmt::format("{}", chosen().replicates)});
    }
    s.tables.push_back(std::move(table));
  }

  void limits() {
    if (plan_.notes.empty()) return;
    section("limits", "What limits these numbers").words = plan_.notes;
  }

  void handout() {
    out_.handout.table = calendar();
    if (out_.handout.table.rows.empty()) return;
    out_.handout.table.caption = "Pull calendar: write the true date where it was another";
    out_.handout.table.heads.emplace_back("pulled on");
    out_.handout.table.heads.emplace_back("by whom, what was odd");
    for (auto& row : out_.handout.table.rows) row.insert(row.end(), {"", ""});
    out_.handout.words = {
        fmt::format(
            "Each time: {} bags of each kind, whatever the weather, into a paper bag each, flat, never "
            "stacked wet.",
            chosen().replicates),
        "Brush soil off the outside, pick out roots and animals, do not wash. Dry as at the start, weigh, "
        "look. A bag with a hole or a lost one gets a note, never a guess.",
        "Take bags out before each pass of a machine, put them back after, and write down both days."};
    if (!plan_.curves.empty()) out_.handout.charts = {"mass-left"};
  }

  void cautions() {
    out_.cautions = {
        "The plan takes errors of bags as independent and of known size, and the model as right for the "
        "field: "
        "real intervals are wider.",
        "Stay off the field while machines work, and mark bags so that nobody finds them with a tillage "
        "tool.",
        "Dust from dry residue and from grinding holds moulds: wear a mask, grind under a hood. Ovens and "
        "furnaces burn: gloves, tongs, no paper near.",
        "Fertiliser, ammonia above all, by trained people, by label and local rules; ask the owner, your "
        "adviser and the authority before you spread for a trial.",
        "Take the bags out again at the end: nylon does not decay."};
  }

  DesignReport plan_;
  Report out_;
};

}  // namespace

Report report_of_trial_plan(const TidyFile& file, std::string_view /*units*/) {
  return PlanPage(file).report();
}

}  // namespace stoverturn
