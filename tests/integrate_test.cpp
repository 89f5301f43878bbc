#include "engine/integrate.hpp"

#include <algorithm>
#include <limits>

#include "engine/errors.hpp"
#include "tests/problems.hpp"
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

void rest(const State<double>&, State<double>& dxdt, double) { std::fill(dxdt.begin(), dxdt.end(), 0.0); }

/// A stepper so loose that it accepts every step, and used to steps of more than a day: each shorter span is
/// one step.
Stepper<double> one_step_a_span(State<double> x) {
  Stepper<double> stepper({.relative = 1e30, .absolute = 1e30});
  stepper.advance(rest, x, -20.0, 0.0);
  return stepper;
}

double largest_error(const State<double>& x, const State<double>& exact) {
  double largest = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) largest = std::max(largest, std::abs(x[i] - exact[i]));
  return largest;
}

double error_with_steps_of(const Problem& problem, double h) {
  State<double> x = problem.start;
  Stepper<double> stepper = one_step_a_span(x);
  const long before = stepper.counts().accepted;
  const int n = static_cast<int>(std::lround(problem.end / h));
  for (int i = 0; i < n; ++i) stepper.advance(problem.system, x, i * h, (i + 1) * h);
  REQUIRE(stepper.counts().accepted - before == n);
  return largest_error(x, problem.exact(problem.end));
}

double error_at_tolerance(const Problem& problem, double tolerance) {
  Stepper<double> stepper({.relative = tolerance, .absolute = tolerance});
  State<double> x = problem.start;
  double largest = 0.0;
  for (int day = 0; day < static_cast<int>(problem.end); ++day) {
    stepper.advance(problem.system, x, day, day + 1.0);
    largest = std::max(largest, largest_error(x, problem.exact(day + 1.0)));
  }
  return largest;
}

/// A stalk in a jar, with one parameter spoiled.
Outcome jar_with(double Parameters<double>::*parameter, double value) {
  Trial<double> trial = stover(Placement::buried, jar(25.0, 10), 500.0, {"stalk"});
  trial.parts[0].parameters.*parameter = value;
  return simulate<double>(job_of(trial), [](int, const State<double>&) {});
}

}  // namespace

TEST_CASE("integrate: order 5 on problems with exact answers", "[engine][integrate]") {
  for (const Problem& problem : solvable_problems()) {
    INFO(problem.name);
    const double coarse = error_with_steps_of(problem, 0.2);
    const double fine = error_with_steps_of(problem, 0.1);
    // the next term of the error's expansion is a step h smaller: 0.3 at h 0.2 covers it
    CHECK(std::log2(coarse / fine) == Approx(5.0).margin(0.3));
    CHECK(fine > 1e-12);  // not yet round-off: the order above is the scheme's
  }
}

TEST_CASE("integrate: the error follows the tolerance", "[engine][integrate]") {
  // the controlled error is h^5, and so is the error it leaves: proportional. Steps that must end with a day
  // make it follow in jumps of up to 2^5, so a hundredfold tolerance is asked for no more than factor 32.
  for (const Problem& problem : solvable_problems()) {
    INFO(problem.name);
    for (const double tolerance : {1e-6, 1e-8}) {
      const double loose = error_at_tolerance(problem, tolerance);
      const double tight = error_at_tolerance(problem, 0.01 * tolerance);
      CHECK(loose / tight > 100.0 / 32.0);
      CHECK(loose / tight < 100.0 * 32.0);
      CHECK(loose < 20.0 * tolerance);  // a few steps' errors add up
    }
  }
}

TEST_CASE("integrate: the step is carried from span to span", "[engine][integrate]") {
  SECTION("slow: one step a day once the first small one has grown") {
    const Problem slow = decay_problem(1e-3);
    Stepper<double> stepper({});
    State<double> x = slow.start;
    for (int day = 0; day < 100; ++day) stepper.advance(slow.system, x, day, day + 1.0);
    CHECK(stepper.counts().accepted <= 102);
    CHECK(stepper.counts().rejected == 0);
    CHECK(x[0] == Approx(slow.exact(100.0)[0]).epsilon(1e-6));  // ten times the default tolerance
  }
  SECTION("fast: as many steps in ten spans as in one, but for the last of each") {
    const Problem fast = decay_problem(30.0);
    Stepper<double> many({}), one({});
    State<double> x = fast.start, y = fast.start;
    for (int day = 0; day < 10; ++day) many.advance(fast.system, x, day, day + 1.0);
    one.advance(fast.system, y, 0.0, 10.0);
    CHECK(many.counts().accepted <= one.counts().accepted + 10);
  }
}

TEST_CASE("integrate: no slope is kept over a jump", "[engine][integrate]") {
  // one step a day and a rate that jumps each day: the answer is the product of the scheme's own factors, to
  // round-off. A slope kept from the day before would be off by a tenth.
  const std::vector<double> rates = {0.1, 1.5, 0.02, 0.9, 0.0, 2.0, 0.4};
  State<double> x = {1.0};
  Stepper<double> stepper = one_step_a_span(x);
  double expected = 1.0;
  for (std::size_t day = 0; day < rates.size(); ++day) {
    const auto system = [k = rates[day]](const State<double>& y, State<double>& dxdt, double) {
      dxdt[0] = -k * y[0];
    };
    stepper.advance(system, x, static_cast<double>(day), static_cast<double>(day) + 1.0);
    expected *= dormand_prince_factor(-rates[day]);
    CHECK(x[0] == Approx(expected).epsilon(1e-13));
  }
}

