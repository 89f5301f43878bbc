#include "scenarios/plan/harvest_material.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace stoverturn {
namespace {

constexpr const char* example = "{ \"cereal rye\" = \"60 %\", \"hairy vetch\" = \"40 %\" }";

std::vector<std::string> known_names(const MaterialLibrary& library) {
  std::vector<std::string> names = material_names(library);
  names.emplace_back("own");
  return names;
}

void read_mixture(const Table& mixture, Position at, const std::vector<std::string>& materials,
                  const MaterialLibrary& library, std::vector<double>& shares, Mistakes& mistakes) {
  double sum = 0.0;
  bool whole = true;
  for (const Entry& entry : mixture) {
    const auto place = std::find(materials.begin(), materials.end(), entry.key);
    if (entry.key == "own") {
      mistakes.add(entry.key_at,
                   "material: \"own\" cannot be part of a mixture; define yours as [material.NAME]");
      whole = false;
      continue;
    }
    if (place == materials.end()) {
      const std::vector<std::string> known = material_names(library);
      mistakes.add(entry.key_at,
                   fmt::format("material: found '{}'; wanted one of {}{}", entry.key, fmt::join(known, ", "),
                               closest(entry.key, known).empty() ? "" : did_you_mean(entry.key, known)));
      whole = false;
      continue;
    }
    const Value& value = entry.value.front();
    const std::optional<Quantity> share = read_quantity(value, Kind::fraction, entry.key, mistakes);
    if (!share) {
      whole = false;
    } else if (!(share->value > 0.0 && share->value <= 1.0)) {
      mistakes.add(value.at,
                   fmt::format("{}: found a share of {:.4g} %; wanted more than 0 and at most 100 %",
                               entry.key, 100.0 * share->value));
      whole = false;
    } else {
      shares[static_cast<std::size_t>(place - materials.begin())] = share->value;
      sum += share->value;
    }
  }
  if (whole && std::abs(sum - 1.0) > 0.005) {
    mistakes.add(at, fmt::format("material: the shares add up to {:.4g} %; wanted 100 %", 100.0 * sum));
  }
  for (double& share : shares) share /= sum > 0.0 ? sum : 1.0;
}

}  // namespace

std::vector<double> read_material_shares(TableReader& harvest, const std::vector<std::string>& materials,
                                         const MaterialLibrary& library, Mistakes& mistakes) {
  std::vector<double> shares(materials.size(), 0.0);
  const Value* value = harvest.value("material");
  if (value && value->table() && value->table()->empty()) {
    harvest.mistake("material",
                    fmt::format("found an empty table; wanted a name, or shares such as {}", example));
  } else if (value && value->table()) {
    read_mixture(*value->table(), value->at, materials, library, shares, mistakes);
  } else if (value && value->text()) {
    const auto name = harvest.one_of("material", known_names(library));
    const auto place = name ? std::find(materials.begin(), materials.end(), *name) : materials.end();
    if (place != materials.end()) shares[static_cast<std::size_t>(place - materials.begin())] = 1.0;
  } else if (value) {
    harvest.mistake("material", fmt::format("found {}; wanted a name in quotes, or shares such as {}",
                                            kind_name(*value), example));
  }
  const bool any = std::any_of(shares.begin(), shares.end(), [](double s) { return s > 0.0; });
  if (!any) shares.front() = 1.0;
  return shares;
}

double read_mixture_mass(TableReader& harvest) {
  const std::optional<double> residue = harvest.amount("residue", Kind::mass_per_area, 1.0, 5000.0);
  harvest.value("grain_moisture");
  if (harvest.has("grain_yield")) {
    harvest.mistake("grain_yield",
                    "a mixture has no one harvest index; write residue = \"5 t/ha\" (dry matter)");
  } else {
    harvest.require("residue", "residue = \"5 t/ha\" (dry matter)");
  }
  return residue.value_or(0.0);
}

void mix_field(TreatmentParameters& parameters, const std::vector<double>& shares,
               const MaterialLibrary& library, std::vector<std::string>& warnings) {
  for (const ParameterRow& row : parameter_table()) {
    if (row.scope == Scope::component) continue;
    const auto same = [&](const Parameters<double>& p) { return at(p, row) == at(parameters.field, row); };
    if (std::all_of(parameters.of_material.begin(), parameters.of_material.end(), same)) continue;
    double mean = 0.0;
    for (std::size_t m = 0; m < shares.size(); ++m) mean += shares[m] * at(parameters.of_material[m], row);
    at(parameters.field, row) = mean;
  }
  for (std::size_t m = 0; m < shares.size(); ++m) {
    const Material* material = find_material(library, parameters.materials[m]);
    if (!material || shares[m] > 0.0) continue;
    for (const MaterialValue& v : material->values) {
      if (v.row->scope == Scope::component || differs_by_material(*v.row)) continue;
      warnings.push_back(
          fmt::format("{}: its {} has no effect; one value holds for the whole field, that of the first "
                      "harvest (or set it under [parameters])",
                      material->name, v.row->name));
    }
  }
}

bool is_mixture(TableReader& harvest) {
  const Value* material = harvest.value("material");
  return material && material->table() && material->table()->size() > 1;
}

std::size_t largest(const std::vector<double>& shares) {
  return static_cast<std::size_t>(std::max_element(shares.begin(), shares.end()) - shares.begin());
}

bool is_fragile(const Treatment& treatment, std::string_view material) {
  const auto place = std::find(treatment.materials.begin(), treatment.materials.end(), material);
  return place != treatment.materials.end() &&
         treatment.fragile[static_cast<std::size_t>(place - treatment.materials.begin())];
}

}  // namespace stoverturn
