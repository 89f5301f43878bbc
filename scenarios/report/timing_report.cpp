#include "scenarios/report/timing_report.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "scenarios/report/timing_tables.hpp"

namespace stoverturn {
namespace {

constexpr double counts_points = 0.45;  ///< as in the verdicts: less residue than this is no difference

// Iowa State University, Integrated Crop Management, 2005 for the soil; the rest common practice, no source.
constexpr const char* fixed_cautions[] = {
    "State and local rules come first. Many forbid or limit nitrogen in the fall, on frozen, snow-covered or "
    "sloping ground, or within a distance of water and wells. Nothing here is a permit.",
    "Anhydrous ammonia injures eyes, skin and lungs and can kill: trained people only, by the label, with "
    "goggles, gloves and water at hand.",
};

class TimingWriter {
 public:
  explicit TimingWriter(const Results& r) : r_(r), look_(r), s_(look_.spread) {}

  Report write() {
    Report report = report_begun(
        r_,
        fmt::format("{} ways to spread nitrogen on residue, over many years' weather", look_.choices.size()));
    report.cautions.insert(report.cautions.begin(), std::begin(fixed_cautions), std::end(fixed_cautions));
    if (!is_whole()) {
      report.kind = "ways to spread nitrogen on residue";
      report.about = {
          "This file does not keep all that the choices are told by; make it anew with "
          "`stoverturn timing`."};
      add_section(report, assumptions());
      return report;
    }
    report.about = about();
    report.says = says();
    add_section(report, verdicts());
    add_section(report, sooner());
    add_section(report, still_there());
    add_section(report, tie_up());
    add_section(report, cover());
    add_section(report, money());
    add_section(report, soil());
    add_section(report, every_choice());
    add_section(report, assumptions());
    report.handout = handout();
    return report;
  }

 private:
  /// Whether all is there that add_timing_numbers() adds and a verdict is told by.
  bool is_whole() const {
    constexpr const char* spread[] = {
        "mass_left_at_difference", "share_lost", "share_leached", "share_to_air",
        "nitrogen_useful",         "cost",       "net_gain"};
    constexpr const char* shares[] = {"share_that_pays", "share_of_runs_spread", "share_of_weathers_warm"};
    return !look_.choices.empty() && s_.run_count() > 0 && r_.quantiles.size() == 5 &&
           look_.planting < r_.checkpoints.size() &&
           std::all_of(std::begin(spread), std::end(spread), [&](const char* name) { return kept(name); }) &&
           std::all_of(std::begin(shares), std::end(shares), [&](const char* name) { return s_.any(name); });
  }

  const Variable* kept(const char* name) const { return s_.find(name); }
  std::string of_runs() const { return s_.range_of().empty() ? "" : fmt::format(" ({})", s_.range_of()); }
  /// The range that the told ranges of all choices reach together.
  template <class Chosen>
  std::string over_choices(const char* name, std::size_t inner, const Shown& show, int decimals,
                           const Chosen& is_chosen) const {
    double least = INFINITY, most = -INFINITY;
    for (const PlacedChoice& c : look_.choices) {
      if (!is_chosen(c)) continue;
      const auto [a, b] = s_.told(look_.of(name, c.treatment, inner));
      for (const double x : {show(a), show(b)}) {
        if (std::isnan(x)) continue;
        least = std::min(least, x);
        most = std::max(most, x);
      }
    }
    return least > most ? "" : range_text(least, most, decimals);
  }
  std::string over_all(const char* name, std::size_t inner, const Shown& show, int decimals) const {
    return over_choices(name, inner, show, decimals, [](const PlacedChoice&) { return true; });
  }
  std::string at_date(const char* name, const std::string& date) const {
    return over_choices(name, 0, look_.as(name), 0,
                        [&](const PlacedChoice& c) { return c.choice.date == date; });
  }

  PlacedChoice best() const {
    const auto gain = [&](const PlacedChoice& c) {
      const double x = look_.of("net_gain", c.treatment).middle;
      return std::isnan(x) ? -INFINITY : x;
    };
    return *std::max_element(look_.choices.begin(), look_.choices.end(),
                             [&](const PlacedChoice& a, const PlacedChoice& b) { return gain(a) < gain(b); });
  }

  std::vector<std::string> about() const {
    std::string bases;
    for (const std::size_t base : bases_of(look_.choices)) {
      bases += (bases.empty() ? "'" : "', '") + r_.treatments[base];
    }
    return {
        fmt::format(
            "{} ways to spread nitrogen on {}', in {}. Each is held against the same treatment without "
            "it in the same weather.",
            look_.choices.size(), bases, weathers_in_words(r_)),
        fmt::format("Ranges hold {}; {}", s_.range_of().empty() ? "one run" : s_.range_of(),
                    look_.has_draws() ? "they are of weather and of what is not known of residue and place."
                                      : "they are of weather alone, and what is not known of residue and "
                                        "place comes on top.")};
  }

