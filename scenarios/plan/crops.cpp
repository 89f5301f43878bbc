#include "scenarios/plan/crops.hpp"

#include <algorithm>

#include "scenarios/plan/implements.hpp"

namespace stoverturn {
namespace {

constexpr double F = 1.0 / 1.8;  // K of a degree Fahrenheit
constexpr double base_40_F = 8.0 / 1.8, killing_frost_C = -4.0 / 1.8;
constexpr double no_frost_C = -std::numeric_limits<double>::infinity();
constexpr const char* fao = "FAO-56 Tables 11 and 17, from memory, dates turned into degree days";
constexpr const char* recalled = "from memory";

// clang-format off
const std::vector<CropRow>& rows() {
  static const std::vector<CropRow> table = {
  {"corn", {"emergence", "V6", "V12", "silking", "maturity"},
   {10.0, 30.0, {115 * F, 607 * F, 1035 * F, 1400 * F, 2700 * F}, 1240 * F, 244 * F,
    0.15, 1.15, 0.50, {600 * F, 1400 * F, 2200 * F}, killing_frost_C}, "",
   "86/50 degF form, read in several extension pages",
   "emergence 100 to 120, 82 a leaf to V10 and 50 after, Nielsen 2019 (Purdue University), read; silking from memory; maturity 2700, read (2400 to 2600 in Wisconsin for 95 to 105 days, read)",
   "Iowa State Special Report 48 as printed by Michigan State University, read", fao},
  {"soybean", {"emergence", "V3", "flowering", "full seed", "maturity"},
   {10.0, 30.0, {130 * F, 400 * F, 800 * F, 1550 * F, 2000 * F}, 1150 * F, 220 * F,
    0.15, 1.10, 0.30, {500 * F, 1100 * F, 1750 * F}, killing_frost_C}, "",
   "as corn, Wisconsin, read",
   "maturity 1890 and 2058 for groups 0.5 and 1.1, North Dakota State University 2016, read; others from memory",
   "assumption, not verified; most of its N comes from the air, give what it takes from the soil", fao},
  {"wheat", {"emergence", "tillering", "jointing", "heading", "maturity"},
   {0.0, 35.0, {180 * F, 500 * F, 1000 * F, 1600 * F, 3000 * F}, 1100 * F, 300 * F,
    0.15, 1.10, 0.30, {600 * F, 1300 * F, 2400 * F}, no_frost_C}, "",
   "base 32 degF, read in extension pages",
   "Kansas State University, ranges read: jointing 1000, heading 1600, maturity 3000; emergence 80 and 50 an inch of depth, University of Minnesota, read; tillering from memory",
   "assumption, not verified", fao},
  {"cereal rye", {"emergence", "tillering", "jointing", "heading", "maturity"},
   {base_40_F, 30.0, {110.0, 250.0, 650.0, 900.0, 1600.0}, 530.0, 120.0,
    0.15, 1.10, 0.30, {150.0, 600.0, 1300.0}, no_frost_C}, "cereal rye",
   "base 40 degF as winter wheat, Oklahoma State University, read",
   "assumption, not verified",
   "shaped by four planting dates in Maryland (10 to 69 kg/ha of N in fall, doi 10.1002/jeq2.20342, read in the abstract); their degree days are an estimate", recalled},
  };
  return table;
}
// clang-format on

}  // namespace

const CropLibrary& builtin_crops() {
  static const CropLibrary library = [] {
    CropLibrary made;
    for (const CropRow& row : rows()) made.push_back(std::make_shared<CropRow>(row));
    return made;
  }();
  return library;
}

CropPointer find_crop(std::string_view name, const CropLibrary& library) {
  const auto crop = std::find_if(library.begin(), library.end(),
                                 [&](const CropPointer& c) { return same_word(c->name, name); });
  return crop == library.end() ? nullptr : *crop;
}

}  // namespace stoverturn
