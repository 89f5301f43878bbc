#pragma once
#include "scenarios/trial/odd_bags.hpp"

/// A trial before any model: `stoverturn fit --look`.
namespace stoverturn {

/// Bags of one treatment, component, placement and pull.
struct LookGroup {
  std::string site, treatment, component, placement, measure, unit;  ///< labels; "" where the data have none
  int pull = 0;                                                      ///< days since laid out
  std::chrono::sys_days date{};
  int n = 0;
  double mean = not_there;
  double sd = not_there;  ///< between bags; of rows that are means, from their own sd; NaN where not known
};

/// Second treatment less the first, with an interval at TrialLook::level.
struct LookDifference {
  std::string site, first, second, component, placement, measure, unit;
  int pull = -1;  ///< -1: mean over the pulls after day 0 that both have with two bags or more
  int n_first = 0, n_second = 0;
  double difference = not_there, se = not_there, freedom = not_there;
  Between between;
};

struct LookHandling {
  std::string site, treatment, component, placement;
  int n = 0;
  double loss = not_there;  ///< share of what was put in
  Between between;          ///< from the bags' own sd, Student's t; NaN for one bag
};

struct LookOddBag {
  std::string site, data, treatment, component, placement, block, replicate;
  int pull = 0;
  OddBag bag;
  std::string why;  ///< in words
};

struct TrialLook {
  double level = 0.9;
  std::vector<LookGroup> groups;  ///< by measure, component, placement, treatment, pull
  std::vector<LookDifference>
      differences;  ///< likewise by pair; the mean over the course before single pulls
  std::vector<LookHandling> handling;
  std::vector<LookOddBag> odd;       ///< by line
  std::vector<std::string> assumes;  ///< what the intervals assume, by sentence
  std::vector<std::string> warnings;
};

/// What Welch 1947 (Biometrika 34, 28-35) says of a sum of group means, each times a coefficient:
/// se^2 = sum c^2 s^2 / n, with (sum v)^2 / sum (v^2 / (n - 1)) degrees of freedom, v = c^2 s^2 / n.
struct WelchTerm {
  double coefficient, mean, sd;
  int n;
};
struct WelchInterval {
  double value = not_there, se = not_there, freedom = not_there;
  Between between;
};
/// The interval is NaN where a group has fewer than two bags or no sd, or nothing varies.
WelchInterval welch(const std::vector<WelchTerm>& terms, double level);

/// Treatments are compared within component, placement and pull, never between trials. Throws InputError.
TrialLook trial_look(const std::vector<LoadedTrial>& trials, double level = 0.9);

/// For people, at most 100 columns wide; shares in percent, `units` "us" or "si" for mineral N.
std::string print_look(const TrialLook& look, const std::string& units = "si");

}  // namespace stoverturn
