#include "scenarios/report/planting_report.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include <fmt/format.h>

#include "scenarios/decide/planting.hpp"
#include "scenarios/report/planting_charts.hpp"

namespace stoverturn {
namespace {

constexpr const char* rules_caution =
    "State and local rules on cover, nitrogen and tillage come first; ask your conservation office and a "
    "licensed or "
    "certified adviser. Machinery stands still before anybody clears it (common practice).";

class PlantingWriter {
 public:
  explicit PlantingWriter(const Results& r) : r_(r), look_(r), s_(look_.spread) {}

  Report write() {
    Report report = report_begun(r_, "planting day after a harvest, over many years' weather");
    report.cautions.emplace_back(rules_caution);
    report.about = about();
    report.says = says();
    add_section(report, cover());
    add_section(report, pieces());
    add_section(report, seedbed());
    add_section(report, tie_up());
    add_section(report, build_up());
    add_section(report,
                {"assumptions", "What these numbers assume", assumptions_in(r_.notes), {}, {}, false});
    report.handout = handout();
    return report;
  }

 private:
  const Variable* kept(const char* name) const { return s_.find(name); }
  RunInterval of(const char* name, std::size_t t, std::size_t inner = 0) const {
    const Variable* v = kept(name);
    return v ? s_.of(*v, 0, t, inner) : s_.of_values({});
  }
  Shown as(const char* name) const {
    const Variable* v = s_.any(name);
    return v ? shown(*v, r_) : Shown{};
  }
  std::string of_runs() const { return s_.range_of().empty() ? "" : fmt::format(" ({})", s_.range_of()); }
  std::string cell(const char* name, std::size_t t, int decimals, std::size_t inner = 0) const {
    return s_.middle_and_range(of(name, t, inner), as(name), decimals);
  }
  std::string word_of_runs() const { return r_.draws > 1 ? "runs" : "weathers"; }
  std::string covered(std::size_t t) const {
    const double share = s_.share("conservation_cover_mean", 0, t);
    if (std::isnan(share) || s_.run_count() == 0) return "";
    const auto runs = static_cast<double>(s_.run_count());
    return fmt::format("{:.0f} of {} {}", std::round(share * runs), s_.run_count(), word_of_runs());
  }

  std::vector<std::string> about() const {
    std::string names;
    for (const std::string& t : r_.treatments) names += (names.empty() ? "'" : ", '") + t + "'";
    std::string text = fmt::format("Planting day after {}, in {}", names, weathers_in_words(r_));
    if (!r_.harvests.empty())
      text += fmt::format("; and residue before {} plantings in a row", r_.harvests.size());
    return {text + ".", s_.range_of().empty() ? "One number a treatment: no range is kept."
                                              : fmt::format("Ranges hold {}.", s_.range_of())};
  }

  /// "91 to 93 % ('chopped')" for the treatment with the most and the least.
  template <class Words>
  std::string most_and_least(const char* name, std::size_t inner, const Words& words) const {
    const auto middle = [&](std::size_t t) {
      const double x = of(name, t, inner).middle;
      return std::isnan(x) ? -INFINITY : x;
    };
    std::size_t most = 0, least = 0;
    for (std::size_t t = 1; t < r_.treatments.size(); ++t) {
      if (middle(t) > middle(most)) most = t;
      if (middle(t) < middle(least)) least = t;
    }
    if (!std::isfinite(middle(most)) || !std::isfinite(middle(least))) return "";
    std::string text = fmt::format("with '{}' {}", r_.treatments[most], words(most));
    if (least != most) text += fmt::format(", with '{}' {}", r_.treatments[least], words(least));
    return text + of_runs() + ".";
  }

  std::vector<std::string> says() const {
    std::vector<std::string> said;
    const auto add = [&](const std::string& begin, const std::string& rest) {
      if (!rest.empty()) said.push_back(begin + rest);
    };
    add("On planting day residue covers the soil: ",
        most_and_least("soil_cover_at", look_.planting, [&](std::size_t t) {
          const std::string share = covered(t);
          return fmt::format("{} %{}",
                             s_.range(of("soil_cover_at", t, look_.planting), as("soil_cover_at"), 0),
                             share.empty() ? "" : fmt::format(", 30 % or more in {}", share));
        }));
    add("Against bare soil the seedbed is: ",
        most_and_least("seed_temperature_difference", 0, [&](std::size_t t) { return warmth(t); }));
    const char* tied =
        kept("nitrogen_tied_at_stage") ? "nitrogen_tied_at_stage" : "nitrogen_tied_at_planting";
    const std::string until =
        kept("nitrogen_tied_at_stage") && r_.stages.size() > 1 ? stage_word(r_.stages[1]) : "planting";
    add(fmt::format("From harvest to {} residue ties up nitrogen: ", until),
        most_and_least(tied, 0, [&](std::size_t t) {
          return fmt::format("{} {}", s_.range(of(tied, t), as(tied), 0), as(tied).unit);
        }));
    return said;
  }

  /// "0.1 to 0.5 degF colder", "between 0.5 degF colder and 0.4 warmer"
  std::string warmth(std::size_t t) const {
    const Shown show = as("seed_temperature_difference");
    auto [a, b] = s_.told(of("seed_temperature_difference", t));
    a = show(a);
    b = show(b);
    if (std::max(std::abs(a), std::abs(b)) < 0.05) return "as warm";
    if (b <= 0.0) return fmt::format("{} {} colder", range_text(-b, -a, 1), show.unit);
    if (a >= 0.0) return fmt::format("{} {} warmer", range_text(a, b, 1), show.unit);
    return fmt::format("between {} {} colder and {} warmer", shown_number(-a, 1), show.unit,
                       shown_number(b, 1));
  }

