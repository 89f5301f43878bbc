/// The machinery of the sampler: bits, bounds, stops, what it offers. What it draws:
/// sampler_posteriors_test.cpp.
#include "fitting/sampler.hpp"

#include <cmath>
#include <limits>

#include <Eigen/Geometry>

#include "fitting/moves.hpp"
#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

/// Three correlated unknowns with a kink, so that no two of them are alike.
double density_of(const Eigen::VectorXd& x) {
  return -0.5 * x.squaredNorm() - 2.0 * std::pow(x[0] - x[1], 2) - std::abs(x[2]);
}

void in_order(const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
  for (Eigen::Index i = 0; i < points.cols(); ++i) values[i] = density_of(points.col(i));
}

void backwards(const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
  for (Eigen::Index i = points.cols(); i-- > 0;) values[i] = density_of(points.col(i));
}

Eigen::VectorXd three(double x) { return Eigen::VectorXd::Constant(3, x); }

Chains draw(const LogDensities& densities, const SamplerOptions& options) {
  return sample(densities, three(0.5), three(0.3), three(-4.0), three(9.0), options);
}

SamplerOptions few() {
  SamplerOptions options;
  options.draws = 6400;
  options.seed = 11;
  return options;
}

bool same(const Chains& a, const Chains& b) {
  return a.draws == b.draws && a.density == b.density && a.steps == b.steps && a.acceptance == b.acceptance &&
         a.evaluations == b.evaluations && a.finished == b.finished;
}

}  // namespace

TEST_CASE("sampler: the seed alone decides the bits", "[fitting][sampler]") {
  const Chains one = draw(in_order, few());
  CHECK(one.finished);
  CHECK(one.walkers == 32);
  CHECK(one.steps == 200);
  CHECK(one.evaluations == 32 * (1 + 67 + 200));  // starts, a quarter of all steps as burn-in, draws
  CHECK(same(one, draw(backwards, few())));
  SamplerOptions other = few();
  other.seed = 12;
  CHECK(one.draws != draw(in_order, other).draws);
  for (Eigen::Index i = 0; i < one.draws.cols(); ++i)
    CHECK(one.density[i] == density_of(one.draws.col(i)));  // no draw without its density
}

TEST_CASE("sampler: a half is evaluated at once, and halves fill lanes", "[fitting][sampler]") {
  for (const auto& [unknowns, walkers] : {std::pair{1, 32}, {8, 32}, {9, 48}, {20, 80}}) {
    SamplerOptions options;
    options.draws = 20 * walkers;
    std::vector<Eigen::Index> sizes;
    const auto wide = [n = unknowns](double x) { return Eigen::VectorXd::Constant(n, x); };
    const Chains chains = sample(
        [&](const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
          sizes.push_back(points.cols());
          values = -0.5 * points.colwise().squaredNorm().transpose();
        },
        wide(0.0), wide(1.0), wide(-1e3), wide(1e3), options);
    CHECK(chains.walkers == walkers);
    CHECK(sizes.front() == walkers);
    CHECK(std::all_of(sizes.begin() + 1, sizes.end(), [&](Eigen::Index n) { return 2 * n == walkers; }));
    CHECK(walkers % 16 == 0);
  }
}

TEST_CASE("sampler: resumed at any checkpoint it ends at the same bits", "[fitting][sampler]") {
  SamplerOptions options = few();
  options.most_kept = 2000;
  std::vector<SamplerState> states;
  options.checkpoint = [&](const SamplerState& state) { states.push_back(state); };
  const Chains whole = draw(in_order, options);
  CHECK(states.size() == 5);  // 8,544 moves, a checkpoint every 63 steps of 32, and the end
  options.checkpoint = nullptr;
  for (const SamplerState& state : states) {
    INFO("step " << state.step);
    options.resume = &state;
    CHECK(same(draw(in_order, options), whole));
  }
  options.draws = 7000;
  CHECK_THROWS_WITH(draw(in_order, options),
                    "the sampler to resume had other unknowns, walkers or numbers of draws");
}

TEST_CASE("sampler: a stop keeps what there is, and can be resumed", "[fitting][sampler]") {
  const Chains whole = draw(in_order, few());
  for (const double until : {0.1, 0.6}) {  // within burn-in and after
    SamplerOptions options = few();
    double last = 0.0;
    SamplerState state;
    options.progress = [&](const SamplerProgress& here) {
      CHECK(here.fraction > last);
      last = here.fraction;
      return here.fraction < until;
    };
    options.checkpoint = [&](const SamplerState& now) { state = now; };
    const Chains part = draw(in_order, options);
    CHECK_FALSE(part.finished);
    CHECK(last == Approx(until).margin(1.0 / 267.0));  // a step of 267
    CHECK(part.steps == std::max(0, static_cast<int>(std::lround(last * 267.0)) - 67));
    CHECK(part.draws == whole.draws.leftCols(part.draws.cols()));
    CHECK_FALSE(judge(part).converged);
    options = few();
    options.resume = &state;
    CHECK(same(draw(in_order, options), whole));
  }
}

TEST_CASE("sampler: thinned draws are every so many of all, evenly", "[fitting][sampler]") {
  SamplerOptions options = few();
  const Chains all = draw(in_order, options);
  options.most_kept = 1000;  // 31 steps of 32 walkers: every seventh of 200
  const Chains thin = draw(in_order, options);
  CHECK(thin.steps == 28);
  CHECK(thin.evaluations == all.evaluations);
  for (int s = 0; s < thin.steps; ++s)
    CHECK(thin.draws.middleCols(32 * s, 32) == all.draws.middleCols(32 * (7 * s + 6), 32));
}

