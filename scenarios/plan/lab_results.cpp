#include "scenarios/plan/lab_results.hpp"

#include <algorithm>
#include <cctype>
#include <iterator>
#include <utility>

#include <fmt/format.h>

#include "scenarios/text/csv_text.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

constexpr std::pair<std::string_view, Basis> basis_words[] = {
    {"dry", Basis::dry},
    {"drymatter", Basis::dry},
    {"drybasis", Basis::dry},
    {"drymatterbasis", Basis::dry},
    {"drywt", Basis::dry},
    {"dryweight", Basis::dry},
    {"ovendry", Basis::dry},
    {"moisturefree", Basis::dry},
    {"dm", Basis::dry},
    {"dmb", Basis::dry},
    {"dmbasis", Basis::dry},
    {"ondm", Basis::dry},
    {"db", Basis::dry},
    {"asreceived", Basis::as_received},
    {"asreceivedbasis", Basis::as_received},
    {"received", Basis::as_received},
    {"ar", Basis::as_received},
    {"asfed", Basis::as_received},
    {"asfedbasis", Basis::as_received},
    {"asis", Basis::as_received},
    {"assampled", Basis::as_received},
    {"asanalysed", Basis::as_received},
    {"asanalyzed", Basis::as_received},
    {"fresh", Basis::as_received},
    {"freshmatter", Basis::as_received},
    {"freshweight", Basis::as_received},
    {"fm", Basis::as_received},
    {"fw", Basis::as_received},
    {"wet", Basis::as_received},
    {"wetbasis", Basis::as_received},
};

/// The basis that closes a unit ("g/kg DM", "% (as received)") is taken off it.
std::optional<Basis> take_basis(std::string& unit) {
  for (std::size_t start = 1; start < unit.size(); ++start) {
    const bool after_unit = std::isalnum(static_cast<unsigned char>(unit[start - 1])) == 0;
    const bool at_word = std::isalpha(static_cast<unsigned char>(unit[start])) != 0;
    if (!after_unit || !at_word) continue;
    if (const std::optional<Basis> basis = read_basis(std::string_view(unit).substr(start))) {
      unit = std::string(trimmed(std::string_view(unit).substr(0, start)));
      while (!unit.empty() && (unit.back() == '(' || unit.back() == ',')) unit.pop_back();
      return basis;
    }
  }
  return std::nullopt;
}

struct Read {
  Analyte analyte;
  double share;
  std::optional<Basis> basis;
  Position at;
};

std::optional<Read> read_one(const WrittenResult& w, Mistakes& mistakes) {
  const std::optional<Analyte> analyte = find_analyte(w.analyte);
  if (!analyte) {
    if (!is_unused_analyte(w.analyte)) {
      mistakes.add(w.analyte_at, fmt::format("unknown analyte `{}`{}", w.analyte,
                                             did_you_mean(w.analyte, analyte_names())));
    }
    return std::nullopt;
  }
  const std::string name(to_string(*analyte));
  const bool below_limit = !w.value.empty() && w.value.front() == '<';
  if (below_limit) {
    mistakes.add(w.value_at, fmt::format("{}: found '{}', below the limit of detection; write a number, or "
                                         "leave this result out",
                                         name, w.value));
    return std::nullopt;
  }
  std::string text = w.unit.empty() ? w.value : w.value + ' ' + w.unit;
  const std::optional<Basis> by_unit = take_basis(text);
  if (w.basis && by_unit && *w.basis != *by_unit) {
    mistakes.add(w.unit_at, fmt::format("{}: the unit says {}, the basis {}; wanted one of the two", name,
                                        *by_unit == Basis::dry ? "dry" : "as received",
                                        *w.basis == Basis::dry ? "dry" : "as received"));
    return std::nullopt;
  }
  double share = 0.0;
  try {
    share = quantity(text, Kind::content).value;
  } catch (const QuantityError& error) {
    const bool in_unit = !w.unit.empty() && error.offset > w.value.size();
    Position at = in_unit ? w.unit_at : w.value_at;
    if (w.unit.empty()) at.column += static_cast<int>(error.offset);
    mistakes.add(at, fmt::format("{}: {}", name, error.what()));
    return std::nullopt;
  }
  if (share < 0.0 || share > 1.0) {
    mistakes.add(w.value_at, fmt::format("{}: found {}; wanted 0 to 100 %", name, text));
    return std::nullopt;
  }
  return Read{*analyte, share, w.basis ? w.basis : by_unit, w.value_at};
}

