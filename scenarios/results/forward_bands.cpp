#include "scenarios/results/forward_bands.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "fitting/quantile.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t batch = 4 * lane_count;  // runs whose whole series are in memory at once

bool has_band(const Variable& v) {
  return std::find(v.dimensions.begin(), v.dimensions.end(), Dimension::cohort) == v.dimensions.end();
}

/// The smallest and largest of many values, as many as quantiles need: what draws leave of a series.
class Tails {
 public:
  Tails(std::size_t values, std::size_t keep)
      : keep_(keep), smallest_(values * keep), largest_(values * keep) {}

  void add(const std::vector<double>& values) {
    for (std::size_t i = 0; i < values.size(); ++i) {
      insert(smallest_.data() + i * keep_, values[i], comes_before);
      insert(largest_.data() + i * keep_, values[i], [](double a, double b) { return comes_before(b, a); });
    }
    ++count_;
  }
  double low(std::size_t i, double p) const { return between(smallest_.data() + i * keep_, p); }
  double high(std::size_t i, double p) const { return between(largest_.data() + i * keep_, 1.0 - p); }

 private:
  /// Into the first of a sorted row.
  template <class Before>
  void insert(double* row, double value, Before before) const {
    std::size_t held = std::min(count_, keep_);
    if (held == keep_ && !before(value, row[keep_ - 1])) return;
    if (held < keep_) ++held;
    std::size_t place = held - 1;
    for (; place > 0 && before(value, row[place - 1]); --place) row[place] = row[place - 1];
    row[place] = value;
  }
  /// The quantile `p` from the end at which the row begins.
  double between(const double* row, double p) const {
    const double rank = p * static_cast<double>(count_ - 1);
    const auto first = static_cast<std::size_t>(rank);
    const double weight = rank - static_cast<double>(first);
    if (weight == 0.0) return row[first];
    return row[first] + weight * (row[first + 1] - row[first]);
  }

  std::size_t keep_, count_ = 0;
  std::vector<double> smallest_, largest_;
};

struct DrawnRun {
  std::vector<std::vector<double>> series, key_numbers;  ///< of the variables with a band
  std::string failure;                                   ///< "" when it ran
};

DrawnRun drawn(Results r) {
  DrawnRun run;
  for (Variable& v : r.series) {
    if (has_band(v)) run.series.push_back(std::move(v.values));
  }
  for (Variable& v : r.key_numbers) run.key_numbers.push_back(std::move(v.values));
  return run;
}

/// Draws from `first` on, together; each alone where that fails.
void run_draws(const ScenarioDraws& draws, std::size_t first, const Climates& climates,
               std::span<DrawnRun> runs) {
  try {
    std::vector<Scenario> scenarios;
    for (std::size_t i = 0; i < runs.size(); ++i) scenarios.push_back(draws.with_draw(first + i));
    if (auto together = run_together(scenarios, climates)) {
      for (std::size_t i = 0; i < runs.size(); ++i) runs[i] = drawn(std::move((*together)[i]));
      return;
    }
  } catch (const InputError&) {  // a draw that cannot be read: the others are run
  }
  for (std::size_t i = 0; i < runs.size(); ++i) {
    try {
      runs[i] = drawn(run_scenario(draws.with_draw(first + i), climates, {}));
    } catch (const InputError& error) {
      runs[i].failure = error.mistakes.front().message;
    }
  }
}

/// What all draws leave, added in their order.
class Collected {
 public:
  Collected(const Results& estimate, double level, std::size_t draws) : lower_p_(0.5 * (1.0 - level)) {
    const auto keep = std::min(draws, static_cast<std::size_t>(lower_p_ * static_cast<double>(draws)) + 2);
    for (const Variable& v : estimate.series) {
      if (has_band(v)) series_.emplace_back(v.values.size(), keep);
    }
    key_numbers_.resize(estimate.key_numbers.size());
  }

  void add(DrawnRun run) {
    for (std::size_t v = 0; v < series_.size(); ++v) series_[v].add(run.series.at(v));
    for (std::size_t v = 0; v < key_numbers_.size(); ++v) {
      key_numbers_[v].push_back(std::move(run.key_numbers.at(v)));
    }
    ++runs_;
  }

  /// Whether a key number's band has any width.
  bool put_bands(Results& r, double level) const {
    bool wide = false;
    std::vector<Variable> series, key_numbers;
    std::size_t next = 0;
    for (const Variable& v : r.series) {
      if (!has_band(v)) continue;
      const Tails& tails = series_[next++];
      Variable low = bound(v, band_low, level), high = bound(v, band_high, level);
      for (std::size_t i = 0; i < v.values.size(); ++i) {
        low.values.push_back(tails.low(i, lower_p_));
        high.values.push_back(tails.high(i, 1.0 - lower_p_));
      }
      series.insert(series.end(), {std::move(low), std::move(high)});
    }
    for (std::size_t k = 0; k < r.key_numbers.size(); ++k) {
      const Variable& v = r.key_numbers[k];
      Variable low = bound(v, band_low, level), median = bound(v, band_middle, level),
               high = bound(v, band_high, level);
      std::vector<double> drawn(runs_);
      for (std::size_t i = 0; i < v.values.size(); ++i) {
        for (std::size_t d = 0; d < runs_; ++d) drawn[d] = key_numbers_[k][d][i];
        std::sort(drawn.begin(), drawn.end(), comes_before);
        wide = wide || comes_before(drawn.front(), drawn.back());
        low.values.push_back(quantile_of_sorted(drawn, lower_p_));
        median.values.push_back(quantile_of_sorted(drawn, 0.5));
        high.values.push_back(quantile_of_sorted(drawn, 1.0 - lower_p_));
      }
      key_numbers.insert(key_numbers.end(), {std::move(low), std::move(median), std::move(high)});
    }
    r.series.insert(r.series.end(), series.begin(), series.end());
    r.key_numbers.insert(r.key_numbers.end(), key_numbers.begin(), key_numbers.end());
    return wide;
  }

