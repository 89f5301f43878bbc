/// The model's single-substrate limit against the closed form of nitrogen against carbon in decaying litter
/// [Manzoni et al. 2008, Science 321:684-686; formula from memory and derived again below].
#include "tests/trial_jobs.hpp"

using namespace stoverturn;

namespace {

/// With efficiency e, N:C of decomposers r_B and of fresh litter r_0:
///   dC = -(1 - e) k C dt,  dN = -k N dt + e k C r_B dt,  so dN/dC = (N/C - e r_B)/(1 - e)
///   and n(c) = c r_B/r_0 + (1 - r_B/r_0) c^(1/(1 - e)),  n = N/N_0, c = C/C_0
double manzoni_n(double c, double e, double CN_B, double CN_0) {
  const double b = CN_0 / CN_B;
  return b * c + (1.0 - b) * std::pow(c, 1.0 / (1.0 - e));
}

/// Fresh residue of which all tissue is open.
void open_all(CohortTraits<double>& c) {
  c.fresh[holocellulose] = (1.0 - c.lignin_share) * c.fresh[closed];
  c.fresh[lignin] = c.lignin_share * c.fresh[closed];
  c.fresh[closed] = 0.0;
}

/// All tissue open, dead decomposers decay as litter does, N in plenty, nothing washed out; solubles and
/// lignin with the rate and the efficiency of holocellulose, so that they are one substrate whatever their
/// ratios are.
Job<double> single_substrate(double e, double CN_B, double CN_0, double k_dec) {
  Parameters<double> p = corn("stalk");
  p.nitrogen = p.carbon / CN_0;
  p.k_sol = p.k_lig = p.k_rem = p.k_hol = 0.016;
  p.e_sol = p.e_hol = p.e_lig = p.e_rem = e;
  p.p_lig = 0.0;
  p.k_dec = k_dec;
  p.a_rem = 1.0;
  p.a_som = 0.0;
  Trial<double> trial;
  trial.parts.push_back({p, {.length_mm = 1.0}, Placement::buried, 900.0});
  trial.field.CN_mic = CN_B;
  trial.field.soak_mm_d = 0.0;
  trial.start = plenty_of_N;
  trial.days = 240;
  trial.drivers = jar(25.0, trial.days);
  Job<double> job = job_of(trial);
  open_all(job.cohorts[0]);
  return job;
}

struct Comparison {
  double largest = 0.0;  ///< |n - formula|
  double least_c = 1.0;
  double most_n = 0.0;
};

Comparison compare(double e, double CN_B, double CN_0, double k_dec) {
  const Job<double> job = single_substrate(e, CN_B, CN_0, k_dec);
  const auto states = states_of(job);
  Comparison result;
  for (const State<double>& x : states) {
    const double c = bag_carbon(job, x) / bag_carbon(job, states[0]);
    const double n = bag_nitrogen(job, x) / bag_nitrogen(job, states[0]);
    result.largest = std::max(result.largest, std::abs(n - manzoni_n(c, e, CN_B, CN_0)));
    result.least_c = c;
    result.most_n = std::max(result.most_n, n);
  }
  return result;
}

}  // namespace

TEST_CASE("manzoni: the closed form's own values", "[engine][manzoni]") {
  // derived by hand from the closed form, to the digits printed
  SECTION("e 0.3, decomposers 10, litter 60") {
    const double values[][2] = {{.9, 1.0987}, {.8, 1.1648}, {.7, 1.1961}, {.6, 1.1899}, {.5, 1.1425},
                                {.4, 1.0495}, {.3, .9046},  {.2, .6983},  {.1, .4136}};
    for (const auto& [c, n] : values) CHECK(manzoni_n(c, 0.3, 10.0, 60.0) == Approx(n).margin(5.1e-5));
    // greatest where litter has the critical C:N = CN_B/e
    CHECK(manzoni_n(.6658, .3, 10., 60.) == Approx(1.1984).margin(5.1e-5));
    CHECK(60.0 * .6658 / manzoni_n(.6658, .3, 10., 60.) ==
          Approx(10.0 / 0.3).epsilon(2e-4));  // c has four digits
  }
  SECTION("e 0.2, decomposers 8, litter 60") {
    CHECK(manzoni_n(.5, .2, 8., 60.) == Approx(1.0171).margin(5.1e-5));
    CHECK(manzoni_n(.7260, .2, 8., 60.) == Approx(1.0890).margin(5.1e-5));
    CHECK(60.0 * .7260 / manzoni_n(.7260, .2, 8., 60.) == Approx(40.0).epsilon(2e-4));
  }
  SECTION("it solves its differential equation") {
    for (const double c : {0.9, 0.5, 0.2}) {
      // dn/dc = (n/c - e r_B/r_0)/(1 - e), by central differences: error h^2
      const double h = 1e-4, e = 0.3, b = 6.0;
      const double slope = (manzoni_n(c + h, e, 10., 60.) - manzoni_n(c - h, e, 10., 60.)) / (2.0 * h);
      CHECK(slope == Approx((manzoni_n(c, e, 10., 60.) / c - e * b) / (1.0 - e)).epsilon(1e-6));
    }
  }
}

TEST_CASE("manzoni: the model's single-substrate limit is the closed form", "[engine][manzoni]") {
  struct Litter {
    double e, CN_B, CN_0;
  };
  for (const Litter& t : {Litter{0.3, 10.0, 60.0}, Litter{0.2, 8.0, 60.0}, Litter{0.45, 11.0, 25.0}}) {
    INFO("e " << t.e << " CN_B " << t.CN_B << " CN_0 " << t.CN_0);
    // what is left is the C that lives in decomposers, k_hol/k_dec of the litter's at most: 8e-4 at k_dec 20
    const Comparison at_20 = compare(t.e, t.CN_B, t.CN_0, 20.0);
    CHECK(at_20.least_c < 0.15);
    CHECK(at_20.largest < 0.016 / 20.0);
    // and it halves with it
    const Comparison at_40 = compare(t.e, t.CN_B, t.CN_0, 40.0);
    CHECK(at_20.largest / at_40.largest == Approx(2.0).epsilon(0.05));
  }
}

TEST_CASE("manzoni: nitrogen is tied up until the litter reaches the critical C:N", "[engine][manzoni]") {
  CHECK(compare(0.3, 10.0, 60.0, 20.0).most_n == Approx(1.1984).margin(0.016 / 20.0));
  CHECK(compare(0.2, 8.0, 60.0, 20.0).most_n == Approx(1.0890).margin(0.016 / 20.0));
  CHECK(compare(0.3, 10.0, 30.0, 20.0).most_n < 1.0 + 1e-9);  // richer than 33: none, from the first day
}
