#include "engine/nitrogen_limitation.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include <boost/random/mersenne_twister.hpp>
#include <boost/random/uniform_real_distribution.hpp>

#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

/// Uniform in the logarithm between two positive numbers.
struct LogUniform {
  boost::random::mt19937 engine{1843};
  double operator()(double low, double high) {
    boost::random::uniform_real_distribution<double> uniform(std::log(low), std::log(high));
    return std::exp(uniform(engine));
  }
};

/// Shortage and surplus must tell need from supply whatever their sizes.
void check_split(double need, double own) {
  INFO("need " << need << " own " << own);
  const Demand<double> d = demand(need, own, 0.0);
  // round-off of three sums of terms no larger than the larger of the two
  CHECK(std::abs((d.shortage - d.surplus) - (need - own)) <= 1e-15 * std::max(need, own));
  CHECK(d.shortage >= 0.0);
  CHECK(d.surplus >= 0.0);
  // the smoothing adds no more than 0.01 of the need (half of 0.02, where need and own are equal), or what
  // the guard 1e-15 is worth
  CHECK(d.shortage <= std::max(0.0, need - own) + 0.0101 * need + 1e-15);
}

/// Consumers of one mineral pool: demands, climate and reach of each.
struct Consumers {
  std::vector<Demand<double>> demands;
  std::vector<double> f, reach;
  double total_need() const {
    double sum = 0.0;
    for (std::size_t j = 0; j < demands.size(); ++j) sum += f[j] * demands[j].need;
    return sum;
  }
  double limiter_of(std::size_t j, double k_upt) const {
    return limiter(demands[j], f[j], k_upt, reach[j], total_need());
  }
};

Consumers random_consumers(LogUniform& random) {
  Consumers c;
  const int count = 1 + static_cast<int>(random(1.0, 8.0));
  for (int j = 0; j < count; ++j) {
    c.demands.push_back(demand(random(1e-12, 1.0), random(1e-12, 1.0), random(1e-12, 0.1)));
    c.f.push_back(random(1e-4, 2.0));
    c.reach.push_back(random(1e-9, 30.0));
  }
  return c;
}

}  // namespace

TEST_CASE("nitrogen: shortage less surplus is need less own", "[engine][nitrogen][property]") {
  LogUniform random;
  for (int i = 0; i < 5000; ++i) check_split(random(1e-12, 1e3), random(1e-12, 1e3));
  for (int i = 0; i < 1000; ++i) {  // nearly balanced
    const double need = random(1e-9, 1.0);
    check_split(need, need * (1.0 + random(1e-12, 1e-3)));
    check_split(need, need * (1.0 - random(1e-12, 1e-3)));
  }
}

TEST_CASE("nitrogen: the split holds at its extremes", "[engine][nitrogen]") {
  for (const double need : {0.0, 1e-300, 1e-18, 1e-15, 1e-14, 1.0, 1e6}) {
    for (const double own : {0.0, 1e-300, 1e-18, 1e-15, 1e-14, 1.0, 1e6}) check_split(need, own);
  }
  const Demand<double> empty = demand(0.0, 0.0, 0.0);
  CHECK(empty.shortage == 0.0);
  CHECK(empty.surplus == 0.0);
}

TEST_CASE("nitrogen: far from balance there is only shortage or only surplus", "[engine][nitrogen]") {
  // sqrt(y^2 + 0.02^2) - y is 0.02^2/(2 y) there: 1e-4 of need at y = 1, halved by the mean
  const Demand<double> poor = demand(1.0, 0.0, 0.0);
  CHECK(poor.shortage == Approx(1.0).epsilon(2e-4));
  CHECK(poor.surplus == Approx(0.0).margin(2e-4));
  const Demand<double> rich = demand(1.0, 3.0, 0.0);
  CHECK(rich.shortage == Approx(0.0).margin(2e-4));
  CHECK(rich.surplus == Approx(2.0).epsilon(2e-4));
  const Demand<double> balanced = demand(1.0, 1.0, 0.0);
  CHECK(balanced.shortage == Approx(0.01).epsilon(1e-9));  // by hand: half of 0.02
  CHECK(balanced.surplus == Approx(0.01).epsilon(1e-9));
}

