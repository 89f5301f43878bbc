#pragma once
#include <array>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/plan/lab_analytes.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {

/// What results are shares of: dry matter, or the sample as the laboratory received it.
enum class Basis { dry, as_received };

/// One result: a share of dry matter (of the fresh sample: moisture), and where it stood.
struct LabResult {
  double share = 0.0;  ///< g per g
  Position at;
};

/// The results of one sample, all on the dry basis.
struct LabSheet {
  Position at;
  std::array<std::optional<LabResult>, analytes> results;
  bool of_use = false;                  ///< a result that is used was written, rightly or not
  std::optional<Position> crude_fibre;  ///< was reported: of no use here

  const std::optional<LabResult>& of(Analyte analyte) const {
    return results[static_cast<std::size_t>(analyte)];
  }
};

struct LabSample {
  std::string name;  ///< "" where the file names none
  LabSheet sheet;
};

/// Reads [component.X.lab]: analyte names are the keys, `basis` says what the shares are of; a unit may say
/// so too ("6.9 g/kg DM", "70 % as received"). What is as received needs the moisture.
LabSheet read_lab_table(const Table& table, const std::string& what, Position at, Mistakes& mistakes);

/// Reads a laboratory's CSV, either with one result a row
///   sample,analyte,value,unit,basis      or      sample,analyte,unit,as received,dry matter
/// or with one sample a row and a column for each analyte
///   sample,basis,NDF [%],ADF [%],N [g/kg]
/// Column names in common variants; `sample` may be absent when there is one. Analytes of no use here are
/// passed over; unknown ones are mistakes. Cells are separated by commas, or by semicolons or tabs (then a
/// decimal comma is read too).
std::vector<LabSample> read_lab_csv(std::string_view text, const std::string& name, Mistakes& mistakes);

/// Replaces results of `below` by those of `above`; a result also replaces its twin (P and P2O5).
void lay_over(LabSheet& below, const LabSheet& above);

}  // namespace stoverturn
