#include "engine/balance.hpp"

namespace stoverturn {

template <class Real>
std::array<Books<Real>, 5> books(const Job<Real>& job, const State<Real>& x) {
  const Real* f = x.data() + job.layout->field();
  Real C = Real(0.0), N = Real(0.0), P = Real(0.0), K = Real(0.0), S = Real(0.0);
  for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
    const Real* cohort = x.data() + j * pools;
    C += carbon_in(cohort);
    N += element_in(job.cohorts[j], nitrogen, cohort);
    P += element_in(job.cohorts[j], phosphorus, cohort);
    K += cohort[potassium];
    S += element_in(job.cohorts[j], sulfur, cohort);
  }
  C += f[som_C] + f[dom_C];
  N += f[som_C] / job.field.CN_mic + f[dom_N] + f[surface_urea_N] + f[surface_urea_ammonium_N] +
       f[surface_ammonium_N] + f[manure_N] + f[manure_stable_N] + f[ammonium_N] + f[nitrate_N] +
       f[subsoil_nitrate_N] + f[cover_N];
  P += f[som_C] / job.field.CP_mic + f[dom_P];
  S += f[som_C] / job.field.CS_mic + f[dom_S];

  const Real N_start = Real(job.start.ammonium_N + job.start.nitrate_N + job.start.subsoil_nitrate_N);
  return {
      Books<Real>{f[residue_in_C], C, Real(f[respired_C] + f[dom_out_C] + f[removed_C])},
      Books<Real>{
          Real(N_start + f[residue_in_N] + f[fertiliser_in_N] + f[deposition_in_N] + f[background_in_N]), N,
          Real(f[dom_out_N] + f[leached_N] + f[volatilised_N] + f[denitrified_N] + f[crop_N] +
               f[cover_returned_N] + f[removed_N])},
      Books<Real>{f[residue_in_P], P, Real(f[dom_out_P] + f[removed_P] + f[to_soil_P])},
      Books<Real>{f[residue_in_K], K, Real(f[removed_K] + f[to_soil_K])},
      Books<Real>{Real(f[residue_in_S] + f[fertiliser_in_S]), S,
                  Real(f[dom_out_S] + f[removed_S] + f[to_soil_S])},
  };
}

template std::array<Books<double>, 5> books(const Job<double>&, const State<double>&);
template std::array<Books<Dual>, 5> books(const Job<Dual>&, const State<Dual>&);
template std::array<Books<Lanes>, 5> books(const Job<Lanes>&, const State<Lanes>&);

}  // namespace stoverturn
