#include "engine/access.hpp"

#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include <boost/random/mersenne_twister.hpp>
#include <boost/random/uniform_real_distribution.hpp>

#include "engine/cohort.hpp"
#include "engine/decay.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

constexpr double round_off = 1e-14;  // a handful of products and sums

Pieces stalk(double length_mm, double spacing_mm = std::numeric_limits<double>::infinity(),
             double opening = 0.0) {
  return {.shape = Shape::stalk, .length_mm = length_mm, .spacing_mm = spacing_mm, .opening = opening};
}

double sigma_of(const Pieces& pieces, const Parameters<double>& p = default_parameters()) {
  return accessible_surface(pieces, p);
}

/// Uniform in the logarithm between two positive numbers.
struct LogUniform {
  boost::random::mt19937 engine{20240611};
  double operator()(double low, double high) {
    boost::random::uniform_real_distribution<double> uniform(std::log(low), std::log(high));
    return std::exp(uniform(engine));
  }
};

}  // namespace

TEST_CASE("access: a stalk's surface is its cut faces, its openings and its rind", "[engine][access]") {
  // by hand: faces 2 pi d^2/4, n openings of 2 o pi d^2/4, rind r pi d L, over the volume pi d^2 L/4
  Parameters<double> p = default_parameters();
  p.diameter_mm = 22.0;
  p.rind = 0.05;
  constexpr double pi = std::numbers::pi, d = 22.0, L = 300.0, s = 40.0, o = 0.6;
  const double n = L / s - 1.0, face = pi * d * d / 4.0;
  const double area = 2.0 * face + n * 2.0 * o * face + 0.05 * pi * d * L;
  CHECK(sigma_of(stalk(L, s, o), p) == Approx(area / (face * L)).epsilon(round_off));
}

TEST_CASE("access: a sheet is reached through both sides, whatever its length", "[engine][access]") {
  Parameters<double> p = default_parameters();
  p.thickness_mm = 0.25;
  p.rind = 0.5;
  const double length_mm = GENERATE(0.5, 20.0, 800.0);
  const Pieces sheet{.shape = Shape::sheet, .length_mm = length_mm};
  CHECK(accessible_surface(sheet, p) == Approx(2.0 * 0.5 / 0.25).epsilon(round_off));
}

TEST_CASE("access: full openings every s mm give what pieces of length s have", "[engine][access]") {
  const double s = GENERATE(2.0, 15.0, 40.0);
  const double pieces = GENERATE(1.0, 2.5, 20.0);
  CHECK(sigma_of(stalk(pieces * s, s, 1.0)) == Approx(sigma_of(stalk(s))).epsilon(round_off));
}

TEST_CASE("access: openings of no size, or farther apart than the piece is long, add nothing",
          "[engine][access]") {
  CHECK(sigma_of(stalk(200.0, 40.0, 0.0)) == Approx(sigma_of(stalk(200.0))).epsilon(round_off));
  CHECK(sigma_of(stalk(200.0, 200.0, 1.0)) == Approx(sigma_of(stalk(200.0))).epsilon(round_off));
  CHECK(sigma_of(stalk(200.0, 900.0, 1.0)) == Approx(sigma_of(stalk(200.0))).epsilon(round_off));
}

TEST_CASE("access: more cuts, more entries, wider openings and a leakier rind never lower the surface",
          "[engine][access][property]") {
  LogUniform random;
  for (int i = 0; i < 1000; ++i) {
    Parameters<double> p = default_parameters();
    p.rind = random(1e-3, 1.0);
    p.diameter_mm = random(0.5, 60.0);
    const double L = random(0.2, 2000.0), s = random(1.0, 3000.0), o = random(1e-3, 1.0);
    const double less = random(0.01, 1.0);
    INFO("L " << L << " s " << s << " o " << o << " times " << less);
    const double sigma = sigma_of(stalk(L, s, o), p);
    const double slack = round_off * sigma;
    CHECK(sigma_of(stalk(L * less, s, o), p) >= sigma - slack);
    CHECK(sigma_of(stalk(L, s * less, o), p) >= sigma - slack);
    CHECK(sigma_of(stalk(L, s, o * less), p) <= sigma + slack);
    p.rind *= less;
    CHECK(sigma_of(stalk(L, s, o), p) <= sigma);
  }
}

TEST_CASE("access: opening rate runs from v sigma to 1/tau", "[engine][access]") {
  const Parameters<double> p = default_parameters();
  CHECK(opening_rate(0.0, p) == 0.0);
  // far from both limits the other term is 1e-9 of the whole
  const double little = 1e-9 / (p.tau_d * p.v_mm_d), much = 1e9 / (p.tau_d * p.v_mm_d);
  CHECK(opening_rate(little, p) == Approx(p.v_mm_d * little).epsilon(2e-9));
  CHECK(opening_rate(much, p) == Approx(1.0 / p.tau_d).epsilon(2e-9));
  // half of the limit where v sigma tau = 1 (derived here)
  CHECK(opening_rate(1.0 / (p.tau_d * p.v_mm_d), p) == Approx(0.5 / p.tau_d).epsilon(round_off));
}

TEST_CASE("access: opening rate rises with the surface and stays within its limit",
          "[engine][access][property]") {
  const Parameters<double> p = default_parameters();
  double last_rate = 0.0;
  for (double sigma = 1e-4; sigma < 1e3; sigma *= 1.3) {
    INFO("sigma " << sigma);
    const double rate = opening_rate(sigma, p);
    CHECK(rate > last_rate);
    CHECK(rate < 1.0 / p.tau_d);
    last_rate = rate;
  }
}