TEST_CASE("sampler: nothing outside the bounds is evaluated", "[fitting][sampler]") {
  const Eigen::VectorXd lower = three(-0.2), upper = three(0.3);
  std::int64_t evaluated = 0;
  const Chains chains = sample(
      [&](const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
        CHECK((points.colwise() - lower).minCoeff() >= 0.0);
        CHECK((upper - points.rowwise().maxCoeff()).minCoeff() >= 0.0);
        evaluated += points.cols();
        in_order(points, values);
      },
      upper, three(5.0), lower, upper, few());  // begins at a corner, with a spread wider than the bounds
  CHECK(evaluated < chains.evaluations);
  CHECK(chains.draws.row(0).minCoeff() >= -0.2);
  CHECK(chains.draws.row(0).maxCoeff() <= 0.3);
  CHECK(chains.draws.row(0).maxCoeff() - chains.draws.row(0).minCoeff() > 0.45);  // and gets everywhere
}

TEST_CASE("sampler: walkers begin where the density is defined", "[fitting][sampler]") {
  const auto half_line = [](double from) {
    return [from](const Eigen::MatrixXd& points, Eigen::VectorXd& values) {
      in_order(points, values);
      for (Eigen::Index i = 0; i < points.cols(); ++i)
        if (points(0, i) < from)
          values[i] = i % 2 == 0 ? std::nan("") : -std::numeric_limits<double>::infinity();
    };
  };
  // the start is 0.5 +- 0.3: 69 % of walkers are above 0.35, 5 % above 1.0
  const Chains chains = draw(half_line(0.35), few());
  CHECK(chains.density.allFinite());
  CHECK(chains.draws.row(0).minCoeff() >= 0.35);
  CHECK_THROWS_WITH(draw(half_line(1.0), few()),
                    "fewer than half of the walkers can be evaluated at their start");
}

TEST_CASE("sampler: what does not fit together is refused", "[fitting][sampler]") {
  const auto fails = [](const Eigen::MatrixXd& start, const Eigen::VectorXd& spread,
                        const Eigen::VectorXd& lower, const SamplerOptions& options) {
    CHECK_THROWS_AS(sample(in_order, start, spread, lower, three(9.0), options), std::invalid_argument);
  };
  const Eigen::VectorXd spread = three(0.3), lower = three(-4.0);
  fails(three(0.0), Eigen::Vector2d(1.0, 1.0), lower, few());
  fails(three(0.0), three(0.0), lower, few());
  fails(three(0.0), spread, three(9.0), few());
  fails(three(std::nan("")), spread, lower, few());
  fails(Eigen::MatrixXd::Zero(3, 7), spread, lower, few());
  for (const int walkers : {6, 33}) {
    SamplerOptions options = few();
    options.walkers = walkers;
    fails(three(0.0), spread, lower, options);
  }
  SamplerOptions options = few();
  options.burn_in = 1.0;
  fails(three(0.0), spread, lower, options);
}

TEST_CASE("sampler: offers are along differences, and snooker moves carry their ratio",
          "[fitting][sampler]") {
  // three others alone, so that each move can be told by what it is made of
  Eigen::MatrixXd others(3, 3), moving = Eigen::MatrixXd::Zero(3, 20000);
  others << 1.0, 2.0, -1.5, 0.3, -1.0, 2.0, 0.7, 1.1, -0.4;
  RandomStream stream = random_stream(5, "offers of a test", 0);
  const Offers offers = offers_to(moving, others, stream);
  int along = 0, whole = 0, snooker = 0;
  for (Eigen::Index i = 0; i < moving.cols(); ++i) {
    const Eigen::Vector3d step = offers.points.col(i);  // walkers stand at the origin
    for (int a = 0; a < 3; ++a) {
      const Eigen::Vector3d z = others.col(a);
      const Eigen::Vector3d difference = others.col((a + 1) % 3) - others.col((a + 2) % 3);
      if (step.cross(z).norm() < 1e-12 * z.norm()) {
        ++snooker;
        // |x' - z| / |x - z| to the power of unknowns - 1 = 2
        CHECK(offers.log_ratio[i] == Approx(2.0 * std::log((step - z).norm() / z.norm())).margin(1e-12));
        const double times = std::abs(step.dot(z.normalized()) / difference.dot(z.normalized()));
        CHECK(times >= 1.2);
        CHECK(times <= 2.2);
      }
      if (step.cross(difference).norm() > 0.01 * step.norm() * difference.norm()) continue;
      CHECK(offers.log_ratio[i] == 0.0);
      const double times = std::abs(step.dot(difference)) / difference.squaredNorm();
      // 2.38 / sqrt(6) = 0.97, +- 10 %: within 0.87 and 1.07; those at 1 up to the jitter are the whole ones
      // and, by their width, 2 in 1000 of the others
      CHECK(times > 0.87);
      CHECK(times < 1.07);
      ++(std::abs(times - 1.0) < 2e-4 ? whole : along);
    }
  }
  CHECK(along + whole + snooker == 20000);
  // binomial: deviation sqrt(20000 * 0.1 * 0.9) = 42; four of them
  CHECK(std::abs(snooker - 2000) < 170);
  CHECK(std::abs(whole - 2000 - 16000 * 0.002) < 170);
}
