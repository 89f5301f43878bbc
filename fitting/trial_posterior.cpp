#include "fitting/trial_posterior.hpp"

#include <algorithm>
#include <cmath>
#include <set>
#include <stdexcept>

#include "fitting/robust.hpp"

namespace stoverturn {
namespace {

using Index = Eigen::Index;
constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr double student_nu = 4.0;
const double log_root_2pi = 0.5 * std::log(2.0 * M_PI);

Index at(std::size_t i) { return static_cast<Index>(i); }

/// Of t with 4 degrees of freedom: 3/8 (1 + u^2/4)^(-5/2).
double log_density(Tail tail, double u) {
  if (tail == Tail::normal) return -0.5 * u * u - log_root_2pi;
  return std::log(0.375) - loss_at(Loss::student, u).loss;
}

/// Expected information of one observation on its mean, in 1/sd^2, and on the logarithm of its sd
/// (Lange, Little and Taylor 1989 for t).
struct Information {
  double of_mean = 1.0, of_log_sd = 2.0;
};
Information information_of(Tail tail) {
  if (tail == Tail::normal) return {};
  return {(student_nu + 1.0) / (student_nu + 3.0), 2.0 * student_nu / (student_nu + 3.0)};
}

double weight_of(const std::vector<double>& weights, std::size_t i) {
  return weights.empty() ? 1.0 : weights[i];
}

double slack(double bound) { return 1e-12 * std::max(1.0, std::abs(bound)); }

bool between(double z, double lower, double upper) {
  return z >= lower - slack(lower) && z <= upper + slack(upper);
}

void add_slope(const std::vector<Unknown>& unknowns, std::optional<std::size_t> index, double factor,
               const Eigen::VectorXd& z, Eigen::Ref<Eigen::RowVectorXd> row) {
  if (index) row[at(*index)] += factor * slope_of_fit_scale(unknowns[*index].scale, z[at(*index)]);
}

double value_of(const std::vector<Unknown>& unknowns, std::optional<std::size_t> index,
                const Eigen::VectorXd& z) {
  return index ? from_fit_scale(unknowns[*index].scale, z[at(*index)]) : 0.0;
}

void refuse_if(bool wrong, const std::string& why) {
  if (wrong) throw std::invalid_argument(why);
}

}  // namespace

TrialPosterior::TrialPosterior(std::shared_ptr<const TrialModel> model, std::vector<ModelValue> values,
                               std::vector<Unknown> unknowns, TrialErrors errors)
    : model_(std::move(model)),
      values_(std::move(values)),
      unknowns_(std::move(unknowns)),
      errors_(std::move(errors)) {
  check();
}

std::vector<std::size_t> TrialPosterior::error_sizes() const {
  std::set<std::size_t> sizes;
  for (const ErrorSize& size : errors_.size) {
    for (const auto& index : {size.absolute, size.proportional}) {
      if (index) sizes.insert(*index);
    }
  }
  return {sizes.begin(), sizes.end()};
}

void TrialPosterior::check() const {
  const std::size_t n = model_->observations().size();
  refuse_if(values_.size() != model_->parameters(), "a trial model needs one value for each parameter");
  std::vector<std::size_t> used;
  for (const ModelValue& value : values_) {
    used.push_back(value.base);
    refuse_if(value.spread.has_value() != value.effect.has_value(), "a spread needs an effect");
    if (value.spread) used.insert(used.end(), {*value.spread, *value.effect});
  }
  refuse_if(!errors_.shift.empty() && errors_.shift.size() != n, "shifts are by observation");
  for (const auto& effect : errors_.shift) {
    if (effect) used.push_back(*effect);
    refuse_if(effect && !errors_.shift_spread, "shifts of blocks need a spread");
  }
  if (errors_.shift_spread) used.push_back(*errors_.shift_spread);
  const std::vector<std::size_t> sizes = error_sizes();
  for (const std::size_t i : used) {
    refuse_if(i >= unknowns_.size(), "an index of an unknown is out of range");
    refuse_if(std::find(sizes.begin(), sizes.end(), i) != sizes.end(),
              unknowns_[i].name + ": an error size cannot be something else, too");
  }
  refuse_if(!sizes.empty() && sizes.back() >= unknowns_.size(), "an index of an unknown is out of range");
  for (const ModelValue& value : values_) {
    refuse_if(value.scale != unknowns_[value.base].scale,
              unknowns_[value.base].name + ": its scale differs from that of the parameter it gives");
  }
  for (const Unknown& u : unknowns_) {
    const double low = to_fit_scale(u.scale, u.lower), high = to_fit_scale(u.scale, u.upper);
    refuse_if(!std::isfinite(low) || !std::isfinite(high) || !(low < high),
              u.name + ": its bounds must be finite on the fit scale, the lower below the upper");
    refuse_if(!between(to_fit_scale(u.scale, u.start), low, high),
              u.name + ": its start is beyond its bounds");
    refuse_if(u.prior.shape == Prior::Shape::normal && !(u.prior.sd > 0.0 && std::isfinite(u.prior.mean)),
              u.name + ": its prior needs a mean and an sd above zero");
  }
  for (const Observation& o : model_->observations()) {
    const ErrorSize& size = errors_.size[static_cast<std::size_t>(o.measure)];
    refuse_if(!size.absolute && !size.proportional && !(o.sd > 0.0),
              "an observation has neither an error size nor an sd above zero");
    refuse_if(o.n < 1, "an observation is the mean of at least one bag");
  }
}

Eigen::VectorXd TrialPosterior::start() const {
  Eigen::VectorXd z(at(unknowns_.size()));
  for (Index j = 0; j < z.size(); ++j) {
    const Unknown& u = unknowns_[static_cast<std::size_t>(j)];
    z[j] = to_fit_scale(u.scale, u.start);
  }
  return z;
}

Eigen::VectorXd TrialPosterior::lower() const {
  Eigen::VectorXd z(at(unknowns_.size()));
  for (Index j = 0; j < z.size(); ++j) {
    const Unknown& u = unknowns_[static_cast<std::size_t>(j)];
    z[j] = to_fit_scale(u.scale, u.lower);
  }
  return z;
}

Eigen::VectorXd TrialPosterior::upper() const {
  Eigen::VectorXd z(at(unknowns_.size()));
  for (Index j = 0; j < z.size(); ++j) {
    const Unknown& u = unknowns_[static_cast<std::size_t>(j)];
    z[j] = to_fit_scale(u.scale, u.upper);
  }
  return z;
}

Eigen::VectorXd TrialPosterior::in_units(const Eigen::VectorXd& z) const {
  Eigen::VectorXd x(z.size());
  for (std::size_t j = 0; j < unknowns_.size(); ++j) {  // exp(log(bound)) may pass the bound by a bit
    x[at(j)] = std::clamp(value_of(unknowns_, j, z), unknowns_[j].lower, unknowns_[j].upper);
  }
  return x;
}

namespace {
double on_scale(const ModelValue& value, const std::vector<Unknown>& unknowns, const Eigen::VectorXd& z) {
  return z[at(value.base)] + value_of(unknowns, value.spread, z) * value_of(unknowns, value.effect, z);
}
}  // namespace

Eigen::VectorXd TrialPosterior::model_values(const Eigen::VectorXd& z) const {
  Eigen::VectorXd x(at(values_.size()));
  for (std::size_t k = 0; k < values_.size(); ++k) {
    x[at(k)] = from_fit_scale(values_[k].scale, on_scale(values_[k], unknowns_, z));
  }
  return x;
}

bool TrialPosterior::possible(const Eigen::VectorXd& z) const {
  if (z.size() != at(unknowns_.size())) throw std::invalid_argument("a point has one value for each unknown");
  const Eigen::VectorXd low = lower(), high = upper();
  for (Index j = 0; j < z.size(); ++j) {
    if (!between(z[j], low[j], high[j])) return false;
  }
  for (const ModelValue& value : values_) {
    const Index b = at(value.base);
    if (!between(on_scale(value, unknowns_, z), low[b], high[b])) return false;
  }
  return true;
}

void TrialPosterior::shift(const Eigen::VectorXd& z, Means& means) const {
  if (errors_.shift.empty()) return;
  const double spread = value_of(unknowns_, errors_.shift_spread, z);
  for (std::size_t i = 0; i < errors_.shift.size(); ++i) {
    if (!errors_.shift[i]) continue;
    const double effect = value_of(unknowns_, errors_.shift[i], z);
    means.value[at(i)] += spread * effect;
    if (!means.jacobian.size()) continue;
    Eigen::RowVectorXd row = means.jacobian.row(at(i));
    add_slope(unknowns_, errors_.shift[i], spread, z, row);
    add_slope(unknowns_, errors_.shift_spread, effect, z, row);
    means.jacobian.row(at(i)) = row;
  }
}

bool TrialPosterior::means(const Eigen::VectorXd& z, bool derivatives, Means& result) const {
  Eigen::MatrixXd by_parameter;
  if (!model_->predict(model_values(z), result.value, derivatives ? &by_parameter : nullptr)) return false;
  if (derivatives) {
    Eigen::MatrixXd chain = Eigen::MatrixXd::Zero(at(values_.size()), z.size());
    for (std::size_t k = 0; k < values_.size(); ++k) {
      const ModelValue& value = values_[k];
      Eigen::RowVectorXd row = Eigen::RowVectorXd::Zero(z.size());
      row[at(value.base)] = 1.0;
      add_slope(unknowns_, value.spread, value_of(unknowns_, value.effect, z), z, row);
      add_slope(unknowns_, value.effect, value_of(unknowns_, value.spread, z), z, row);
      chain.row(at(k)) = slope_of_fit_scale(value.scale, on_scale(value, unknowns_, z)) * row;
    }
    result.jacobian = by_parameter * chain;
  }
  shift(z, result);
  return true;
}

double TrialPosterior::sd_of(std::size_t i, const Eigen::VectorXd& z, double predicted) const {
  const Observation& o = model_->observations()[i];
  const ErrorSize& size = errors_.size[static_cast<std::size_t>(o.measure)];
  const double bag = size.absolute || size.proportional
                         ? std::hypot(value_of(unknowns_, size.absolute, z),
                                      value_of(unknowns_, size.proportional, z) * predicted)
                         : o.sd;
  return bag / std::sqrt(static_cast<double>(o.n));
}

double TrialPosterior::prior(const Eigen::VectorXd& z) const {
  double sum = 0.0;
  for (std::size_t j = 0; j < unknowns_.size(); ++j) sum += log_prior(unknowns_[j].prior, z[at(j)]);
  return sum;
}

double TrialPosterior::value(const Eigen::VectorXd& z, const Means& means,
                             const std::vector<double>& weights) const {
  Predicted predicted{means.value, Eigen::VectorXd(means.value.size())};
  for (std::size_t i = 0; i < model_->observations().size(); ++i) {
    predicted.sd[at(i)] = sd_of(i, z, means.value[at(i)]);
  }
  return log_likelihood(predicted, weights) + prior(z);
}

double TrialPosterior::log_likelihood(const Predicted& predicted, const std::vector<double>& weights) const {
  const std::vector<Observation>& seen = model_->observations();
  if (!weights.empty() && weights.size() != seen.size())
    throw std::invalid_argument("weights are by observation");
  double sum = 0.0;
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const double weight = weight_of(weights, i), sd = predicted.sd[at(i)];
    if (weight == 0.0) continue;
    if (!(sd > 0.0)) return -infinity;
    sum += weight * (log_density(errors_.tail, (seen[i].value - predicted.value[at(i)]) / sd) - std::log(sd));
  }
  return std::isfinite(sum) ? sum : -infinity;
}

