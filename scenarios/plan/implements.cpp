#include "scenarios/plan/implements.hpp"

#include <algorithm>
#include <array>

namespace stoverturn {
namespace {

constexpr std::string_view wagner = "Wagner and Nelson 1995, read in the source";
constexpr std::string_view guess = "assumption, not verified";
constexpr std::string_view usda = "middle of the range of USDA and EMI 1992, from memory";
constexpr std::string_view text_16_15 = "textbook table 16-15, read in a quotation";
constexpr std::string_view nothing_buried = "definition: works above the ground";
constexpr std::string_view band = "assumption: clears 6 to 10 in of a 30 in row, its share of the width";

// clang-format off
constexpr auto rows = std::to_array<ImplementRow>({
  // name                          down  left   fragile cuts   sources of the three
  {"moldboard plow",               1.00, 0.05,  0.025,  false, guess,  text_16_15, usda},
  {"lister",                       1.00, 0.20,  0.10,   false, guess,  text_16_15, guess},
  {"chisel, straight points",      0.29, 0.70,  0.50,   false, wagner, usda, usda},
  {"chisel, twisted points",       0.76, 0.60,  0.35,   false, wagner, usda, usda},
  {"offset disk",                  0.95, 0.375, 0.175,  false, "as the tandem disk, assumption", usda, usda},
  {"tandem disk, deep",            0.95, 0.25,  0.12,   false, "89 to 100 %, Wagner and Nelson 1995, read in the source", text_16_15, "assumption: in the ratio of the offset disk"},
  {"tandem disk, shallow",         0.95, 0.50,  0.30,   false, "89 to 100 %, Wagner and Nelson 1995, read in the source", text_16_15, "assumption: in the ratio of finishing disks, USDA and EMI 1992, from memory"},
  {"field cultivator",             0.29, 0.70,  0.65,   false, "as straight chisel points, assumption", usda, usda},
  {"sweeps",                       0.07, 0.90,  0.75,   false, wagner, text_16_15, "USDA and EMI 1992, from memory"},
  {"spring-tooth harrow",          0.29, 0.60,  0.50,   false, "as straight chisel points, assumption", text_16_15, guess},
  {"spike-tooth harrow",           0.50, 0.70,  0.60,   false, guess,  text_16_15, guess},
  {"stalk chopper",                0.95, 1.00,  1.00,   true,  guess,  nothing_buried, nothing_buried},
  {"stalk shredder",               0.95, 1.00,  1.00,   true,  guess,  nothing_buried, nothing_buried},
  {"roller",                       0.95, 1.00,  1.00,   false, guess,  nothing_buried, nothing_buried},
  {"roller-crimper",               0.95, 1.00,  1.00,   false, guess,  nothing_buried, nothing_buried},
  {"strip-till",                   0.27, 0.73,  0.73,   false, band,   band, band},
  {"no-till planter",              0.30, 0.90,  0.80,   false, guess,  usda, usda},
  {"anhydrous applicator knife",   0.29, 0.80,  0.575,  false, "as straight chisel points, assumption", usda, usda},
});
// clang-format on

// Kinds of residue as USDA and EMI 1992 sort them, from memory: fall-seeded cover crops are fragile.
constexpr std::string_view fragile[] = {"soybean", "cereal rye", "hairy vetch"};

char lower(char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }

}  // namespace

std::span<const ImplementRow> implement_table() { return rows; }

const ImplementRow* find_implement(std::string_view name) {
  const auto row =
      std::find_if(rows.begin(), rows.end(), [&](const ImplementRow& r) { return same_word(r.name, name); });
  return row == rows.end() ? nullptr : &*row;
}

bool is_fragile(std::string_view material) {
  return std::find(std::begin(fragile), std::end(fragile), material) != std::end(fragile);
}

bool same_word(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lower(x) == lower(y); });
}

}  // namespace stoverturn