  std::size_t runs() const { return runs_; }

 private:
  static Variable bound(const Variable& v, std::string_view suffix, double level) {
    Variable b = v;
    b.name += suffix;
    b.cf_name.clear();
    b.values.clear();
    b.meaning = suffix == band_middle
                    ? fmt::format("median of the draws: {}", v.meaning)
                    : fmt::format("{} end of the {:.4g} % range of the draws: {}",
                                  suffix == band_low ? "lower" : "upper", 100.0 * level, v.meaning);
    return b;
  }

  double lower_p_;
  std::size_t runs_ = 0;
  std::vector<Tails> series_;
  std::vector<std::vector<std::vector<double>>> key_numbers_;  ///< by key number and draw
};

void note_draws(const ScenarioDraws& draws, std::size_t ran, const std::string& first_failure, Results& r) {
  if (draws.fit.empty()) {
    r.notes.push_back(fmt::format(
        "Ranges hold 9 of 10 new places: parameters were drawn {} times from their spread between "
        "the trials that the defaults come from, the same for every treatment. The weather is that of this "
        "run; the scatter of bags and plots is not in it.",
        ran));
  } else {
    r.notes.push_back(fmt::format(
        "Ranges hold {:.4g} % of {} draws of {}{}, the same draws for every treatment. They are "
        "what the data of the fit leave open, not the weather to come or what the model leaves out.",
        100.0 * draws.level, ran, draws.fit, draws.are.empty() ? "" : fmt::format(" ({})", draws.are)));
  }
  if (ran < draws.count) {
    r.notes.push_back(fmt::format("{} of {} draws could not be run and are left out; the first: {}.",
                                  draws.count - ran, draws.count, first_failure));
  }
}

}  // namespace

bool is_of_band(std::string_view name) {
  return name.ends_with(band_low) || name.ends_with(band_middle) || name.ends_with(band_high);
}

struct BandsUnderWay::Inside {
  const Scenario& scenario;
  const Climates& climates;
  Results results;
  std::optional<Collected> collected;  ///< none: no draws
  std::size_t next = 0;
  std::string first_failure;

  std::size_t count() const { return scenario.draws ? scenario.draws->count : 0; }
};

BandsUnderWay::BandsUnderWay(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                             const RunProgress& progress, KnownDrivers* known)
    : in_(new Inside{scenario, climates, {}, {}, 0, ""}) {
  const auto whole = static_cast<double>(in_->count() + 1);
  const RunProgress of_estimate = [&](double done) {
    if (progress) progress(done / whole);
  };
  in_->results = run_scenario(scenario, climates, std::move(texts), of_estimate, known);
  if (scenario.draws) in_->collected.emplace(in_->results, scenario.draws->level, scenario.draws->count);
}

BandsUnderWay::~BandsUnderWay() = default;

bool BandsUnderWay::done() const { return in_->next == in_->count(); }

double BandsUnderWay::share_done() const {
  return static_cast<double>(in_->next + 1) / static_cast<double>(in_->count() + 1);
}

void BandsUnderWay::step(std::size_t most, const ForEach& for_each) {
  const std::size_t count = std::min(most, in_->count() - in_->next);
  std::vector<DrawnRun> runs(count);
  for_each((count + lane_count - 1) / lane_count, [&](std::size_t group) {
    const std::size_t begin = group * lane_count;
    run_draws(*in_->scenario.draws, in_->next + begin, in_->climates,
              std::span(runs).subspan(begin, std::min(lane_count, count - begin)));
  });
  for (DrawnRun& run : runs) {
    if (run.failure.empty()) {
      in_->collected->add(std::move(run));
    } else if (in_->first_failure.empty()) {
      in_->first_failure = run.failure;
    }
  }
  in_->next += count;
}

Results BandsUnderWay::finish() {
  if (!in_->collected) return std::move(in_->results);
  const ScenarioDraws& draws = *in_->scenario.draws;
  const Collected& collected = *in_->collected;
  if (collected.runs() == 0) {
    throw InputError({{{draws.fit.empty() ? "draws" : draws.fit, 0, 0},
                       fmt::format("none of its draws could be run; the first: {}", in_->first_failure)}});
  }
  const bool wide = collected.put_bands(in_->results, draws.level);
  note_draws(draws, collected.runs(), in_->first_failure, in_->results);
  if (!wide && draws.fit.empty()) {
    in_->results.notes.emplace_back(
        "Ranges have no width: every parameter that is known to differ between places is set here. "
        "Leave draws out, or take values out.");
  }
  return std::move(in_->results);
}

Results run_with_bands(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                       const RunProgress& progress, const ForEach& for_each) {
  BandsUnderWay run(scenario, climates, std::move(texts), progress);
  while (!run.done()) {
    run.step(batch, for_each);
    if (progress) progress(run.share_done());
  }
  return run.finish();
}

}  // namespace stoverturn
