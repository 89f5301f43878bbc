#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "scenarios/decide/timing.hpp"
#include "scenarios/plan/later_harvests.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/text/wrapped.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t lowest = 0, low = 1, middle = 2, high = 3;  // of the quantiles asked for

/// Reads quantiles of a treatment as people are shown them.
class Quantiles {
 public:
  explicit Quantiles(const Results& r) : r_(r) {}

  double of(const std::string& name, std::size_t t, std::size_t q, std::size_t inner = 0) const {
    const Variable& v = r_.find(name);
    const std::size_t size = v.dimensions.size() > 3 ? r_.extent(v.dimensions[3]) : 1;
    return shown(v, r_)(v.values[(t * r_.quantiles.size() + q) * size + inner]);
  }
  double share(const std::string& name, std::size_t t) const { return r_.find(name).values[t]; }
  std::string unit(const std::string& name) const { return shown(r_.find(name), r_).unit; }

 private:
  const Results& r_;
};

/// "2 to 4", smaller first; "3" where the two look alike.
std::string range(double a, double b, int decimals = 0) {
  if (a > b) std::swap(a, b);
  const std::string from = shown_number(a + 0.0, decimals), to = shown_number(b + 0.0, decimals);
  return from == to ? from : fmt::format("{} to {}", from, to);
}

class TimingPrinter {
 public:
  TimingPrinter(const Results& r, const Scenario& scenario, const std::vector<ChosenTiming>& chosen)
      : r_(r), q_(r), chosen_(chosen), runs_(r.weather_years.size() * r.draws) {
    for (const Treatment& t : scenario.treatments) names_.push_back(t.name);
    planting_ = index_of(r.checkpoints, "planting 1");
    second_fall_ = r.checkpoints.size() - 1;
    const std::chrono::sys_days last = date_after(r.start, scenario.duration_d);
    end_ = format_date(last).substr(0, 7);
    V6_ = 1;
  }

  std::string print() {
    text_ +=
        fmt::format("{}\n{}; {} ways to spread nitrogen in {} weather{} ({} to {}){}\n", r_.title, r_.program,
                    chosen_.size(), r_.weather_years.size(), r_.weather_years.size() == 1 ? "" : "s",
                    r_.weather_years.front(), r_.weather_years.back(),
                    r_.draws > 1 ? fmt::format(" with {} draws each", r_.draws) : "");
    text_ += wrapped(
        "", fmt::format("Each against the same treatment without it in the same weather. In the tables stand "
                        "medians, in the words the range of 8 of 10 runs.{}",
                        r_.draws > 1 ? ""
                                     : " The range is that of weather alone; --draws 50 adds what is not "
                                       "known of residue and place, which is more."));
    std::vector<std::string> bases;
    for (const ChosenTiming& c : chosen_) {
      if (std::find(bases.begin(), bases.end(), c.base) == bases.end()) bases.push_back(c.base);
    }
    for (const std::string& base : bases) block(base);
    for (const std::string& note : r_.notes) text_ += wrapped("Note: ", note);
    return std::move(text_);
  }

 private:
  std::size_t treatment(const std::string& name) const { return index_of(names_, name); }

