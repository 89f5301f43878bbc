/// engine_benchmark [flags of Google Benchmark]: one field by this engine and by other integrators, on the
/// same right-hand side, drivers and tolerance. `side_by_side` runs it and prints ratios.
///
/// Names are FIELD/METHOD/RELATIVE TOLERANCE; absolute tolerances are a tenth of it, g m-2. Counters:
///   runs         simulations in one iteration
///   error        largest |x - reference| / (0.1 g m-2 + |reference|) over days and pools; in lanes of the
///   first rhs_a_day    right-hand sides, rejected steps too steps_a_day  steps that were accepted
#include <benchmark/benchmark.h>

#include <thread>

#include <boost/numeric/odeint/integrate/integrate_adaptive.hpp>
#include <boost/numeric/odeint/stepper/controlled_runge_kutta.hpp>
#include <boost/numeric/odeint/stepper/generation.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>

#include "engine/pools_ode.hpp"
#include "tests/benchmarks/fields.hpp"
#include "tests/cvode.hpp"

using namespace stoverturn;

namespace {

namespace odeint = boost::numeric::odeint;

Tolerance tolerance_of(double relative) { return {.relative = relative, .absolute = 0.1 * relative}; }

std::vector<State<double>> states_of(const Job<double>& job) {
  std::vector<State<double>> states;
  const Outcome outcome = simulate<double>(job, [&](int, const State<double>& x) { states.push_back(x); });
  if (!outcome.ok) throw std::runtime_error(outcome.message);
  return states;
}

/// A field and what it is held against.
struct Measured {
  const char* name;
  BenchmarkField field;
  std::vector<State<double>> reference;
  Measured(const char* its_name, BenchmarkField its_field)
      : name(its_name),
        field(std::move(its_field)),
        reference(states_of(single_job(field, tolerance_of(1e-12)))) {}

  double error_on(int day, const State<double>& x) const {
    const State<double>& exact = reference[static_cast<std::size_t>(day)];
    double worst = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      worst = std::max(worst, std::abs(x[i] - exact[i]) / (0.1 + std::abs(exact[i])));
    }
    return worst;
  }
};

void report(benchmark::State& state, int runs, double error, long rhs, long steps, int days) {
  state.counters["runs"] = runs;
  state.counters["error"] = error;
  state.counters["rhs_a_day"] = static_cast<double>(rhs) / days;
  state.counters["steps_a_day"] = static_cast<double>(steps) / days;
}

void require_ok(const Outcome& outcome) {
  if (!outcome.ok) throw std::runtime_error(outcome.message);
}

void engine(benchmark::State& state, const Measured& of, double relative) {
  const Job<double> job = single_job(of.field, tolerance_of(relative));
  double sum = 0.0, error = 0.0;
  for ([[maybe_unused]] auto _ : state) {
    require_ok(simulate<double>(job, [&](int, const State<double>& x) { sum += x[0]; }));
  }
  benchmark::DoNotOptimize(sum);
  const Outcome outcome = simulate<double>(
      job, [&](int day, const State<double>& x) { error = std::max(error, of.error_on(day, x)); });
  report(state, 1, error, outcome.right_hand_sides, outcome.steps.accepted, job.days);
}

double error_of_first_lane(const Measured& of, const Job<Lanes>& job, Outcome& outcome) {
  double error = 0.0;
  outcome = simulate<Lanes>(job, [&](int day, const State<Lanes>& x) {
    State<double> lane(x.size());
    std::transform(x.begin(), x.end(), lane.begin(), [](const Lanes& eight) { return eight[0]; });
    error = std::max(error, of.error_on(day, lane));
  });
  return error;
}

void lanes(benchmark::State& state, const Measured& of, double relative, double apart_C, int threads) {
  const Job<Lanes> job = lanes_job(of.field, tolerance_of(relative), apart_C);
  const auto once = [&job] {
    Lanes sum = Lanes::Zero();
    require_ok(simulate<Lanes>(job, [&](int, const State<Lanes>& x) { sum += x[0]; }));
    benchmark::DoNotOptimize(sum);
  };
  for ([[maybe_unused]] auto _ : state) {
    std::vector<std::thread> others;
    for (int i = 1; i < threads; ++i) others.emplace_back(once);
    once();
    for (std::thread& other : others) other.join();
  }
  Outcome outcome;
  const double error = error_of_first_lane(of, job, outcome);
  report(state, 8 * threads, error, outcome.right_hand_sides, outcome.steps.accepted, job.days);
}

