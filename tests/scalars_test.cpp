/// The three scalars of the engine against each other: one run, one run with derivatives, eight runs at once.
#include <algorithm>

#include "engine/balance.hpp"
#include "engine/job_plan.hpp"
#include "tests/crop_kinds.hpp"
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

using std::chrono::sys_days;
using std::chrono::year;

constexpr int run_days = 400;

/// All parts on the ground from November on, half of the stalks still standing; a pass in spring that cuts
/// and buries, fertiliser, a bale. `variant` 0 to 7 sets contents, rates, amounts and climate apart.
Trial<double> field_trial(int variant) {
  const double v = variant;
  const Weather& weather = new_york();
  const SharedDrivers drivers = weather_drivers_of(
      weather, sys_days{year{2012} / 11 / 5} + std::chrono::days{9 * variant}, run_days,
      {80.0, 200.0, 600.0 + 30.0 * v, {even_season(15.0, 185)}, {even_season(3.0 + 0.2 * v, 2)}});
  Trial<double> trial = stover(Placement::surface, drivers, 800.0 + 25.0 * v);
  const Parameters<double> stalk = corn("stalk");
  trial.parts.push_back({stalk, {.length_mm = 400.0}, Placement::standing, 200.0 - 10.0 * v, 0});
  trial.parts.push_back(
      {stalk, {.length_mm = 40.0, .spacing_mm = 20.0, .opening = 0.5}, Placement::buried, 0.0});
  for (Part<double>& part : trial.parts) {
    part.parameters.nitrogen *= 1.0 + 0.04 * v;
    part.parameters.soluble += 0.01 * v;
    part.parameters.k_hol *= 1.0 - 0.05 * v;
  }
  trial.field.CN_mic += 0.3 * v;
  trial.start = {1.0 + 0.1 * v, 2.0, 1.0};
  trial.events = {
      {20, Fertiliser<double>{1.5 * v, 1.0, 0.5 * v, 1.0, true}},
      {60, Removal<double>{{1}, 0.05 * v, 0.3 * v}},
      {170, Tillage<double>{{{0, 5, 0.4}, {4, 5, 0.5 + 0.05 * v}, {4, 0, 0.2}}}},
      {165, Termination<double>{{{4, 0.6}, {1, 0.4}}}},
      {180, Fertiliser<double>{2.0, 3.0 + 0.2 * v, 1.0, 0.0, false, 0.5, 2.0 + 0.1 * v, 3.0, 0.1 * v}}};
  return trial;
}

Lanes lanes_of(const std::array<double, 8>& x) { return Eigen::Map<const Lanes>(x.data()); }

/// Eight trials of one structure side by side; only numbers may differ between them.
Trial<Lanes> in_lanes(const std::array<Trial<double>, 8>& trials) {
  const auto lanes = [&](auto&& get) {
    std::array<double, 8> x{};
    std::transform(trials.begin(), trials.end(), x.begin(), get);
    return lanes_of(x);
  };
  const auto parameters = [&](auto&& get) {
    std::array<const Parameters<double>*, 8> p{};
    std::transform(trials.begin(), trials.end(), p.begin(), get);
    return stoverturn::in_lanes(p);
  };
  using T = const Trial<double>&;
  Trial<Lanes> joined;
  for (std::size_t i = 0; i < trials[0].parts.size(); ++i) {
    const Part<double>& part = trials[0].parts[i];
    joined.parts.push_back({parameters([i](T t) { return &t.parts[i].parameters; }), part.pieces,
                            part.placement, lanes([i](T t) { return t.parts[i].dry_matter_g_m2; }),
                            part.falls_to});
  }
  joined.field = parameters([](T t) { return &t.field; });
  std::array<const Drivers<double>*, 8> drivers{};
  std::transform(trials.begin(), trials.end(), drivers.begin(), [](T t) { return t.drivers.get(); });
  joined.drivers = std::make_shared<Drivers<Lanes>>(stoverturn::in_lanes(drivers));
  joined.days = trials[0].days;
  joined.start = {lanes([](T t) { return t.start.ammonium_N; }), lanes([](T t) { return t.start.nitrate_N; }),
                  lanes([](T t) { return t.start.subsoil_nitrate_N; })};
  for (std::size_t i = 0; i < trials[0].events.size(); ++i) {
    std::array<const Event<double>*, 8> events{};
    std::transform(trials.begin(), trials.end(), events.begin(), [i](T t) { return &t.events[i]; });
    joined.events.push_back(stoverturn::in_lanes(events));
  }
  return joined;
}

