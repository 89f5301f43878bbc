#pragma once
#include <cmath>
#include <functional>
#include <string>
#include <vector>

#include <Eigen/Core>
#include <unsupported/Eigen/AutoDiff>

#include "fitting/problem.hpp"

/// The 27 models of NIST's Statistical Reference Datasets, nonlinear regression
/// (https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml), with derivatives in forward mode.
namespace nist {

/// A number with derivatives in up to nine directions (the ENSO model has nine parameters).
using Real = Eigen::AutoDiffScalar<Eigen::Matrix<double, 9, 1>>;
using Model = std::function<Real(const std::vector<Real>& b, const std::vector<double>& x)>;

struct Model_of {
  std::string name;
  bool log_response;
  Model model;
};

inline Real power(const Real& base, const Real& exponent) { return exp(Real(exponent * log(base))); }
/// arctan(u) with its derivative; Eigen has none.
inline Real arctan(const Real& u) {
  return Real(std::atan(u.value()), u.derivatives() / (1.0 + u.value() * u.value()));
}
inline Real square(const Real& u) { return u * u; }

inline Real cubic_ratio(const std::vector<Real>& b, double x) {
  const Real above = b[0] + b[1] * x + b[2] * (x * x) + b[3] * (x * x * x);
  const Real below = 1.0 + b[4] * x + b[5] * (x * x) + b[6] * (x * x * x);
  return above / below;
}
inline Real two_peaks(const std::vector<Real>& b, double x) {
  const Real first = b[2] * exp(Real(-square(Real((x - b[3]) / b[4]))));
  const Real second = b[5] * exp(Real(-square(Real((x - b[6]) / b[7]))));
  return b[0] * exp(Real(-b[1] * x)) + first + second;
}
inline Real three_exponentials(const std::vector<Real>& b, double x) {
  return b[0] * exp(Real(-b[1] * x)) + b[2] * exp(Real(-b[3] * x)) + b[4] * exp(Real(-b[5] * x));
}
inline Real ultrasonic(const std::vector<Real>& b, double x) {
  return exp(Real(-b[0] * x)) / Real(b[1] + b[2] * x);
}
inline Real saturation(const std::vector<Real>& b, double x) {
  return b[0] * Real(1.0 - exp(Real(-b[1] * x)));
}
inline Real wave(const Real& c, const Real& s, const Real& period, double x) {
  const Real angle = (2.0 * M_PI * x) / period;
  return c * cos(angle) + s * sin(angle);
}

using B = const std::vector<Real>&;
using X = const std::vector<double>&;

inline std::vector<Model_of> models() {
  const Model saturates = [](B b, X x) { return saturation(b, x[0]); };
  const Model ultrasound = [](B b, X x) { return ultrasonic(b, x[0]); };
  const Model peaks = [](B b, X x) { return two_peaks(b, x[0]); };
  const Model lanczos = [](B b, X x) { return three_exponentials(b, x[0]); };
  const Model cubics = [](B b, X x) { return cubic_ratio(b, x[0]); };
  return {
      {"Bennett5", false,
       [](B b, X x) -> Real { return b[0] * power(Real(b[1] + x[0]), Real(-1.0 / b[2])); }},
      {"BoxBOD", false, saturates},
      {"Chwirut1", false, ultrasound},
      {"Chwirut2", false, ultrasound},
      {"DanWood", false, [](B b, X x) -> Real { return b[0] * exp(Real(b[1] * std::log(x[0]))); }},
      {"ENSO", false,
       [](B b, X x) -> Real {
         return b[0] + wave(b[1], b[2], Real(12.0), x[0]) + wave(b[4], b[5], b[3], x[0]) +
                wave(b[7], b[8], b[6], x[0]);
       }},
      {"Eckerle4", false,
       [](B b, X x) -> Real { return b[0] / b[1] * exp(Real(-0.5 * square(Real((x[0] - b[2]) / b[1])))); }},
      {"Gauss1", false, peaks},
      {"Gauss2", false, peaks},
      {"Gauss3", false, peaks},
      {"Hahn1", false, cubics},
      {"Kirby2", false,
       [](B b, X x) -> Real {
         const Real above = b[0] + b[1] * x[0] + b[2] * (x[0] * x[0]);
         const Real below = 1.0 + b[3] * x[0] + b[4] * (x[0] * x[0]);
         return above / below;
       }},
      {"Lanczos1", false, lanczos},
      {"Lanczos2", false, lanczos},
      {"Lanczos3", false, lanczos},
      {"MGH09", false,
       [](B b, X x) -> Real {
         const Real above = x[0] * x[0] + x[0] * b[1];
         const Real below = x[0] * x[0] + x[0] * b[2] + b[3];
         return b[0] * above / below;
       }},
      {"MGH10", false, [](B b, X x) -> Real { return b[0] * exp(Real(b[1] / Real(x[0] + b[2]))); }},
      {"MGH17", false,
       [](B b, X x) -> Real {
         return b[0] + b[1] * exp(Real(-b[3] * x[0])) + b[2] * exp(Real(-b[4] * x[0]));
       }},
      {"Misra1a", false, saturates},
      {"Misra1b", false,
       [](B b, X x) -> Real { return b[0] * Real(1.0 - 1.0 / square(Real(1.0 + b[1] * x[0] / 2.0))); }},
      {"Misra1c", false,
       [](B b, X x) -> Real { return b[0] * Real(1.0 - 1.0 / sqrt(Real(1.0 + 2.0 * b[1] * x[0]))); }},
      {"Misra1d", false, [](B b, X x) -> Real { return b[0] * b[1] * x[0] / Real(1.0 + b[1] * x[0]); }},
      {"Nelson", true, [](B b, X x) -> Real { return b[0] - b[1] * x[0] * exp(Real(-b[2] * x[1])); }},
      {"Rat42", false, [](B b, X x) -> Real { return b[0] / Real(1.0 + exp(Real(b[1] - b[2] * x[0]))); }},
      {"Rat43", false,
       [](B b, X x) -> Real {
         return b[0] / power(Real(1.0 + exp(Real(b[1] - b[2] * x[0]))), Real(1.0 / b[3]));
       }},
      {"Roszman1", false,
       [](B b, X x) -> Real { return b[0] - b[1] * x[0] - arctan(Real(b[2] / Real(x[0] - b[3]))) / M_PI; }},
      {"Thurber", false, cubics},
  };
}

struct Set {
  std::string name;
  std::vector<std::vector<double>> starts;  ///< two
  std::vector<double> certified, sd;
  std::vector<double> y;
  std::vector<std::vector<double>> x;  ///< by observation: one predictor or two
};

/// The fit of one set, without bounds.
inline stoverturn::LeastSquares problem(const Set& set) {
  Model model;
  bool log_response = false;
  for (const Model_of& m : models()) {
    if (m.name == set.name) {
      model = m.model;
      log_response = m.log_response;
    }
  }
  const Eigen::Index n = static_cast<Eigen::Index>(set.certified.size());
  stoverturn::LeastSquares result;
  result.residuals = set.y.size();
  result.lower.setConstant(n, -INFINITY);
  result.upper.setConstant(n, INFINITY);
  result.evaluate = [=](const Eigen::VectorXd& at, Eigen::VectorXd& r, Eigen::MatrixXd* jacobian) {
    std::vector<Real> b;
    for (Eigen::Index j = 0; j < n; ++j) b.push_back(Real(at[j], 9, static_cast<int>(j)));
    for (std::size_t i = 0; i < set.y.size(); ++i) {
      const Real value = model(b, set.x[i]);
      const Eigen::Index row = static_cast<Eigen::Index>(i);
      r[row] = value.value() - (log_response ? std::log(set.y[i]) : set.y[i]);
      if (jacobian) jacobian->row(row) = value.derivatives().head(n).transpose();
    }
    return true;
  };
  return result;
}

}  // namespace nist
