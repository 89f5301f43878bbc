/// Speed of a fit, ours against deSolve and R on the same trial; asked, run and tabled in docs/benchmarks.md.
/// fit_benchmark bags > bags.txt       invented bags: what both sides fit
/// fit_benchmark run < bags.txt        our times, one "name value" a line
#include <algorithm>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <iostream>
#include <string>

#include <Eigen/LU>
#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/least_squares.hpp"
#include "fitting/trial_model.hpp"
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

TrialModel trial(std::vector<Observation> seen) {
  const auto drivers = std::make_shared<Drivers<double>>(
      read_daily_table(STOVERTURN_SOURCE_DIR "/tests/reference/daily_drivers.txt"));
  std::vector<TrialTreatment> treatments;
  std::vector<Slot> slots;
  for (std::size_t t = 0; t < std::size(layers); ++t) {
    treatments.push_back(treatment(layers[t], drivers));
    for (std::size_t k = 0; k < fitted_count; ++k) slots.push_back({t, 0, find_parameter(fitted[k]), k});
  }
  return TrialModel(treatments, slots, fitted_count, std::move(seen));
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

void run() {
  const TrialModel model = trial(read_bags());
  Eigen::VectorXd start(fitted_count), lower(fitted_count), upper(fitted_count);
  for (std::size_t k = 0; k < fitted_count; ++k) {
    const ParameterRow& row = *find_parameter(fitted[k]);
    const auto at_k = static_cast<Eigen::Index>(k);
    start[at_k] = row.value;
    lower[at_k] = row.lower;
    upper[at_k] = row.upper;
  }
  Eigen::VectorXd values;
  Eigen::MatrixXd jacobian, many, points = start.replicate(1, 8);
  for (Eigen::Index c = 0; c < 8; ++c) points.col(c) *= 1.0 + 0.01 * static_cast<double>(c);
  time("predict", [&] { model.predict(start, values, nullptr); });
  time("predict_and_jacobian", [&] { model.predict(start, values, &jacobian); });
  time("predict_eight_points", [&] { model.predict_many(points, many); });

  const Eigen::Index n = static_cast<Eigen::Index>(model.observations().size());
  Eigen::VectorXd seen(n);
  for (Eigen::Index i = 0; i < n; ++i) seen[i] = model.observations()[static_cast<std::size_t>(i)].value;
  LeastSquares problem;
  problem.residuals = static_cast<std::size_t>(n);
  problem.lower = lower;
  problem.upper = upper;
  problem.evaluate = [&](const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* j) {
    if (!model.predict(x, r, j)) return false;
    r = (r - seen) / bag_sd;
    if (j) *j /= bag_sd;
    return true;
  };
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

}  // namespace

int main(int count, char** arguments) {
  if (count == 2 && !std::strcmp(arguments[1], "bags")) {
    write_bags();
  } else if (count == 2 && !std::strcmp(arguments[1], "run")) {
    run();
  } else {
    std::fputs("fit_benchmark bags | run\n", stderr);
    return 2;
  }
}
