#include "fitting/decay_curves.hpp"

#include <cmath>
#include <map>

#include <boost/random/normal_distribution.hpp>
#include "engine/random_stream.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

const Curve all_curves[] = {Curve::exponential, Curve::double_exponential, Curve::asymptotic, Curve::weibull};

Eigen::VectorXd typical(Curve curve) {
  switch (curve) {
    case Curve::exponential:
      return Eigen::VectorXd::Constant(1, 0.004);
    case Curve::double_exponential:
      return Eigen::Vector3d(0.35, 0.03, 0.002);
    case Curve::asymptotic:
      return Eigen::Vector2d(0.2, 0.006);
    case Curve::weibull:
      return Eigen::Vector2d(0.004, 0.8);
  }
  return {};
}

/// Published series, percent left at days, as read from the papers' figures by Sarquis et al. 2022,
/// doi:10.5194/essd-14-3471-2022. The same stand in tests/reference/decay_curves.R.
const std::map<std::string, DecayData> published = {
    // maize, buried, doi:10.1080/03650340.2019.1579903
    {"inner_mongolia",
     {{0, 30, 60, 90, 120, 150, 180, 360, 540},
      {100, 68.664, 50.699, 47.241, 43.427, 39.017, 37.224, 35.027, 32.710},
      {}}},
    // maize, grassland, rainy season, doi:10.1016/j.apsoil.2016.05.007
    {"cerrado", {{0, 14, 42, 70, 105, 140}, {100, 81.671, 46.868, 37.819, 27.676, 20.922}, {}}},
    // wheat straw, buried, doi:10.1007/s40093-014-0069-8
    {"omdurman", {{0, 14, 28, 42, 56, 70, 84}, {100, 100, 96.03, 88.75, 79.82, 70.88, 59.96}, {}}},
};

struct Golden {
  std::string series;
  Curve curve;
  std::vector<double> estimates, se;
  double log_likelihood, aic, bic;
};

/// Printed by tests/reference/decay_curves.R with R 4.2.2 where nls, nlsLM and nls.lm (minpack.lm 1.2-3) and
/// gnls (nlme 3.1-162) agree to 2e-5; the Weibull curve by nls and nlsLM alone.
const std::vector<Golden> from_r = {
    {"inner_mongolia",
     Curve::exponential,
     {0.0033086899, 76.54621},
     {0.0011417451, 9.664642},
     -35.69783510,
     77.39567020,
     77.98734393},
    {"inner_mongolia",
     Curve::asymptotic,
     {0.35636473, 0.020912265, 99.308267},
     {0.014035394, 0.001795382, 2.1782276},
     -18.25834874,
     44.51669748,
     45.30559579},
    {"inner_mongolia",
     Curve::double_exponential,
     {0.59131296, 0.02517568, 0.00042450398, 100.00003},
     {0.021494057, 0.002384266, 0.000156527, 1.6077622},
     -14.52466056,
     39.04932111,
     40.03544400},
    {"inner_mongolia",
     Curve::weibull,
     {0.0040102152, 0.32042477, 100.5823},
     {0.00094216582, 0.060558943, 4.7914881},
     -25.05943183,
     58.11886366,
     58.90776197},
    {"cerrado",
     Curve::exponential,
     {0.013271922, 97.248218},
     {0.0014060641, 4.6685666},
     -17.79265679,
     41.58531359,
     40.96059199},
    {"cerrado",
     Curve::double_exponential,
     {0.69805341, 0.025868627, 0.0031095763, 101.25376},
     {0.6126445, 0.020472703, 0.012857433, 3.7908453},
     -13.39457472,
     36.78914945,
     35.74794680},
    {"omdurman",
     Curve::weibull,
     {0.0086677735, 2.0662058, 100.70359},
     {0.00015279479, 0.084774189, 0.50351231},
     -5.04607379,
     18.09214758,
     17.87578817},
};