void TrialPosterior::inform(const Eigen::VectorXd& z, const Means& means, const std::vector<double>& weights,
                            Eigen::VectorXd& score, Eigen::MatrixXd& root) const {
  const std::vector<Observation>& seen = model_->observations();
  const Index n = at(seen.size()), m = z.size();
  const Information information = information_of(errors_.tail);
  const Loss loss = errors_.tail == Tail::normal ? Loss::squares : Loss::student;
  score = Eigen::VectorXd::Zero(2 * n + m);
  root = Eigen::MatrixXd::Zero(2 * n + m, m);
  Eigen::RowVectorXd row(m);
  for (std::size_t i = 0; i < seen.size(); ++i) {
    const double weight = weight_of(weights, i);
    if (weight == 0.0) continue;
    const Index r = at(i);
    const double mean = means.value[r], sd = sd_of(i, z, mean), u = (seen[i].value - mean) / sd;
    const double psi = loss_at(loss, u).psi;
    const double of_mean = std::sqrt(weight * information.of_mean);
    root.row(r) = of_mean / sd * means.jacobian.row(r);
    score[r] = weight * psi / of_mean;
    const ErrorSize& size = errors_.size[static_cast<std::size_t>(seen[i].measure)];
    if (!size.absolute && !size.proportional) continue;
    // d ln sd, from sd^2 n = absolute^2 + (proportional mean)^2
    const double squared = sd * sd * seen[i].n;
    const double absolute = value_of(unknowns_, size.absolute, z);
    const double proportional = value_of(unknowns_, size.proportional, z);
    row = proportional * proportional * mean / squared * means.jacobian.row(r);
    add_slope(unknowns_, size.absolute, absolute / squared, z, row);
    add_slope(unknowns_, size.proportional, proportional * mean * mean / squared, z, row);
    const double of_log_sd = std::sqrt(weight * information.of_log_sd);
    root.row(n + r) = of_log_sd * row;
    score[n + r] = weight * (u * psi - 1.0) / of_log_sd;
  }
  for (Index j = 0; j < m; ++j) {
    const Prior& prior = unknowns_[static_cast<std::size_t>(j)].prior;
    if (prior.shape == Prior::Shape::flat) continue;
    root(2 * n + j, j) = 1.0 / prior.sd;
    score[2 * n + j] = (prior.mean - z[j]) / prior.sd;
  }
}

std::optional<TrialPosterior::Predicted> TrialPosterior::predicted(const Eigen::VectorXd& z) const {
  Means here;
  if (!z.allFinite() || !means(z, false, here)) return std::nullopt;
  Predicted result{here.value, Eigen::VectorXd(here.value.size())};
  for (Index i = 0; i < here.value.size(); ++i) {
    result.sd[i] = sd_of(static_cast<std::size_t>(i), z, here.value[i]);
  }
  return result;
}

}  // namespace stoverturn
