#include "engine/moisture_response.hpp"

#include <algorithm>

#include "engine/per_lane.hpp"

namespace stoverturn {

double pore_space_response(double filled, double optimum, double floor) {
  const double w = std::clamp(filled, 0.0, 1.0);
  return w <= optimum ? w / optimum : 1.0 - (1.0 - floor) * (w - optimum) / (1.0 - optimum);
}

double water_potential_response(double psi_MPa, double dry_MPa, double wet_MPa) {
  return std::clamp(std::log(psi_MPa / dry_MPa) / std::log(wet_MPa / dry_MPa), 0.0, 1.0);
}

template <class Real>
Real moisture_response(MoistureForm form, const Parameters<Real>& p, const Driver<Real>& filled,
                       const Driver<Real>& psi_MPa) {
  if (form == MoistureForm::water_potential) {
    const double dry = first(p.psi_dry_MPa), wet = first(p.psi_wet_MPa);
    return Real(per_lane([&](double psi) { return water_potential_response(psi, dry, wet); }, psi_MPa));
  }
  const double optimum = first(p.wet_optimum), floor = first(p.wet_floor);
  return Real(per_lane([&](double w) { return pore_space_response(w, optimum, floor); }, filled));
}

template double moisture_response(MoistureForm, const Parameters<double>&, const double&, const double&);
template Dual moisture_response(MoistureForm, const Parameters<Dual>&, const double&, const double&);
template Lanes moisture_response(MoistureForm, const Parameters<Lanes>&, const Lanes&, const Lanes&);

}  // namespace stoverturn
