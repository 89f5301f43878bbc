#include "scenarios/ensemble/treatment_runs.hpp"

#include <algorithm>
#include <cmath>

#include "engine/balance.hpp"
#include "scenarios/results/found_along.hpp"

namespace stoverturn {
namespace {

double in_lane(double x, std::size_t) { return x; }
double in_lane(const Lanes& x, std::size_t lane) { return x[static_cast<Eigen::Index>(lane)]; }
void state_of(const State<double>& x, std::size_t, State<double>& into) { into = x; }
void state_of(const State<Lanes>& x, std::size_t lane, State<double>& into) { take_lane(x, lane, into); }

DrawnParameters parameters_of(const Treatment& t) {
  return {t.parameters.field, t.parameters.components, t.parameters.of_material};
}

}  // namespace

std::vector<std::vector<DrawnParameters>> drawn_parameters(const Scenario& scenario,
                                                           const ForEach& for_each) {
  const std::size_t count = scenario.draws ? scenario.draws->count : 1;
  std::vector<std::vector<DrawnParameters>> drawn(scenario.treatments.size(),
                                                  std::vector<DrawnParameters>(count));
  const auto put = [&](const Scenario& from, std::size_t draw) {
    for (std::size_t t = 0; t < drawn.size(); ++t) drawn[t][draw] = parameters_of(from.treatments[t]);
  };
  if (!scenario.draws) {
    put(scenario, 0);
  } else {
    for_each(count, [&](std::size_t i) { put(scenario.draws->with_draw(i), i); });
  }
  return drawn;
}

/// Takes the numbers of one run, or of eight, while it goes on.
template <class Real>
class TreatmentRuns::Sampler {
 public:
  Sampler(const TreatmentRuns& of, const Job<Real>& job, std::span<const Run> runs, std::span<double> rows)
      : of_(of), job_(job), runs_(runs), rows_(rows), taken_(of.numbers_.taken[of.treatment_]) {
    left_.reserve(static_cast<std::size_t>(job.days) + 1);
    released_.reserve(left_.capacity());
  }

  void take(int day, const State<Real>& x) {
    follow(day, x);
    const std::size_t first = next_;
    while (next_ < taken_.size() && taken_[next_].day == day) ++next_;
    if (next_ == first) return;
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      state_of(x, i, lane_);
      take_from_lane(i, day, first);
    }
  }

  void finish() {
    const Treatment& plan = of_.scenario_.treatments[of_.treatment_];
    const int harvest_day = static_cast<int>((plan.first().date - of_.numbers_.start).count());
    std::vector<double> left(left_.size()), released(left_.size());
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      for (std::size_t d = 0; d < left_.size(); ++d) {
        left[d] = in_lane(left_[d], i);
        released[d] = in_lane(released_[d], i);
      }
      std::size_t column = of_.numbers_.found;
      for (const FoundNumber& n : found_numbers()) {
        row(i)[column++] = n.value({left, released, harvest_day});
      }
      row(i)[column] = worst_[i];
    }
  }

 private:
  double* row(std::size_t i) { return rows_.data() + i * of_.numbers_.columns; }

  void follow(int day, const State<Real>& x) {
    const Treatment& plan = of_.scenario_.treatments[of_.treatment_];
    const TreatmentLayout::Stay& stay = runs_[0].made->layout.stays.front();
    Real left = Real(not_measured), nitrogen_there = Real(0.0);
    if (stay.from <= day && day < stay.to) left = Real(0.0);
    for (std::size_t j = 0; j < job_.cohorts.size(); ++j) {
      const Real* pool = x.data() + j * pools;
      nitrogen_there += element_in(job_.cohorts[j], nitrogen, pool);
      if (job_.layout->cohorts[j].harvest != stay.number) continue;
      left += carbon_in(pool) / job_.cohorts[j].carbon / Real(plan.first().dry_matter_g_m2);
    }
    left_.push_back(left);
    released_.push_back(
        net_nitrogen_released<Real>(nitrogen_there, x.data() + job_.layout->field(), job_.field.CN_mic));
  }

  void take_from_lane(std::size_t i, int day, std::size_t first) {
    const Run& run = runs_[i];
    const double* field = lane_.data() + run.job.layout->field();
    const double harvested = harvested_by(run.treatment, *run.made, day, field).all;
    const DayView view = day_view(of_.scenario_, run.treatment, *run.made, run.job, day, lane_, harvested);
    for (std::size_t k = first; k < next_; ++k) row(i)[taken_[k].column] = taken_[k].series->value(view);
    for (const Books<double>& book : books(run.job, lane_)) {
      worst_[i] = std::max(worst_[i], std::abs(book.residual()));
    }
  }

  const TreatmentRuns& of_;
  const Job<Real>& job_;
  std::span<const Run> runs_;
  std::span<double> rows_;
  const std::vector<RunNumbers::Taken>& taken_;
  std::size_t next_ = 0;
  State<double> lane_;
  std::vector<Real> left_, released_;
  std::array<double, lane_count> worst_{};
};

TreatmentRuns::TreatmentRuns(const Scenario& scenario, std::size_t treatment, std::size_t first_future,
                             std::vector<TreatmentJob> futures, const std::vector<DrawnParameters>& draws,
                             const RunNumbers& numbers)
    : scenario_(scenario),
      treatment_(treatment),
      first_future_(first_future),
      futures_(std::move(futures)),
      draws_(draws),
      numbers_(numbers) {}

TreatmentRuns::Run TreatmentRuns::run_of(std::size_t run) const {
  const DrawnParameters& drawn = draws_[run % draws_.size()];
  Run made{&futures_.at(run / draws_.size() - first_future_), scenario_.treatments[treatment_], {}};
  made.treatment.parameters.field = drawn.field;
  made.treatment.parameters.components = drawn.components;
  made.treatment.parameters.of_material = drawn.of_material;
  made.job = make_job<double>(made.made->plan, drawn.field, drawn.components);
  return made;
}

std::vector<RunFailure> TreatmentRuns::run(std::size_t first, std::size_t count,
                                           std::span<double> rows) const {
  std::vector<Run> runs;
  for (std::size_t i = 0; i < count; ++i) runs.push_back(run_of(first + i));

  std::vector<LaneRun> lanes;
  for (const Run& r : runs) {
    lanes.push_back({&r.made->plan, &r.treatment.parameters.field, &r.treatment.parameters.components});
  }
  const Job<Lanes> job = make_job(lanes);
  Sampler<Lanes> sampler(*this, job, runs, rows);
  const Outcome outcome = simulate<Lanes>(job, [&](int day, const State<Lanes>& x) { sampler.take(day, x); });
  if (outcome.ok) {
    sampler.finish();
    return {};
  }
  std::vector<RunFailure> failures;  // one bad lane stops all eight: each alone
  for (std::size_t i = 0; i < runs.size(); ++i) {
    const std::span<double> own = rows.subspan(i * numbers_.columns, numbers_.columns);
    std::fill(own.begin(), own.end(), not_measured);
    Sampler<double> alone(*this, runs[i].job, std::span(&runs[i], 1), own);
    const Outcome of_one =
        simulate<double>(runs[i].job, [&](int day, const State<double>& x) { alone.take(day, x); });
    if (of_one.ok) {
      alone.finish();
    } else {
      std::fill(own.begin(), own.end(), not_measured);
      failures.push_back({first + i, of_one.message});
    }
  }
  return failures;
}

}  // namespace stoverturn