/// The same with standard deviations 2, 2.5, 3 ... from date to date.
const std::vector<Golden> weighted_from_r = {
    {"inner_mongolia",
     Curve::exponential,
     {0.0071277718, 94.26916},
     {0.001547187, 6.4498253},
     -35.08752203,
     76.17504406,
     76.76671779},
    {"inner_mongolia",
     Curve::double_exponential,
     {0.587471, 0.025601173, 0.00044849356, 100.06227},
     {0.026265087, 0.0022851448, 0.00022755201, 0.93315265},
     -15.26922090,
     40.53844180,
     41.52456468},
    {"cerrado",
     Curve::exponential,
     {0.014308209, 99.135592},
     {0.0014206784, 3.0132349},
     -17.29070306,
     40.58140612,
     39.95668453},
};

/// Bags of a known curve with normal errors of 0.02 at the usual dates, four to a date.
DecayData invented(Curve curve, std::uint64_t seed) {
  DecayData data;
  RandomStream stream = random_stream(seed, "invented bags", 0);
  boost::random::normal_distribution<double> error(0.0, 0.02);
  for (const double t : {0.0, 14.0, 35.0, 80.0, 150.0, 280.0, 420.0}) {
    for (int bag = 0; bag < 4; ++bag) {
      data.time.push_back(t);
      data.left.push_back(share_left(curve, typical(curve), t) + error(stream));
    }
  }
  return data;
}

void check_against(const Golden& golden, const DecayData& data) {
  const CurveFit fit = fit_curve(golden.curve, data);
  CAPTURE(golden.series, static_cast<int>(golden.curve), fit.fit.x.transpose(),
          fit.covariance.se.transpose());
  CHECK(fit.fit.stop == Stop::converged);
  REQUIRE(fit.covariance.ok);
  for (std::size_t j = 0; j < golden.estimates.size(); ++j) {
    // 4 digits asked; what R is told keeps 6
    CHECK(fit.fit.x[static_cast<Eigen::Index>(j)] == Approx(golden.estimates[j]).epsilon(2e-5));
    CHECK(fit.covariance.se[static_cast<Eigen::Index>(j)] == Approx(golden.se[j]).epsilon(5e-5));
  }
  CHECK(fit.criteria.log_likelihood == Approx(golden.log_likelihood).epsilon(1e-7));
  CHECK(fit.criteria.aic == Approx(golden.aic).epsilon(1e-7));
  CHECK(fit.criteria.bic == Approx(golden.bic).epsilon(1e-7));
}

}  // namespace

TEST_CASE("decay_curves: estimates, standard errors and criteria are those of R", "[fitting][published]") {
  for (const Golden& golden : from_r) check_against(golden, published.at(golden.series));
  for (const Golden& golden : weighted_from_r) {
    DecayData data = published.at(golden.series);
    for (std::size_t i = 0; i < data.time.size(); ++i) data.sd.push_back(2.0 + 0.5 * static_cast<double>(i));
    check_against(golden, data);
  }
}

TEST_CASE("decay_curves: derivatives agree with differences, and each curve starts at 1", "[fitting]") {
  for (const Curve curve : all_curves) {
    const Eigen::VectorXd p = typical(curve);
    CHECK(share_left(curve, p, 0.0) == 1.0);
    for (const double t : {0.0, 1.0, 60.0, 500.0}) {
      CAPTURE(static_cast<int>(curve), t);
      Eigen::VectorXd slope(p.size());
      share_left(curve, p, t, &slope);
      for (Eigen::Index j = 0; j < p.size(); ++j) {
        const double h = 1e-6 * p[j];
        Eigen::VectorXd up = p, down = p;
        up[j] += h;
        down[j] -= h;
        const double difference = (share_left(curve, up, t) - share_left(curve, down, t)) / (2.0 * h);
        CHECK(slope[j] == Approx(difference).epsilon(1e-6).margin(1e-8));  // h^2 and round-off over h
      }
      if (t > 0.0) {
        const double h = 1e-5 * t;
        CHECK(share_slope(curve, p, t) ==
              Approx((share_left(curve, p, t + h) - share_left(curve, p, t - h)) / (2.0 * h)).epsilon(1e-6));
      }
    }
  }
}

