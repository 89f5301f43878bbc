#include "scenarios/report/ensemble_report.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "scenarios/report/ensemble_charts.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

/// What belongs together, in the order in which it is asked. The last takes what no other names.
struct Group {
  const char *name, *heading;
  std::vector<std::string_view> numbers;
};
const std::vector<Group>& groups() {
  static const std::vector<Group> list = {
      {"residue",
       "How fast does the residue go, and what is covered?",
       {"mass_left", "soil_cover", "dry_matter", "days_to_half", "days_to_95_lost"}},
      {"nitrogen",
       "When does the nitrogen come back?",
       {"nitrogen_released", "tie_up_deepest", "tie_up_deepest_day", "tie_up_repaid_day",
        "stage_nitrogen_released", "stage_mineral_nitrogen", "stage_nitrogen_to_crop", "nitrogen_leached"}},
      {"nutrients",
       "Phosphorus, potassium, sulfur, and what it is worth",
       {"phosphorus_released", "potassium_released", "sulfur_released", "value_released"}},
      {"more", "More numbers of these runs", {}},
  };
  return list;
}
/// Not for reading: accuracy of the runs, and what stands in other numbers.
constexpr std::string_view not_shown[] = {"balance_error", "stage_day"};

std::string_view base_name(std::string_view name) {
  return name.ends_with("_at") ? name.substr(0, name.size() - 3) : name;
}

class EnsembleWriter {
 public:
  explicit EnsembleWriter(const Results& r) : r_(r), s_(r) {}

  Report write() {
    Report report = report_begun(r_, fmt::format("runs over many years' weather at {} site{}",
                                                 r_.sites.size(), r_.sites.size() == 1 ? "" : "s"));
    report.about = about();
    report.says = says();
    std::set<const Variable*> told;
    for (const Group& group : groups()) add_section(report, section_of(group, told));
    add_section(report, map());
    add_section(report, weathers());
    add_section(report, table());
    add_section(report,
                {"assumptions", "What these numbers assume", assumptions_in(r_.notes), {}, {}, false});
    return report;
  }

 private:
  std::vector<std::string> about() const {
    std::string treatments, sites;
    for (const std::string& t : r_.treatments) treatments += (treatments.empty() ? "'" : ", '") + t + "'";
    constexpr std::size_t named = 12;
    for (std::size_t s = 0; s < std::min(named, r_.sites.size()); ++s)
      sites += (sites.empty() ? "" : ", ") + r_.sites[s].name;
    if (r_.sites.size() > named) sites += ", ...";
    return {fmt::format("{} treatment{}: {}.", r_.treatments.size(), r_.treatments.size() == 1 ? "" : "s",
                        treatments),
            fmt::format("{} site{} ({}), in {}.", r_.sites.size(), r_.sites.size() == 1 ? "" : "s", sites,
                        weathers_in_words(r_)),
            s_.range_of().empty() ? "One quantile is kept: no range is told."
                                  : fmt::format("Ranges hold {}.", s_.range_of())};
  }

  bool is_at(const Variable& v, Dimension along) const {
    return v.dimensions.size() == 4 && v.dimensions.back() == along;
  }

  /// All quantiles and sites of a treatment, from the lowest to the highest told; "" where it is not kept.
  std::string over_sites(const Variable& v, std::size_t t, std::size_t inner, int decimals) const {
    const Shown show = shown_in_words(v, r_);
    double least = INFINITY, most = -INFINITY;
    for (std::size_t s = 0; s < r_.sites.size(); ++s) {
      const auto [a, b] = s_.told(s_.of(v, s, t, inner));
      for (const double x : {show(a), show(b)}) {
        if (std::isnan(x)) continue;
        least = std::min(least, x);
        most = std::max(most, x);
      }
    }
    return least > most ? "" : fmt::format("{} {}", range_text(least, most, decimals), show.unit);
  }

  std::string with_treatments(const Variable& v, std::size_t inner, int decimals) const {
    std::string text;
    for (const std::size_t t : ends_of_treatments()) {
      const std::string range = over_sites(v, t, inner, decimals);
      if (!range.empty())
        text += fmt::format("{}{}{}", text.empty() ? "" : ", ", range,
                            r_.treatments.size() > 1 ? fmt::format(" with '{}'", r_.treatments[t]) : "");
    }
    return text;
  }

  /// The first treatment and the last.
  std::vector<std::size_t> ends_of_treatments() const {
    if (r_.treatments.size() < 2) return {0};
    return {0, r_.treatments.size() - 1};
  }

  std::string of_what() const {
    std::string text = s_.range_of();
    if (r_.sites.size() > 1) text += (text.empty() ? "" : ", ") + std::string("all sites");
    return text.empty() ? "" : fmt::format(" ({})", text);
  }

  std::vector<std::string> says() const {
    std::vector<std::string> said;
    const std::size_t at = main_checkpoint(r_);
    const std::string when = r_.checkpoints.empty() ? "" : checkpoint_words(r_.checkpoints[at]);
    const Variable* left = s_.find("mass_left_at");
    if (left) {
      const std::string text = with_treatments(*left, at, 0);
      if (!text.empty())
        said.push_back(fmt::format("Of the residue {} is left {}{}.", text, when, of_what()));
      const std::string difference = paired(*left, at);
      if (!difference.empty()) said.push_back(difference);
    }
    const Variable* tied = s_.find("tie_up_deepest");
    if (tied) {
      const std::string text = with_treatments(*tied, 0, 0);
      if (!text.empty())
        said.push_back(fmt::format("At its deepest residue has tied up nitrogen: {}{}.", text, of_what()));
    }
    const Variable* cover = s_.find("soil_cover_at");
    const std::size_t planting = index_of(r_.checkpoints, "planting 1");
    if (cover && said.size() < 3 && planting < r_.checkpoints.size())
      said.push_back(fmt::format("At planting residue covers of the soil: {}{}.",
                                 with_treatments(*cover, planting, 0), of_what()));
    return said;
  }

