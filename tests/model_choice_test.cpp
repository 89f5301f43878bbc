#include "fitting/model_choice.hpp"

#include <cmath>

#include "fitting/decay_curves.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

TEST_CASE("model_choice: criteria by hand", "[fitting]") {
  const InformationCriteria c = information_criteria(-20.0, 3, 10);
  CHECK(c.aic == Approx(46.0));
  CHECK(c.aicc == Approx(46.0 + 24.0 / 6.0));
  CHECK(c.bic == Approx(40.0 + 3.0 * std::log(10.0)));
  CHECK(std::isinf(
      information_criteria(-20.0, 3, 4).aicc));  // as many parameters as this many bags cannot carry
}

TEST_CASE("model_choice: the likelihood of normal errors", "[fitting]") {
  // two observations missed by one deviation of 0.5 each: ln L = 2 ln(1/(0.5 sqrt(2 pi))) - 1
  LeastSquaresFit fit;
  fit.x.setZero(1);
  fit.residuals = Eigen::Vector2d(1, -1);
  fit.cost = 1.0;
  const InformationCriteria known = information_criteria(fit, Spread::known, {0.5, 0.5});
  CHECK(known.log_likelihood == Approx(-2.0 * std::log(0.5 * std::sqrt(2.0 * M_PI)) - 1.0));
  CHECK(known.parameters == 1);
  // estimated: the residuals' mean square is 1, so the same likelihood, and one parameter more
  const InformationCriteria estimated = information_criteria(fit, Spread::estimated, {0.5, 0.5});
  CHECK(estimated.log_likelihood == Approx(known.log_likelihood));
  CHECK(estimated.parameters == 2);
}

TEST_CASE("model_choice: weights of evidence", "[fitting]") {
  // Burnham and Anderson's rule: a difference of 2 is a ratio of e
  const std::vector<double> w = akaike_weights({10.0, 12.0, std::numeric_limits<double>::infinity()});
  CHECK(w[0] + w[1] == Approx(1.0));
  CHECK(w[0] / w[1] == Approx(std::exp(1.0)));
  CHECK(w[2] == 0.0);
  CHECK(akaike_weights({INFINITY, INFINITY}) == std::vector<double>{0.0, 0.0});
  CHECK(akaike_weights({}).empty());
}

TEST_CASE("model_choice: what a fit predicts of a group it has not seen", "[fitting]") {
  // the mean of the others as a model: groups 1 (0, 2), 2 (4), 3 (fails)
  const auto mean_of_known = [](const std::vector<double>& observed) {
    return [observed](const std::vector<std::size_t>& known, const std::vector<std::size_t>& wanted) {
      double sum = 0.0;
      for (const std::size_t i : known) sum += observed[i];
      if (wanted.front() == 3) return std::vector<double>{};
      return std::vector<double>(wanted.size(), sum / static_cast<double>(known.size()));
    };
  };
  const std::vector<double> observed{0, 2, 4, 9};
  const GroupPrediction result = leave_one_group_out({1, 1, 2, 3}, observed, mean_of_known(observed));
  CHECK(result.group == std::vector<int>{1, 2, 3});
  CHECK(result.rmse[0] == Approx(std::sqrt((6.5 * 6.5 + 4.5 * 4.5) / 2.0)));  // predicted (4 + 9)/2
  CHECK(result.bias[0] == Approx(5.5));
  CHECK(result.rmse[1] == Approx(1.0 / 3.0));  // predicted 11/3
  CHECK(std::isnan(result.rmse[2]));
  CHECK(result.failed == std::vector<int>{3});
  CHECK(result.predicted == 3);
  const double squares = 6.5 * 6.5 + 4.5 * 4.5 + 1.0 / 9.0;
  CHECK(result.overall_rmse == Approx(std::sqrt(squares / 3.0)));
  CHECK(result.efficiency == Approx(1.0 - squares / 8.0));
  CHECK_THROWS_AS(leave_one_group_out({1, 1}, {1, 2}, mean_of_known({1, 2})), std::invalid_argument);
  CHECK_THROWS_AS(leave_one_group_out({1}, {1, 2}, mean_of_known({1, 2})), std::invalid_argument);
}

TEST_CASE("model_choice: the curve that made the data is chosen", "[fitting][recovery]") {
  // two pools with errors so small (a fixed pattern of 0.002) that one exponential must lose, at both
  // criteria
  DecayData data;
  int sign = 1;
  for (const double t : {0.0, 10.0, 20.0, 40.0, 80.0, 120.0, 200.0, 300.0, 400.0}) {
    data.time.push_back(t);
    data.left.push_back(0.5 * std::exp(-0.04 * t) + 0.5 * std::exp(-0.002 * t) + 0.002 * sign);
    sign = -sign;
  }
  const CurveFit one = fit_curve(Curve::exponential, data), two = fit_curve(Curve::double_exponential, data);
  CHECK(two.criteria.aicc < one.criteria.aicc);
  CHECK(two.criteria.bic < one.criteria.bic);
}
