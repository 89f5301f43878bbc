#include "engine/temperature_response.hpp"

#include <algorithm>

#include "engine/per_lane.hpp"

namespace stoverturn {

double lloyd_taylor(double T, double reference_C) {
  constexpr double zero_K = 273.15, T0_K = 227.13;
  return std::exp(308.56 * (1.0 / (reference_C + zero_K - T0_K) - 1.0 / (T + zero_K - T0_K)));
}

double yan_hunt(double T, double minimum_C, double optimum_C, double maximum_C) {
  if (T <= minimum_C || T >= maximum_C) return 0.0;
  const double above = maximum_C - optimum_C;
  return (maximum_C - T) / above *
         std::pow((T - minimum_C) / (optimum_C - minimum_C), (optimum_C - minimum_C) / above);
}

template <class Real>
Real temperature_response(TemperatureForm form, const Parameters<Real>& p,
                          const Driver<Real>& temperature_C) {
  using std::exp;
  using std::log;
  const Driver<Real> T = per_lane([](double t) { return std::max(t, -40.0); }, temperature_C);
  switch (form) {
    case TemperatureForm::q10: {
      const Driver<Real> tens = (T - 25.0) / 10.0;
      return exp(Real(log(p.q10) * tens));
    }
    case TemperatureForm::yan_hunt:
      return Real(per_lane([](double t) { return yan_hunt(t) / yan_hunt(25.0); }, T));
    case TemperatureForm::lloyd_taylor:
      break;
  }
  return Real(per_lane([](double t) { return lloyd_taylor(std::min(t, 35.0)); }, T));
}

template <class Real>
Real frost_response(const Parameters<Real>& p, const Driver<Real>& temperature_C) {
  const double frozen_C = first(p.frost_C);
  return Real(per_lane([&](double t) { return std::clamp(1.0 - t / frozen_C, 0.0, 1.0); }, temperature_C));
}

double nitrification_temperature(double T) {
  const double root = std::max(0.0, T + 4.5) / 29.5;
  return root * root;
}

Lanes nitrification_temperature(const Lanes& T) {
  return per_lane([](double t) { return nitrification_temperature(t); }, T);
}

template double temperature_response(TemperatureForm, const Parameters<double>&, const double&);
template Dual temperature_response(TemperatureForm, const Parameters<Dual>&, const double&);
template Lanes temperature_response(TemperatureForm, const Parameters<Lanes>&, const Lanes&);
template double frost_response(const Parameters<double>&, const double&);
template Dual frost_response(const Parameters<Dual>&, const double&);
template Lanes frost_response(const Parameters<Lanes>&, const Lanes&);

}  // namespace stoverturn
