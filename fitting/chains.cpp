#include <algorithm>
#include <cmath>
#include <limits>
#include <locale>
#include <sstream>
#include <stdexcept>

#include "fitting/effective_draws.hpp"
#include "fitting/sampler.hpp"

namespace stoverturn {
namespace {

constexpr double least_effective = 400.0, effective_by_walker = 10.0;
constexpr int fewest_steps = 20;

std::string text(double x, int digits) {
  std::ostringstream out;
  out.imbue(std::locale::classic());
  out.precision(digits);
  out << std::fixed << x;
  return out.str();
}

/// Draws of an unknown, steps x walkers.
Eigen::MatrixXd by_walker(const Chains& chains, Eigen::Index unknown) {
  const Eigen::VectorXd draws = chains.draws.row(unknown);
  return draws.reshaped(chains.walkers, chains.steps).transpose();
}

/// R-hat between groups of walkers and the halves of the run: walkers of one group are one long sequence.
double grouped_r_hat(const Eigen::MatrixXd& walkers) {
  const Eigen::MatrixXd halves = rank_normalised(in_halves(walkers));
  const Eigen::Index groups = walkers.cols() % 4 == 0 ? 4 : walkers.cols() % 2 == 0 ? 2 : 1;
  return r_hat(halves.reshaped(halves.size() / (2 * groups), 2 * groups));
}

/// Walkers that stood still for more than half of the kept steps, in one go.
int still_walkers(const Chains& chains) {
  int still = 0;
  for (int w = 0; w < chains.walkers; ++w) {
    int stay = 1, longest = 1;
    for (int s = 1; s < chains.steps; ++s) {
      const Eigen::Index here = static_cast<Eigen::Index>(s) * chains.walkers + w;
      stay = chains.draws.col(here) == chains.draws.col(here - chains.walkers) ? stay + 1 : 1;
      longest = std::max(longest, stay);
    }
    still += 2 * longest > chains.steps;
  }
  return still;
}

struct Reasons {
  std::string text;
  void add(const std::string& reason) { text += (text.empty() ? "" : "; ") + reason; }
};

/// The worst unknown by a number, which speaks for all: "k (and of 3 other unknowns)".
struct Worst {
  Eigen::Index unknown = -1, count = 0;
  double excess = 0.0;
  void look(Eigen::Index j, double by) {
    ++count;
    if (unknown >= 0 && !(by > excess)) return;
    unknown = j;
    excess = by;
  }
  std::string others() const {
    if (count < 2) return "";
    return " (and of " + std::to_string(count - 1) + (count == 2 ? " other)" : " others)");
  }
};

void judge_numbers(const ChainReport& report, const Chains& chains, const std::vector<std::string>& names,
                   Reasons& why) {
  const auto name = [&](Eigen::Index j) {
    return names.empty() ? "unknown " + std::to_string(j + 1) : names[static_cast<std::size_t>(j)];
  };
  const double wanted = std::max(least_effective, effective_by_walker * chains.walkers);
  Worst stuck, apart, few;
  double apart_limit = 0.0;
  for (Eigen::Index j = 0; j < report.rhat.size(); ++j) {
    const double effective = std::min(report.ess_bulk[j], report.ess_tail[j]);
    if (std::isnan(report.rhat[j]) || std::isnan(report.ess_bulk[j] + report.ess_tail[j])) {
      stuck.look(j, 0.0);
      continue;
    }
    const double limit = std::min(1.05, 1.01 + 12.0 / effective);
    if (!(report.rhat[j] < limit)) {
      apart.look(j, report.rhat[j] - limit);
      if (apart.unknown == j) apart_limit = limit;
    }
    if (!(effective > wanted)) few.look(j, wanted / effective);
  }
  if (stuck.count > 0) why.add("no walker moves in " + name(stuck.unknown) + stuck.others());
  if (apart.count > 0) {
    why.add("R-hat of " + name(apart.unknown) + apart.others() + " is " +
            text(report.rhat[apart.unknown], 3) + ", not below " + text(apart_limit, 3) +
            ": groups of walkers, early and late, do not agree");
  }
  if (few.count > 0) {
    why.add("draws of " + name(few.unknown) + few.others() + " are worth " + text(wanted / few.excess, 0) +
            " independent ones, fewer than " + text(wanted, 0) + ": draw about " +
            text(std::ceil(few.excess * 1.2), 0) + " times as many");
  }
}

}  // namespace

ChainReport judge(const Chains& chains, const std::vector<std::string>& names) {
  const Eigen::Index unknowns = chains.draws.rows();
  const Eigen::Index draws = static_cast<Eigen::Index>(chains.walkers) * chains.steps;
  if (chains.walkers < 1 || chains.draws.cols() != draws || chains.density.size() != draws ||
      (!names.empty() && static_cast<Eigen::Index>(names.size()) != unknowns))
    throw std::invalid_argument(
        "chains need as many draws as walkers times steps, and a name for each unknown");
  ChainReport report;
  report.rhat = report.ess_bulk = report.ess_tail =
      Eigen::VectorXd::Constant(unknowns, std::numeric_limits<double>::quiet_NaN());
  if (chains.steps < fewest_steps) {
    report.why = "only " + std::to_string(chains.steps) + " steps of each walker were kept, fewer than " +
                 std::to_string(fewest_steps);
    return report;
  }
  Reasons why;
  if (!chains.draws.allFinite() || !chains.density.allFinite()) {
    report.why = "some draws have no density";
    return report;
  }
  for (Eigen::Index j = 0; j < unknowns; ++j) {
    const Eigen::MatrixXd walkers = by_walker(chains, j);
    report.rhat[j] = std::max(grouped_r_hat(walkers), grouped_r_hat(folded(walkers)));
    report.ess_bulk[j] = ess_bulk(walkers);
    report.ess_tail[j] = ess_tail(walkers);
  }
  judge_numbers(report, chains, names, why);
  if (const int still = still_walkers(chains); still > 0) {
    why.add(std::to_string(still) + " of " + std::to_string(chains.walkers) +
            " walkers stood still for more than half of the steps");
  }
  if (!(chains.acceptance >= 0.05 && chains.acceptance <= 0.95))
    why.add(text(100.0 * chains.acceptance, 0) + " % of the moves were taken, not 5 to 95 %");
  report.converged = why.text.empty();
  report.why = why.text;
  return report;
}

}  // namespace stoverturn
