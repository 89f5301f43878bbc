#include "scenarios/ensemble/treatment_runs.hpp"

#include <algorithm>
#include <cmath>

#include "engine/balance.hpp"
#include "scenarios/results/crop_stages.hpp"
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
      : of_(of), job_(job), runs_(runs), rows_(rows) {
    for (std::size_t i = 0; i < runs.size(); ++i) lanes_.push_back(to_take(i));
    left_.reserve(static_cast<std::size_t>(job.days) + 1);
    released_.reserve(left_.capacity());
  }

  void take(int day, const State<Real>& x) {
    follow(day, x);
    for (std::size_t i = 0; i < runs_.size(); ++i) {
      if (lanes_[i].next == lanes_[i].taken.size() || lanes_[i].taken[lanes_[i].next].day != day) continue;
      state_of(x, i, alone_);
      take_from_lane(i, day);
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
      row(i)[column] = lanes_[i].worst;
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

  /// All that is taken from a run, in the order of days.
  struct Entry {
    int day;
    const TreatmentSeries* series;
    std::size_t column;
    double sign;
  };
  struct Lane {
    std::vector<Entry> taken;
    std::size_t next = 0;
    double worst = 0.0;  ///< residual of a balance
  };

  Lane to_take(std::size_t i) {
    Lane lane;
    for (const RunNumbers::Taken& t : of_.numbers_.taken[of_.treatment_]) {
      lane.taken.push_back({t.day, t.series, t.column, 1.0});
    }
    add_stages(i, lane.taken);
    for (const Entry& entry : lane.taken) row(i)[entry.column] = 0.0;
    std::stable_sort(lane.taken.begin(), lane.taken.end(),
                     [](const Entry& a, const Entry& b) { return a.day < b.day; });
    return lane;
  }

  void add_stages(std::size_t i, std::vector<Entry>& taken) {
    const RunNumbers& numbers = of_.numbers_;
    if (numbers.stages.empty()) return;
    const std::vector<GrownCrop> seasons = seasons_of(runs_[i].treatment, *runs_[i].made, numbers.start);
    if (seasons.empty() || !seasons[0].plan.given) return;
    const auto& [plan, course] = seasons[0];
    if (stage_label(*plan.crop, 0, 0) != numbers.stages[0]) return;  // another crop
    for (std::size_t s = 0; s < crop_stages; ++s) {
      if (course.stage_day[s] >= 0) row(i)[numbers.stage_day + s] = course.stage_day[s];
    }
    for (const RunNumbers::AtStage& at : numbers.at_stages) {
      if (course.stage_day[at.stage] < 0) continue;
      taken.push_back({course.stage_day[at.stage], at.series, at.column, 1.0});
      if (at.since_planting) taken.push_back({course.planting_day, at.series, at.column, -1.0});
    }
  }

  void take_from_lane(std::size_t i, int day) {
    const Run& run = runs_[i];
    Lane& lane = lanes_[i];
    const double* field = alone_.data() + run.job.layout->field();
    const double harvested = harvested_by(run.treatment, *run.made, day, field).all;
    const DayView view = day_view(of_.scenario_, run.treatment, *run.made, run.job, day, alone_, harvested);
    for (; lane.next < lane.taken.size() && lane.taken[lane.next].day == day; ++lane.next) {
      const Entry& entry = lane.taken[lane.next];
      row(i)[entry.column] += entry.sign * entry.series->value(view);
    }
    for (const Books<double>& book : books(run.job, alone_)) {
      lane.worst = std::max(lane.worst, std::abs(book.residual()));
    }
  }

  const TreatmentRuns& of_;
  const Job<Real>& job_;
  std::span<const Run> runs_;
  std::span<double> rows_;
  std::vector<Lane> lanes_;
  State<double> alone_;
  std::vector<Real> left_, released_;
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
