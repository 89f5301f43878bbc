#include <algorithm>

#include "fitting/covariance.hpp"
#include "fitting/differences.hpp"
#include "fitting/least_squares.hpp"
#include "tests/nist_file.hpp"
#include "tests/nist_typed.hpp"

using namespace stoverturn;

/// Certified values have 11 digits; NIST made them with quadruple precision and lists them so that programs
/// can be judged by the number of digits that agree.

namespace {

double digits(double value, double certified) {
  return -std::log10(std::max(1e-15, std::abs(value - certified) / std::abs(certified)));
}

void check_certified(const nist::Set& set, const LeastSquares& problem, std::size_t start) {
  const Eigen::Index n = static_cast<Eigen::Index>(set.certified.size());
  const LeastSquaresFit fit =
      fit_least_squares(problem, Eigen::Map<const Eigen::VectorXd>(set.starts[start].data(), n));
  CAPTURE(set.name, start + 1, fit.x.transpose(), fit.cost, fit.iterations, fit.distance_se);
  CHECK(fit.stop == Stop::converged);
  for (std::size_t j = 0; j < set.certified.size(); ++j) {
    CAPTURE(j);
    CHECK(digits(fit.x[static_cast<Eigen::Index>(j)], set.certified[j]) >= 6.0);
  }
  const Covariance covariance = covariance_of(fit, Spread::estimated);
  REQUIRE(covariance.ok);
  // Lanczos1's certified residual of 1.4e-25 is less than double precision can hold beside values of 2.5, so
  // its deviations are compared with the certified residual deviation in place of ours.
  const double spread =
      set.name == "Lanczos1" ? 8.9156129349e-14 / std::sqrt(covariance.variance_scale) : 1.0;
  for (std::size_t j = 0; j < set.sd.size(); ++j) {
    CAPTURE(j);
    CHECK(digits(covariance.se[static_cast<Eigen::Index>(j)] * spread, set.sd[j]) >= 4.0);
  }
}

}  // namespace

TEST_CASE("NIST: published sets typed here, from both starts", "[fitting][published]") {
  for (const nist::Set& set : nist::typed_sets()) {
    for (const std::size_t start : {0u, 1u}) check_certified(set, nist::problem(set), start);
  }
}

TEST_CASE("NIST: the same with derivatives from differences", "[fitting][published]") {
  for (const nist::Set& set : nist::typed_sets()) {
    const LeastSquares exact = nist::problem(set);
    const auto residuals = [&exact](const Eigen::VectorXd& x, Eigen::VectorXd& r) {
      return exact.evaluate(x, r, nullptr);
    };
    const LeastSquares problem = with_differences(exact.residuals, exact.lower, exact.upper, residuals);
    for (const std::size_t start : {0u, 1u}) check_certified(set, problem, start);
  }
}

TEST_CASE("NIST: all 27 sets from both starts", "[fitting][published]") {
  NEEDS_SHARED("nist-strd");
  std::size_t runs = 0;
  for (const nist::Model_of& model : nist::models()) {
    const nist::Set set = nist::read(shared_data("nist-strd") / (model.name + ".dat"));
    for (const std::size_t start : {0u, 1u}) {
      check_certified(set, nist::problem(set), start);
      ++runs;
    }
  }
  CHECK(runs == 54);
}

TEST_CASE("NIST: the sets typed here are the published ones", "[fitting]") {
  NEEDS_SHARED("nist-strd");
  for (const nist::Set& set : nist::typed_sets()) {
    const nist::Set file = nist::read(shared_data("nist-strd") / (set.name + ".dat"));
    CAPTURE(set.name);
    CHECK(set.starts == file.starts);
    CHECK(set.certified == file.certified);
    CHECK(set.sd == file.sd);
    CHECK(set.y == file.y);
    CHECK(set.x == file.x);
  }
}