TEST_CASE("nitrogen: residue ties up N above the critical C:N of its decomposers", "[engine][nitrogen]") {
  // Critical C:N = C:N of decomposers over growth efficiency (Manzoni et al. 2008, from memory): 10/0.3
  // = 33.3. Per g C decayed at C:N 60 that is 0.3/10 - 1/60 = 13.3 mg N (derived here).
  const auto net_mg = [](double efficiency, double CN_mic, double CN) {
    const Demand<double> d = demand(efficiency / CN_mic, 1.0 / CN, 0.0);
    return 1e3 * (d.shortage - d.surplus);
  };
  CHECK(net_mg(0.3, 10.0, 100.0 / 3.0) == Approx(0.0).margin(1e-12));
  CHECK(net_mg(0.3, 10.0, 30.0) < 0.0);
  CHECK(net_mg(0.3, 8.0, 60.0) == Approx(20.8).epsilon(0.0).margin(0.05));
  CHECK(net_mg(0.3, 10.0, 60.0) == Approx(13.3).epsilon(0.0).margin(0.05));
  CHECK(net_mg(0.4, 10.0, 60.0) == Approx(23.3).epsilon(0.0).margin(0.05));
  CHECK(net_mg(0.2, 10.0, 60.0) == Approx(3.3).epsilon(0.0).margin(0.05));
}

TEST_CASE("nitrogen: a pool can be drawn on only as far as it goes", "[engine][nitrogen]") {
  CHECK(usable(0.0) == 0.0);
  double last = 0.0;
  for (double x = 1e-12; x < 100.0; x *= 1.7) {
    CHECK(usable(x) <= x);
    CHECK(usable(x) > last);
    last = usable(x);
  }
  CHECK(usable(1e-4) == Approx(0.5e-4).epsilon(1e-14));  // half where x is the guard
  CHECK(usable(1.0) == Approx(1.0).epsilon(1.1e-4));     // the guard is 1e-4 of 1 g m-2
}

TEST_CASE("nitrogen: reach and the parts of it", "[engine][nitrogen][property]") {
  LogUniform random;
  for (int i = 0; i < 1000; ++i) {
    const double A = random(1e-9, 30.0), O = random(1e-9, 30.0), A_s = random(1e-9, 30.0),
                 r = random(1e-3, 1.0);
    const Reach<double> inside = reach(r, false, A, O, A_s);
    CHECK(inside.total == Approx(r * usable(A + O)).epsilon(1e-14));
    CHECK(inside.surface_share == 0.0);
    CHECK(inside.nitrate_share == Approx(O / (A + O)).epsilon(1e-6).margin(1e-12));  // guards of 1e-30

    const Reach<double> outside = reach(r, true, A, O, A_s);
    CHECK(outside.total == Approx(r * usable(A + O) + usable(A_s)).epsilon(1e-14));
    const double ammonium_share = 1.0 - outside.surface_share - outside.nitrate_share;
    CHECK(outside.surface_share >= 0.0);
    CHECK(outside.nitrate_share >= 0.0);
    CHECK(ammonium_share >= -1e-15);
    // each pool gives no more than it holds when all within reach is taken
    CHECK(outside.surface_share * outside.total <= A_s * (1.0 + 1e-12));
    CHECK(outside.nitrate_share * outside.total <= O * (1.0 + 1e-12));
    CHECK(ammonium_share * outside.total <= A * (1.0 + 1e-12) + 1e-15 * outside.total);
  }
  const Reach<double> nothing = reach(1.0, true, 0.0, 0.0, 0.0);
  CHECK(nothing.total == 0.0);
  CHECK(nothing.surface_share == 0.0);
  CHECK(nothing.nitrate_share == 0.0);
}

