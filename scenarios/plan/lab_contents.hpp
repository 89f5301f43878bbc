#pragma once
#include <string>
#include <vector>

#include "engine/parameters.hpp"
#include "scenarios/plan/lab_sheet.hpp"

namespace stoverturn {

/// A parameter that a lab sheet tells.
struct LabContent {
  const ParameterRow* row = nullptr;
  double value = 0.0;
};

/// Turns results into the parameters carbon, carbon_ash_free, nitrogen, phosphorus, potassium, sulfur,
/// soluble and lignin (docs/model.md, Eq. 1a to 1c), as far as the sheet tells them. What it does not tell is
/// as in `base`, the component's parameters without it: the carbon of ash-free matter where total carbon is
/// missing, the lignin of dry matter where ADL is.
///
/// `what` names the component in messages. Refuses ADF over NDF, ADL over ADF or NDF, more than 100 % of NDF,
/// crude protein and ash, twins that disagree (N and crude protein, P and P2O5, K and K2O), and what lies
/// outside the bounds of the parameter table. `warnings` tell what the pools lack.
std::vector<LabContent> lab_contents(const LabSheet& sheet, const Parameters<double>& base,
                                     const std::string& what, Mistakes& mistakes,
                                     std::vector<std::string>& warnings);

/// Crude protein is 6.25 times N, by definition of the method (protein of 16 % N).
inline constexpr double protein_of_nitrogen = 6.25;

}  // namespace stoverturn
