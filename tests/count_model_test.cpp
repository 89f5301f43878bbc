#include "fitting/count_model.hpp"

#include "fitting/power.hpp"
#include "tests/catch.hpp"
#include "tests/stand_reference.hpp"

using namespace stoverturn;

TEST_CASE("counts: coefficients, errors, dispersion and F of R's glm", "[counts]") {
  // R prints 12 digits; both end their iterations where the deviance changes by 1e-12 of itself. R takes the
  // weights of its dispersion from the step before the last, which moves the eighth digit.
  for (const char* kind : {"rows", "plots", "own strips"}) {
    INFO(kind);
    const MadeCounts made = made_counts(kind);
    const CountModel model = fit_counts(made.counts, made.areas, made.design);
    REQUIRE(model.ok);
    const std::vector<double> coefficients = of_R(std::string(kind) + " coefficients"),
                              se = of_R(std::string(kind) + " se");
    // R's first coefficient is treatment a, its next are differences to it; ours are levels
    CHECK(model.coefficients(0) == Approx(coefficients[0]).epsilon(1e-8));
    CHECK(model.coefficients(1) - model.coefficients(0) == Approx(coefficients[1]).epsilon(1e-8));
    CHECK(model.coefficients(2) - model.coefficients(0) == Approx(coefficients[2]).epsilon(1e-8));
    CHECK(std::sqrt(model.dispersion * model.unscaled(0, 0)) == Approx(se[0]).epsilon(1e-6));
    for (std::size_t c = 3; c < coefficients.size(); ++c) {
      CHECK(model.coefficients(static_cast<Eigen::Index>(c)) == Approx(coefficients[c]).epsilon(1e-7));
      CHECK(std::sqrt(model.dispersion *
                      model.unscaled(static_cast<Eigen::Index>(c), static_cast<Eigen::Index>(c))) ==
            Approx(se[c]).epsilon(1e-6));
    }
    CHECK(model.dispersion == Approx(of_R(std::string(kind) + " dispersion")[0]).epsilon(1e-6));
    CHECK(model.deviance == Approx(of_R(std::string(kind) + " deviance")[0]).epsilon(1e-8));
    CHECK(model.freedom == of_R(std::string(kind) + " freedom")[0]);
    Eigen::MatrixXd strips(made.design.rows(), made.design.cols() - 2);
    strips << Eigen::VectorXd::Ones(made.design.rows()), made.design.rightCols(made.design.cols() - 3);
    const CountTest test = compare_counts(fit_counts(made.counts, made.areas, strips), model);
    CHECK(test.F == Approx(of_R(std::string(kind) + " F")[0]).epsilon(1e-6));
    CHECK(test.probability == Approx(of_R(std::string(kind) + " F")[1]).epsilon(1e-6));
  }
}

TEST_CASE("counts: one group is its sum over its area", "[counts]") {
  const Eigen::Vector3d counts(12, 9, 15), areas(1.0, 0.5, 1.5);
  const CountModel model = fit_counts(counts, areas, Eigen::MatrixXd::Ones(3, 1));
  REQUIRE(model.ok);
  CHECK(std::exp(model.coefficients(0)) == Approx(36.0 / 3.0).epsilon(1e-12));
  CHECK(model.unscaled(0, 0) == Approx(1.0 / 36.0).epsilon(1e-12));  // variance of the log of a Poisson sum
}

TEST_CASE("counts: a group without any has no logarithm, equal columns no answer", "[counts]") {
  Eigen::MatrixXd design(4, 2);
  design << 1, 0, 1, 0, 0, 1, 0, 1;
  CHECK(!fit_counts(Eigen::Vector4d(3, 4, 0, 0), Eigen::Vector4d::Ones(), design).ok);
  CHECK(!fit_counts(Eigen::Vector4d(3, 4, 2, 1), Eigen::Vector4d::Ones(), Eigen::MatrixXd::Ones(4, 2)).ok);
  CHECK_THROWS_AS(fit_counts(Eigen::Vector4d(3, 4, 2, -1), Eigen::Vector4d::Ones(), design),
                  std::invalid_argument);
  CHECK_THROWS_AS(fit_counts(Eigen::Vector4d(3, 4, 2, 1), Eigen::Vector4d::Zero(), design),
                  std::invalid_argument);
}

TEST_CASE("power: that of R's power.t.test, and its number of units", "[counts]") {
  // R: sd 0.08, level 90 %, power 80 %; of pairs the difference has twice the variance of one
  for (const char* delta : {"0.05", "0.1", "0.3"}) {
    INFO(delta);
    const std::vector<double> r = of_R(std::string("power ") + delta);
    const double difference = std::stod(delta), variance = 0.08 * 0.08;
    CHECK(units_needed(difference, variance, false, 0.9, 0.8, 1000) == static_cast<int>(std::ceil(r[0])));
    CHECK(units_needed(difference, variance, true, 0.9, 0.8, 1000) == static_cast<int>(std::ceil(r[1])));
    CHECK(power_of_units(difference, variance, false, 0.9, 4) == Approx(r[2]).epsilon(1e-8));
    CHECK(power_of_units(-difference, variance, false, 0.9, 12) == Approx(r[3]).epsilon(1e-8));
    CHECK(power_of_units(difference, variance, true, 0.9, 4) == Approx(r[4]).epsilon(1e-8));
  }
  CHECK(units_needed(0.0, 1.0, false, 0.9, 0.8, 1000) == 0);
  CHECK(units_needed(0.001, 1.0, false, 0.9, 0.8, 1000) == 0);  // more than 1000
}