TEST_CASE("nitrogen: the limiter lies between nothing and all", "[engine][nitrogen][property]") {
  LogUniform random;
  for (int i = 0; i < 1000; ++i) {
    const Consumers c = random_consumers(random);
    for (std::size_t j = 0; j < c.demands.size(); ++j) {
      const double l = c.limiter_of(j, random(0.05, 20.0));
      CHECK(l >= 0.0);
      CHECK(l <= 1.0);
    }
  }
}

TEST_CASE("nitrogen: the limiter is 1 in plenty and falls as N runs out", "[engine][nitrogen]") {
  const Demand<double> poor = demand(1e-3, 2e-4, 0.0);  // g m-2 d-1
  // U over f M is k_upt reach/M = 2 x 20/8e-4: one part in 5e4 is missing
  CHECK(limiter(poor, 1.0, 2.0, 20.0, 1e-3) > 1.0 - 1e-3);
  double last = 1.0;
  for (double within = 10.0; within > 1e-9; within *= 0.3) {
    const double l = limiter(poor, 1.0, 2.0, within, 1e-3);
    CHECK(l < last);
    last = l;
  }
  CHECK(limiter(poor, 1.0, 2.0, 0.0, 1e-3) == 0.0);
  // and rises to all that their own dead free: half where they free as much as is short
  const Demand<double> feeding = demand(1e-3, 2e-4, poor.shortage);
  CHECK(limiter(feeding, 1.0, 2.0, 0.0, 1e-3) == Approx(0.5).epsilon(1e-11));
}

TEST_CASE("nitrogen: a consumer without shortage is not held back", "[engine][nitrogen]") {
  const double richer = GENERATE(1.5, 2.0, 10.0);
  const double within = GENERATE(0.1, 1.0, 20.0);
  const Demand<double> rich = demand(1e-3, richer * 1e-3, 0.0);
  CHECK(limiter(rich, 1.0, 2.0, within, 1e-3) > 1.0 - 1e-3);
}

TEST_CASE("nitrogen: together consumers never draw more than the capacity of what they reach",
          "[engine][nitrogen][property]") {
  LogUniform random;
  for (int i = 0; i < 2000; ++i) {
    const Consumers c = random_consumers(random);
    const double k_upt = random(0.05, 20.0);
    double drawn = 0.0, largest = 0.0;
    for (std::size_t j = 0; j < c.demands.size(); ++j) {
      const Demand<double>& d = c.demands[j];
      const double f = c.f[j], l = c.limiter_of(j, k_upt);
      const double share = k_upt * f * c.reach[j] * f * d.need / c.total_need();
      const double net = f * (l * d.shortage - d.freed);  // without what its own dead give back
      CHECK(net <= share * (1.0 + 1e-12));
      drawn += std::max(0.0, net);
      largest = std::max(largest, k_upt * f * c.reach[j]);
    }
    CHECK(drawn <= largest * (1.0 + 1e-12));
  }
}

TEST_CASE("nitrogen: neither order nor splitting of consumers matters", "[engine][nitrogen][property]") {
  LogUniform random;
  for (int i = 0; i < 500; ++i) {
    Consumers whole = random_consumers(random);
    const double need = random(1e-6, 1.0), own = need * random(0.01, 3.0), freed = random(1e-12, 0.1);
    whole.demands.front() = demand(need, own, freed);
    Consumers split = whole;
    split.demands.front() = demand(0.3 * need, 0.3 * own, 0.3 * freed);
    split.demands.push_back(demand(0.7 * need, 0.7 * own, 0.7 * freed));
    split.f.push_back(whole.f.front());
    split.reach.push_back(whole.reach.front());
    const double l = whole.limiter_of(0, 2.0);
    // the guards of 1e-15 g m-2 d-1 do not split: they weigh on the smaller part's need and shortage
    const double guard =
        1e-15 / (0.3 * need) * 3.0 + 1e-15 / (0.3 * whole.f.front() * whole.demands.front().shortage);
    CHECK(split.limiter_of(0, 2.0) == Approx(l).epsilon(1e-13).margin(guard));
    CHECK(split.limiter_of(split.demands.size() - 1, 2.0) == Approx(l).epsilon(1e-13).margin(guard));

    std::reverse(whole.demands.begin(), whole.demands.end());
    std::reverse(whole.f.begin(), whole.f.end());
    std::reverse(whole.reach.begin(), whole.reach.end());
    CHECK(whole.limiter_of(whole.demands.size() - 1, 2.0) == Approx(l).epsilon(1e-13));
  }
}