  ReportSection cover() const {
    ReportSection section{"cover", "How much of the soil is covered?", {}, {}, {}, false};
    add_chart(section, cover_chart(look_));
    if (section.charts.empty()) return section;
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      if (!covered(t).empty())
        section.words.push_back(fmt::format("'{}': {:.0f} % of the soil or more is covered in {}.",
                                            r_.treatments[t], 100.0 * conservation_cover, covered(t)));
    }
    section.words.push_back(
        "30 % is the usual threshold of conservation tillage in the US; a program or a rule may measure "
        "otherwise.");
    return section;
  }

  ReportSection pieces() const {
    ReportSection section{"pieces", "What will the planter meet?", {}, {}, {}, false};
    add_chart(section, pieces_chart(look_));
    if (!kept("surface_mass_at")) return section;
    ReportTable table{fmt::format("Residue on planting day: the middle run{}", in_brackets()),
                      {"treatment", fmt::format("flat, {}", as("surface_mass_at").unit),
                       "short pieces, % of it", fmt::format("standing, {}", as("surface_mass_at").unit)},
                      {}};
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      table.rows.push_back({r_.treatments[t], cell("surface_mass_at", t, 0, look_.planting),
                            cell("short_pieces_share", t, 0),
                            cell("standing_mass_at", t, 0, look_.planting)});
    }
    section.tables.push_back(std::move(table));
    return section;
  }

  ReportSection seedbed() const {
    ReportSection section{"seedbed", "Is the seedbed colder and wetter than bare soil?", {}, {}, {}, false};
    add_chart(section, seed_temperature_chart(look_));
    add_chart(section, warm_soil_later_chart(look_));
    add_chart(section, seedbed_water_chart(look_));
    add_chart(section, wet_residue_chart(look_));
    if (section.charts.empty()) return section;
    section.words.emplace_back(
        "The real soil may be colder than this: in the model residue slows the soil down but reflects no "
        "sunlight.");
    return section;
  }

  ReportSection tie_up() const {
    ReportSection section{"tie-up", "How much nitrogen does residue hold back?", {}, {}, {}, false};
    add_chart(section, tie_up_chart(look_));
    if (section.charts.empty()) return section;
    section.tables.push_back(stage_table());
    section.words.emplace_back(
        "What residue takes from or adds to next spring's nitrogen in these years. It is not a rate: that is "
        "your "
        "adviser's, who also counts what the soil supplies, manure, the crop before and what leached.");
    return section;
  }

  std::string in_brackets() const {
    return s_.range_of().empty() ? "" : fmt::format(" and, in brackets, {}", s_.range_of());
  }

  ReportTable stage_table() const {
    const Shown N = as("nitrogen_released_at");
    ReportTable table{
        fmt::format("N tied up since harvest, {}: the middle run{}; negative: given", N.unit, in_brackets()),
        {"stage"},
        {}};
    table.heads.insert(table.heads.end(), r_.treatments.begin(), r_.treatments.end());
    for (int s = -1; s < static_cast<int>(r_.stages.size()); ++s) {
      std::vector<std::string> row = {s < 0 ? "planting" : dated_stage(static_cast<std::size_t>(s))};
      for (std::size_t t = 0; t < r_.treatments.size(); ++t)
        row.push_back(s_.middle_and_range(tied_up(look_, t, s), N, 0));
      table.rows.push_back(std::move(row));
    }
    return table;
  }

  /// "V6, 6 to 17 June": of the first treatment.
  std::string dated_stage(std::size_t stage) const {
    const std::string word = stage_word(r_.stages[stage]);
    const Variable* v = kept("stage_day");
    const std::string dates = v ? dates_words(r_, s_.told(s_.of(*v, 0, 0, stage))) : "";
    return dates.empty() ? word : fmt::format("{}, {}", word, dates);
  }

  ReportSection build_up() const {
    ReportSection section{"build-up", "Where does it go, year after year?", {}, {}, {}, false};
    add_chart(section, build_up_chart(look_));
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      const std::string words = trend_words(t);
      if (!words.empty()) section.words.push_back(fmt::format("'{}': {}", r_.treatments[t], words));
    }
    return section;
  }

  std::string trend_words(std::size_t t) const {
    const double change = s_.share("build_up_change", 0, t), level = s_.share("build_up_level", 0, t);
    if (std::isnan(change)) return "";
    const std::string percent = fmt::format("{:+.1f} % in the last three years", 100.0 * change);
    if (std::isnan(level))
      return fmt::format("still {} at planting {} ({}).", change > 0.0 ? "rising" : "falling",
                         r_.harvests.size(), percent);
    const Shown show = as("build_up_level");
    return fmt::format("levels off near {} {} ({}).", shown_number(show(level), 0), show.unit, percent);
  }

  Handout handout() const {
    Handout out;
    out.words.push_back(fmt::format("{}. Planting day in {}.", r_.title, weathers_in_words(r_)));
    const Chart wanted[] = {cover_chart(look_), tie_up_chart(look_), build_up_chart(look_)};
    for (const Chart& chart : wanted) {
      if (chart.rows() > 0) out.charts.push_back(chart.name);
    }
    if (s_.any("nitrogen_released_at") && s_.run_count() > 0) out.table = stage_table();
    return out;
  }

  const Results& r_;
  PlantingLook look_;
  const RunSpread& s_;
};

}  // namespace

Report report_of_planting(const Results& results) { return PlantingWriter(results).write(); }

}  // namespace stoverturn
