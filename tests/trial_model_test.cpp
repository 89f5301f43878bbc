/// A trial as a function from parameters to what bags show.
#include "fitting/trial_model.hpp"
#include "fitting/sensitivity.hpp"
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

const ParameterRow* row(const char* name) { return find_parameter(name); }

TrialTreatment treatment(double spacing_mm, Placement placement) {
  TrialTreatment t;
  auto layout = std::make_shared<Layout>();
  layout->cohorts.push_back({0, 0, placement, 0, -1});
  layout->cohorts.push_back({1, 1, placement, 0, -1});
  t.plan.layout = layout;
  t.plan.pieces = {{.length_mm = 150.0, .spacing_mm = spacing_mm, .opening = 0.5}, {.shape = Shape::sheet}};
  t.plan.start = {1.0, 1.0, 1.0};
  t.plan.drivers = jar(20.0, 200);
  t.plan.events = {{0, Harvest<double>{0, 300.0}}, {0, Harvest<double>{1, 100.0}}};
  t.plan.days = 200;
  t.plan.tolerance = {1e-10, 1e-11};
  t.field = default_parameters();
  t.components = {corn("stalk"), corn("leaf")};
  return t;
}

/// Two treatments; k_sol differs between them, k_hol is shared by all components, the others as named.
TrialModel trial() {
  std::vector<Slot> slots;
  for (std::size_t t = 0; t < 2; ++t) {
    slots.push_back({t, 0, row("k_sol"), t});
    for (int c = 0; c < 2; ++c) slots.push_back({t, c, row("k_hol"), 2});
    std::size_t next = 3;
    for (const char* name : {"k_lig", "k_dec", "k_rem", "tau_d", "v_mm_d", "rind", "e_hol"}) {
      slots.push_back({t, 0, row(name), next++});
    }
    slots.push_back({t, -1, row("N_bg"), next});
  }
  std::vector<Observation> seen;
  for (std::size_t t = 0; t < 2; ++t) {
    for (const int day : {150, 30, 80}) {
      for (const Measure m : {Measure::mass, Measure::carbon, Measure::nitrogen_left,
                              Measure::phosphorus_left, Measure::potassium_left, Measure::sulfur_left,
                              Measure::respired, Measure::mineral_nitrogen, Measure::cover}) {
        seen.push_back({.treatment = t, .measure = m, .day = day});
      }
      seen.push_back({.treatment = t, .measure = Measure::mass, .component = 1, .day = day});
    }
  }
  return TrialModel({treatment(50.0, Placement::buried), treatment(20.0, Placement::surface)}, slots, 11,
                    seen);
}

Eigen::VectorXd defaults() {
  const char* const names[] = {"k_sol", "k_sol",  "k_hol", "k_lig", "k_dec", "k_rem",
                               "tau_d", "v_mm_d", "rind",  "e_hol", "N_bg"};
  Eigen::VectorXd x(11);
  for (Eigen::Index i = 0; i < x.size(); ++i) x[i] = row(names[i])->value;
  x[1] = 0.09;  // of the second treatment
  return x;
}

}  // namespace

TEST_CASE("trial model: derivatives agree with central differences", "[fitting]") {
  const TrialModel model = trial();
  const Eigen::VectorXd x = defaults();
  Eigen::VectorXd values, up, down;
  Eigen::MatrixXd jacobian;
  REQUIRE(model.predict(x, values, &jacobian));
  for (Eigen::Index k = 0; k < x.size(); ++k) {
    Eigen::VectorXd higher = x, lower = x;
    const double step = 1e-4 * x[k];
    higher[k] += step;
    lower[k] -= step;
    REQUIRE(model.predict(higher, up, nullptr));
    REQUIRE(model.predict(lower, down, nullptr));
    for (Eigen::Index i = 0; i < values.size(); ++i) {
      INFO("parameter " << k << ", observation " << i);
      const double difference = (up[i] - down[i]) / 2e-4;  // per relative step
      // integration to 1e-10 leaves some 1e-6 of a value over the step; its truncation is 1e-8
      CHECK(jacobian(i, k) * x[k] ==
            Approx(difference).epsilon(1e-4).margin(3e-6 * (1.0 + std::abs(values[i]))));
    }
  }
}