bool is_water(Analyte a) { return a == Analyte::moisture || a == Analyte::dry_matter; }

/// Water is always a share of the fresh sample.
void take_water(LabSheet& sheet, const Read& r, Mistakes& mistakes) {
  std::optional<LabResult>& moisture = sheet.results[static_cast<std::size_t>(Analyte::moisture)];
  const double share = r.analyte == Analyte::moisture ? r.share : 1.0 - r.share;
  if (moisture && std::abs(moisture->share - share) > 0.005) {
    mistakes.add(
        r.at, fmt::format("{}: makes a moisture of {:.4g} %, but {:.4g} % stands in line {}",
                          to_string(r.analyte), 100.0 * share, 100.0 * moisture->share, moisture->at.line));
  } else if (share > 0.95) {
    mistakes.add(r.at, fmt::format("{}: makes a moisture of {:.4g} %; wanted at most 95 %",
                                   to_string(r.analyte), 100.0 * share));
  } else {
    moisture = LabResult{share, r.at};
  }
}

}  // namespace

std::optional<Basis> read_basis(std::string_view text) {
  const std::string word = plain_word(text);
  for (const auto& [known, basis] : basis_words) {
    if (known == word) return basis;
  }
  return std::nullopt;
}

LabSheet make_sheet(const std::vector<WrittenResult>& written, Position at, const std::string& wanted_basis,
                    Mistakes& mistakes) {
  LabSheet sheet;
  sheet.at = at;
  std::vector<Read> all;
  for (const WrittenResult& w : written) {
    const std::optional<Analyte> analyte = find_analyte(w.analyte);
    sheet.of_use |= analyte && !is_water(*analyte);
    if (is_crude_fibre(w.analyte)) sheet.crude_fibre = w.analyte_at;
    if (const std::optional<Read> r = read_one(w, mistakes)) {
      if (is_water(r->analyte)) {
        take_water(sheet, *r, mistakes);
      } else {
        all.push_back(*r);
      }
    }
  }
  const std::optional<LabResult>& moisture = sheet.of(Analyte::moisture);
  bool told_basis = false, told_moisture = false;
  for (const Read& r : all) {
    std::optional<LabResult>& result = sheet.results[static_cast<std::size_t>(r.analyte)];
    if (result) {
      mistakes.add(r.at, fmt::format("{} stands twice in this sample; first in line {}", to_string(r.analyte),
                                     result->at.line));
      continue;
    }
    if (!r.basis) {
      if (!told_basis) {
        mistakes.add(r.at,
                     fmt::format("{}: no basis is given; write {}", to_string(r.analyte), wanted_basis));
      }
      told_basis = true;
      continue;
    }
    double share = r.share;
    if (*r.basis == Basis::as_received) {
      if (!moisture) {
        if (!told_moisture) {
          mistakes.add(r.at,
                       fmt::format("{}: is as received, and the sample lacks its moisture; add moisture or "
                                   "dry matter",
                                   to_string(r.analyte)));
        }
        told_moisture = true;
        continue;
      }
      share /= 1.0 - moisture->share;
    }
    result = LabResult{share, r.at};
  }
  return sheet;
}

void lay_over(LabSheet& below, const LabSheet& above) {
  using enum Analyte;
  static constexpr std::pair<Analyte, Analyte> twins[] = {
      {nitrogen, crude_protein}, {phosphorus, phosphate}, {potassium, potash}};
  for (const auto& [one, other] : twins) {
    if (!above.of(one) && !above.of(other)) continue;
    below.results[static_cast<std::size_t>(one)].reset();
    below.results[static_cast<std::size_t>(other)].reset();
  }
  for (std::size_t i = 0; i < analytes; ++i) {
    if (above.results[i]) below.results[i] = above.results[i];
  }
  if (above.crude_fibre) below.crude_fibre = above.crude_fibre;
}

}  // namespace stoverturn