/// A right-hand side with its days, for integrators that are not the engine's.
template <class Real>
struct DayByDay {
  const Job<Real>& job;
  PoolsOde<Real> ode;
  State<Real> x;
  std::vector<DayFactors<Real>> factors;

  explicit DayByDay(const Job<Real>& of) : job(of), ode(of.cohorts, of.field) {
    for (int day = 0; day < of.days; ++day) {
      factors.push_back(day_factors<Real>(of.drivers->days[static_cast<std::size_t>(day)], of.forms, of.field,
                                          soil_reaction(of.pH)));
    }
  }

  /// advance(moving pools, from, to); sink(day, x)
  template <class Advance, class See>
  void run(const Advance& advance, const See& see) {
    const auto moving = static_cast<std::ptrdiff_t>(job.layout->moving());
    x.assign(job.layout->size(), Real(0.0));
    Real* field = x.data() + job.layout->field();
    field[ammonium_N] = job.start.ammonium_N;
    field[nitrate_N] = job.start.nitrate_N;
    field[subsoil_nitrate_N] = job.start.subsoil_nitrate_N;
    State<Real> part;
    std::size_t next = 0;
    for (int day = 0;; ++day) {
      for (; next < job.events.size() && job.events[next].day == day; ++next) {
        apply<Real>(job.events[next], job.cohorts, x);
      }
      see(day, x);
      if (day == job.days) return;
      ode.set_day(factors[static_cast<std::size_t>(day)]);
      part.assign(x.begin(), x.begin() + moving);
      advance(part, day, day + 1.0);
      std::copy(part.begin(), part.end(), x.begin());
    }
  }
};

/// Four right-hand sides a day on the pools of that day, and nothing else.
template <class Real>
void floor_of(benchmark::State& state, const Job<Real>& job, int runs) {
  std::vector<State<Real>> states;
  require_ok(simulate<Real>(job, [&](int, const State<Real>& x) {
    states.emplace_back(x.begin(), x.begin() + static_cast<std::ptrdiff_t>(job.layout->moving()));
  }));
  DayByDay<Real> days(job);
  State<Real> slope(job.layout->moving());
  for ([[maybe_unused]] auto _ : state) {
    for (std::size_t day = 0; day < days.factors.size(); ++day) {
      days.ode.set_day(days.factors[day]);
      for (int i = 0; i < 4; ++i) {
        days.ode(states[day], slope, 0.0);
        benchmark::DoNotOptimize(slope.data());
        benchmark::ClobberMemory();
      }
    }
  }
  report(state, runs, 0.0, 4L * job.days, 0, job.days);
}

/// Times `advance` on all days, then runs it once more for its error.
template <class Advance>
void others(benchmark::State& state, const Measured& of, DayByDay<double>& days, const Advance& advance) {
  for ([[maybe_unused]] auto _ : state) days.run(advance, [](int, const State<double>&) {});
  const long before = days.ode.calls();
  double error = 0.0;
  days.run(advance, [&](int day, const State<double>& x) { error = std::max(error, of.error_on(day, x)); });
  report(state, 1, error, days.ode.calls() - before, 0, days.job.days);
}

void odeint_alone(benchmark::State& state, const Measured& of, double relative) {
  const Tolerance t = tolerance_of(relative);
  const Job<double> job = single_job(of.field, t);
  DayByDay<double> days(job);
  others(state, of, days, [&](State<double>& x, double from_d, double to_d) {
    odeint::integrate_adaptive(
        odeint::make_controlled<odeint::runge_kutta_dopri5<State<double>>>(t.absolute, t.relative),
        std::ref(days.ode), x, from_d, to_d, 0.1);
  });
}

