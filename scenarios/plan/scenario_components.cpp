#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "engine/stoichiometry.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/plan/sieve_sheet.hpp"

namespace stoverturn {
namespace {

constexpr double richest_CN = 3.2;  // protein
constexpr double default_cut_length_mm = 300.0;
const std::vector<std::string> shapes = {"stalk", "sheet"};

std::string name_of(const Pieces& p) {
  if (p.shape == Shape::sheet) return "sheet";
  if (!std::isfinite(p.spacing_mm) || p.opening == 0.0) return fmt::format("{:.4g} mm", p.length_mm);
  return fmt::format("{:.4g} mm, {:.4g} % open every {:.4g} mm", p.length_mm, 100.0 * p.opening,
                     p.spacing_mm);
}

/// cut_length, entry_spacing and opening, over what holds for the component.
Pieces read_geometry(TableReader& in, Pieces pieces) {
  pieces.length_mm = in.amount("cut_length", Kind::length, 0.01, 5000.0).value_or(pieces.length_mm);
  const bool has_spacing = in.has("entry_spacing");
  pieces.spacing_mm = in.amount("entry_spacing", Kind::length, 0.1, 5000.0).value_or(pieces.spacing_mm);
  pieces.opening =
      in.amount("opening", Kind::fraction, 0.0, 1.0).value_or(has_spacing ? 1.0 : pieces.opening);
  if (in.has("opening") && !std::isfinite(pieces.spacing_mm)) {
    in.mistake("opening", "openings need their distance: entry_spacing = \"4 in\"");
  }
  return pieces;
}

std::vector<PieceClass> read_classes(const List& list, const std::string& what, const Pieces& base,
                                     Position at, Mistakes& mistakes) {
  std::vector<PieceClass> classes;
  double sum = 0.0;
  for (const Value& item : list) {
    if (!item.table()) {
      mistakes.add(item.at, fmt::format("{}: found {}; wanted {{ share = \"40 %\", cut_length = \"2 in\" }}",
                                        what, kind_name(item)));
      return {};
    }
    TableReader in(*item.table(), what, item.at, mistakes);
    PieceClass pieces;
    in.require("share", "share = \"40 %\"");
    pieces.share = in.amount("share", Kind::fraction, 0.0, 1.0).value_or(0.0);
    pieces.geometry = read_geometry(in, base);
    pieces.name = in.text("name").value_or(name_of(pieces.geometry));
    in.finish();
    sum += pieces.share;
    classes.push_back(pieces);
  }
  if (std::abs(sum - 1.0) > 0.005) {
    mistakes.add(at, fmt::format("{}: the shares add up to {:.4g} %; wanted 100 %", what, 100.0 * sum));
  }
  for (PieceClass& pieces : classes) pieces.share /= sum > 0.0 ? sum : 1.0;
  return classes;
}

/// The shares of a material's components make one whole.
void check_mass_shares(const Treatment& t, Position at, Mistakes& mistakes) {
  for (std::size_t m = 0; m < t.materials.size(); ++m) {
    std::vector<std::string> names;
    double sum = 0.0;
    for (std::size_t i = 0; i < t.components.size(); ++i) {
      if (t.components[i].material != m) continue;
      names.push_back(t.components[i].name);
      sum += t.parameters.components[i].mass_share;
    }
    if (names.empty() || std::abs(sum - 1.0) <= 0.005) continue;
    mistakes.add(at, fmt::format("the mass_share of the components ({}) add up to {:.4g}; wanted 1",
                                 fmt::join(names, ", "), sum));
  }
}

}  // namespace

Shape usual_shape(std::string_view part) {
  return part == "leaf" || part == "husk" ? Shape::sheet : Shape::stalk;
}

std::vector<PieceClass> read_pieces(TableReader& in, const std::string& what, const std::string& component,
                                    Pieces pieces, const TextOf& text_of, Mistakes& mistakes) {
  if (const auto shape = in.one_of("shape", shapes)) {
    pieces.shape = *shape == "sheet" ? Shape::sheet : Shape::stalk;
  }
  pieces = read_geometry(in, pieces);
  if (const auto sheet = in.text("sieves")) {
    if (in.has("pieces")) in.mistake("sieves", "found with `pieces`; keep one of the two");
    const std::optional<std::string> text = text_of ? text_of(*sheet) : std::nullopt;
    if (text) return read_sieve_sheet(*text, *sheet, component, pieces, mistakes);
    in.mistake("sieves", fmt::format("there is no file {}", *sheet));
  }
  if (const List* list = in.list("pieces")) {
    return read_classes(*list, what + " pieces", pieces, in.at("pieces"), mistakes);
  }
  return {{name_of(pieces), pieces, 1.0}};
}

std::vector<std::optional<LabSheet>> read_components(const Table* table, const std::string& treatment,
                                                     std::vector<ComponentPlan>& components,
                                                     std::vector<ParameterSetting>& settings,
                                                     const TextOf& text_of, Mistakes& mistakes) {
  std::vector<std::optional<LabSheet>> labs;
  for (ComponentPlan& component : components) {
    labs.emplace_back();
    Pieces pieces;
    pieces.shape = usual_shape(component.part);
    pieces.length_mm = default_cut_length_mm;
    component.pieces = {{name_of(pieces), pieces, 1.0}};
    const Value* own = table ? find(*table, component.name) : nullptr;
    if (!own) continue;
    const std::string what = fmt::format("[component.{}]", component.name);
    if (!own->table()) {
      mistakes.add(own->at, fmt::format("{}: found {}; wanted a table", what, kind_name(*own)));
      continue;
    }
    TableReader in(*own->table(), what, own->at, mistakes);
    component.pieces = read_pieces(in, what, component.name, pieces, text_of, mistakes);
    const Composition composition =
        read_composition(in, what, {component.name, component.part}, "", text_of, mistakes);
    labs.back() = composition.lab;
    for (const LabContent& c : composition.given) {
      settings.push_back({c.row, component.name, treatment, c.value, Layer::file});
    }
    in.finish();
  }
  return labs;
}

Table with_pieces_of_materials(const Table* table, const std::vector<ComponentPlan>& components,
                               const std::vector<std::string>& materials, const MaterialLibrary& library) {
  Table base;
  for (const ComponentPlan& c : components) {
    const Material* material = find_material(library, materials[c.material]);
    const Value* pieces = material ? find(material->pieces, c.part) : nullptr;
    if (pieces) base.push_back({c.name, pieces->at, {*pieces}});
  }
  return table ? merged(base, *table) : base;
}

bool grain_tells_residue(TableReader& in, const TreatmentParameters& parameters, std::size_t material,
                         bool bushels) {
  const std::string &name = parameters.materials[material], &kin = parameters.kin[material];
  if (kin == "corn" || kin == "own") return true;
  if (!is_known(parameters, "harvest_index", material)) {
    in.mistake("grain_yield", fmt::format("no harvest index is known for {}; write residue = \"5 t/ha\" (dry "
                                          "matter), or set harvest_index under [parameters]",
                                          name));
    return false;
  }
  if (bushels) {
    in.mistake("grain_yield", fmt::format("a bushel is read as corn; write the yield of {} as \"5 t/ha\" or "
                                          "\"4500 lb/acre\", with grain_moisture",
                                          name));
    return false;
  }
  if (!in.has("grain_moisture")) {
    in.require("grain_moisture", "grain_moisture = \"13 %\", of the grain as sold");
    return false;
  }
  return true;
}

void check_components(Treatment& t, const Table& tables, Position field_at, Mistakes& mistakes) {
  for (std::size_t i = 0; i < t.components.size(); ++i) {
    const Parameters<double>& p = t.parameters.components[i];
    const std::string& name = t.components[i].name;
    const Value* own = find(tables, name);
    const Position at = own ? own->at : field_at;
    if (p.soluble + p.lignin > 0.98) {
      mistakes.add(
          at, fmt::format("{}: soluble and lignin are {:.3g} of the carbon together; wanted at most 0.98",
                          name, p.soluble + p.lignin));
      continue;
    }
    if (p.a_rem + p.a_som > 1.0) {
      mistakes.add(at, fmt::format("{}: a_rem and a_som are {:.3g} together; wanted at most 1", name,
                                   p.a_rem + p.a_som));
    }
    const Stoichiometry<double> s = stoichiometry(p);
    if (1.0 / s.q_sol[nitrogen] < richest_CN) {
      mistakes.add(at,
                   fmt::format("{}: its solubles would have a C:N of {:.2g}, richer than protein ({}); lower "
                               "nitrogen, or raise soluble or N_structure",
                               name, 1.0 / s.q_sol[nitrogen], richest_CN));
    }
  }
  check_mass_shares(t, field_at, mistakes);
}

}  // namespace stoverturn
