#include "fitting/trial_model.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <stdexcept>
#include <string>

namespace stoverturn {
namespace {

constexpr Eigen::Index directions = Dual::DerType::RowsAtCompileTime;
constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();

constexpr int first_harvest = 0;

bool selects(const Observation& o, const Cohort& cohort) {
  return cohort.harvest == first_harvest && (o.component < 0 || o.component == cohort.component) &&
         (o.placement < 0 || o.placement == static_cast<int>(cohort.placement));
}

/// What a measure counts in the pools of a cohort, g m-2.
template <class Real>
Real amount(Measure measure, const CohortTraits<Real>& traits, const Real* x) {
  switch (measure) {
    case Measure::nitrogen_left:
      return element_in(traits, nitrogen, x);
    case Measure::phosphorus_left:
      return element_in(traits, phosphorus, x);
    case Measure::sulfur_left:
      return element_in(traits, sulfur, x);
    case Measure::potassium_left:
      return x[potassium];
    case Measure::carbon:
      return carbon_in(x);
    default:
      return Real(carbon_in(x) / traits.carbon);
  }
}

template <class Real>
Real exponential(const Real& x) {
  using std::exp;
  return exp(x);
}

/// Of all that the first harvest put in.
template <class Real>
Real amount_put_in(Measure measure, const Job<Real>& job, const Observation& o) {
  Real sum(0.0);
  for (const auto& event : job.events) {
    const auto* harvest = std::get_if<Harvest<Driver<Real>>>(&event.what);
    if (!harvest) continue;
    const std::size_t j = static_cast<std::size_t>(harvest->cohort);
    if (!selects(o, job.layout->cohorts[j])) continue;
    std::array<Real, pools> fresh;
    for (std::size_t i = 0; i < pools; ++i) fresh[i] = job.cohorts[j].fresh[i] * harvest->dry_matter_g_m2;
    sum += amount(measure, job.cohorts[j], fresh.data());
  }
  return sum;
}

template <class Real>
Real share_left(const Observation& o, const Job<Real>& job, const State<Real>& x) {
  Real left(0.0);
  for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
    if (selects(o, job.layout->cohorts[j])) left += amount(o.measure, job.cohorts[j], x.data() + j * pools);
  }
  return Real(left / amount_put_in(o.measure, job, o));
}

template <class Real>
Real measured(const Observation& o, const Job<Real>& job, const State<Real>& x) {
  const Real* field = x.data() + job.layout->field();
  if (o.measure == Measure::respired) return Real(field[respired_C] / field[residue_in_C]);
  if (o.measure == Measure::mineral_nitrogen) return Real(field[ammonium_N] + field[nitrate_N]);
  if (o.measure == Measure::cover) {
    Real flat(0.0);
    for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
      if (job.layout->cohorts[j].placement == Placement::surface) {
        flat += amount(Measure::mass, job.cohorts[j], x.data() + j * pools);
      }
    }
    return Real(Real(1.0) - exponential(Real(-job.field.cover_m2_g * flat)));
  }
  return share_left(o, job, x);
}

}  // namespace

void one_after_the_other(std::size_t n, const std::function<void(std::size_t)>& work) {
  for (std::size_t i = 0; i < n; ++i) work(i);
}

TrialModel::TrialModel(std::vector<TrialTreatment> treatments, std::vector<Slot> slots,
                       std::size_t parameters, std::vector<Observation> observations, ForEach for_each)
    : treatments_(std::move(treatments)),
      slots_(std::move(slots)),
      parameters_(parameters),
      observations_(std::move(observations)),
      of_treatment_(treatments_.size()),
      slot_parameters_(treatments_.size()),
      for_each_(std::move(for_each)) {
  for (std::size_t i = 0; i < observations_.size(); ++i)
    of_treatment_[observations_[i].treatment].push_back(i);
  for (const Slot& slot : slots_) {
    if (slot.row->scope == Scope::driver) {
      throw std::invalid_argument(std::string(slot.row->name) +
                                  " is used before the simulation and cannot be estimated");
    }
    std::vector<std::size_t>& mine = slot_parameters_[slot.treatment];
    if (std::find(mine.begin(), mine.end(), slot.parameter) == mine.end()) mine.push_back(slot.parameter);
  }
  for (std::size_t t = 0; t < treatments_.size(); ++t) {
    std::vector<std::size_t>& mine = of_treatment_[t];
    std::stable_sort(mine.begin(), mine.end(), [&](std::size_t a, std::size_t b) {
      return observations_[a].day < observations_[b].day;
    });
    if (!mine.empty()) treatments_[t].plan.days = observations_[mine.back()].day;
    lanes_.push_back(in_lanes(treatments_[t].plan));
  }
}

TrialModel TrialModel::measuring(std::vector<Observation> observations) const {
  return {treatments_, slots_, parameters_, std::move(observations), for_each_};
}

template <class Real>
Job<Real> TrialModel::job_of(std::size_t treatment, const JobPlan<Driver<Real>>& plan,
                             const std::function<Real(std::size_t)>& value) const {
  const TrialTreatment& t = treatments_[treatment];
  Parameters<Real> field = convert<Real>(t.field);
  std::vector<Parameters<Real>> components;
  for (const Parameters<double>& c : t.components) components.push_back(convert<Real>(c));
  for (const Slot& slot : slots_) {
    if (slot.treatment != treatment) continue;
    at(slot.component < 0 ? field : components[static_cast<std::size_t>(slot.component)], *slot.row) =
        value(slot.parameter);
  }
  return make_job<Real>(plan, field, components);
}