  /// The last treatment against the first in the same weather, draw and site; "" where single runs are not
  /// kept.
  std::string paired(const Variable& v, std::size_t at) const {
    if (r_.treatments.size() < 2) return "";
    const std::size_t last = r_.treatments.size() - 1;
    std::vector<double> differences;
    for (std::size_t s = 0; s < r_.sites.size(); ++s) {
      const std::vector<double> with = s_.runs(v.name, s, last, at), without = s_.runs(v.name, s, 0, at);
      for (std::size_t i = 0; i < with.size(); ++i) differences.push_back(with[i] - without[i]);
    }
    if (differences.empty()) return "";
    const RunInterval interval = s_.of_values(std::move(differences));
    auto [a, b] = s_.told(interval);
    a *= 100.0;
    b *= 100.0;
    if (std::isnan(a) || std::isnan(b)) return "";
    const std::string how = b <= 0.0   ? fmt::format("{} points less", range_text(-b, -a, 1))
                            : a >= 0.0 ? fmt::format("{} points more", range_text(a, b, 1))
                                       : fmt::format("between {} points less and {} more",
                                                     shown_number(-a, 1), shown_number(b, 1));
    return fmt::format("In the same weather '{}' leaves {} of it than '{}'{}.", r_.treatments[last], how,
                       r_.treatments[0], of_what());
  }

  void add_charts(ReportSection& section, const Variable& v) const {
    if (is_at(v, Dimension::checkpoint)) add_chart(section, checkpoint_chart(r_, s_, v));
    if (is_at(v, Dimension::stage)) add_chart(section, stage_chart(r_, s_, v));
    if (is_at(v, Dimension::time)) add_chart(section, course_chart(r_, s_, v));
    if (v.dimensions.size() == 3) add_chart(section, number_chart(r_, s_, v));
  }

  ReportSection section_of(const Group& group, std::set<const Variable*>& told) const {
    ReportSection section{group.name, group.heading, {}, {}, {}, false};
    const auto take = [&](std::string_view number) {
      for (const std::vector<Variable>* list : {&r_.series, &r_.key_numbers}) {
        for (const Variable& v : *list) {
          if (!s_.find(v.name) || (!number.empty() && base_name(v.name) != number)) continue;
          const bool hidden =
              std::find(std::begin(not_shown), std::end(not_shown), v.name) != std::end(not_shown);
          if (!hidden && told.insert(&v).second) add_charts(section, v);
        }
      }
    };
    for (const std::string_view number : group.numbers) take(number);
    if (group.numbers.empty()) take("");
    section.folded = group.numbers.empty();
    return section;
  }

  /// What maps and single weathers are shown of.
  std::vector<const Variable*> main_numbers() const {
    std::vector<const Variable*> numbers;
    for (const char* name : {"mass_left_at", "nitrogen_released_at"}) {
      if (const Variable* v = s_.find(name)) numbers.push_back(v);
    }
    for (const Variable& v : r_.key_numbers) {
      if (numbers.empty() && s_.find(v.name) && is_at(v, Dimension::checkpoint)) numbers.push_back(&v);
    }
    return numbers;
  }

  ReportSection map() const {
    ReportSection section{"map", "Where is it more, where less?", {}, {}, {}, false};
    for (const Variable* v : main_numbers()) add_chart(section, map_chart(r_, s_, *v));
    if (!section.charts.empty())
      section.words.emplace_back("The grid is of parallels and meridians; no map of the land lies under it.");
    return section;
  }

  ReportSection weathers() const {
    ReportSection section{"weathers", "How much does the weather of the year matter?", {}, {}, {}, false};
    for (const Variable* v : main_numbers()) add_chart(section, weathers_chart(r_, s_, *v));
    if (!section.charts.empty() && r_.draws > 1)
      section.words.push_back(fmt::format("Each point is the middle of {} draws.", r_.draws));
    return section;
  }

  ReportSection table() const {
    ReportSection section{"table", "Numbers by site", {}, {}, {}, true};
    if (r_.checkpoints.empty()) return section;
    const std::size_t at = main_checkpoint(r_);
    ReportTable table{fmt::format("{}: the middle run and, in brackets, {}",
                                  checkpoint_words(r_.checkpoints[at]), s_.range_of()),
                      {"site and treatment"},
                      {}};
    std::vector<const Variable*> numbers;
    for (const Variable& v : r_.key_numbers) {
      if (!s_.find(v.name) || !is_at(v, Dimension::checkpoint)) continue;
      numbers.push_back(&v);
      table.heads.push_back(fmt::format("{}, {}", axis_words(v, r_), shown_in_words(v, r_).unit));
    }
    if (numbers.empty()) return section;
    for (std::size_t s = 0; s < r_.sites.size(); ++s) {
      for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
        std::vector<std::string> row = {fmt::format("{}, {}", r_.sites[s].name, r_.treatments[t])};
        for (const Variable* v : numbers) {
          const Shown show = shown_in_words(*v, r_);
          row.push_back(s_.middle_and_range(s_.of(*v, s, t, at), show, show.unit == "%" ? 0 : 1));
        }
        table.rows.push_back(std::move(row));
      }
    }
    section.tables.push_back(std::move(table));
    return section;
  }

  const Results& r_;
  RunSpread s_;
};

}  // namespace

Report report_of_ensemble(const Results& results) { return EnsembleWriter(results).write(); }

}  // namespace stoverturn
