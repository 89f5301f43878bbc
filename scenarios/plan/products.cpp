#include "scenarios/plan/products.hpp"

#include <algorithm>
#include <array>

#include "scenarios/plan/implements.hpp"

namespace stoverturn {
namespace {

constexpr std::string_view cornell = "Cornell NRCCA; NRCS, read in the source";
constexpr std::string_view formula = "chemical formula";
constexpr std::string_view uan_forms =
    "half urea, a quarter each of the others; read in the source (secondary)";
constexpr std::string_view uan_sheet = "a product sheet on a document site, read in the source (secondary)";
constexpr std::string_view solid = "solid";

// clang-format off
constexpr auto rows = std::to_array<ProductRow>({
  // name                   grade          N     urea  NH4   NO3   S     lb/gal in soil lost   sources of content, forms, density
  {"ammonium sulfate",      "21-0-0-24S",  0.21, 0.0,  1.0,  0.0,  0.24, 0.0,   false, 0.0,   cornell, formula, solid},
  {"urea",                  "46-0-0",      0.46, 1.0,  0.0,  0.0,  0.0,  0.0,   false, 0.0,   cornell, formula, solid},
  {"urea with inhibitor",   "",            0.46, 1.0,  0.0,  0.0,  0.0,  0.0,   false, 0.0,   "as urea", formula, solid},
  {"UAN 28",                "28-0-0",      0.28, 0.5,  0.25, 0.25, 0.0,  10.67, false, 0.0,   cornell, uan_forms, uan_sheet},
  {"UAN 32",                "32-0-0",      0.32, 0.5,  0.25, 0.25, 0.0,  11.06, false, 0.0,   cornell, uan_forms, uan_sheet},
  {"anhydrous ammonia",     "82-0-0",      0.82, 0.0,  1.0,  0.0,  0.0,  5.15,  true,  0.015, cornell, formula, "University of Nebraska, at 60 F, read in the source"},
  {"ammonium nitrate",      "34-0-0",      0.34, 0.0,  0.5,  0.5,  0.0,  0.0,   false, 0.0,   "from memory", formula, solid},
});

constexpr std::string_view cornell_manure = "Cornell, read in the source";
constexpr auto manures = std::to_array<ManureRow>({
  {"cattle slurry",  0.35, cornell_manure},
  {"cattle, solid",  0.25, cornell_manure},
  {"swine slurry",   0.35, cornell_manure},
  {"swine, solid",   0.25, cornell_manure},
  {"poultry",        0.55, cornell_manure},
  {"horse",          0.25, cornell_manure},
  {"sheep",          0.25, cornell_manure},
});
// clang-format on

}  // namespace

std::span<const ManureRow> manure_table() { return manures; }

const ManureRow* find_manure(std::string_view name) {
  const auto row = std::find_if(manures.begin(), manures.end(),
                                [&](const ManureRow& r) { return same_word(r.name, name); });
  return row == manures.end() ? nullptr : &*row;
}

std::span<const ProductRow> product_table() { return rows; }

const ProductRow* find_product(std::string_view name) {
  const auto row = std::find_if(rows.begin(), rows.end(), [&](const ProductRow& r) {
    return same_word(r.name, name) || (!r.grade.empty() && same_word(r.grade, name));
  });
  return row == rows.end() ? nullptr : &*row;
}

}  // namespace stoverturn