TEST_CASE("trial model: what is measured agrees with the state by hand", "[fitting]") {
  const TrialModel model = trial();
  Eigen::VectorXd values;
  REQUIRE(model.predict(defaults(), values, nullptr));
  // first treatment, first observations: day 150; the same simulated alone
  TrialTreatment t = treatment(50.0, Placement::buried);
  const Job<double> job = make_job<double>(t.plan, t.field, t.components);
  State<double> state;
  REQUIRE(simulate<double>(job, [&](int day, const State<double>& x) {
            if (day == 150) state = x;
          }).ok);
  const double mass = carbon_in(state.data()) / job.cohorts[0].carbon +
                      carbon_in(state.data() + pools) / job.cohorts[1].carbon;
  CHECK(values[0] == Approx(mass / 400.0).epsilon(1e-9));
  CHECK(values[4] == Approx((state[potassium] + state[pools + potassium]) /
                            (300.0 * t.components[0].potassium + 100.0 * t.components[1].potassium))
                         .epsilon(1e-9));
  const double* field = state.data() + job.layout->field();
  CHECK(values[6] == Approx(field[respired_C] / field[residue_in_C]).epsilon(1e-9));
  CHECK(values[7] == Approx(field[ammonium_N] + field[nitrate_N]).epsilon(1e-9));
  CHECK(values[8] == 0.0);  // nothing lies on the surface
  CHECK(values[9] == Approx(carbon_in(state.data() + pools) / job.cohorts[1].carbon / 100.0).epsilon(1e-9));
}

TEST_CASE("trial model: many points at once, eight in a simulation, agree with each alone", "[fitting]") {
  const TrialModel model = trial();
  Eigen::MatrixXd points(11, 11), many;
  for (Eigen::Index c = 0; c < 11; ++c) points.col(c) = defaults() * (1.0 + 0.02 * static_cast<double>(c));
  model.predict_many(points, many);
  for (Eigen::Index c = 0; c < 11; ++c) {
    Eigen::VectorXd alone;
    REQUIRE(model.predict(points.col(c), alone, nullptr));
    // lanes take the steps of their hardest lane: within 10 times the relative tolerance of 1e-10, which
    // holds for pools of hundreds of g m-2
    CHECK((many.col(c) - alone).cwiseAbs().maxCoeff() < 1e-8);
  }
  // the order of the work changes nothing
  const ForEach backwards = [](std::size_t n, const std::function<void(std::size_t)>& work) {
    for (std::size_t i = n; i > 0; --i) work(i - 1);
  };
  const TrialModel other(model.treatments(), {}, 0, model.observations(), backwards);
  const TrialModel same(model.treatments(), {}, 0, model.observations());
  Eigen::MatrixXd a, b;
  other.predict_many(Eigen::MatrixXd(0, 3), a);
  same.predict_many(Eigen::MatrixXd(0, 3), b);
  CHECK(a == b);
}

TEST_CASE("trial model: bags hold the first harvest alone", "[fitting]") {
  TrialTreatment once = treatment(50.0, Placement::buried), twice = once;
  auto layout = std::make_shared<Layout>(*once.plan.layout);
  layout->cohorts.push_back({0, 0, Placement::buried, 1, -1});
  twice.plan.layout = layout;
  twice.plan.events.push_back({100, Harvest<double>{2, 500.0}});
  const std::vector<Observation> seen = {{.treatment = 0, .measure = Measure::mass, .day = 90},
                                         {.treatment = 0, .measure = Measure::mass, .day = 110}};
  Eigen::VectorXd alone, with_later;
  REQUIRE(TrialModel({once}, {}, 0, seen).predict(Eigen::VectorXd(0), alone, nullptr));
  REQUIRE(TrialModel({twice}, {}, 0, seen).predict(Eigen::VectorXd(0), with_later, nullptr));
  // a state more changes the integrator's steps; its tolerance is 1e-10
  CHECK(with_later[0] == Approx(alone[0]).epsilon(1e-8));
  // fresh residue takes some mineral N away from the old within ten days, but adds nothing to it
  CHECK(with_later[1] == Approx(alone[1]).epsilon(0.02));
  CHECK(with_later[1] < with_later[0]);
}

TEST_CASE("trial model: a parameter used before the simulation is refused", "[fitting]") {
  CHECK_THROWS_WITH(TrialModel({treatment(50.0, Placement::buried)}, {{0, -1, row("k_drain"), 0}}, 1, {}),
                    "k_drain is used before the simulation and cannot be estimated");
}
