#include "scenarios/design/design_curves.hpp"

#include <algorithm>
#include <numeric>

#include "fitting/power.hpp"
#include "fitting/quantile.hpp"

namespace stoverturn {
namespace {

Eigen::Index at(std::size_t i) { return static_cast<Eigen::Index>(i); }

}  // namespace

std::vector<DesignPoint> design_curves(const DesignModel& model, const std::vector<int>& pulls) {
  std::vector<std::size_t> order(model.days.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return model.days[a] < model.days[b]; });
  std::vector<DesignPoint> points;
  for (std::size_t c = 0; c < model.cells.size(); ++c) {
    const DesignCell& cell = model.cells[c];
    const Treatment& t = model.scenario.treatments[cell.treatment];
    const auto add = [&](int day, double left, const Interval& between, bool pulled) {
      points.push_back({t.name, cell.component, cell.placement, day, t.first().date + std::chrono::days(day),
                        left, between, pulled});
    };
    add(0, 1.0, {1.0, 1.0}, false);
    for (const std::size_t day : order) {
      std::vector<double> left;
      for (const Eigen::MatrixXd& of_draw : model.left) left.push_back(of_draw(at(c), at(day)));
      std::sort(left.begin(), left.end());
      const bool pulled = std::find(pulls.begin(), pulls.end(), model.days[day]) != pulls.end();
      add(model.days[day], quantile_of_sorted(left, 0.5),
          {quantile_of_sorted(left, 0.05), quantile_of_sorted(left, 0.95)}, pulled);
    }
  }
  return points;
}

std::vector<BagPower> bag_powers(const DesignPlan& plan, int replicates) {
  const double mass = plan.difference->mass, variance = plan.sd() * plan.sd();
  const int needed =
      units_needed(mass, variance, false, plan.level, DesignPower::wanted, DesignPower::most_bags);
  const int last = std::max({10, 2 * needed, replicates + 2}), step = std::max(1, last / 58);
  std::vector<BagPower> powers;
  for (int n = 2; n <= last; n += step) {
    powers.push_back({n, power_of_units(mass, variance, false, plan.level, n)});
  }
  return powers;
}

}  // namespace stoverturn
