#include "scenarios/plan/material_book.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/plan/parameter_settings.hpp"

namespace stoverturn {
namespace {

void add_once(std::vector<std::string>& list, std::string_view word) {
  if (!word.empty() && std::find(list.begin(), list.end(), word) == list.end()) list.emplace_back(word);
}

/// A component of a material that is being read, as its values stand so far.
Parameters<double> standing(const MaterialBook& book, const std::string& material,
                            const std::string& component) {
  Parameters<double> p = default_parameters();
  for (const MaterialValue& v : book.values) {
    if (v.material == material && v.component == component) at(p, *v.row) = v.value;
  }
  return p;
}

class MaterialReader {
 public:
  MaterialReader(MaterialBook& book, const TextOf& text_of, Mistakes& mistakes,
                 std::vector<std::string>& warnings)
      : book_(book), text_of_(text_of), mistakes_(mistakes), warnings_(warnings) {}

  void read(const std::string& name, const Table& table, const Position& at) {
    const std::vector<std::string> known = book_.names();
    if (std::find(known.begin(), known.end(), name) != known.end() || name == "own") {
      mistakes_.add(at, fmt::format("material `{}` is there already; give yours another name", name));
      return;
    }
    TableReader in(table, fmt::format("[material.{}]", name), at, mistakes_);
    if (const auto like = in.one_of("like", known)) copy(*like, name);
    for (const ParameterRow& row : parameter_table()) {
      if (row.scope == Scope::component) continue;
      if (!differs_by_material(row)) continue;
      read_value(in, row, name, "");
    }
    const Table* components = in.table("component");
    if (components) {
      for (const Entry& entry : *components) read_component(name, entry);
    }
    in.finish();
    check_shares(name, at);
  }

 private:
  void copy(const std::string& from, const std::string& to) {
    const std::vector<MaterialValue> before = book_.values;
    for (MaterialValue v : before) {
      if (v.material != from) continue;
      v.material = to;
      book_.values.push_back(v);
    }
    book_.likes.emplace_back(to, from);
  }

  void read_value(TableReader& in, const ParameterRow& row, const std::string& material,
                  const std::string& component) {
    const Value* value = in.value(std::string(row.name));
    if (!value) return;
    if (const auto number = read_parameter_value(row, *value, mistakes_)) {
      book_.values.push_back({material, component, &row, *number});
    }
  }

  void read_component(const std::string& material, const Entry& entry) {
    const std::string what = fmt::format("[material.{}.component.{}]", material, entry.key);
    const Table* table = entry.value.front().table();
    if (!table) {
      mistakes_.add(entry.key_at, fmt::format("{}: wanted a table", what));
      return;
    }
    TableReader in(*table, what, entry.key_at, mistakes_);
    const std::vector<std::string> inherited = book_.components_of(material);
    if (std::find(inherited.begin(), inherited.end(), entry.key) == inherited.end()) {
      in.require("mass_share", "mass_share = 1, its share of the residue's dry matter");
    }
    for (const LabContent& c : read_lab_keys(in, entry.key, what, standing(book_, material, entry.key),
                                             text_of_, mistakes_, warnings_)) {
      book_.values.push_back({material, entry.key, c.row, c.value});
    }
    for (const ParameterRow& row : parameter_table()) {
      if (row.scope == Scope::component) read_value(in, row, material, entry.key);
    }
    in.finish();
  }

  void check_shares(const std::string& name, const Position& at) {
    const std::vector<std::string> components = book_.components_of(name);
    if (components.empty()) {
      mistakes_.add(at, fmt::format("material `{}` has no components; write like = \"wheat straw\", or "
                                    "[material.{}.component.stem] with mass_share = 1",
                                    name, name));
      return;
    }
    double sum = 0.0;
    for (const std::string& c : components) sum += standing(book_, name, c).mass_share;
    if (std::abs(sum - 1.0) > 0.005) {
      mistakes_.add(
          at, fmt::format("material `{}`: the mass_share of its components add up to {:.4g}; wanted 1", name,
                          sum));
    }
  }

  MaterialBook& book_;
  const TextOf& text_of_;
  Mistakes& mistakes_;
  std::vector<std::string>& warnings_;
};

}  // namespace

std::vector<std::string> MaterialBook::names() const {
  std::vector<std::string> list;
  for (const MaterialValue& v : values) add_once(list, v.material);
  return list;
}

std::vector<std::string> MaterialBook::components_of(std::string_view material) const {
  std::vector<std::string> list;
  for (const MaterialValue& v : values) {
    if (v.material == material) add_once(list, v.component);
  }
  return list;
}

std::string MaterialBook::root_of(const std::string& material) const {
  for (const auto& [own, like] : likes) {
    if (own == material) return root_of(like);
  }
  return material;
}

const MaterialBook& builtin_materials() {
  static const MaterialBook book = [] {
    MaterialBook b;
    for (const MaterialRow& r : material_table()) {
      b.values.push_back(
          {std::string(r.material), std::string(r.component), find_parameter(r.parameter), r.value});
    }
    return b;
  }();
  return book;
}

MaterialBook read_material_book(const std::vector<const Table*>& tables, const TextOf& text_of,
                                Mistakes& mistakes, std::vector<std::string>& warnings) {
  MaterialBook book = builtin_materials();
  MaterialReader reader(book, text_of, mistakes, warnings);
  for (const Table* table : tables) {
    for (const Entry& entry : *table) {
      if (const Table* own = entry.value.front().table()) {
        reader.read(entry.key, *own, entry.key_at);
      } else {
        mistakes.add(entry.key_at, fmt::format("material `{0}`: wanted a table [material.{0}]", entry.key));
      }
    }
  }
  return book;
}

std::vector<LabContent> read_lab_keys(TableReader& in, const std::string& component, const std::string& what,
                                      const Parameters<double>& base, const TextOf& text_of,
                                      Mistakes& mistakes, std::vector<std::string>& warnings) {
  LabSheet sheet;
  bool any = false;
  const std::optional<std::string> wanted = in.text("sample");
  if (const auto file = in.text("lab_sheet")) {
    const std::optional<std::string> text = text_of ? text_of(*file) : std::nullopt;
    if (!text) {
      in.mistake("lab_sheet", fmt::format("there is no file {}", *file));
      return {};
    }
    const std::vector<LabSample> samples = read_lab_csv(*text, *file, mistakes);
    const std::string& name = wanted ? *wanted : component;
    std::vector<std::string> names;
    for (const LabSample& s : samples) names.push_back(s.name);
    auto chosen =
        std::find_if(samples.begin(), samples.end(), [&](const LabSample& s) { return s.name == name; });
    if (chosen == samples.end() && samples.size() == 1 && !wanted) chosen = samples.begin();
    if (chosen == samples.end()) {
      if (!samples.empty()) {
        in.mistake(wanted ? "sample" : "lab_sheet",
                   fmt::format("{} has no sample '{}'{}", *file, name, did_you_mean(name, names)));
      }
      return {};
    }
    sheet = chosen->sheet;
    any = true;
  } else if (wanted) {
    in.mistake("sample", "needs lab_sheet = \"sheet.csv\"");
  }
  if (const Table* own = in.table("lab")) {
    const LabSheet written = read_lab_table(*own, what + " lab", in.at("lab"), mistakes);
    if (any) {
      lay_over(sheet, written);
    } else {
      sheet = written;
    }
    any = true;
  }
  return any ? lab_contents(sheet, base, what, mistakes, warnings) : std::vector<LabContent>{};
}

}  // namespace stoverturn
