/// Speed of a fit, ours against deSolve and R on the same trial; asked, run and tabled in docs/benchmarks.md.
/// fit_benchmark bags > bags.txt       invented bags: what both sides fit
/// fit_benchmark run < bags.txt        our times, one "name value" a line
/// fit_benchmark draws [threads [draws]] < bags.txt    the sampler from the fit: clock, CPU, a checksum of
/// the draws
#include <algorithm>
#include <bit>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <ctime>
#include <iostream>
#include <string>

#include <Eigen/LU>
#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/covariance.hpp"
#include "fitting/least_squares.hpp"
#include "fitting/on_threads.hpp"
#include "fitting/sampler.hpp"
#include "fitting/trial_posterior.hpp"
#include "tests/daily_table.hpp"

using namespace stoverturn;

namespace {

const char* const fitted[] = {"k_sol", "k_hol", "k_lig", "v_mm_d", "rind", "k_wash_sol"};
const double truth[] = {0.09, 0.028, 0.0036, 0.7, 0.10, 0.04};
constexpr std::size_t fitted_count = 6;
const int bag_days[] = {30, 60, 120, 180, 240, 330, 420, 548};
constexpr double bag_sd = 0.01;  // of a date's mean

/// Surface and buried, long and cut or opened: the same four as in fit_benchmark.R.
struct Layer {
  Placement placement;
  Pieces pieces;
};
const Layer layers[] = {
    {Placement::surface, {.length_mm = 400.0}},
    {Placement::surface, {.length_mm = 150.0, .spacing_mm = 50.0, .opening = 0.5}},
    {Placement::buried, {.length_mm = 400.0}},
    {Placement::buried, {.length_mm = 50.0}},
};

Parameters<double> stalk() {
  Parameters<double> p = default_parameters();
  for (const MaterialRow& row : material_table()) {
    if (row.material == "corn" && row.component == "stalk") at(p, *find_parameter(row.parameter)) = row.value;
  }
  return p;
}

TrialTreatment treatment(const Layer& layer, const std::shared_ptr<const Drivers<double>>& drivers) {
  TrialTreatment t;
  auto layout = std::make_shared<Layout>();
  layout->cohorts.push_back({0, 0, layer.placement, 0, -1});
  t.plan.layout = layout;
  t.plan.pieces = {layer.pieces};
  t.plan.start = {2.0, 4.0, 3.0};
  t.plan.drivers = drivers;
  t.plan.events = {{0, Harvest<double>{0, 700.0}}};
  t.plan.days = 548;
  t.field = default_parameters();
  t.components = {stalk()};
  return t;
}

TrialModel trial(std::vector<Observation> seen, ForEach for_each = one_after_the_other) {
  const auto drivers = std::make_shared<Drivers<double>>(
      read_daily_table(STOVERTURN_SOURCE_DIR "/tests/reference/daily_drivers.txt"));
  std::vector<TrialTreatment> treatments;
  std::vector<Slot> slots;
  for (std::size_t t = 0; t < std::size(layers); ++t) {
    treatments.push_back(treatment(layers[t], drivers));
    for (std::size_t k = 0; k < fitted_count; ++k) slots.push_back({t, 0, find_parameter(fitted[k]), k});
  }
  return TrialModel(treatments, slots, fitted_count, std::move(seen), std::move(for_each));
}

std::vector<Observation> dates() {
  std::vector<Observation> seen;
  for (std::size_t t = 0; t < std::size(layers); ++t) {
    for (const int day : bag_days) seen.push_back({.treatment = t, .component = 0, .day = day});
  }
  return seen;
}

void write_bags() {
  const TrialModel model = trial(dates());
  Eigen::VectorXd values;
  model.predict(Eigen::Map<const Eigen::VectorXd>(truth, fitted_count), values, nullptr);
  RandomStream stream = random_stream(1, "bags of a benchmark", 0);
  boost::random::normal_distribution<double> error(0.0, bag_sd);
  std::puts("treatment day mass_left");
  for (std::size_t i = 0; i < model.observations().size(); ++i) {
    const Observation& o = model.observations()[i];
    std::printf("%zu %d %.6f\n", o.treatment + 1, o.day,
                values[static_cast<Eigen::Index>(i)] + error(stream));
  }
}

std::vector<Observation> read_bags() {
  std::vector<Observation> seen = dates();
  std::string header;
  std::getline(std::cin, header);
  for (Observation& o : seen) {
    std::size_t t = 0;
    std::cin >> t >> o.day >> o.value;
    o.treatment = t - 1;
  }
  if (!std::cin) throw std::runtime_error("too few bags");
  return seen;
}

/// Median and range of the CPU seconds of seven runs: other work on the machine counts less than by the
/// clock.
template <class Work>
void time(const char* name, const Work& work) {
  std::vector<double> seconds;
  for (int i = 0; i < 7; ++i) {
    const std::clock_t begin = std::clock();
    work();
    seconds.push_back(static_cast<double>(std::clock() - begin) / CLOCKS_PER_SEC);
  }
  std::sort(seconds.begin(), seconds.end());
  std::printf("%s %.6g %.6g %.6g\n", name, seconds[3], seconds[0], seconds[6]);
}

/// Starts and bounds of the fitted parameters.
struct Box {
  Eigen::VectorXd start{fitted_count}, lower{fitted_count}, upper{fitted_count};
};
Box box() {
  Box b;
  for (std::size_t k = 0; k < fitted_count; ++k) {
    const ParameterRow& row = *find_parameter(fitted[k]);
    const auto at_k = static_cast<Eigen::Index>(k);
    b.start[at_k] = row.value;
    b.lower[at_k] = row.lower;
    b.upper[at_k] = row.upper;
  }
  return b;
}

LeastSquares squares(const TrialModel& model, const Box& within) {
  LeastSquares problem;
  problem.residuals = model.observations().size();
  problem.lower = within.lower;
  problem.upper = within.upper;
  problem.evaluate = [&model](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* j) {
    if (!model.predict(x, r, j)) return false;
    for (Eigen::Index i = 0; i < r.size(); ++i)
      r[i] -= model.observations()[static_cast<std::size_t>(i)].value;
    r /= bag_sd;
    if (j) *j /= bag_sd;
    return true;
  };
  return problem;
}

/// The same bits give the same number.
std::uint64_t checksum(const Eigen::MatrixXd& numbers) {
  std::uint64_t sum = 14695981039346656037u;
  for (const double x : numbers.reshaped()) sum = (sum ^ std::bit_cast<std::uint64_t>(x)) * 1099511628211u;
  return sum;
}

void run() {
  const TrialModel model = trial(read_bags());
  const Box within = box();
  const Eigen::VectorXd& start = within.start;
  Eigen::VectorXd values;
  Eigen::MatrixXd jacobian, many, points = start.replicate(1, 8);
  for (Eigen::Index c = 0; c < 8; ++c) points.col(c) *= 1.0 + 0.01 * static_cast<double>(c);
  time("predict", [&] { model.predict(start, values, nullptr); });
  time("predict_and_jacobian", [&] { model.predict(start, values, &jacobian); });
  time("predict_eight_points", [&] { model.predict_many(points, many); });
  std::printf("checksums %016llx %016llx %016llx\n", static_cast<unsigned long long>(checksum(values)),
              static_cast<unsigned long long>(checksum(jacobian)),
              static_cast<unsigned long long>(checksum(many)));

  const LeastSquares problem = squares(model, within);
  LeastSquaresFit fit;
  LeastSquaresOptions to_thousandth;
  to_thousandth.distance_se = 1e-3;
  time("fit", [&] { fit = fit_least_squares(problem, start, to_thousandth); });
  std::printf("fit_evaluations %d\nfit_derivatives %d\n", fit.evaluations, fit.derivatives);
  time("fit_to_the_end", [&] { fit = fit_least_squares(problem, start); });
  std::printf("end_evaluations %d\nend_derivatives %d\n", fit.evaluations, fit.derivatives);
  const Eigen::MatrixXd cov = (fit.jacobian.transpose() * fit.jacobian).inverse();
  for (std::size_t k = 0; k < fitted_count; ++k) {
    const auto at_k = static_cast<Eigen::Index>(k);
    std::printf("at_%s %.10g\nse_%s %.6g\n", fitted[k], fit.x[at_k], fitted[k], std::sqrt(cov(at_k, at_k)));
  }
  std::printf("half_squares %.12g\ndistance_se %.3g\n# %s\n", fit.cost, fit.distance_se,
              std::string(words(fit.stop)).c_str());
}

/// The sampler as a fit runs it: flat priors within the bounds, on each parameter's own scale.
void draws(int threads, int wanted) {
  std::vector<Observation> seen = read_bags();
  for (Observation& o : seen) o.sd = bag_sd;
  const auto model = std::make_shared<const TrialModel>(trial(seen, on_threads(threads)));
  const LeastSquaresFit fit = fit_least_squares(squares(*model, box()), box().start);
  const Covariance covariance = covariance_of(fit, Spread::known);
  std::vector<ModelValue> values;
  std::vector<Unknown> unknowns;
  Eigen::VectorXd spread(fitted_count);
  for (std::size_t k = 0; k < fitted_count; ++k) {
    const ParameterRow& row = *find_parameter(fitted[k]);
    const auto at_k = static_cast<Eigen::Index>(k);
    unknowns.push_back({.name = fitted[k],
                        .unit = "",
                        .meaning = "",
                        .scale = row.fit,
                        .start = fit.x[at_k],
                        .lower = row.lower,
                        .upper = row.fit == Fit::logit ? std::min(row.upper, 0.999) : row.upper,
                        .prior = {}});
    values.push_back({.scale = row.fit, .base = k});
    spread[at_k] = covariance.se[at_k] / slope_of_fit_scale(row.fit, to_fit_scale(row.fit, fit.x[at_k]));
  }
  const TrialPosterior posterior(model, values, unknowns, {});
  Eigen::Index points = 0, runs_of_eight = 0;
  SamplerOptions options;
  options.draws = wanted;
  const std::clock_t cpu = std::clock();
  const auto clock = std::chrono::steady_clock::now();
  const Chains chains = sample(
      [&](const Eigen::MatrixXd& z, Eigen::VectorXd& v) {
        points += z.cols();
        runs_of_eight += (z.cols() + 7) / 8;
        posterior.log_densities(z, v);
      },
      posterior.start(), spread, posterior.lower(), posterior.upper(), options);
  const std::chrono::duration<double> elapsed = std::chrono::steady_clock::now() - clock;
  std::printf("threads %d\nclock_s %.4g\ncpu_s %.4g\n", threads, elapsed.count(),
              static_cast<double>(std::clock() - cpu) / CLOCKS_PER_SEC);
  std::printf("offered %lld\nwithin_bounds %ld\nlanes_filled %.4g\nacceptance %.3g\n",
              static_cast<long long>(chains.evaluations), static_cast<long>(points),
              static_cast<double>(points) / (8.0 * static_cast<double>(runs_of_eight)), chains.acceptance);
  const ChainReport report = judge(chains);
  std::printf("least_effective_number %.4g\nchecksum %016llx\n# %s\n",
              std::min(report.ess_bulk.minCoeff(), report.ess_tail.minCoeff()),
              static_cast<unsigned long long>(checksum(chains.draws)),
              report.converged ? "converged" : report.why.c_str());
}

}  // namespace

int main(int count, char** arguments) {
  if (count == 2 && !std::strcmp(arguments[1], "bags")) {
    write_bags();
  } else if (count == 2 && !std::strcmp(arguments[1], "run")) {
    run();
  } else if (count >= 2 && count <= 4 && !std::strcmp(arguments[1], "draws")) {
    draws(count > 2 ? std::atoi(arguments[2]) : 0, count > 3 ? std::atoi(arguments[3]) : 50000);
  } else {
    std::fputs("fit_benchmark bags | run | draws [threads [draws]]\n", stderr);
    return 2;
  }
}
