#include "scenarios/results/compare.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <nlohmann/json.hpp>

#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/shown.hpp"

namespace stoverturn {
namespace {

std::vector<std::string> labels(const Results& r, Dimension d) {
  switch (d) {
    case Dimension::component:
      return r.components;
    case Dimension::placement:
      return r.placements;
    case Dimension::harvest:
      return r.harvests;
    case Dimension::checkpoint:
      return r.checkpoints;
    case Dimension::stage:
      return r.stages;
    default:
      return {};
  }
}

const Variable* key_number(const Results& r, const std::string& name) {
  for (const Variable& v : r.key_numbers) {
    if (v.name == name) return &v;
  }
  return nullptr;
}

struct Labelled {
  std::string label;
  double value;
};

/// Values of one treatment with the labels of their other dimensions: "mass_left_by_component, stalk, year
/// 1".
std::vector<Labelled> of_treatment(const Results& r, const Variable& v, std::size_t t) {
  std::vector<Labelled> list = {
      {v.name.ends_with("_at") ? v.name.substr(0, v.name.size() - 3) : v.name, 0.0}};
  for (std::size_t d = 1; d < v.dimensions.size(); ++d) {
    std::vector<Labelled> longer;
    for (const Labelled& l : list) {
      for (const std::string& name : labels(r, v.dimensions[d]))
        longer.push_back({l.label + ", " + name, 0.0});
    }
    list = std::move(longer);
  }
  for (std::size_t i = 0; i < list.size(); ++i) list[i].value = v.values[t * list.size() + i];
  return list;
}

std::optional<std::size_t> place(const std::vector<std::string>& names, const std::string& name) {
  const auto found = std::find(names.begin(), names.end(), name);
  return found == names.end() ? std::nullopt : std::optional(static_cast<std::size_t>(found - names.begin()));
}

void compare_treatment(const Results& a, std::size_t ta, const Results& b, std::size_t tb, Comparison& out) {
  for (const Variable& va : a.key_numbers) {
    const Variable* vb = key_number(b, va.name);
    if (va.name == "checkpoint_day") continue;  // dates, not results
    if (is_of_band(va.name)) continue;          // ends of a range have no difference of their own
    if (!vb || va.dimensions.empty() || va.dimensions[0] != Dimension::treatment) continue;
    const Shown unit = shown(va, a);
    const std::vector<Labelled> others = of_treatment(b, *vb, tb);
    for (const Labelled& la : of_treatment(a, va, ta)) {
      const auto lb =
          std::find_if(others.begin(), others.end(), [&](const Labelled& l) { return l.label == la.label; });
      if (lb == others.end()) continue;
      if (std::isnan(la.value) && std::isnan(lb->value)) continue;
      if (la.value == 0.0 && lb->value == 0.0) continue;
      const std::string shown_unit = unit.substance.empty() ? unit.unit : unit.unit + " " + unit.substance;
      out.numbers.push_back({a.treatments[ta], la.label, shown_unit, unit(la.value), unit(lb->value)});
    }
  }
}

}  // namespace

Comparison compare(const Results& a, const Results& b) {
  Comparison out;
  const bool single = a.treatments.size() == 1 && b.treatments.size() == 1;
  for (std::size_t t = 0; t < a.treatments.size(); ++t) {
    const std::optional<std::size_t> same = single ? 0 : place(b.treatments, a.treatments[t]);
    if (same) {
      compare_treatment(a, t, b, *same, out);
    } else {
      out.only_in_a.push_back(a.treatments[t]);
    }
  }
  for (const std::string& name : b.treatments) {
    if (!single && !place(a.treatments, name)) out.only_in_b.push_back(name);
  }
  return out;
}

std::string printed_comparison(const Comparison& c, const std::string& name_a, const std::string& name_b) {
  constexpr int decimals = 2;
  std::string text = fmt::format("A: {}\nB: {}\n", name_a, name_b);
  std::string treatment;
  int alike = 0;
  const auto close_treatment = [&] {
    if (alike > 0) text += fmt::format("{} other numbers are alike.\n", alike);
    alike = 0;
  };
  for (const ComparedNumber& n : c.numbers) {
    if (n.treatment != treatment) {
      close_treatment();
      treatment = n.treatment;
      text += fmt::format("\n=== {}\n{:<46}{:<14}{:>12}{:>12}{:>12}\n", treatment, "", "", "A", "B", "B - A");
    }
    const std::string a = shown_number(n.a, decimals), b = shown_number(n.b, decimals);
    if (a == b) {
      ++alike;
      continue;
    }
    text += fmt::format("{:<46}{:<14}{:>12}{:>12}{:>12}\n", n.name, n.unit, a, b,
                        shown_number(n.b - n.a, decimals));
  }
  close_treatment();
  if (!c.only_in_a.empty()) text += fmt::format("\nOnly in A: {}\n", fmt::join(c.only_in_a, "; "));
  if (!c.only_in_b.empty()) text += fmt::format("\nOnly in B: {}\n", fmt::join(c.only_in_b, "; "));
  return text;
}

std::string json_comparison(const Comparison& c) {
  nlohmann::ordered_json out;
  out["numbers"] = nlohmann::ordered_json::array();
  const auto number = [](double x) { return std::isfinite(x) ? nlohmann::ordered_json(x) : nullptr; };
  for (const ComparedNumber& n : c.numbers) {
    out["numbers"].push_back({{"treatment", n.treatment},
                              {"name", n.name},
                              {"unit", n.unit},
                              {"a", number(n.a)},
                              {"b", number(n.b)},
                              {"difference", number(n.b - n.a)}});
  }
  out["only_in_a"] = c.only_in_a;
  out["only_in_b"] = c.only_in_b;
  return out.dump(1, ' ', false, nlohmann::ordered_json::error_handler_t::replace) + "\n";
}

}  // namespace stoverturn