TEST_CASE("integrate: rates that jump each day, exactly solvable: answer and balance",
          "[engine][integrate]") {
  // a pool with inflow s and outflow k x; totals of both beside it. x(t+1) = s/k + (x - s/k) exp(-k)
  Stepper<double> stepper({});
  State<double> x = {2.0, 0.0, 0.0};
  double exact = x[0];
  for (int day = 0; day < 400; ++day) {
    const double s = 0.05 * (day % 7), k = 0.02 * (1 + (day * day) % 11);
    const auto system = [s, k](const State<double>& y, State<double>& dxdt, double) {
      dxdt[0] = s - k * y[0];
      dxdt[1] = s;
      dxdt[2] = k * y[0];
    };
    stepper.advance(system, x, day, day + 1.0);
    exact = s / k + (exact - s / k) * std::exp(-k);
    REQUIRE(x[0] == Approx(exact).epsilon(1e-6));  // tolerance 1e-7, damped by the outflow
    // every step adds as much as it takes: 400 roundings of numbers up to 60
    REQUIRE(2.0 + x[1] - x[2] - x[0] == Approx(0.0).margin(1e-13 * (2.0 + x[1])));
  }
}

TEST_CASE("integrate: an absurd rate ends with time, pool and cause", "[engine][integrate][errors]") {
  SECTION("the stepper throws") {
    const auto system = [](const State<double>& x, State<double>& dxdt, double) {
      dxdt[0] = -x[0];
      dxdt[1] = -1e7 * (x[1] - x[0]);
    };
    Stepper<double> stepper({});
    State<double> x = {1.0, 0.0};
    try {
      stepper.advance(system, x, 3.0, 4.0);
      FAIL("1e7 a day in 2000 steps");
    } catch (const IntegrationError& error) {
      CHECK(error.time_d >= 3.0);
      CHECK(error.time_d < 4.0);
      CHECK(error.state == 1);
      CHECK_THAT(error.what(), contains("too many steps") && contains("rate"));
    }
    CHECK(std::isfinite(x[1]));  // what was reached stands
  }
  SECTION("a simulation ends as an outcome that names the pool") {
    const Outcome outcome = jar_with(&Parameters<double>::k_dec, 1e7);
    CHECK_FALSE(outcome.ok);
    CHECK(outcome.failed_at_d >= 0.0);
    CHECK(outcome.failed_at_d < 1.0);
    CHECK_THAT(outcome.message, contains("day 0.") && contains("decomposers of cohort 0") &&
                                    contains("a rate is far too large"));
  }
}

TEST_CASE("integrate: numbers that are not finite end as an outcome, never a crash",
          "[engine][integrate][errors]") {
  const double nan = std::numeric_limits<double>::quiet_NaN();
  const double inf = std::numeric_limits<double>::infinity();
  SECTION("rates") {
    for (const double bad : {nan, inf}) {
      const Outcome outcome = jar_with(&Parameters<double>::k_hol, bad);
      INFO(outcome.message);
      CHECK_FALSE(outcome.ok);
      CHECK_THAT(outcome.message, contains("day 0.") && contains("not a finite number"));
    }
  }
  SECTION("contents: no carbon") {
    const Outcome outcome = jar_with(&Parameters<double>::carbon, 0.0);
    INFO(outcome.message);
    CHECK_FALSE(outcome.ok);
    CHECK_THAT(outcome.message, contains("not a finite number"));
  }
  SECTION("an endless harvest") {
    Trial<double> trial = stover(Placement::buried, jar(25.0, 10), inf, {"stalk"});
    int days_seen = 0;
    const Outcome outcome = simulate<double>(job_of(trial), [&](int, const State<double>&) { ++days_seen; });
    CHECK_FALSE(outcome.ok);
    CHECK(days_seen == 1);  // what was reached stands
    CHECK_THAT(outcome.message, contains("not a finite number"));
  }
}

TEST_CASE("integrate: the last days before a failure reach the sink", "[engine][integrate][errors]") {
  auto drivers = std::make_shared<Drivers<double>>(constant_drivers({}, 10));
  drivers->days[6].temperature_C.fill(std::numeric_limits<double>::quiet_NaN());
  const Trial<double> trial = stover(Placement::buried, drivers);
  int last = -1;
  const Outcome outcome = simulate<double>(job_of(trial), [&](int day, const State<double>&) { last = day; });
  CHECK_FALSE(outcome.ok);
  CHECK(last == 6);
  CHECK(outcome.failed_at_d == Approx(6.0));
}

TEST_CASE("integrate: a job that does not fit together is refused", "[engine][errors]") {
  const Job<double> whole = job_of(stover(Placement::buried, jar(25.0, 10)));
  const auto nothing = [](int, const State<double>&) {};
  Job<double> job = whole;
  job.drivers = nullptr;
  CHECK_THROWS_AS(simulate<double>(job, nothing), JobError);
  job = whole;
  job.cohorts.pop_back();
  CHECK_THROWS_AS(simulate<double>(job, nothing), JobError);
  job = whole;
  job.days = 11;
  CHECK_THROWS_AS(simulate<double>(job, nothing), JobError);
}
