/// What chains are worth: measures against their authors' own program, verdicts against chains whose worth is
/// known.
#include <cmath>

#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/effective_draws.hpp"
#include "fitting/sampler.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

struct Golden {
  double seed, memory;
  int draws, sequences;
  double shift, step;
  double rhat, rhat_basic, bulk, tail, mean;
};

/// Printed by tests/reference/effective_draws.R: R 4.2.2, posterior 1.4.0.
const Golden golden[] = {
    {1, 0.7, 200, 4, 0, 0, 1.041164937, 1.04172139, 154.5202844, 279.8219216, 154.0150217},
    {2, 0.9, 101, 4, 0.5, 0.25, 1.5279804, 1.577300874, 8.442295693, 37.01270853, 7.654868787},
    {3, -0.3, 150, 6, 0, 0, 1.000380051, 0.9957055984, 1765.492308, 1035.979452, 1593.643745},
    {4, 0.99, 120, 8, 0, 0, 1.931097211, 1.952380382, 11.81075459, 23.42588722, 11.73116883},
};

/// As in the script.
Eigen::MatrixXd sequences(const Golden& of) {
  double u = of.seed;
  Eigen::MatrixXd x(of.draws, of.sequences);
  for (int j = 0; j < of.sequences; ++j) {
    double last = 0.0;
    for (int i = 0; i < of.draws; ++i) {
      u = std::fmod(1664525.0 * u + 1013904223.0, 4294967296.0);
      last = of.memory * last + u / 4294967296.0 - 0.5;
      x(i, j) = last;
    }
  }
  x.rightCols(1).array() += of.shift;
  if (of.step > 0.0) x = (x / of.step).array().floor();
  return x;
}

/// Walkers that know nothing of each other: autoregressive, standard normal in the long run, begun at
/// `begin`. Their autocorrelation time is (1 + memory) / (1 - memory) steps.
Chains autoregressive(std::uint64_t seed, int walkers, int steps, double memory, double begin,
                      int unknowns = 3) {
  RandomStream stream = random_stream(seed, "chains of a test", 0);
  boost::random::normal_distribution<double> normal;
  Chains chains;
  chains.walkers = walkers;
  chains.steps = steps;
  chains.draws.resize(unknowns, walkers * steps);
  chains.density.setZero(walkers * steps);
  chains.acceptance = 0.3;
  chains.finished = true;
  for (int c = 0; c < chains.draws.cols(); ++c) {
    for (int j = 0; j < unknowns; ++j) {
      const double fresh = normal(stream);
      chains.draws(j, c) =
          c >= walkers ? memory * chains.draws(j, c - walkers) + std::sqrt(1.0 - memory * memory) * fresh
                       : (std::isnan(begin) ? fresh : begin + fresh);
    }
  }
  return chains;
}
const double settled = std::nan("");

Eigen::MatrixXd by_walker(const Chains& chains, int unknown) {
  const Eigen::VectorXd row = chains.draws.row(unknown);
  return row.reshaped(chains.walkers, chains.steps).transpose();
}

}  // namespace

TEST_CASE("chains: R-hat and effective draws are those of the measures' authors", "[fitting][chains]") {
  // the same arithmetic up to the order of sums; ten digits were printed
  for (const Golden& of : golden) {
    INFO("case " << of.seed);
    const Eigen::MatrixXd x = sequences(of);
    CHECK(r_hat(in_halves(x)) == Approx(of.rhat_basic).epsilon(1e-8));
    CHECK(std::max(r_hat(rank_normalised(in_halves(x))), r_hat(rank_normalised(in_halves(folded(x))))) ==
          Approx(of.rhat).epsilon(1e-8));
    CHECK(effective_draws(in_halves(x)) == Approx(of.mean).epsilon(1e-8));
    CHECK(ess_bulk(x) == Approx(of.bulk).epsilon(1e-8));
    CHECK(ess_tail(x) == Approx(of.tail).epsilon(1e-8));
  }
}

TEST_CASE("chains: with four walkers the report is that of four sequences", "[fitting][chains]") {
  const Golden& of = golden[0];
  Chains chains;
  chains.walkers = of.sequences;
  chains.steps = of.draws;
  chains.draws = sequences(of).transpose().reshaped(1, of.draws * of.sequences);
  chains.density.setZero(chains.draws.cols());
  const ChainReport report = judge(chains);
  CHECK(report.rhat[0] == Approx(of.rhat).epsilon(1e-8));
  CHECK(report.ess_bulk[0] == Approx(of.bulk).epsilon(1e-8));
  CHECK(report.ess_tail[0] == Approx(of.tail).epsilon(1e-8));
}

TEST_CASE("chains: effective draws of walkers with a known autocorrelation time", "[fitting][chains]") {
  // A time t from n draws has a relative deviation of about sqrt(2 (2 window + 1) / n) (Sokal 1997); Geyer's
  // window is some 3 times here: 0.08 with t = 9 and 400 steps of 32 walkers. Mean of 20 chains, four
  // deviations.
  constexpr int chains = 20;
  double sum = 0.0;
  for (std::uint64_t seed = 0; seed < chains; ++seed)
    sum += ess_bulk(by_walker(autoregressive(seed, 32, 400, 0.8, settled, 1), 0));
  CHECK(sum / chains == Approx(32.0 * 400.0 / 9.0).epsilon(4.0 * 0.08 / std::sqrt(chains)));
}