  void block(const std::string& base) {
    const std::size_t t = treatment(base);
    const std::string& label = r_.treatments[t];
    text_ += fmt::format("\n=== {} {}\n", label, std::string(label.size() < 92 ? 95 - label.size() : 3, '='));
    text_ += fmt::format(
        "without: {} % of the residue left at planting, {} % in {};\n         tie-up {} {} at its "
        "deepest; "
        "mineral N of the topsoil at {} {} {}\n\n",
        range(q_.of("mass_left_at", t, low, planting_), q_.of("mass_left_at", t, high, planting_)),
        range(q_.of("mass_left_at", t, low, second_fall_), q_.of("mass_left_at", t, high, second_fall_)),
        end_, range(-q_.of("tie_up_deepest", t, low), -q_.of("tie_up_deepest", t, high)),
        q_.unit("tie_up_deepest"), V6(),
        range(q_.of("stage_topsoil_nitrogen", t, low, V6_), q_.of("stage_topsoil_nitrogen", t, high, V6_)),
        q_.unit("stage_topsoil_nitrogen"));
    const std::string N = q_.unit("nitrogen_useful"), money = q_.unit("net_gain");
    text_ += fmt::format("{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "residue", "lost by", "in soil",
                         "useful", "gain", "pays");
    text_ += fmt::format("{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "planting", "planting", "at " + V6(),
                         "N", "", "in % of");
    text_ +=
        fmt::format("{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "points", "% of N", N, N, money, "runs");
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < chosen_.size(); ++i) {
      if (chosen_[i].base == base) order.push_back(i);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
      return q_.of("net_gain", treatment(chosen_[a].treatment), middle) >
             q_.of("net_gain", treatment(chosen_[b].treatment), middle);
    });
    std::string verdicts;
    int rank = 1;
    bool nothing_told = false;
    for (const std::size_t i : order) {
      if (!nothing_told && !(q_.of("net_gain", treatment(chosen_[i].treatment), middle) > 0.0)) nothing();
      nothing_told = nothing_told || !(q_.of("net_gain", treatment(chosen_[i].treatment), middle) > 0.0);
      row(rank, i);
      verdicts += wrapped(fmt::format("{:>3}. ", rank++), verdict(i));
    }
    text_ += '\n' + verdicts;
  }

  std::string V6() const {
    const std::string& label = r_.stages[V6_];
    return label.substr(0, label.find_last_of(' '));
  }

  /// The choice that is always there.
  void nothing() {
    text_ += fmt::format("{:>3}  {:<41}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "nothing spread", "0.0", "-",
                         "0.0", "0.0", "0.00", "-");
  }

  void row(int rank, std::size_t i) {
    const ChosenTiming& c = chosen_[i];
    const std::size_t t = treatment(c.treatment);
    const double lost = q_.of("share_lost", t, middle);
    std::string words =
        fmt::format("{} {}{}, {}", c.choice.rate, c.choice.product,
                    c.choice.placement.empty() ? "" : " " + c.choice.placement, c.choice.date);
    constexpr std::size_t room = 41;
    if (words.size() > room) {  // a long name takes a line of its own
      const std::size_t cut = words.rfind(' ', room);
      text_ += fmt::format("{:>3}. {}\n", rank, words.substr(0, cut));
      words = "  " + words.substr(cut + 1);
    } else {
      words = fmt::format("{:>3}. {}", rank, words);
    }
    text_ += fmt::format(
        "{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", words,
        shown_number(q_.of("mass_left_at_difference", t, middle, planting_) + 0.0, 1), shown_number(lost, 0),
        shown_number(q_.of("stage_topsoil_nitrogen_difference", t, middle, V6_), 1),
        shown_number(q_.of("nitrogen_useful", t, middle), 1), shown_number(q_.of("net_gain", t, middle), 2),
        shown_number(100.0 * q_.share("share_that_pays", t), 0));
  }

  /// "by 2 to 4 points", "hardly (0 to 1 points)", of what 8 runs of 10 lost more.
  std::string lost_more(std::size_t t, std::size_t checkpoint) const {
    const double a = -q_.of("mass_left_at_difference", t, high, checkpoint),
                 b = -q_.of("mass_left_at_difference", t, low, checkpoint);
    const std::string points = range(std::abs(a) < 0.05 ? 0.0 : a, std::abs(b) < 0.05 ? 0.0 : b, 1);
    if (std::max(std::abs(a), std::abs(b)) < 0.45)
      return fmt::format("no difference that counts ({} points)", points);
    return fmt::format("{} points less", points);
  }

  std::string verdict(std::size_t i) const {
    const ChosenTiming& c = chosen_[i];
    const std::size_t t = treatment(c.treatment);
    const double spread = q_.share("share_of_runs_spread", t);
    if (spread == 0.0) {
      return fmt::format("{}: never spread, {} came in none of the runs.", c.choice.date, c.choice.date);
    }
    std::string text = fmt::format("Residue at planting: {}; in {}: {}.", lost_more(t, planting_), end_,
                                   lost_more(t, second_fall_));
    text += fmt::format(" Of the N, {} % is lost before planting (leached {} %, to the air {} %).",
                        range(q_.of("share_lost", t, low), q_.of("share_lost", t, high)),
                        range(q_.of("share_leached", t, low), q_.of("share_leached", t, high)),
                        range(q_.of("share_to_air", t, low), q_.of("share_to_air", t, high)));
    text += fmt::format(" {} {} of it reach the next crop or lie in the soil when that is ripe.",
                        range(q_.of("nitrogen_useful", t, low), q_.of("nitrogen_useful", t, high), 0),
                        q_.unit("nitrogen_useful"));
    const double pays = q_.share("share_that_pays", t);
    const std::size_t paying = static_cast<std::size_t>(std::lround(pays * static_cast<double>(runs_)));
    text += fmt::format(" At these prices it pays in {} of {} {}: {} {}, worst {}.", paying, runs_,
                        r_.draws > 1 ? "runs" : "years",
                        range(q_.of("net_gain", t, low), q_.of("net_gain", t, high), 0), q_.unit("net_gain"),
                        shown_number(q_.of("net_gain", t, lowest) + 0.0, 0));
    const double warm = q_.share("share_of_weathers_warm", t);
    if (warm > 0.0) {
      text += fmt::format(
          " On that day the soil at 4 in (100 mm) is at 50 degF (10 degC) or warmer in {:.0f} % of the "
          "weathers.",
          100.0 * warm);
    }
    if (spread < 1.0) {
      text += fmt::format(" In {:.0f} % of the runs {} did not come in time, and nothing was spread.",
                          100.0 * (1.0 - spread), c.choice.date);
    }
    return text;
  }

  const Results& r_;
  Quantiles q_;
  const std::vector<ChosenTiming>& chosen_;
  std::size_t runs_, planting_ = 0, second_fall_ = 0, V6_ = 1;
  std::vector<std::string> names_;
  std::string end_;  ///< "2028-10"
  std::string text_;
};

}  // namespace

std::string printed_timing(const Results& results, const Scenario& scenario,
                           const std::vector<ChosenTiming>& chosen) {
  return TimingPrinter(results, scenario, chosen).print();
}

}  // namespace stoverturn