TEST_CASE("decay_curves: half-life and time to 95 % lost", "[fitting]") {
  // by hand: ln 2/k and ln 20/k, ln 20 = 2.995732
  const Eigen::VectorXd k = Eigen::VectorXd::Constant(1, 0.01);
  CHECK(time_to_share(Curve::exponential, k, 0.5) == Approx(69.31471806).epsilon(1e-9));
  CHECK(time_to_share(Curve::exponential, k, 0.05) == Approx(299.5732274).epsilon(1e-9));
  // half of the rest above 0.2: ln(0.8/0.3)/k
  CHECK(time_to_share(Curve::asymptotic, Eigen::Vector2d(0.2, 0.01), 0.5) ==
        Approx(98.08292530).epsilon(1e-9));
  CHECK(std::isinf(time_to_share(Curve::asymptotic, Eigen::Vector2d(0.2, 0.01), 0.05)));
  CHECK(std::isinf(time_to_share(Curve::double_exponential, Eigen::Vector3d(0.8, 0.01, 0.0), 0.05)));
  for (const Curve curve : all_curves) {
    for (const double share : {0.9, 0.5, 0.25}) {
      const double t = time_to_share(curve, typical(curve), share);
      CHECK(share_left(curve, typical(curve), t) == Approx(share).epsilon(1e-12));
    }
  }
  // exponential: se(ln 2/k) = ln 2/k^2 se(k), exactly the delta method
  const CurveFit fit = fit_curve(Curve::exponential, published.at("cerrado"));
  const double rate = fit.fit.x[0];
  CHECK(fit.half_life.value == Approx(std::log(2.0) / rate).epsilon(1e-12));
  CHECK(fit.half_life.se == Approx(std::log(2.0) / (rate * rate) * fit.covariance.se[0]).epsilon(1e-10));
}

TEST_CASE("decay_curves: without noise the truth comes back", "[fitting][recovery]") {
  for (const Curve curve : all_curves) {
    DecayData data;
    for (const double t : {0.0, 10.0, 30.0, 60.0, 120.0, 240.0, 480.0}) {
      data.time.push_back(t);
      data.left.push_back(87.0 * share_left(curve, typical(curve), t));
    }
    const CurveFit fit = fit_curve(curve, data);
    CAPTURE(static_cast<int>(curve), fit.fit.x.transpose());
    const Eigen::Index own = typical(curve).size();
    CHECK((fit.fit.x.head(own) - typical(curve)).cwiseQuotient(typical(curve)).cwiseAbs().maxCoeff() < 1e-6);
    CHECK(fit.fit.x[own] == Approx(87.0).epsilon(1e-7));
  }
}

TEST_CASE("decay_curves: 90 % intervals hold the truth as often as they say", "[fitting][recovery]") {
  // 300 trials of an exponential: binomial(300, 0.9) has a standard deviation of 1.7 %; three of them allowed
  int held = 0, held_half_life = 0;
  const double k = typical(Curve::exponential)[0];
  for (std::uint64_t seed = 0; seed < 300; ++seed) {
    const CurveFit fit = fit_curve(Curve::exponential, invented(Curve::exponential, seed));
    const Interval rate = t_interval(fit.fit.x[0], fit.covariance.se[0], fit.covariance.freedom, 0.9);
    held += rate.lower <= k && k <= rate.upper;
    const Interval time = log_t_interval(fit.half_life.value, fit.half_life.se, fit.covariance.freedom, 0.9);
    held_half_life += time.lower <= std::log(2.0) / k && std::log(2.0) / k <= time.upper;
  }
  CHECK(held >= 254);
  CHECK(held <= 286);
  CHECK(held_half_life >= 254);
  CHECK(held_half_life <= 286);
}

