#pragma once
#include "fitting/covariance.hpp"
#include "scenarios/design/bag_labels.hpp"

namespace stoverturn {

/// One way to use the bags.
struct DesignChoice {
  std::string name;  ///< "best", "evenly spaced", "own pulls", or of the search "3 replicates"
  int replicates = 0, bags = 0;
  std::vector<int> days;
  double score = 0.0;  ///< design_score
  double wider = 1.0;  ///< intervals, beside those of the best, in the geometric mean
};

/// What is expected of an unknown.
struct DesignEstimate {
  Unknown unknown;
  double expected = 0.0;
  Interval known;     ///< before the trial
  Interval interval;  ///< after it, around what is expected, of mean width over the draws
  double told = 0.0;  ///< share of the variance before that the bags take away
  double even_wider = 1.0, own_wider = 1.0;  ///< by other dates; NaN without own pulls
  /// Of invented trials: mean width over that expected, and share of intervals that held the truth, each with
  /// its Monte Carlo standard error; NaN without trials.
  double width_ratio = not_there, width_ratio_se = not_there, held = not_there, held_se = not_there;
};

struct DesignPower {
  std::string what;         ///< "mass left, bags of one pull", "mass left, by the fit", "k_hol"
  double difference = 0.0;  ///< share of what was put in, or of the parameter
  int day = -1;             ///< of a difference in mass
  double power = 0.0;
  double invented = not_there, invented_se = not_there;  ///< of invented trials
  int bags_needed = 0;  ///< a treatment and pull, for 80 %; 0: not asked, or above `most_bags`
  static constexpr int most_bags = 10000;
  static constexpr double wanted = 0.8;
};

/// What is left in bags of one kind, of what was put in: over the draws of the parameters.
struct DesignPoint {
  std::string treatment, component, placement;
  int day = 0;
  std::chrono::sys_days date;
  double left = 0.0;  ///< median
  Interval between;   ///< nine of ten draws
  bool pulled = false;
};

/// As many replicates as chosen with fewer or more pulls, each time on the days that do best.
struct DesignSize {
  int pulls = 0, bags = 0;
  double wider = 1.0;        ///< as in DesignChoice
  double power = not_there;  ///< to see the parameter's difference; NaN: none is asked for
};

/// Chance that bags of one pull show the difference in mass, by bags a treatment.
struct BagPower {
  int bags = 0;
  double power = 0.0;
};

struct DesignReport {
  std::string title, units = "si";
  int budget = 0, handling = 0;
  double bag_mass_g = 0.0, sd = 0.0, level = 0.9;
  int draws = 0, trials = 0, converged = 0;
  std::size_t cells = 0;
  std::vector<DesignChoice> searched;        ///< by replicates
  std::vector<DesignChoice> choices;         ///< best, evenly spaced, own pulls
  DesignChoice chosen;                       ///< which is checked and labelled
  std::vector<std::chrono::sys_days> dates;  ///< of the chosen, of the first treatment
  std::vector<DesignEstimate> estimates;
  std::vector<DesignPoint> curves;  ///< kind by kind, from day 0 on
  std::vector<DesignSize> sizes;
  std::vector<DesignPower> powers;
  std::vector<BagPower> bag_powers;  ///< empty where no difference in mass is asked for
  std::string one, other;            ///< treatments of the difference
  /// Difference in mass left that the scenario itself expects on that day, and 90 % of draws; NaN: not asked.
  double scenario_difference = not_there;
  Interval scenario_between;
  std::vector<BagLabel> labels;
  std::vector<std::string> notes;
};

/// Searches, checks and labels. Throws InputError for a budget that gives no pull. The same bits for any
/// ForEach.
DesignReport design_report(const DesignPlan& plan, const DesignModel& model, const ForEach& for_each);

}  // namespace stoverturn
