/// Derivatives of what a litterbag shows, through the integrator.
#include "fitting/sensitivity.hpp"
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

/// An opened stalk buried at 20 C for 200 days: plan, field and component parameters.
struct Buried {
  JobPlan<double> plan;
  Parameters<double> field = default_parameters();
  std::vector<Parameters<double>> components = {corn("stalk")};
  Buried() {
    auto layout = std::make_shared<Layout>();
    layout->cohorts.push_back({0, 0, Placement::buried, 0, -1});
    plan.layout = layout;
    plan.pieces = {{.length_mm = 150.0, .spacing_mm = 50.0, .opening = 0.5}};
    plan.start = {1.0, 1.0, 1.0};
    plan.drivers = jar(20.0, 200);
    plan.events = {{0, Harvest<double>{0, 400.0}}};
    plan.days = 200;
    plan.tolerance = {1e-10, 1e-11};
  }
};

const std::vector<int> pull_days = {30, 90, 200};

const Observable mass_left = [](const Job<Dual>& job, const State<Dual>& x) {
  return Dual(carbon_in(x.data()) / (400.0 * job.cohorts[0].carbon));
};

Eigen::VectorXd mass_left_with(const Buried& b) {
  return sensitivities(b.plan, b.field, b.components, {}, pull_days, mass_left).values;
}

}  // namespace

TEST_CASE("sensitivity: derivatives of mass left agree with central differences", "[fitting]") {
  const Buried base;
  std::vector<FreeParameter> free;
  for (const char* name :
       {"k_sol", "k_hol", "k_lig", "k_dec", "k_rem", "p_lig", "tau_d", "v_mm_d", "rind", "e_hol"}) {
    free.push_back({find_parameter(name), 0});
  }
  for (const char* name : {"CN_mic", "k_upt", "N_bg"}) free.push_back({find_parameter(name), -1});
  REQUIRE(free.size() > 8);  // more than one pass

  const Sensitivities s = sensitivities(base.plan, base.field, base.components, free, pull_days, mass_left);
  REQUIRE(s.outcome.ok);
  for (std::size_t i = 0; i < free.size(); ++i) {
    Buried up = base, down = base;
    const auto value = [&](Buried& b) -> double& {
      return at(free[i].component < 0 ? b.field : b.components[0], *free[i].row);
    };
    // a step of 1e-4 leaves a truncation of some 1e-8 and rounding of rtol/step = 1e-6 relative
    const double step = 1e-4 * value(up);
    value(up) += step;
    value(down) -= step;
    const Eigen::VectorXd difference = (mass_left_with(up) - mass_left_with(down)) / (2.0 * step);
    for (Eigen::Index d = 0; d < difference.size(); ++d) {
      INFO(free[i].row->name << " on day " << pull_days[static_cast<std::size_t>(d)]);
      CHECK(s.jacobian(d, static_cast<Eigen::Index>(i)) ==
            Approx(difference[d]).epsilon(1e-4).margin(1e-6 / value(up)));
    }
  }
}

TEST_CASE("sensitivity: solubles of a jar in closed form", "[fitting]") {
  // Without water solubles only decay: S = S0 exp(-k f t), so that dS/dk = S ln(S/S0)/k whatever the climate
  // f is. N in plenty leaves the limiter within 1e-3 of 1 (docs/model.md, Eq. 11), and so the exponent.
  Buried b;
  b.plan.start = {1000.0, 1000.0, 1000.0};
  b.field.soak_mm_d = 0.0;
  const Observable solubles = [](const Job<Dual>& job, const State<Dual>& x) {
    return Dual(x[soluble] / (400.0 * job.cohorts[0].fresh[soluble]));
  };
  const std::vector<int> days = {2, 10, 30};
  const Sensitivities s =
      sensitivities(b.plan, b.field, b.components, {{find_parameter("k_sol"), 0}}, days, solubles);
  REQUIRE(s.outcome.ok);
  for (Eigen::Index d = 0; d < 3; ++d) {
    CHECK(s.values[d] < 0.95);
    const double by_hand = s.values[d] * std::log(s.values[d]) / b.components[0].k_sol;
    CHECK(s.jacobian(d, 0) == Approx(by_hand).epsilon(2e-3));
  }
}

TEST_CASE("sensitivity: faster opening and decay leave less, a more open rind less", "[fitting]") {
  const Buried base;
  const Sensitivities s = sensitivities(base.plan, base.field, base.components,
                                        {{find_parameter("v_mm_d"), 0},
                                         {find_parameter("k_hol"), 0},
                                         {find_parameter("rind"), 0},
                                         {find_parameter("tau_d"), 0}},
                                        pull_days, mass_left);
  for (Eigen::Index d = 0; d < 3; ++d) {
    CHECK(s.jacobian(d, 0) < 0.0);
    CHECK(s.jacobian(d, 1) < 0.0);
    CHECK(s.jacobian(d, 2) < 0.0);  // rind is a permeability
    CHECK(s.jacobian(d, 3) > 0.0);
  }
}

TEST_CASE("sensitivity: a driver parameter is refused", "[fitting]") {
  const Buried base;
  CHECK_THROWS_WITH(sensitivities(base.plan, base.field, base.components, {{find_parameter("k_drain"), -1}},
                                  pull_days, mass_left),
                    "k_drain is used before the simulation and has no derivative");
}

TEST_CASE("sensitivity: a run that fails says so", "[fitting]") {
  Buried broken;
  broken.components[0].k_hol = std::numeric_limits<double>::infinity();
  CHECK_FALSE(
      sensitivities(broken.plan, broken.field, broken.components, {}, pull_days, mass_left).outcome.ok);
}