  std::vector<std::string> says() const { return {said_sooner(), said_lost(), said_money()}; }

  std::string said_sooner() const {
    const Shown points = turned_round(look_.as("mass_left_at_difference"));
    const std::string range = over_all("mass_left_at_difference", look_.planting, points, 1);
    double most = 0.0;
    for (const PlacedChoice& c : look_.choices) {
      const auto [a, b] = s_.told(look_.of("mass_left_at_difference", c.treatment, look_.planting));
      for (const double x : {points(a), points(b)}) most = std::isnan(x) ? most : std::max(most, std::abs(x));
    }
    return fmt::format("Nitrogen on the residue made {} points more of it go by planting{}{}.", range,
                       of_runs(), most < counts_points ? ": no difference that counts" : "");
  }

  /// The date at which most of the N was lost, in the middle runs, and the one at which least was.
  std::pair<std::string, std::string> worst_and_best_date() const {
    const auto lost = [&](const PlacedChoice& c) {
      const double x = look_.of("share_lost", c.treatment).middle;
      return std::isnan(x) ? 0.0 : x;
    };
    const auto [least, most] =
        std::minmax_element(look_.choices.begin(), look_.choices.end(),
                            [&](const PlacedChoice& a, const PlacedChoice& b) { return lost(a) < lost(b); });
    return {most->choice.date, least->choice.date};
  }

  std::string said_lost() const {
    const auto [worst, best_date] = worst_and_best_date();
    const auto spread_at = [&](const std::string& date) {
      TimingChoice c;
      c.date = date;
      return fmt::format("{} % of it when spread {}", at_date("share_lost", date), date_words(c));
    };
    std::string text = "Of the nitrogen spread, what was lost before planting was " + spread_at(worst);
    if (best_date != worst) text += ", and " + spread_at(best_date);
    return text + of_runs() + ".";
  }

  std::string said_money() const {
    const PlacedChoice c = best();
    const Shown show = look_.as("net_gain");
    const RunInterval gain = look_.of("net_gain", c.treatment);
    const double most = s_.told(gain).second;
    const std::string came =
        most < 0.0
            ? fmt::format("brought {} {} less than it cost", s_.range(gain, turned_round(show), 0), show.unit)
            : fmt::format("brought {} {} after its cost", s_.range(gain, show, 0), show.unit);
    return fmt::format("At the file's prices the best of them, {} on '{}', {}{}, and paid in {} {}.",
                       choice_words(c), r_.treatments[c.base], came, of_runs(), look_.paying(c.treatment),
                       look_.runs_word());
  }

  ReportSection verdicts() const {
    ReportSection section{"verdict", "What to make of it", {}, {}, {}, false};
    for (const std::size_t base : bases_of(look_.choices)) {
      const PlacedChoice first = best_first(r_, look_.choices, base).front();
      section.words.push_back(fmt::format("Best at these prices on '{}': {}. {}", r_.treatments[base],
                                          choice_words(first), timing_verdict(r_, first, look_.end_words)));
      section.tables.push_back(table_of_choices(look_, base));
    }
    section.words.push_back(
        "'Pays' is a narrow word here: nitrogen counts at what you pay for it, so that spreading can hardly "
        "earn "
        "back its own pass. What the table tells is how much of the nitrogen you still have. A response of "
        "yield, a "
        "tillage pass saved or a planter that runs better are not in it.");
    section.words.push_back(
        "Nothing spread is the choice that is always there. Rate, date and permit are between you, your "
        "licensed or "
        "certified adviser and your authority.");
    return section;
  }

  ReportSection sooner() const {
    ReportSection section{"sooner", "How much sooner do the stalks go?", {}, {}, {}, false};
    add_chart(section, stalks_gone_chart(look_));
    add_chart(section, stalks_gone_end_chart(look_));
    if (kept("days_to_half_difference")) {
      const std::string days =
          over_all("days_to_half_difference", 0, turned_round(look_.as("days_to_half_difference")), 0);
      if (!days.empty()) {
        section.words.push_back(fmt::format("Half of the residue is gone {} days sooner than without{}{}.",
                                            days, of_runs(), days.front() == '-' ? "; negative: later" : ""));
      }
    }
    return section;
  }

