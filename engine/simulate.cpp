#include "engine/simulate.hpp"

#include <algorithm>

#include "engine/errors.hpp"
#include "engine/pools_ode.hpp"

namespace stoverturn {
namespace {

template <class Real>
void require_whole(const Job<Real>& job) {
  if (!job.layout || !job.drivers) throw JobError("a job needs a layout and drivers");
  if (job.cohorts.size() != job.layout->cohorts.size()) throw JobError("a job needs traits for every cohort");
  if (job.days > static_cast<int>(job.drivers->days.size())) throw JobError("the drivers end before the job");
}

std::string pool_name(const Layout& layout, std::size_t state) {
  static constexpr std::array names = {"solubles",    "closed tissue",     "holocellulose", "lignin",
                                       "decomposers", "microbial remains", "potassium",     "inorganic P"};
  if (state >= layout.field()) return "field pool " + std::to_string(state - layout.field());
  return std::string(names[state % pools]) + " of cohort " + std::to_string(state / pools);
}

}  // namespace

template <class Real>
Outcome simulate(const Job<Real>& job, const Sink<Real>& sink) {
  require_whole(job);
  const SoilReaction pH = soil_reaction(job.pH);
  State<Real> x(job.layout->size(), Real(0.0));
  Real* field = x.data() + job.layout->field();
  field[ammonium_N] = Real(job.start.ammonium_N);
  field[nitrate_N] = Real(job.start.nitrate_N);
  field[subsoil_nitrate_N] = Real(job.start.subsoil_nitrate_N);

  PoolsOde<Real> ode(job.cohorts, job.field);
  const typename Stepper<Real>::System system = std::ref(ode);
  Stepper<Real> stepper(job.tolerance);
  const auto end_of_moving = static_cast<std::ptrdiff_t>(job.layout->moving());
  State<Real> moving;
  std::size_t next = 0;
  const auto events_of = [&](int day) {
    for (; next < job.events.size() && job.events[next].day <= day; ++next) {
      apply<Real>(job.events[next], job.cohorts, x);
    }
  };

  Outcome outcome;
  events_of(0);
  sink(0, x);
  for (int day = 0; day < job.days; ++day) {
    ode.set_day(
        day_factors<Real>(job.drivers->days[static_cast<std::size_t>(day)], job.forms, job.field, pH));
    try {
      moving.assign(x.begin(), x.begin() + end_of_moving);
      stepper.advance(system, moving, day, day + 1.0);
      std::copy(moving.begin(), moving.end(), x.begin());
    } catch (const IntegrationError& error) {
      outcome.ok = false;
      outcome.failed_at_d = error.time_d;
      outcome.message = "integration stopped at day " + std::to_string(error.time_d) + " in " +
                        pool_name(*job.layout, error.state) + ": " + error.what();
      break;
    }
    events_of(day + 1);
    sink(day + 1, x);
  }
  outcome.steps = stepper.counts();
  outcome.right_hand_sides = ode.calls();
  return outcome;
}

template Outcome simulate(const Job<double>&, const Sink<double>&);
template Outcome simulate(const Job<Dual>&, const Sink<Dual>&);
template Outcome simulate(const Job<Lanes>&, const Sink<Lanes>&);

}  // namespace stoverturn
