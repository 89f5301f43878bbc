/// The forms of a posterior that searches and samplers want.
#include <algorithm>
#include <cmath>

#include "fitting/trial_posterior.hpp"

namespace stoverturn {
namespace {

using Index = Eigen::Index;
constexpr double infinity = std::numeric_limits<double>::infinity();

Index at(std::size_t i) { return static_cast<Index>(i); }

}  // namespace

double TrialPosterior::evaluate(const Eigen::VectorXd& z, const std::vector<double>& weights,
                                Eigen::VectorXd* score, Eigen::MatrixXd* root) const {
  Means here;
  if (!possible(z) || !means(z, root != nullptr, here)) return -infinity;
  const double density = value(z, here, weights);
  if (root && std::isfinite(density)) inform(z, here, weights, *score, *root);
  return density;
}

InformedDensity TrialPosterior::informed(std::vector<double> weights) const {
  const auto self = std::make_shared<const TrialPosterior>(*this);
  return {lower(), upper(),
          [self, weights = std::move(weights)](const Eigen::VectorXd& z, Eigen::VectorXd* score,
                                               Eigen::MatrixXd* root) {
            return self->evaluate(z, weights, score, root);
          }};
}

LogDensity TrialPosterior::density(std::vector<double> weights) const {
  const InformedDensity both = informed(std::move(weights));
  return {both.lower, both.upper, [both](const Eigen::VectorXd& z, Eigen::VectorXd* gradient) {
            if (!gradient) return both.evaluate(z, nullptr, nullptr);
            Eigen::VectorXd score;
            Eigen::MatrixXd root;
            const double value = both.evaluate(z, &score, &root);
            if (std::isfinite(value)) {
              *gradient = root.transpose() * score;
            } else {
              gradient->setZero(z.size());
            }
            return value;
          }};
}

void TrialPosterior::log_densities(const Eigen::MatrixXd& z, Eigen::VectorXd& values) const {
  values.setConstant(z.cols(), -infinity);
  std::vector<Index> good;
  for (Index c = 0; c < z.cols(); ++c) {
    if (possible(z.col(c))) good.push_back(c);
  }
  Eigen::MatrixXd points(at(values_.size()), at(good.size())), predictions;
  for (std::size_t c = 0; c < good.size(); ++c) points.col(at(c)) = model_values(z.col(good[c]));
  model_->predict_many(points, predictions);
  for (std::size_t c = 0; c < good.size(); ++c) {
    Means here{predictions.col(at(c)), {}};
    if (!here.value.allFinite()) continue;
    shift(z.col(good[c]), here);
    values[good[c]] = value(z.col(good[c]), here, {});
  }
}

LeastSquares TrialPosterior::least_squares(const Eigen::VectorXd& z, std::vector<std::size_t>* free,
                                           std::vector<double> weights) const {
  const std::vector<std::size_t> sizes = error_sizes();
  std::vector<Index> columns, with_prior;
  for (std::size_t j = 0; j < unknowns_.size(); ++j) {
    if (std::binary_search(sizes.begin(), sizes.end(), j)) continue;
    columns.push_back(at(j));
    if (unknowns_[j].prior.shape == Prior::Shape::normal) with_prior.push_back(at(j));
  }
  if (free) free->assign(columns.begin(), columns.end());
  const auto self = std::make_shared<const TrialPosterior>(*this);
  const std::optional<Predicted> here = predicted(z);
  const std::size_t n = model_->observations().size();
  Eigen::VectorXd over_sd(at(n));
  for (std::size_t i = 0; here && i < n; ++i) {
    over_sd[at(i)] = std::sqrt((weights.empty() ? 1.0 : weights[i])) / here->sd[at(i)];
  }
  LeastSquares result{n + with_prior.size(), lower()(columns), upper()(columns), {}};
  const bool runs = here.has_value() && over_sd.allFinite();
  result.evaluate = [self, z, columns, with_prior, over_sd, runs](
                        const Eigen::VectorXd& x, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
    Eigen::VectorXd whole = z;
    whole(columns) = x;
    Means means;
    if (!runs || !self->possible(whole) || !self->means(whole, jacobian != nullptr, means)) return false;
    const Index rows = over_sd.size(), m = whole.size();
    r.resize(rows + at(with_prior.size()));
    for (Index i = 0; i < rows; ++i) {
      r[i] = over_sd[i] * (means.value[i] - self->model_->observations()[static_cast<std::size_t>(i)].value);
    }
    Eigen::MatrixXd all = Eigen::MatrixXd::Zero(r.size(), m);
    if (jacobian) all.topRows(rows) = over_sd.asDiagonal() * means.jacobian;
    for (std::size_t k = 0; k < with_prior.size(); ++k) {
      const Prior& prior = self->unknowns_[static_cast<std::size_t>(with_prior[k])].prior;
      r[rows + at(k)] = (whole[with_prior[k]] - prior.mean) / prior.sd;
      all(rows + at(k), with_prior[k]) = 1.0 / prior.sd;
    }
    if (jacobian) *jacobian = all(Eigen::all, columns);
    return true;
  };
  return result;
}

Eigen::VectorXd TrialPosterior::with_best_error_sizes(const Eigen::VectorXd& z,
                                                      const std::vector<double>& weights) const {
  const std::vector<std::size_t> sizes = error_sizes();
  Means held;
  if (sizes.empty() || !possible(z) || !means(z, false, held)) return z;
  held.jacobian.setZero(held.value.size(), z.size());
  std::vector<Index> columns;
  for (const std::size_t j : sizes) columns.push_back(at(j));
  const auto whole = [&](const Eigen::VectorXd& part) {
    Eigen::VectorXd all = z;
    all(columns) = part;
    return all;
  };
  const InformedDensity of_sizes{
      lower()(columns), upper()(columns),
      [&](const Eigen::VectorXd& part, Eigen::VectorXd* score, Eigen::MatrixXd* root) {
        const Eigen::VectorXd all = whole(part);
        const double density = value(all, held, weights);
        if (root && std::isfinite(density)) {
          inform(all, held, weights, *score, *root);
          *root = Eigen::MatrixXd((*root)(Eigen::all, columns));
        }
        return density;
      }};
  const Optimum best = climb(of_sizes, z(columns));
  return best.x.size() ? whole(best.x) : z;
}

}  // namespace stoverturn