/// What derivatives are taken in: of all components at once where the table says component, else of the
/// field.
const std::array<const char*, 8> directions = {"k_hol", "v_mm_d", "contact",    "CN_mic",
                                               "rind",  "e_hol",  "k_wash_sol", "nitrogen"};

template <class Real>
Real& direction(Trial<Real>& trial, std::size_t part, const char* name) {
  const ParameterRow& row = *find_parameter(name);
  return row.scope == Scope::component ? at(trial.parts[part].parameters, row) : at(trial.field, row);
}

Trial<Dual> with_derivatives(const Trial<double>& trial) {
  Trial<Dual> dual;
  for (const Part<double>& part : trial.parts) {
    dual.parts.push_back(
        {convert<Dual>(part.parameters), part.pieces, part.placement, part.dry_matter_g_m2, part.falls_to});
  }
  dual.field = convert<Dual>(trial.field);
  dual.drivers = trial.drivers;
  dual.days = trial.days;
  dual.start = trial.start;
  dual.events = trial.events;
  dual.tolerance = trial.tolerance;
  for (std::size_t d = 0; d < directions.size(); ++d) {
    for (std::size_t part = 0; part < dual.parts.size(); ++part) {
      Dual& parameter = direction(dual, part, directions[d]);
      parameter.derivatives() = Eigen::Matrix<double, 8, 1>::Unit(static_cast<int>(d));
    }
  }
  return dual;
}

/// All values of one direction moved by `step`.
Trial<double> moved(Trial<double> trial, const char* name, double step) {
  const bool of_component = find_parameter(name)->scope == Scope::component;
  for (std::size_t part = 0; part < (of_component ? trial.parts.size() : 1); ++part) {
    direction(trial, part, name) += step;
  }
  return trial;
}

/// What the derivatives are of: carbon left in residue, and net release of N to the field, g m-2.
template <class Real>
std::array<Real, 2> answers(const Job<Real>& job, const State<Real>& x) {
  const Real released = in_field(job, x, residue_in_N) - bag_nitrogen(job, x) -
                        in_field(job, x, som_C) / job.field.CN_mic - in_field(job, x, dom_N);
  return {bag_carbon(job, x), released};
}

}  // namespace

TEST_CASE("scalars: a run with derivatives is the double run, bit for bit", "[engine][scalars]") {
  // the error norm does not see derivatives, so both take the same steps; and a Dual's value is computed by
  // the same operations in the same order
  const Trial<double> trial = field_trial(0);
  const auto plain = states_of(job_of(trial));
  const auto dual = states_of(job_of(with_derivatives(trial)));
  REQUIRE(dual.size() == plain.size());
  double largest = 0.0;
  for (std::size_t day = 0; day < plain.size(); ++day) {
    for (std::size_t i = 0; i < plain[day].size(); ++i) {
      largest = std::max(largest, std::abs(dual[day][i].value() - plain[day][i]));
    }
  }
  CHECK(largest == 0.0);
}

