#include "fitting/multi_start.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <boost/random/sobol.hpp>
#include <boost/random/uniform_01.hpp>

#include "engine/random_stream.hpp"

namespace stoverturn {
namespace {

bool better(const Optimum& a, const Optimum& b, double same) {
  if (a.stop == Stop::bad_start || b.stop == Stop::bad_start)
    return b.stop == Stop::bad_start && a.stop != b.stop;
  const bool a_ends = a.stop == Stop::converged, b_ends = b.stop == Stop::converged;
  if (std::abs(a.cost - b.cost) <= same && a_ends != b_ends) return a_ends;
  return a.cost < b.cost;
}

double same_cost(const MultiStartOptions& options, const Optimum& best) {
  return std::max(options.same_cost, options.same_relative * std::abs(best.cost));
}

Eigen::VectorXd spread_of(const std::vector<Eigen::VectorXd>& starts) {
  Eigen::VectorXd low = starts.front(), high = starts.front();
  for (const Eigen::VectorXd& x : starts) {
    low = low.cwiseMin(x);
    high = high.cwiseMax(x);
  }
  return high - low;
}

void count_agreement(const std::vector<Eigen::VectorXd>& starts, const MultiStartOptions& options,
                     MultiStart& result) {
  const Eigen::VectorXd spread = spread_of(starts);
  for (const Optimum& run : result.runs) {
    result.converged += run.stop == Stop::converged;
    result.failed += run.stop == Stop::bad_start;
    if (run.stop == Stop::bad_start || run.cost - result.best.cost > same_cost(options, result.best))
      continue;
    ++result.same_cost;
    const Eigen::ArrayXd near = options.same_place * spread.array().max(result.best.x.array().abs());
    result.same_place += ((run.x - result.best.x).array().abs() <= near).all();
  }
}

}  // namespace

std::vector<Eigen::VectorXd> start_points(const Eigen::VectorXd& first, const Eigen::VectorXd& from,
                                          const Eigen::VectorXd& to, std::size_t count, std::uint64_t seed) {
  if (from.size() != first.size() || to.size() != first.size() || !from.allFinite() || !to.allFinite() ||
      (from.array() > to.array()).any()) {
    throw std::invalid_argument("starting points need a finite box");
  }
  RandomStream stream = random_stream(seed, "starting points", 0);
  boost::random::uniform_01<double> uniform;
  Eigen::VectorXd shift(first.size());
  for (double& s : shift) s = uniform(stream);
  boost::random::sobol sobol(static_cast<std::size_t>(first.size()));
  std::vector<Eigen::VectorXd> points{within(first, from, to)};
  if (count > 0) points.front() = first;
  while (points.size() < count) {
    Eigen::VectorXd x(first.size());
    for (Eigen::Index j = 0; j < x.size(); ++j) {
      const double u = std::fmod(std::ldexp(static_cast<double>(sobol()), -64) + shift[j], 1.0);
      x[j] = from[j] + u * (to[j] - from[j]);
    }
    points.push_back(x);
  }
  points.resize(count);
  return points;
}

MultiStart search_from(const std::vector<Eigen::VectorXd>& starts, const LocalSearch& search,
                       const MultiStartOptions& options) {
  if (starts.empty()) throw std::invalid_argument("a search needs a start");
  MultiStart result;
  int evaluations = 0;
  bool stopped = false;
  const double all = static_cast<double>(starts.size());
  for (std::size_t i = 0; i < starts.size() && !stopped; ++i) {
    Optimum run;
    if (i < options.done.size()) {
      run = options.done[i];
    } else {
      run = search(starts[i], [&](const Progress& here) {
        if (!options.progress) return true;
        const bool ahead = result.runs.empty() || here.best_cost < result.best.cost;
        stopped = !options.progress({ahead ? here.best_cost : result.best.cost,
                                     ahead ? here.best : &result.best.x, evaluations + here.evaluations,
                                     (static_cast<double>(i) + here.fraction) / all});
        return !stopped;
      });
    }
    evaluations += run.evaluations + run.derivatives;
    if (result.runs.empty() || better(run, result.best, same_cost(options, result.best))) result.best = run;
    if (stopped) break;  // a run cut short is kept as the best where it is, but counts as not done
    result.runs.push_back(std::move(run));
    if (options.checkpoint) options.checkpoint(result.runs);
  }
  result.finished = result.runs.size() == starts.size();
  count_agreement(starts, options, result);
  return result;
}

}  // namespace stoverturn
