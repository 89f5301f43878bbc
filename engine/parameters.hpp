#pragma once
#include <array>
#include <span>
#include <string_view>

#include "engine/scalar.hpp"

namespace stoverturn {

/// Every number of the model that may be set, fitted or vary. Units, bounds, sources and meanings stand in
/// `parameter_table`, nowhere else. Symbols are those of docs/model.md.
template <class Real>
struct Parameters {
  // what a component is made of
  Real mass_share, carbon, nitrogen, phosphorus, potassium, sulfur, soluble, lignin, carbon_ash_free;
  Real diameter_mm, thickness_mm;
  // decay of a component
  Real k_sol, k_hol, k_lig, k_dec, k_rem, p_lig, tissue;
  Real tau_d, v_mm_d, rind;
  Real e_sol, e_hol, e_lig, e_rem, a_rem, a_som;
  Real k_wash_sol, k_leach, b_closed;
  Real N_structure, P_structure, S_structure, phi_P;
  // decomposers, soil and surface
  Real CN_mic, CP_mic, CS_mic, k_som, k_upt, contact, soak_mm_d, standing_reach, k_fall;
  Real N_bg, deposition_N, k_nit, k_hyd, k_vol, k_in, k_wash, c_urea, c_ammonium, k_den, q10_den, wet_den,
      k_man;
  // responses
  Real q10, frost_C, wet_optimum, wet_floor, psi_dry_MPa, psi_wet_MPa;
  // drivers
  Real standing_water, residue_capacity, residue_drying, mulch_loss, mulch_shade, mulch_insulation;
  Real snow_C, snow_melt_mm, snow_insulation, diffusivity_mm2_s, topsoil_mm, subsoil_mm, k_drain, wind_power;
  // amount of stover and its cover
  Real harvest_index, plant_height_mm, cover_m2_g;

  bool operator==(const Parameters&) const = default;
};

enum class Scope {
  component,  ///< may differ between components: `name@component`
  field,      ///< one value for the field
  driver,     ///< used before the simulation, in drivers and amounts: carries no derivative
};
enum class Fit { fixed, linear, log, logit };

/// One row of THE parameter table; files, help, docs and fitting loop over it.
struct ParameterRow {
  double Parameters<double>::*in_double;
  Dual Parameters<Dual>::*in_dual;
  Lanes Parameters<Lanes>::*in_lanes;
  std::string_view name;
  Scope scope;
  std::string_view unit;  ///< unit of value, lower and upper
  double value, lower, upper;
  Fit fit;
  double spread;  ///< standard deviation between places, on the scale of `fit`; 0 where it is not known
  std::string_view source, meaning;
};

/// All rows, in the order of the members of Parameters.
std::span<const ParameterRow> parameter_table();

/// Row of that name; nullptr when there is none.
const ParameterRow* find_parameter(std::string_view name);

/// The member that a row describes.
template <class Real>
Real& at(Parameters<Real>& p, const ParameterRow& row);
template <class Real>
const Real& at(const Parameters<Real>& p, const ParameterRow& row);

/// The defaults of the table.
Parameters<double> default_parameters();

/// The same numbers under another scalar (derivatives zero, all lanes alike).
template <class Real>
Parameters<Real> convert(const Parameters<double>& p);

/// A parameter value of a built-in material where it differs from the table's default. `component` is "" for
/// a parameter of the field.
struct MaterialRow {
  std::string_view material, component, parameter;
  double value;
  std::string_view source;
};
std::span<const MaterialRow> material_table();

}  // namespace stoverturn