TEST_CASE("decay_curves: richer curves never fit worse than what they contain", "[fitting][property]") {
  for (std::uint64_t seed = 0; seed < 10; ++seed) {
    for (const Curve truth : all_curves) {
      const DecayData data = invented(truth, seed);
      const double simple = fit_curve(Curve::exponential, data).fit.cost * (1.0 + 1e-9);
      const double level = fit_curve(Curve::asymptotic, data).fit.cost;
      CHECK(fit_curve(Curve::weibull, data).fit.cost <= simple);
      CHECK(level <= simple);
      CHECK(fit_curve(Curve::double_exponential, data).fit.cost <= level * (1.0 + 1e-9));
    }
  }
}

TEST_CASE("decay_curves: a second pool that is not there is not given a standard error", "[fitting]") {
  DecayData data;
  for (const double t : {0.0, 20.0, 50.0, 90.0, 160.0}) {
    data.time.push_back(t);
    data.left.push_back(std::exp(-0.01 * t));
  }
  const CurveFit fit = fit_curve(Curve::double_exponential, data);
  CHECK(fit.fit.cost < 1e-18);
  bool on_bound = false;
  for (const Bound bound : fit.fit.on_bound) on_bound = on_bound || bound != Bound::none;
  CHECK((!fit.covariance.ok || on_bound));
}

TEST_CASE("decay_curves: the unit of time and mass is the user's", "[fitting]") {
  DecayData days = published.at("cerrado"), years = days;
  for (double& t : years.time) t /= 365.25;
  for (double& m : years.left) m /= 100.0;
  for (const Curve curve : all_curves) {
    const CurveFit a = fit_curve(curve, days), b = fit_curve(curve, years);
    CHECK(b.half_life.value * 365.25 == Approx(a.half_life.value).epsilon(1e-6));
    CHECK(b.covariance.ok == a.covariance.ok);
  }
}

TEST_CASE("decay_curves: weights, known deviations and a start that is not estimated", "[fitting]") {
  DecayData data = published.at("cerrado");
  data.sd.assign(data.time.size(), 2.0);
  CurveOptions known;
  known.spread = Spread::known;
  const CurveFit relative = fit_curve(Curve::exponential, data);
  const CurveFit absolute = fit_curve(Curve::exponential, data, known);
  CHECK(relative.fit.x[0] == Approx(absolute.fit.x[0]).epsilon(1e-9));
  // the estimated deviation is s times as large as the one given
  const double s = std::sqrt(2.0 * relative.fit.cost / relative.covariance.freedom);
  CHECK(relative.covariance.se[0] == Approx(s * absolute.covariance.se[0]).epsilon(1e-9));
  CHECK(absolute.covariance.freedom == 0);
  CHECK(absolute.criteria.parameters == 2);
  CHECK(relative.criteria.parameters == 3);

  CurveOptions fixed;
  fixed.estimate_start = false;
  fixed.start = 100.0;
  const CurveFit held = fit_curve(Curve::exponential, data, fixed);
  CHECK(held.fit.x.size() == 1);
  CHECK(predicted(held, fixed, 0.0) == 100.0);
}

TEST_CASE("decay_curves: wrong data are refused", "[fitting]") {
  CHECK_THROWS_AS(fit_curve(Curve::exponential, {{0, 1}, {1.0}, {}}), std::invalid_argument);
  CHECK_THROWS_AS(fit_curve(Curve::exponential, {{-1, 1}, {1, 0.5}, {}}), std::invalid_argument);
  CHECK_THROWS_AS(fit_curve(Curve::exponential, {{5, 5}, {1, 0.5}, {}}), std::invalid_argument);
  CHECK_THROWS_AS(fit_curve(Curve::exponential, {{0, 5}, {1, 0.5}, {1, 0}}), std::invalid_argument);
  CurveOptions known;
  known.spread = Spread::known;
  CHECK_THROWS_AS(fit_curve(Curve::exponential, {{0, 5}, {1, 0.5}, {}}, known), std::invalid_argument);
}
