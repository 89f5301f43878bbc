#pragma once
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/plan/lab_sheet.hpp"

namespace stoverturn {

/// One result as it was written, before it is one of a sheet.
struct WrittenResult {
  std::string analyte;
  Position analyte_at;
  std::string value, unit;  ///< the unit may stand in the value
  Position value_at, unit_at;
  std::optional<Basis> basis;  ///< as the row, column or table says
};

/// "dry", "DM", "as received", "as fed", ... in their common variants.
std::optional<Basis> read_basis(std::string_view text);

/// Makes a sheet of what was written for one sample, on the dry basis.
/// `wanted_basis` is what to write where no basis is given: 'basis = "dry"'.
LabSheet make_sheet(const std::vector<WrittenResult>& written, Position at, const std::string& wanted_basis,
                    Mistakes& mistakes);

}  // namespace stoverturn