namespace {

/// Hands each observation of a treatment, with the state of its day, to `take`.
template <class Real, class Take>
bool observe(const Job<Real>& job, const std::vector<Observation>& all, const std::vector<std::size_t>& mine,
             const Take& take) {
  std::size_t next = 0;
  const Outcome outcome = simulate<Real>(job, [&](int day, const State<Real>& x) {
    for (; next < mine.size() && all[mine[next]].day == day; ++next) {
      take(mine[next], measured(all[mine[next]], job, x));
    }
  });
  return outcome.ok;
}

}  // namespace

bool TrialModel::predict(const Eigen::VectorXd& x, Eigen::VectorXd& values, Eigen::MatrixXd* jacobian) const {
  const Eigen::Index n = static_cast<Eigen::Index>(observations_.size());
  values.setConstant(n, not_a_number);
  if (!jacobian) {
    for_each_(treatments_.size(), [&](std::size_t t) { predict_alone(t, x, values); });
    return values.allFinite();
  }
  jacobian->setZero(n, static_cast<Eigen::Index>(parameters_));
  struct Pass {
    std::size_t treatment;
    std::size_t first;
  };
  std::vector<Pass> passes;
  for (std::size_t t = 0; t < treatments_.size(); ++t) {
    for (std::size_t first = 0; first == 0 || first < slot_parameters_[t].size(); first += directions) {
      passes.push_back({t, first});
    }
  }
  for_each_(passes.size(), [&](std::size_t p) {
    const auto [t, first] = passes[p];
    const std::vector<std::size_t>& mine = slot_parameters_[t];
    const Eigen::Index count =
        std::min<Eigen::Index>(directions, static_cast<Eigen::Index>(mine.size() - first));
    const Job<Dual> job = job_of<Dual>(t, treatments_[t].plan, [&, first = first](std::size_t parameter) {
      Dual value(x[static_cast<Eigen::Index>(parameter)]);
      for (Eigen::Index d = 0; d < count; ++d) {
        if (mine[first + static_cast<std::size_t>(d)] == parameter) value.derivatives()[d] = 1.0;
      }
      return value;
    });
    observe(job, observations_, of_treatment_[t], [&, first = first](std::size_t i, const Dual& value) {
      const Eigen::Index row = static_cast<Eigen::Index>(i);
      if (first == 0) values[row] = value.value();
      for (Eigen::Index d = 0; d < count; ++d) {
        (*jacobian)(row, static_cast<Eigen::Index>(mine[first + static_cast<std::size_t>(d)])) =
            value.derivatives()[d];
      }
    });
  });
  return values.allFinite() && jacobian->allFinite();
}

void TrialModel::predict_alone(std::size_t t, const Eigen::VectorXd& x,
                               Eigen::Ref<Eigen::VectorXd> values) const {
  const Job<double> job = job_of<double>(
      t, treatments_[t].plan, [&](std::size_t parameter) { return x[static_cast<Eigen::Index>(parameter)]; });
  observe(job, observations_, of_treatment_[t],
          [&](std::size_t i, double value) { values[static_cast<Eigen::Index>(i)] = value; });
}

bool TrialModel::predict_eight(std::size_t t, const Eigen::MatrixXd& points, Eigen::Index first,
                               Eigen::MatrixXd& values) const {
  const Eigen::Index count = std::min<Eigen::Index>(8, points.cols() - first);
  const Job<Lanes> job = job_of<Lanes>(t, lanes_[t], [&](std::size_t parameter) {
    Lanes value;
    for (Eigen::Index lane = 0; lane < 8; ++lane) {
      value[lane] = points(static_cast<Eigen::Index>(parameter), first + std::min(lane, count - 1));
    }
    return value;
  });
  return observe(job, observations_, of_treatment_[t], [&](std::size_t i, const Lanes& value) {
    for (Eigen::Index lane = 0; lane < count; ++lane) {
      values(static_cast<Eigen::Index>(i), first + lane) = value[lane];
    }
  });
}

void TrialModel::predict_many(const Eigen::MatrixXd& points, Eigen::MatrixXd& values) const {
  values.setConstant(static_cast<Eigen::Index>(observations_.size()), points.cols(), not_a_number);
  const std::size_t groups = static_cast<std::size_t>((points.cols() + 7) / 8);
  for_each_(groups * treatments_.size(), [&](std::size_t i) {
    const std::size_t t = i % treatments_.size();
    const Eigen::Index first = static_cast<Eigen::Index>(i / treatments_.size()) * 8;
    if (predict_eight(t, points, first, values)) return;
    for (Eigen::Index c = first; c < std::min(first + 8, points.cols()); ++c) {  // one bad lane stops all
      for (const std::size_t o : of_treatment_[t]) values(static_cast<Eigen::Index>(o), c) = not_a_number;
      predict_alone(t, points.col(c), values.col(c));
    }
  });
}

}  // namespace stoverturn
