/// Nothing is allocated while a simulation steps: memory is taken before the first day's end, never later.
#include <cstdlib>
#include <new>

#include "tests/trial_jobs.hpp"

namespace {

long allocations = 0;  // these tests have one thread

void* counted(std::size_t bytes, std::size_t alignment) {
  ++allocations;
  void* memory = alignment > alignof(std::max_align_t)
                     ? std::aligned_alloc(alignment, (bytes + alignment - 1) / alignment * alignment)
                     : std::malloc(bytes);
  if (!memory) throw std::bad_alloc();
  return memory;
}

}  // namespace

void* operator new(std::size_t bytes) { return counted(bytes, 0); }
void* operator new(std::size_t bytes, std::align_val_t alignment) {
  return counted(bytes, static_cast<std::size_t>(alignment));
}
// all forms: sanitizers have their own of each, and would miss what the other kind took
void* operator new(std::size_t bytes, const std::nothrow_t&) noexcept {
  ++allocations;
  return std::malloc(bytes);
}
void operator delete(void* memory, const std::nothrow_t&) noexcept { std::free(memory); }
void* operator new[](std::size_t bytes) { return counted(bytes, 0); }
void* operator new[](std::size_t bytes, std::align_val_t alignment) {
  return counted(bytes, static_cast<std::size_t>(alignment));
}
void operator delete[](void* memory) noexcept { std::free(memory); }
void operator delete[](void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete[](void* memory, std::align_val_t) noexcept { std::free(memory); }
void operator delete[](void* memory, std::size_t, std::align_val_t) noexcept { std::free(memory); }
void operator delete(void* memory) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::align_val_t) noexcept { std::free(memory); }
void operator delete(void* memory, std::size_t, std::align_val_t) noexcept { std::free(memory); }

using namespace stoverturn;

namespace {

constexpr int days = 400;

Trial<double> on_the_surface() {
  const SharedDrivers drivers = weather_drivers_of(
      new_york(), std::chrono::sys_days{std::chrono::year{2012} / 11 / 5}, days, {.surface_g_m2 = 900.0});
  return stover(Placement::surface, drivers);
}

template <class Real>
Job<Real> job_over(const Trial<double>& trial, std::shared_ptr<const Drivers<Driver<Real>>> drivers) {
  Trial<Real> same;
  for (const Part<double>& part : trial.parts) {
    same.parts.push_back({as<Real>(part.parameters), part.pieces, part.placement,
                          Driver<Real>(part.dry_matter_g_m2), part.falls_to});
  }
  same.drivers = std::move(drivers);
  same.days = trial.days;
  return job_of(same);
}

/// Allocations by the end of the first day and of the last.
template <class Real>
std::pair<long, long> allocations_of(const Job<Real>& job) {
  std::pair<long, long> until{0, 0};
  const long before = allocations;
  const Outcome outcome = simulate<Real>(job, [&](int day, const State<Real>&) {
    if (day == 1) until.first = allocations - before;
    if (day == days) until.second = allocations - before;
  });
  REQUIRE(outcome.ok);
  REQUIRE(outcome.steps.accepted > days);
  return until;
}

}  // namespace

TEST_CASE("allocation: none inside the step", "[engine][integrate]") {
  const Trial<double> trial = on_the_surface();
  std::array<const Drivers<double>*, 8> same{};
  same.fill(trial.drivers.get());
  const auto [first, last] = allocations_of(job_of(trial));
  CHECK(first > 0);  // that they are counted
  CHECK(last == first);
  const auto [first_dual, last_dual] = allocations_of(job_over<Dual>(trial, trial.drivers));
  CHECK(first_dual > 0);
  CHECK(last_dual == first_dual);
  const auto [first_lanes, last_lanes] =
      allocations_of(job_over<Lanes>(trial, std::make_shared<Drivers<Lanes>>(in_lanes(same))));
  CHECK(first_lanes > 0);
  CHECK(last_lanes == first_lanes);
}
