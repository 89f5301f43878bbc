#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "scenarios/decide/timing_words.hpp"
#include "scenarios/plan/later_harvests.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/index_of.hpp"
#include "scenarios/text/wrapped.hpp"

namespace stoverturn {
namespace {

using namespace timing_quantile;

class TimingPrinter {
 public:
  TimingPrinter(const Results& r, const Scenario& scenario, const std::vector<ChosenTiming>& chosen)
      : r_(r), q_(r) {
    std::vector<std::string> names;
    for (const Treatment& t : scenario.treatments) names.push_back(t.name);
    for (const ChosenTiming& c : chosen) {
      choices_.push_back({index_of(names, c.treatment), index_of(names, c.base), c.choice});
    }
    planting_ = index_of(r.checkpoints, "planting 1");
    second_fall_ = r.checkpoints.size() - 1;
    const std::chrono::sys_days last = date_after(r.start, scenario.duration_d);
    end_ = format_date(last).substr(0, 7);
    V6_ = 1;
  }

  std::string print() {
    text_ +=
        fmt::format("{}\n{}; {} ways to spread nitrogen in {} weather{} ({} to {}){}\n", r_.title, r_.program,
                    choices_.size(), r_.weather_years.size(), r_.weather_years.size() == 1 ? "" : "s",
                    r_.weather_years.front(), r_.weather_years.back(),
                    r_.draws > 1 ? fmt::format(" with {} draws each", r_.draws) : "");
    text_ += wrapped(
        "", fmt::format("Each against the same treatment without it in the same weather. In the tables stand "
                        "medians, in the words the range of 8 of 10 runs.{}",
                        r_.draws > 1 ? ""
                                     : " The range is that of weather alone; --draws 50 adds what is not "
                                       "known of residue and place, which is more."));
    for (const std::size_t base : bases_of(choices_)) block(base);
    for (const std::string& note : r_.notes) text_ += wrapped("Note: ", note);
    return std::move(text_);
  }

 private:
  void block(std::size_t t) {
    const std::string& label = r_.treatments[t];
    text_ += fmt::format("\n=== {} {}\n", label, std::string(label.size() < 92 ? 95 - label.size() : 3, '='));
    text_ += fmt::format(
        "without: {} % of the residue left at planting, {} % in {};\n         tie-up {} {} at its "
        "deepest; "
        "mineral N of the topsoil at {} {} {}\n\n",
        range_text(q_.of("mass_left_at", t, low, planting_), q_.of("mass_left_at", t, high, planting_)),
        range_text(q_.of("mass_left_at", t, low, second_fall_), q_.of("mass_left_at", t, high, second_fall_)),
        end_, range_text(-q_.of("tie_up_deepest", t, low), -q_.of("tie_up_deepest", t, high)),
        q_.unit("tie_up_deepest"), V6(),
        range_text(q_.of("stage_topsoil_nitrogen", t, low, V6_),
                   q_.of("stage_topsoil_nitrogen", t, high, V6_)),
        q_.unit("stage_topsoil_nitrogen"));
    const std::string N = q_.unit("nitrogen_useful"), money = q_.unit("net_gain");
    text_ += fmt::format("{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "residue", "lost by", "in soil",
                         "useful", "gain", "pays");
    text_ += fmt::format("{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "planting", "planting", "at " + V6(),
                         "N", "", "in % of");
    text_ +=
        fmt::format("{:<46}{:>9}{:>9}{:>10}{:>8}{:>9}{:>8}\n", "", "points", "% of N", N, N, money, "runs");
    std::string verdicts;
    int rank = 1;
    bool nothing_told = false;
    for (const PlacedChoice& choice : best_first(r_, choices_, t)) {
      const bool gains = q_.of("net_gain", choice.treatment, middle) > 0.0;
      if (!nothing_told && !gains) nothing();
      nothing_told = nothing_told || !gains;
      row(rank, choice);
      verdicts += wrapped(fmt::format("{:>3}. ", rank++), timing_verdict(r_, choice, "in " + end_));
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

  void row(int rank, const PlacedChoice& choice) {
    const std::size_t t = choice.treatment;
    const TimingChoice& c = choice.choice;
    const double lost = q_.of("share_lost", t, middle);
    std::string words =
        fmt::format("{} {}{}, {}", c.rate, c.product, c.placement.empty() ? "" : " " + c.placement, c.date);
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

  const Results& r_;
  TimingQuantiles q_;
  std::vector<PlacedChoice> choices_;
  std::size_t planting_ = 0, second_fall_ = 0, V6_ = 1;
  std::string end_;  ///< "2028-10"
  std::string text_;
};

}  // namespace

std::string printed_timing(const Results& results, const Scenario& scenario,
                           const std::vector<ChosenTiming>& chosen) {
  return TimingPrinter(results, scenario, chosen).print();
}

}  // namespace stoverturn
