#include "scenarios/decide/timing_words.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using namespace timing_quantile;

class VerdictWriter {
 public:
  explicit VerdictWriter(const Results& r)
      : r_(r),
        q_(r),
        runs_(r.weather_years.size() * r.draws),
        planting_(index_of(r.checkpoints, "planting 1")),
        second_fall_(r.checkpoints.size() - 1) {}

  std::string verdict(const PlacedChoice& placed, std::string_view end) const {
    const TimingChoice& c = placed.choice;
    const std::size_t t = placed.treatment;
    const double spread = q_.share("share_of_runs_spread", t);
    if (spread == 0.0) {
      return fmt::format("{}: never spread, {} came in none of the runs.", c.date, c.date);
    }
    std::string text = fmt::format("Residue at planting: {}; {}: {}.", lost_more(t, planting_), end,
                                   lost_more(t, second_fall_));
    text += fmt::format(" Of the N, {} % is lost before planting (leached {} %, to the air {} %).",
                        range_text(q_.of("share_lost", t, low), q_.of("share_lost", t, high)),
                        range_text(q_.of("share_leached", t, low), q_.of("share_leached", t, high)),
                        range_text(q_.of("share_to_air", t, low), q_.of("share_to_air", t, high)));
    text += fmt::format(" {} {} of it reach the next crop or lie in the soil when that is ripe.",
                        range_text(q_.of("nitrogen_useful", t, low), q_.of("nitrogen_useful", t, high), 0),
                        q_.unit("nitrogen_useful"));
    const double pays = q_.share("share_that_pays", t);
    const std::size_t paying = static_cast<std::size_t>(std::lround(pays * static_cast<double>(runs_)));
    text += fmt::format(" At these prices it pays in {} of {} {}: {} {}, worst {}.", paying, runs_,
                        r_.draws > 1 ? "runs" : "years",
                        range_text(q_.of("net_gain", t, low), q_.of("net_gain", t, high), 0),
                        q_.unit("net_gain"), shown_number(q_.of("net_gain", t, lowest) + 0.0, 0));
    const double warm = q_.share("share_of_weathers_warm", t);
    if (warm > 0.0) {
      text += fmt::format(
          " On that day the soil at 4 in (100 mm) is at 50 degF (10 degC) or warmer in {:.0f} % of the "
          "weathers.",
          100.0 * warm);
    }
    if (spread < 1.0) {
      text += fmt::format(" In {:.0f} % of the runs {} did not come in time, and nothing was spread.",
                          100.0 * (1.0 - spread), c.date);
    }
    return text;
  }

 private:
  /// "by 2 to 4 points", "hardly (0 to 1 points)", of what 8 runs of 10 lost more.
  std::string lost_more(std::size_t t, std::size_t checkpoint) const {
    const double a = -q_.of("mass_left_at_difference", t, high, checkpoint),
                 b = -q_.of("mass_left_at_difference", t, low, checkpoint);
    const std::string points = range_text(std::abs(a) < 0.05 ? 0.0 : a, std::abs(b) < 0.05 ? 0.0 : b, 1);
    if (std::max(std::abs(a), std::abs(b)) < 0.45)
      return fmt::format("no difference that counts ({} points)", points);
    return fmt::format("{} points less", points);
  }

  const Results& r_;
  TimingQuantiles q_;
  std::size_t runs_, planting_, second_fall_;
};

}  // namespace

std::vector<PlacedChoice> choices_in(const Results& r) {
  const auto kept = std::find_if(r.texts.begin(), r.texts.end(),
                                 [](const KeptText& text) { return text.name == "choices"; });
  if (kept == r.texts.end()) return {};
  std::vector<PlacedChoice> choices;
  for (const CsvRow& row : read_csv(kept->text, "choices").rows) {
    if (row.size() != 6) continue;
    const PlacedChoice choice{index_of(r.treatments, row[0].text),
                              index_of(r.treatments, row[1].text),
                              {row[4].text, row[3].text, row[2].text, row[5].text}};
    if (std::max(choice.treatment, choice.base) < r.treatments.size()) choices.push_back(choice);
  }
  return choices;
}

std::vector<std::size_t> bases_of(const std::vector<PlacedChoice>& choices) {
  std::vector<std::size_t> bases;
  for (const PlacedChoice& c : choices) {
    if (std::find(bases.begin(), bases.end(), c.base) == bases.end()) bases.push_back(c.base);
  }
  return bases;
}

std::vector<PlacedChoice> best_first(const Results& results, const std::vector<PlacedChoice>& choices,
                                     std::size_t base) {
  std::vector<PlacedChoice> order;
  std::copy_if(choices.begin(), choices.end(), std::back_inserter(order),
               [&](const PlacedChoice& c) { return c.base == base; });
  const TimingQuantiles q(results);
  std::stable_sort(order.begin(), order.end(), [&](const PlacedChoice& a, const PlacedChoice& b) {
    return q.of("net_gain", a.treatment, middle) > q.of("net_gain", b.treatment, middle);
  });
  return order;
}

double TimingQuantiles::of(const std::string& name, std::size_t t, std::size_t q, std::size_t inner) const {
  const Variable& v = r_.find(name);
  const std::size_t size = v.dimensions.size() > 3 ? r_.extent(v.dimensions[3]) : 1;
  return shown(v, r_)(v.values[(t * r_.quantiles.size() + q) * size + inner]);
}
double TimingQuantiles::share(const std::string& name, std::size_t t) const {
  return r_.find(name).values[t];
}
std::string TimingQuantiles::unit(const std::string& name) const { return shown(r_.find(name), r_).unit; }

std::string timing_verdict(const Results& results, const PlacedChoice& choice, std::string_view end) {
  return VerdictWriter(results).verdict(choice, end);
}

}  // namespace stoverturn
