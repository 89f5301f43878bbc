#include "scenarios/plan/lab_contents.hpp"

#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "engine/fibre_carbon.hpp"
#include "scenarios/units/oxides.hpp"

namespace stoverturn {
namespace {

using enum Analyte;

constexpr double twins_agree = 0.05;  // of rounded figures on a report

class Converter {
 public:
  Converter(const LabSheet& sheet, const Parameters<double>& base, std::string what, Mistakes& mistakes,
            std::vector<std::string>& warnings)
      : sheet_(sheet), base_(base), what_(std::move(what)), mistakes_(mistakes), warnings_(warnings) {}

  std::vector<LabContent> convert() {
    if (!fibres_fit()) return {};
    set("nitrogen", twin(nitrogen, crude_protein, 1.0 / protein_of_nitrogen));
    set("phosphorus", twin(phosphorus, phosphate, P_in_P2O5));
    set("potassium", twin(potassium, potash, K_in_K2O));
    set("sulfur", result(sulfur));
    set_carbon();
    set_pools();
    if (!sheet_.of_use && !sheet_.crude_fibre) {
      mistakes_.add(sheet_.at,
                    fmt::format("{}: holds nothing that is used here; wanted any of NDF, ADL, ash, "
                                "carbon, nitrogen, crude protein, phosphorus, potassium, sulfur",
                                what_));
    }
    if (sheet_.crude_fibre && !sheet_.of(NDF)) {
      warnings_.push_back(
          fmt::format("{}: crude fibre leaves out hemicellulose and part of the lignin and is not used; "
                      "soluble and lignin are those of the material. Ask the laboratory for NDF, ADF "
                      "and ADL.",
                      what_));
    }
    return contents_;
  }

 private:
  std::optional<LabResult> result(Analyte a) const { return sheet_.of(a); }

  double share(Analyte a) const { return sheet_.of(a) ? sheet_.of(a)->share : 0.0; }

  void mistake(Position at, const std::string& message) {
    mistakes_.add(std::move(at), fmt::format("{}: {}", what_, message));
  }

  bool holds_at_most(Analyte part, Analyte whole) {
    if (!sheet_.of(part) || !sheet_.of(whole) || share(part) <= share(whole)) return true;
    mistake(sheet_.of(part)->at,
            fmt::format(
                "{} is {:.4g} % of dry matter and {} {:.4g} %; wanted {} at most {} (are they swapped, or on "
                "different bases?)",
                to_string(part), 100.0 * share(part), to_string(whole), 100.0 * share(whole), to_string(part),
                to_string(whole)));
    return false;
  }

  bool fibres_fit() {
    bool ordered = true;
    for (const auto& [part, whole] : {std::pair(ADF, NDF), std::pair(ADL, ADF), std::pair(ADL, NDF)}) {
      ordered = holds_at_most(part, whole) && ordered;
    }
    const double protein =
        sheet_.of(crude_protein) ? share(crude_protein) : protein_of_nitrogen * share(nitrogen);
    const double sum = share(NDF) + protein + share(ash);
    if (sum <= 1.0 || !sheet_.of(NDF)) return ordered;
    mistake(sheet_.of(NDF)->at,
            fmt::format(
                "NDF {:.4g} %, crude protein {:.4g} % and ash {:.4g} % are {:.4g} % of dry matter together; "
                "wanted at most 100 %",
                100.0 * share(NDF), 100.0 * protein, 100.0 * share(ash), 100.0 * sum));
    return false;
  }

  /// The element, measured as such or by its twin.
  std::optional<LabResult> twin(Analyte element, Analyte other, double element_in_other) {
    std::optional<LabResult> by_other = sheet_.of(other);
    if (by_other) by_other->share *= element_in_other;
    if (!sheet_.of(element)) return by_other;
    if (by_other && std::abs(by_other->share / share(element) - 1.0) > twins_agree) {
      mistake(by_other->at,
              fmt::format("{} makes {} {:.4g} % of dry matter, and {} is {:.4g} %; keep one of the two",
                          to_string(other), to_string(element), 100.0 * by_other->share, to_string(element),
                          100.0 * share(element)));
    }
    return sheet_.of(element);
  }

  void set(std::string_view name, const std::optional<LabResult>& result) {
    if (!result) return;
    const ParameterRow& row = *find_parameter(name);
    if (!(result->share >= row.lower && result->share <= row.upper)) {
      mistake(result->at, fmt::format("{} comes to {:.4g}{}; wanted {} to {} ({})", name, result->share,
                                      row.unit == "1" ? "" : fmt::format(" {}", row.unit), row.lower,
                                      row.upper, row.meaning));
      return;
    }
    contents_.push_back({&row, result->share});
  }

  void set_carbon() {
    carbon_ = base_.carbon;
    if (sheet_.of(carbon)) {
      carbon_ = share(carbon);
      set("carbon", result(carbon));
      if (sheet_.of(ash)) set("carbon_ash_free", LabResult{carbon_ / (1.0 - share(ash)), sheet_.of(ash)->at});
    } else if (sheet_.of(ash)) {
      carbon_ = base_.carbon_ash_free * (1.0 - share(ash));
      set("carbon", LabResult{carbon_, sheet_.of(ash)->at});
    }
  }

  void set_pools() {
    if (!sheet_.of(NDF) && !sheet_.of(ADL)) return;
    if (carbon_ < find_parameter("carbon")->lower) return;  // was refused already
    const double lignin = sheet_.of(ADL) ? share(ADL) : base_.lignin * base_.carbon / carbon_of_lignin;
    const Position at = sheet_.of(NDF) ? sheet_.of(NDF)->at : sheet_.of(ADL)->at;
    set("lignin", LabResult{lignin_share(carbon_, lignin), sheet_.of(ADL) ? sheet_.of(ADL)->at : at});
    if (!sheet_.of(NDF)) {
      warnings_.push_back(
          fmt::format("{}: the lab sheet lacks NDF; soluble is that of the material.", what_));
      return;
    }
    if (!sheet_.of(ADL)) {
      warnings_.push_back(
          fmt::format("{}: the lab sheet lacks ADL; lignin is that of the material, {:.3g} % of dry matter.",
                      what_, 100.0 * lignin));
    }
    const double soluble = soluble_share(carbon_, share(NDF), lignin);
    if (soluble < 0.0) {
      mistake(
          at,
          fmt::format(
              "NDF and ADL hold {:.4g} % of dry matter as carbon, and all carbon is {:.4g} %; wanted less "
              "in the fibre (is soil or ash in the NDF?)",
              100.0 * (1.0 - soluble) * carbon_, 100.0 * carbon_));
      return;
    }
    set("soluble", LabResult{soluble, at});
  }

  const LabSheet& sheet_;
  const Parameters<double>& base_;
  std::string what_;
  Mistakes& mistakes_;
  std::vector<std::string>& warnings_;
  std::vector<LabContent> contents_;
  double carbon_ = 0.0;
};

}  // namespace

std::vector<LabContent> lab_contents(const LabSheet& sheet, const Parameters<double>& base,
                                     const std::string& what, Mistakes& mistakes,
                                     std::vector<std::string>& warnings) {
  return Converter(sheet, base, what, mistakes, warnings).convert();
}

}  // namespace stoverturn