  ReportSection still_there() const {
    ReportSection section{
        "still-there", "How much of that nitrogen is still there in early summer?", {}, {}, {}, false};
    add_chart(section, nitrogen_at_V6_chart(look_));
    add_chart(section, leached_chart(look_));
    add_chart(section, to_air_chart(look_));
    const std::size_t base = bases_of(look_.choices).front();
    if (!look_.V6_word.empty() && kept("stage_day")) {
      const RunInterval day = look_.of("stage_day", base, look_.V6);
      const std::string dates = dates_words(r_, s_.told(day));
      section.words.push_back(fmt::format(
          "{} comes {}{}: then the crop begins to take up nitrogen in earnest. The chart counts ammonium and "
          "nitrate "
          "to 1 m; what residue holds or the crop has taken is not in it.",
          look_.V6_word,
          dates.empty() ? s_.range(day, look_.as("stage_day"), 0) + " days after the run begins" : dates,
          of_runs()));
    }
    return section;
  }

  ReportSection tie_up() const {
    ReportSection section{"tie-up", "How deep is the tie-up?", {}, {}, {}, false};
    add_chart(section, tie_up_V6_chart(look_));
    for (const std::size_t base : bases_of(look_.choices)) {
      if (!kept("tie_up_deepest")) break;
      section.words.push_back(
          fmt::format("'{}' without nitrogen: {} {} of N tied up at its deepest{}.", r_.treatments[base],
                      s_.range(look_.of("tie_up_deepest", base), turned_round(look_.as("tie_up_deepest")), 0),
                      look_.as("tie_up_deepest").unit, of_runs()));
    }
    return section;
  }

  ReportSection cover() const {
    ReportSection section{"cover", "Is the soil still covered at planting?", {}, {}, {}, false};
    if (!kept("soil_cover_at") || !kept("soil_cover_at_difference")) return section;
    for (const std::size_t base : bases_of(look_.choices)) {
      section.words.push_back(fmt::format(
          "'{}': {} % of the soil is covered at planting without nitrogen; with it {} points less{}.",
          r_.treatments[base],
          s_.range(look_.of("soil_cover_at", base, look_.planting), look_.as("soil_cover_at"), 0),
          over_choices("soil_cover_at_difference", look_.planting,
                       turned_round(look_.as("soil_cover_at_difference")), 1,
                       [&](const PlacedChoice& c) { return c.base == base; }),
          of_runs()));
    }
    return section;
  }

  ReportSection money() const {
    ReportSection section{"money", "What does it cost, and what comes back?", {}, {}, {}, false};
    add_chart(section, gain_chart(look_));
    add_chart(section, pays_chart(look_));
    section.words.push_back(
        fmt::format("Product and pass cost {} {}. What comes back is nitrogen that the next crop "
                    "got or finds left when it is ripe, and what P, K and S the residue gave up "
                    "more or less within a year, at the file's prices.",
                    over_all("cost", 0, look_.as("cost"), 0), look_.as("cost").unit));
    return section;
  }

  ReportSection soil() const {
    ReportSection section{"soil", "Is the soil cold enough on the day?", {}, {}, {}, false};
    add_chart(section, warm_soil_chart(look_));
    std::set<std::string> told;
    for (const PlacedChoice& c : look_.choices) {
      const double spread = s_.share("share_of_runs_spread", 0, c.treatment);
      if (std::isnan(spread) || spread >= 1.0 || !told.insert(c.choice.date).second) continue;
      section.words.push_back(
          fmt::format("{}: this did not come in time in {:.0f} % of the runs, and nothing was "
                      "spread in these.",
                      date_words(c.choice), 100.0 * (1.0 - spread)));
    }
    section.words.push_back(
        "Ammonium forms wait until the soil at 4 in (100 mm) is below 50 degF (10 degC) and cooling (general "
        "guidance; "
        "Iowa State University, Integrated Crop Management, 2005). Measure it in your field. Frozen or "
        "snow-covered "
        "ground and ground near water or wells have rules of their own: ask first.");
    return section;
  }

  ReportSection every_choice() const {
    ReportSection section{"every-choice", "Every choice in words", {}, {}, {}, true};
    for (const std::size_t base : bases_of(look_.choices)) {
      for (const PlacedChoice& c : best_first(r_, look_.choices, base)) {
        section.words.push_back(fmt::format("'{}', {}: {}", r_.treatments[base], choice_words(c),
                                            timing_verdict(r_, c, look_.end_words)));
      }
    }
    return section;
  }

  ReportSection assumptions() const {
    return {"assumptions", "What these numbers assume", assumptions_in(r_.notes), {}, {}, false};
  }

  /// The best choice of each date on each treatment.
  Handout handout() const {
    Handout out;
    out.words = {fmt::format("{}. The middle of {} and, in brackets, {}.", r_.title, weathers_in_words(r_),
                             s_.range_of())};
    out.charts = {"gain"};
    out.table = table_of_dates(look_);
    return out;
  }

  const Results& r_;
  TimingLook look_;
  const RunSpread& s_;
};

}  // namespace

Report report_of_timing(const Results& results) { return TimingWriter(results).write(); }

}  // namespace stoverturn
