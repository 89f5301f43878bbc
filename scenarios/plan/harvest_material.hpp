#pragma once
#include <vector>

#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {

/// The key `material` of a harvest, a name or a mixture { "cereal rye" = "60 %", "hairy vetch" = "40 %" }:
/// shares of its dry matter by material of the treatment, together 1. Without the key all is the first.
std::vector<double> read_material_shares(TableReader& harvest, const std::vector<std::string>& materials,
                                         const MaterialLibrary& library, Mistakes& mistakes);

/// Dry matter of a mixture, g m-2: `residue` alone, as no harvest index is of a mixture.
double read_mixture_mass(TableReader& harvest);

/// Of a mixture, parameters of the field that materials may set are means weighted by the shares (so cover
/// holds exactly: A m is the sum of A_i m_i). Warns where a material of another harvest sets such a parameter
/// without effect.
void mix_field(TreatmentParameters& parameters, const std::vector<double>& shares,
               const MaterialLibrary& library, std::vector<std::string>& warnings);

/// Whether a harvest is written as a mixture of several materials, rightly or not.
bool is_mixture(TableReader& harvest);

/// Index of the largest share.
std::size_t largest(const std::vector<double>& shares);

/// Whether a pass buries more of that material of the treatment.
bool is_fragile(const Treatment& treatment, std::string_view material);

}  // namespace stoverturn
