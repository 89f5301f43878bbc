#include "fitting/count_model.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>

#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <boost/math/distributions/fisher_f.hpp>

namespace stoverturn {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

double deviance_of(const Eigen::VectorXd& counts, const Eigen::VectorXd& means) {
  double sum = 0.0;
  for (Eigen::Index i = 0; i < counts.size(); ++i) {
    const double y = counts(i);
    sum += 2.0 * ((y > 0.0 ? y * std::log(y / means(i)) : 0.0) - (y - means(i)));
  }
  return sum;
}

void check(const Eigen::VectorXd& counts, const Eigen::VectorXd& exposures, const Eigen::MatrixXd& design) {
  if (exposures.size() != counts.size() || design.rows() != counts.size() || design.cols() == 0) {
    throw std::invalid_argument("counts: sizes differ");
  }
  if (counts.size() < design.cols()) throw std::invalid_argument("counts: fewer than coefficients");
  if (!(counts.array() >= 0.0).all() || !(exposures.array() > 0.0).all()) {
    throw std::invalid_argument("counts: wanted counts from 0 and exposures above 0");
  }
}

}  // namespace

CountModel fit_counts(const Eigen::VectorXd& counts, const Eigen::VectorXd& exposures,
                      const Eigen::MatrixXd& design) {
  check(counts, exposures, design);
  CountModel model;
  model.freedom = static_cast<int>(counts.size() - design.cols());
  const Eigen::VectorXd offset = exposures.array().log();
  Eigen::VectorXd mean = counts.array() + 0.1;
  Eigen::VectorXd linear = mean.array().log();
  double before = std::numeric_limits<double>::infinity();
  for (int step = 0; step < 50; ++step) {
    const Eigen::VectorXd root = mean.array().sqrt();
    const Eigen::VectorXd working = (linear - offset).array() + (counts - mean).array() / mean.array();
    const Eigen::MatrixXd weighed = root.asDiagonal() * design;
    const Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(weighed);
    if (qr.rank() < design.cols()) return model;
    model.coefficients = qr.solve(root.asDiagonal() * working);
    linear = design * model.coefficients + offset;
    mean = linear.array().exp();
    model.deviance = deviance_of(counts, mean);
    if (std::abs(before - model.deviance) < 1e-12 * (std::abs(model.deviance) + 0.1)) {
      model.ok = mean.allFinite() && mean.minCoeff() > 1e-8;
      break;
    }
    before = model.deviance;
  }
  if (!model.ok) return model;
  const Eigen::MatrixXd information = design.transpose() * mean.asDiagonal() * design;
  model.unscaled = information.llt().solve(Eigen::MatrixXd::Identity(design.cols(), design.cols()));
  model.means = mean;
  model.pearson = ((counts - mean).array().square() / mean.array()).sum();
  model.dispersion = model.freedom > 0 ? model.pearson / model.freedom : nan;
  return model;
}

CountTest compare_counts(const CountModel& part, const CountModel& whole) {
  CountTest test{nan, nan, part.freedom - whole.freedom, whole.freedom};
  if (!part.ok || !whole.ok || test.numerator < 1 || test.denominator < 1 || whole.dispersion <= 0.0)
    return test;
  test.F = std::max(0.0, part.deviance - whole.deviance) / test.numerator / whole.dispersion;
  const boost::math::fisher_f distribution(test.numerator, test.denominator);
  test.probability = boost::math::cdf(boost::math::complement(distribution, test.F));
  return test;
}

}  // namespace stoverturn
