#pragma once
#include <span>

#include "scenarios/charts/intervals.hpp"
#include "scenarios/report/report.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// Reads the numbers of an ensemble as reports tell them: the middle run, an inner and an outer range, as far
/// as the kept quantiles allow. The results must outlive it.
class RunSpread {
 public:
  explicit RunSpread(const Results& results);

  /// A number with quantiles; nullptr where it is not kept.
  const Variable* find(std::string_view name) const;
  /// Any variable; nullptr where it is not kept.
  const Variable* any(std::string_view name) const;
  /// Values of a variable's last dimension beyond site, treatment and quantile; 1 where there is none.
  std::size_t inner_size(const Variable& v) const;
  /// Canonical.
  RunInterval of(const Variable& v, std::size_t site, std::size_t treatment, std::size_t inner = 0) const;
  /// Of a variable {site, treatment}, canonical; NaN where it is not kept.
  double share(std::string_view name, std::size_t site, std::size_t treatment) const;

  /// Of values of each run, NaN counting above all others.
  RunInterval of_values(std::vector<double> values) const;
  /// The single runs of a number (NAME_of_run); none where they are not kept.
  std::vector<double> runs(std::string_view name, std::size_t site, std::size_t treatment,
                           std::size_t inner = 0) const;

  /// Number of runs a site and treatment; 0 where single runs are not kept.
  std::size_t run_count() const;

  /// The range that is told, canonical: the outer one, or the inner one where the outer holds all runs; the
  /// middle twice where one quantile is kept.
  std::pair<double, double> told(const RunInterval& interval) const;
  /// "58 to 66", of that range.
  std::string range(const RunInterval& interval, const Shown& shown, int decimals) const;
  /// "62 (58 to 66)"; "-" where it is not known.
  std::string middle_and_range(const RunInterval& interval, const Shown& shown, int decimals) const;
  /// What share of the runs the told range holds: "8 of 10 runs"; "" where there is no range.
  std::string range_of() const;
  /// "The dot is the middle run, the thick bar holds 8 of 10 runs, the thin line all of them."
  std::string how_to_read() const;

 private:
  /// What is told of values by the place of their quantile.
  template <class AtQuantile>
  RunInterval told_by(AtQuantile at) const;

  std::string share_words(std::size_t low, std::size_t high) const;
  bool has_inner() const { return inner_high_ > inner_low_; }

  const Results& r_;
  std::size_t middle_ = 0, last_ = 0;
  std::size_t inner_low_ = 0, inner_high_ = 0;  ///< of the thick bar; equal: none
  bool told_inner_ = false;
};

/// "30 weathers (seed 1 to seed 30)", with draws where there are.
std::string weathers_in_words(const Results& results);

/// Notes that warn of harm: those on nitrogen, nitrate and their like; and all others.
std::vector<std::string> cautions_in(const std::vector<std::string>& notes);
std::vector<std::string> assumptions_in(const std::vector<std::string>& notes);

/// Adds a chart that has anything to show.
void add_chart(ReportSection& section, Chart chart);
/// Adds a section that has anything to say.
void add_section(Report& report, ReportSection section);

/// Title, program, units, texts and cautions of the results; kind as given.
Report report_begun(const Results& results, std::string kind);

/// "6 to 17 June", "28 May to 9 June", "from 28 May" where the later one is not reached: days of the run as
/// dates, without year. "" where the results do not tell when they begin.
std::string dates_words(const Results& results, std::pair<double, double> days);

/// "V6" of the stage "V6 1".
std::string stage_word(std::string_view label);
/// "planting 1" becomes "first planting", "year 2" "two years after harvest", "day 60" "day 60", "04-15 1"
/// "04-15, first".
std::string checkpoint_words(std::string_view label);

}  // namespace stoverturn