TEST_CASE("access: derivatives agree with central differences", "[engine][access]") {
  Parameters<double> p = default_parameters();
  auto dual = convert<Dual>(p);
  dual.v_mm_d.derivatives()[0] = 1.0;
  dual.rind.derivatives()[1] = 1.0;
  const Pieces pieces = stalk(150.0, 40.0, 0.3);
  const Dual rate = opening_rate(accessible_surface(pieces, dual), dual);

  const auto difference = [&](double Parameters<double>::*member, auto&& of) {
    const double step = 1e-5 * p.*member;  // truncation and round-off both near 1e-10 of the value
    Parameters<double> up = p, down = p;
    up.*member += step;
    down.*member -= step;
    return (of(up) - of(down)) / (2.0 * step);
  };
  const auto rate_of = [&](const Parameters<double>& q) {
    return opening_rate(accessible_surface(pieces, q), q);
  };
  CHECK(rate.value() == rate_of(p));
  CHECK(rate.derivatives()[0] == Approx(difference(&Parameters<double>::v_mm_d, rate_of)).epsilon(1e-8));
  CHECK(rate.derivatives()[1] == Approx(difference(&Parameters<double>::rind, rate_of)).epsilon(1e-8));
}

TEST_CASE("access: fresh tissue is closed, and opens as its pieces let it", "[engine][access][cohort]") {
  Parameters<double> p = default_parameters();
  p.tissue = 0.4;
  const Pieces pieces = stalk(60.0);
  const auto traits = cohort_traits<double>({}, pieces, p, p);
  CHECK(traits.opening == opening_rate(accessible_surface(pieces, p), p));
  CHECK(traits.k_hol == Approx(0.4 * p.k_hol).epsilon(round_off));
  CHECK(traits.k_lig == Approx(0.4 * p.k_lig).epsilon(round_off));
  CHECK(traits.k_sol == p.k_sol);
  CHECK(traits.fresh[holocellulose] == 0.0);
  CHECK(traits.fresh[lignin] == 0.0);
  CHECK(carbon_in(traits.fresh.data()) == Approx(p.carbon).epsilon(round_off));
}

TEST_CASE("decay: tissue that nothing has reached does not decay", "[engine][decay]") {
  const auto traits = cohort_traits<double>({}, stalk(800.0), default_parameters(), default_parameters());
  std::array<double, pools> x{};
  x[closed] = 200.0;
  const DecayRates<double> rates = decay_rates(traits, x.data());
  CHECK(rates.opened > 0.0);
  CHECK(rates.growth == 0.0);
  CHECK(rates.sol + rates.hol + rates.lig + rates.rem + rates.death == 0.0);
}

TEST_CASE("decay: lignin slows holocellulose by exp(-p LCI)", "[engine][decay]") {
  const Parameters<double> p = default_parameters();
  const auto traits = cohort_traits<double>({}, stalk(10.0), p, p);
  std::array<double, pools> x{};
  x[holocellulose] = 75.0;
  x[lignin] = 25.0;  // a quarter of the open tissue
  CHECK(decay_rates(traits, x.data()).hol ==
        Approx(p.k_hol * std::exp(-0.25 * p.p_lig) * 75.0).epsilon(1e-13));
  x[lignin] = 0.0;
  CHECK(decay_rates(traits, x.data()).hol == Approx(p.k_hol * 75.0).epsilon(1e-13));
}

TEST_CASE("decay: carbon that leaves a pool arrives in another, in the soil or in the air",
          "[engine][decay][property]") {
  LogUniform random;
  const Parameters<double> p = default_parameters();
  const auto traits = cohort_traits<double>({}, stalk(30.0), p, p);
  for (int i = 0; i < 200; ++i) {
    std::array<double, pools> x{}, dxdt{};
    std::array<double, field_pools> field{};
    for (double& pool : x) pool = random(1e-9, 1e3);
    const double f = random(1e-3, 2.0), l = random(1e-3, 1.0);
    const DecayRates<double> rates = decay_rates(traits, x.data());
    add_decay(traits, rates, f, l, dxdt.data(), field.data());
    const double turned_over = rates.sol + rates.hol + rates.lig + rates.rem + rates.opened + rates.death;
    CHECK(std::abs(carbon_in(dxdt.data()) + field[som_C] + field[respired_C]) <= 1e-14 * f * turned_over);
    CHECK(field[respired_C] > 0.0);
    CHECK(dxdt[potassium] == 0.0);
    CHECK(dxdt[phosphate] == 0.0);
  }
}

TEST_CASE("decay: without nitrogen nothing decays, yet decomposers die", "[engine][decay]") {
  const Parameters<double> p = default_parameters();
  const auto traits = cohort_traits<double>({}, stalk(30.0), p, p);
  std::array<double, pools> x{10.0, 100.0, 50.0, 10.0, 5.0, 2.0, 1.0, 0.1}, dxdt{};
  std::array<double, field_pools> field{};
  add_decay(traits, decay_rates(traits, x.data()), 1.0, 0.0, dxdt.data(), field.data());
  for (const Pool pool : {soluble, closed, holocellulose, lignin}) CHECK(dxdt[pool] == 0.0);
  CHECK(dxdt[decomposers] == Approx(-p.k_dec * 5.0).epsilon(round_off));
  CHECK(dxdt[remains] == Approx(p.a_rem * p.k_dec * 5.0).epsilon(round_off));
}