void cvode(benchmark::State& state, const Measured& of, double relative, Multistep method) {
  const Tolerance t = tolerance_of(relative);
  const Job<double> job = single_job(of.field, t);
  DayByDay<double> days(job);
  Cvode solver(days.ode, job.layout->moving(), t.relative, t.absolute, method);
  others(state, of, days,
         [&](State<double>& x, double from_d, double to_d) { solver.advance(x, from_d, to_d); });
}

/// What restarts cost CVODE: the days of `of`, but each with the rates of the first day, restarted each day
/// or after events only. (Where rates jump it cannot go on: its error test fails.)
void cvode_without_jumps(benchmark::State& state, const Measured& of, double relative, Multistep method,
                         bool restarted) {
  const Tolerance t = tolerance_of(relative);
  const Job<double> job = single_job(of.field, t);
  DayByDay<double> days(job);
  std::fill(days.factors.begin(), days.factors.end(), days.factors.front());
  Cvode solver(days.ode, job.layout->moving(), t.relative, t.absolute, method);
  State<double> left;
  const auto advance = [&](State<double>& x, double from_d, double to_d) {
    if (restarted || x != left) solver.restart(x, from_d);
    solver.go_on(x, to_d);
    left = x;
  };
  for ([[maybe_unused]] auto _ : state) days.run(advance, [](int, const State<double>&) {});
  report(state, 1, 0.0, days.ode.calls() / static_cast<long>(state.iterations()), 0, job.days);
}

template <class Work>
benchmark::internal::Benchmark* add(const Measured& of, const std::string& method, double relative,
                                    Work work) {
  char name[100];
  std::snprintf(name, sizeof name, "%s/%s/%.0e", of.name, method.c_str(), relative);
  return benchmark::RegisterBenchmark(name, work)->Unit(benchmark::kMillisecond)->MeasureProcessCPUTime();
}

void add_all(const Measured& of, bool with_restarts) {
  constexpr double usual = 1e-7;
  add(of, "floor", usual, [&](auto& s) { floor_of(s, single_job(of.field, tolerance_of(usual)), 1); });
  add(of, "floor_lanes", usual, [&](auto& s) { floor_of(s, lanes_job(of.field, tolerance_of(usual)), 8); });
  for (const double r : {usual, 1e-6, 1e-5}) {
    add(of, "engine", r, [&of, r](auto& s) { engine(s, of, r); });
    add(of, "lanes", r, [&of, r](auto& s) { lanes(s, of, r, 0.0, 1); });
  }
  add(of, "lanes_of_weather", usual, [&](auto& s) { lanes(s, of, usual, 0.1, 1); });
  add(of, "lanes_2_threads", usual, [&](auto& s) { lanes(s, of, usual, 0.0, 2); })->UseRealTime();
  add(of, "odeint", usual, [&](auto& s) { odeint_alone(s, of, usual); });
  for (const Multistep method : {Multistep::bdf, Multistep::adams}) {
    const std::string name = method == Multistep::bdf ? "cvode_bdf" : "cvode_adams";
    auto* added = add(of, name, usual, [&, method](auto& s) { cvode(s, of, usual, method); });
    if (!with_restarts && method == Multistep::bdf) added->Iterations(1);  // seconds each
    if (with_restarts) {
      for (const bool restarted : {true, false}) {
        add(of, name + (restarted ? "_no_jumps_restarted" : "_no_jumps"), usual,
            [&, method, restarted](auto& s) { cvode_without_jumps(s, of, usual, method, restarted); });
      }
    }
  }
}

}  // namespace

int main(int count, char** arguments) {
  benchmark::Initialize(&count, arguments);
  if (benchmark::ReportUnrecognizedArguments(count, arguments)) return 2;
  const Measured small("one_cohort", one_cohort()), whole("five_years", hollow_creek());
  add_all(small, true);
  add_all(whole, false);
  benchmark::AddCustomContext("cohorts of five_years",
                              std::to_string(whole.field.plan.layout->cohorts.size()));
  benchmark::RunSpecifiedBenchmarks();
}