TEST_CASE("scalars: eight lanes are eight runs", "[engine][scalars]") {
  std::array<Trial<double>, 8> trials;
  for (int i = 0; i < 8; ++i) trials[static_cast<std::size_t>(i)] = field_trial(i);
  const Job<Lanes> joined = job_of(in_lanes(trials));
  const auto lanes = states_of(joined);
  double gap = 0.0;
  for (const State<Lanes>& x : lanes) {
    for (const Books<Lanes>& book : books(joined, x))
      gap = std::max(gap, (book.residual() / book.in).abs().maxCoeff());
  }
  CHECK(gap < 1e-12);  // rounding only

  for (int i = 0; i < 8; ++i) {
    const Job<double> job = job_of(trials[static_cast<std::size_t>(i)]);
    const auto alone = states_of(job);
    REQUIRE(alone.size() == lanes.size());
    for (std::size_t pool = 0; pool < alone[0].size(); ++pool) {
      double largest = 0.0, difference = 0.0;
      for (std::size_t day = 0; day < alone.size(); ++day) {
        largest = std::max(largest, std::abs(alone[day][pool]));
        difference = std::max(difference, std::abs(lanes[day][pool][i] - alone[day][pool]));
      }
      INFO("lane " << i << " pool " << pool << " largest " << largest);
      // lockstep takes the smallest step any lane needs: each run keeps its own few tolerances of error
      CHECK(difference < 10.0 * (job.tolerance.relative * largest + job.tolerance.absolute));
    }
  }
}

TEST_CASE("scalars: derivatives by two other routes", "[engine][scalars]") {
  Trial<double> trial = field_trial(1);
  trial.tolerance = {.relative = 1e-11, .absolute = 1e-11};
  const Job<Dual> dual_job = job_of(with_derivatives(trial));
  const std::array<Dual, 2> dual = answers(dual_job, states_of(dual_job).back());

  const auto answers_at = [&](const char* name, double step) {
    const Job<double> job = job_of(moved(trial, name, step));
    return answers(job, states_of(job).back());
  };
  for (std::size_t d = 0; d < directions.size(); ++d) {
    const char* name = directions[d];
    const double value = direction(trial, 0, name);
    INFO(name);

    // separate runs at steps of 1e-3 of the value: the third derivative's share, h^2/6, is about 1e-6 of f'
    // where the model bends gently and more where N just runs short (a bend of width 0.02); the error of the
    // runs is 1e-11 over the step
    const double h = 1e-3 * value;
    const auto up = answers_at(name, h), down = answers_at(name, -h);
    for (std::size_t a = 0; a < dual.size(); ++a) {
      const double difference = (up[a] - down[a]) / (2.0 * h);
      const double scale = std::abs(dual[a].value() / value);  // of a derivative worth having
      CHECK(dual[a].derivatives()[static_cast<int>(d)] ==
            Approx(difference).epsilon(1e-5).margin(1e-6 * scale));
    }

    // eight lanes in lockstep, all on the same steps: differences of eighth order, so only rounding is left,
    // some 1e-13 over a step of 1e-3
    std::array<Trial<double>, 8> steps;
    constexpr std::array<double, 8> at_steps = {-4, -3, -2, -1, 1, 2, 3, 4};
    constexpr std::array<double, 8> weights = {1. / 280, -4. / 105, 1. / 5,   -4. / 5,
                                               4. / 5,   -1. / 5,   4. / 105, -1. / 280};
    for (std::size_t i = 0; i < 8; ++i) steps[i] = moved(trial, name, h * at_steps[i]);
    Trial<Lanes> lanes = in_lanes(steps);
    lanes.tolerance = trial.tolerance;
    const Job<Lanes> job = job_of(lanes);
    const std::array<Lanes, 2> result = answers(job, states_of(job).back());
    for (std::size_t a = 0; a < dual.size(); ++a) {
      const double difference = (result[a] * lanes_of(weights)).sum() / h;
      const double scale = std::abs(dual[a].value() / value);
      CHECK(dual[a].derivatives()[static_cast<int>(d)] ==
            Approx(difference).epsilon(1e-8).margin(1e-8 * scale));
    }
  }
}