TEST_CASE("chains: verdicts accept chains from a normal distribution", "[fitting][chains]") {
  // The worth of these is 1,400 independent draws. By the chi-squared picture of docs/statistics.md a refusal
  // has a chance below 1e-6 by R-hat, and is 8 deviations away by effective draws.
  for (std::uint64_t seed = 0; seed < 10; ++seed) {
    const ChainReport report = judge(autoregressive(seed, 32, 400, 0.8, settled));
    INFO(report.why);
    CHECK(report.converged);
    CHECK(report.rhat.maxCoeff() < 1.02);
  }
  // independent draws; and two walkers, which are plain chains
  CHECK(judge(autoregressive(1, 48, 100, 0.0, settled)).why.empty());
  CHECK(judge(autoregressive(2, 2, 10000, 0.8, settled)).why.empty());
}

TEST_CASE("chains: verdicts refuse chains that began far away and stopped early", "[fitting][chains]") {
  // the memory of the start is 0.99^steps: 0.13 of 5 deviations are left at the end
  for (std::uint64_t seed = 0; seed < 10; ++seed)
    CHECK_FALSE(judge(autoregressive(seed, 64, 200, 0.99, 5.0)).converged);
  // seen by R-hat alone, the walkers being many enough for any number of effective draws
  const Chains many = autoregressive(1, 800, 200, 0.97, 5.0, 1);
  const ChainReport report = judge(many);
  CHECK(report.rhat[0] > 1.05);
  CHECK_FALSE(report.converged);
}

TEST_CASE("chains: verdicts refuse two modes that walkers do not leave", "[fitting][chains]") {
  // 800 walkers: worth more than 400 draws even if none of them moved
  for (const int walkers : {32, 800}) {
    Chains chains = autoregressive(3, walkers, 100, 0.3, settled);
    REQUIRE(judge(chains).converged);
    for (int c = 0; c < chains.draws.cols(); ++c) chains.draws(1, c) += c % walkers % 2 == 0 ? -5.0 : 5.0;
    const ChainReport report = judge(chains);
    INFO(walkers << " walkers: " << report.why);
    CHECK(report.rhat[1] < 1.01);  // as many of each mode in each group: it is the walkers that are not alike
    CHECK(report.ess_bulk[1] < 2.0 * walkers);
    CHECK_FALSE(report.converged);
  }
}

TEST_CASE("chains: verdicts refuse one walker caught", "[fitting][chains]") {
  for (const double far : {0.0, 3.0, -8.0}) {
    Chains chains = autoregressive(4, 48, 400, 0.8, settled);
    REQUIRE(judge(chains).converged);
    for (int s = 0; s < chains.steps; ++s) chains.draws.col(s * 48 + 17).setConstant(far);
    const ChainReport still = judge(chains);
    CHECK_FALSE(still.converged);
    CHECK_THAT(still.why, contains("1 of 48 walkers stood still for more than half of the steps"));
  }
  // one that moves, in a place of its own
  Chains chains = autoregressive(4, 48, 400, 0.8, settled);
  for (int s = 0; s < chains.steps; ++s) chains.draws(2, s * 48 + 17) += 8.0;
  const ChainReport apart = judge(chains);
  INFO(apart.why);
  CHECK_FALSE(apart.converged);
  CHECK(apart.ess_bulk[0] > 1000.0);
  CHECK(std::min(apart.ess_bulk[2], apart.ess_tail[2]) < 480.0);
}

TEST_CASE("chains: reasons of a refusal are told in words", "[fitting][chains]") {
  Chains chains = autoregressive(5, 32, 400, 0.8, settled);
  chains.acceptance = 0.02;
  CHECK(judge(chains).why == "2 % of the moves were taken, not 5 to 95 %");
  chains.acceptance = 0.3;
  chains.draws.row(1).setConstant(2.0);
  CHECK(judge(chains, {"k_a", "k_b", "k_c"}).why == "no walker moves in k_b");
  chains.density[7] = -std::numeric_limits<double>::infinity();
  CHECK(judge(chains).why == "some draws have no density");
  CHECK(judge(autoregressive(5, 32, 19, 0.8, settled)).why ==
        "only 19 steps of each walker were kept, fewer than 20");
  CHECK(judge(autoregressive(5, 32, 60, 0.8, settled, 2), {"k_a", "k_b"}).why ==
        "draws of k_b (and of 1 other) are worth 166 independent ones, fewer than 400: draw about 3 times as "
        "many");
  CHECK(judge(autoregressive(5, 32, 100, 0.98, 5.0, 1)).why ==
        "R-hat of unknown 1 is 1.347, not below 1.050: groups of walkers, early and late, do not agree; "
        "draws of unknown 1 are worth 48 independent ones, fewer than 400: draw about 10 times as many");
  chains.draws.conservativeResize(3, 5);
  CHECK_THROWS_AS(judge(chains), std::invalid_argument);
}
