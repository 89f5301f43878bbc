#include "fitting/scoring.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <Eigen/QR>

#include "fitting/bounded_linear.hpp"

namespace stoverturn {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double scale_memory = 0.7;  // by step, as in fit_least_squares

/// The quadratic picture of a density at z, in scaled steps q = scale * step.
struct Picture {
  Eigen::MatrixXd R;  ///< R'R: information
  Eigen::VectorXd target;
  Eigen::VectorXd lower, upper;

  Picture(const Eigen::VectorXd& z, const Eigen::VectorXd& score, const Eigen::MatrixXd& root,
          const Eigen::VectorXd& scale, const InformedDensity& density) {
    const Eigen::HouseholderQR<Eigen::MatrixXd> qr(root * scale.cwiseInverse().asDiagonal());
    const Eigen::Index rows = std::min(root.rows(), root.cols());
    R = qr.matrixQR().topRows(rows).triangularView<Eigen::Upper>();
    target = Eigen::VectorXd(qr.householderQ().transpose() * score).head(rows);
    lower = scale.cwiseProduct(density.lower - z).cwiseMin(0.0);
    upper = scale.cwiseProduct(density.upper - z).cwiseMax(0.0);
  }

  Eigen::VectorXd step(double damping) const {
    const Eigen::Index n = R.cols(), more = damping > 0.0 ? n : 0;
    Eigen::MatrixXd A = Eigen::MatrixXd::Zero(R.rows() + more, n);
    A.topRows(R.rows()) = R;
    if (more) A.bottomRows(n).diagonal().setConstant(std::sqrt(damping));
    Eigen::VectorXd b = Eigen::VectorXd::Zero(A.rows());
    b.head(R.rows()) = target;
    return bounded_linear_least_squares(A, b, lower, upper);
  }

  double gain(const Eigen::VectorXd& q) const {
    const Eigen::VectorXd change = R * q;
    return change.dot(target) - 0.5 * change.squaredNorm();
  }

  double distance() const { return std::sqrt(std::max(0.0, 2.0 * gain(step(0.0)))); }
};

Eigen::VectorXd column_lengths(const Eigen::MatrixXd& root) {
  const Eigen::VectorXd lengths = root.colwise().norm().transpose();
  return (lengths.array() > 0.0).select(lengths, 1.0);
}

struct Climb {
  const InformedDensity& density;
  const ScoringOptions& options;
  Optimum at = {};
  Eigen::VectorXd score = {}, scale = {};
  Eigen::MatrixXd root = {};
  double damping = 0.0, damping_growth = 2.0;

  bool move_to(const Eigen::VectorXd& z) {
    Eigen::VectorXd new_score;
    Eigen::MatrixXd new_root;
    ++at.derivatives;
    const double value = density.evaluate(z, &new_score, &new_root);
    if (!std::isfinite(value) || !std::isfinite(new_score.squaredNorm()) ||
        !std::isfinite(new_root.squaredNorm())) {
      return false;
    }
    at.x = z;
    at.cost = -value;
    score = std::move(new_score);
    root = std::move(new_root);
    return true;
  }
  bool go_on() const {
    if (!options.progress) return true;
    return options.progress({at.cost, &at.x, at.evaluations + at.derivatives,
                             static_cast<double>(at.iterations) / options.most_iterations});
  }
  Optimum ended(Stop stop, std::string_view why) {
    at.stop = stop == Stop::stalled && at.distance_se <= options.converged_se ? Stop::converged : stop;
    at.why = why;
    if (at.x.size()) at.on_bound = bounds_reached(at.x, density.lower, density.upper);
    return at;
  }

  enum class Tried { better, no_further, limit, cancelled };

  Tried improve(const Picture& picture) {
    while (at.iterations < options.most_iterations) {
      ++at.iterations;
      const Eigen::VectorXd q = picture.step(damping);
      const double hoped = picture.gain(q);
      const Eigen::VectorXd trial = within(at.x + q.cwiseQuotient(scale), density.lower, density.upper);
      if (trial == at.x || !(hoped > 1e-15 * std::abs(at.cost))) return Tried::no_further;
      ++at.evaluations;
      const double value = density.evaluate(trial, nullptr, nullptr);
      const double ratio = (value + at.cost) / hoped;
      if (std::isfinite(value) && ratio > 1e-4 && move_to(trial)) {
        damping *= std::max(1.0 / 3.0, 1.0 - std::pow(2.0 * std::min(ratio, 1.0) - 1.0, 3));
        damping_growth = 2.0;
        return Tried::better;
      }
      damping *= damping_growth;
      damping_growth *= 2.0;
      if (!go_on()) return Tried::cancelled;
    }
    return Tried::limit;
  }
};

}  // namespace

Optimum climb(const InformedDensity& density, const Eigen::VectorXd& start, const ScoringOptions& options) {
  if (start.size() == 0 || density.lower.size() != start.size() || density.upper.size() != start.size()) {
    throw std::invalid_argument("start and bounds must have one value for each unknown");
  }
  Climb climb{density, options};
  climb.damping = options.first_damping;
  if (!climb.move_to(within(start, density.lower, density.upper))) {
    return climb.ended(Stop::bad_start, "the model cannot be evaluated at the start");
  }
  while (true) {
    const Eigen::VectorXd lengths = column_lengths(climb.root);
    climb.scale =
        climb.scale.size() ? Eigen::VectorXd((scale_memory * climb.scale).cwiseMax(lengths)) : lengths;
    const Picture picture(climb.at.x, climb.score, climb.root, climb.scale, density);
    climb.at.distance_se = picture.distance();
    if (climb.at.distance_se <= options.distance_se) return climb.ended(Stop::converged, "no way left to go");
    switch (climb.improve(picture)) {
      case Climb::Tried::better:
        break;
      case Climb::Tried::no_further:
        return climb.ended(Stop::stalled, "no step makes it more probable beyond round-off");
      case Climb::Tried::limit:
        return climb.ended(Stop::evaluations_spent, "limit of iterations");
      case Climb::Tried::cancelled:
        return climb.ended(Stop::cancelled, "stopped on request");
    }
    if (!climb.go_on()) return climb.ended(Stop::cancelled, "stopped on request");
  }
}

Cost cost_of(const InformedDensity& density) {
  Cost cost{density.lower, density.upper, {}, {}};
  cost.evaluate = [density](const Eigen::VectorXd& z, Eigen::VectorXd* gradient) {
    if (!gradient) return -density.evaluate(z, nullptr, nullptr);
    Eigen::VectorXd score;
    Eigen::MatrixXd root;
    const double value = density.evaluate(z, &score, &root);
    if (!std::isfinite(value)) return infinity;
    *gradient = -root.transpose() * score;
    return -value;
  };
  cost.distance_se = [density](const Eigen::VectorXd& z) {
    Eigen::VectorXd score;
    Eigen::MatrixXd root;
    if (!std::isfinite(density.evaluate(z, &score, &root)) || !std::isfinite(root.squaredNorm())) {
      return infinity;
    }
    return Picture(z, score, root, column_lengths(root), density).distance();
  };
  return cost;
}

}  // namespace stoverturn