TEST_CASE("nitrogen: what a cohort decays carries its ratios", "[engine][nitrogen]") {
  CohortTraits<double> c{};
  c.q_sol = {0.05, 0.004, 0.003};
  c.q_str = {1.0 / 100.0, 1.0 / 3000.0, 1.0 / 3000.0};
  c.q_mic = {1.0 / 11.0, 1.0 / 100.0, 1.0 / 110.0};
  DecayRates<double> rates{};
  rates.sol = 2.0;
  rates.hol = 3.0;
  rates.lig = 0.4;
  rates.rem = 0.22;
  rates.opened = 50.0;  // opening moves tissue, it decays nothing
  CHECK(decayed_element(c, rates, nitrogen) == Approx(0.1 + 0.03 + 0.004 + 0.02).epsilon(1e-14));
  CHECK(decayed_element(c, rates, phosphorus) ==
        Approx(0.008 + 0.001 + 0.4 / 3000.0 + 0.0022).epsilon(1e-14));
  CHECK(decayed_element(c, rates, sulfur) == Approx(0.006 + 0.001 + 0.4 / 3000.0 + 0.002).epsilon(1e-14));
}

TEST_CASE("nitrogen: the three scalars agree", "[engine][nitrogen]") {
  LogUniform random;
  for (int i = 0; i < 200; ++i) {
    const double need = random(1e-9, 1.0), own = random(1e-9, 1.0), freed = random(1e-9, 0.1);
    const double f = random(1e-3, 2.0), within = random(1e-6, 10.0);
    const Demand<double> d = demand(need, own, freed);
    const double l = limiter(d, f, 2.0, within, 3.0 * f * need);
    const Demand<Dual> dual = demand(Dual(need), Dual(own), Dual(freed));
    CHECK(limiter(dual, Dual(f), Dual(2.0), Dual(within), Dual(3.0 * f * need)).value() ==
          Approx(l).epsilon(1e-14));
    const Demand<Lanes> lanes =
        demand(Lanes(Lanes::Constant(need)), Lanes(Lanes::Constant(own)), Lanes(Lanes::Constant(freed)));
    const Lanes in_lanes = limiter(lanes, Lanes(Lanes::Constant(f)), Lanes(Lanes::Constant(2.0)),
                                   Lanes(Lanes::Constant(within)), Lanes(Lanes::Constant(3.0 * f * need)));
    CHECK((in_lanes - l).abs().maxCoeff() <= 1e-14);
  }
}

TEST_CASE("nitrogen: derivative of the shortage, both sides of balance", "[engine][nitrogen]") {
  const double own = GENERATE(0.0, 0.5, 0.99, 1.0, 1.01, 4.0);
  Dual need(1.0);
  need.derivatives()[0] = 1.0;
  const Demand<Dual> d = demand(need, Dual(own), Dual(0.0));
  const double step = 1e-5;  // curvature changes over 0.02: truncation (1e-5/0.02)^2 = 2.5e-7 at worst
  const double difference =
      (demand(1.0 + step, own, 0.0).shortage - demand(1.0 - step, own, 0.0).shortage) / (2.0 * step);
  CHECK(d.shortage.derivatives()[0] == Approx(difference).epsilon(1e-6).margin(1e-9));
}
