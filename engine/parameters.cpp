#include "engine/parameters.hpp"

#include <type_traits>

#include "engine/fibre_carbon.hpp"

namespace stoverturn {
namespace {

// The name is typed once: it is the member and the key.
#define ROW(member) \
  &Parameters<double>::member, &Parameters<Dual>::member, &Parameters<Lanes>::member, #member

constexpr std::string_view prototype =
    "fitted by the prototype to 20 published figures, docs/model.md section 5";
constexpr std::string_view calibrated = "calibrated on sixteen studies, docs/verification.md";
constexpr std::string_view left_P =
    "so that P left in fall and spring is as Mallarino and Oltmans saw, docs/verification.md";
constexpr std::string_view jars = "so that maize of 0.2 to 50 mm respires as in jars, docs/verification.md";
constexpr std::string_view assumed = "assumption, not verified";
constexpr std::string_view stalks = "chosen for C:S 3000 in structure of corn stalks, as in the prototype";
constexpr std::string_view set = "chosen by the prototype, not fitted";

using enum Scope;
using enum Fit;

// clang-format off
constexpr auto rows = std::to_array<ParameterRow>({
  // member                 scope      unit       default  lower   upper  fit     spread source, meaning
  {ROW(mass_share),         component, "1",       1.0,     0.0,    1.0,   fixed,  0.0,  "corn: Lizotte et al. 2010", "share of the residue's dry matter"},
  {ROW(carbon),             component, "g/g",     0.44,    0.30,   0.55,  linear, 0.0,  "Karlen et al. 2015 (0.431 to 0.454)", "carbon of dry matter"},
  {ROW(nitrogen),           component, "g/g",     0.0063,  0.001,  0.06,  log,    0.0,  "C:N 70 of corn stalks", "nitrogen of dry matter"},
  {ROW(phosphorus),         component, "g/g",     0.0008,  0.0001, 0.01,  log,    0.0,  "Karlen et al. 2015; Johnson et al. 2010", "phosphorus of dry matter"},
  {ROW(potassium),          component, "g/g",     0.0100,  0.0001, 0.06,  log,    0.0,  "Karlen et al. 2015; Johnson et al. 2010", "potassium of dry matter"},
  {ROW(sulfur),             component, "g/g",     0.0005,  0.0001, 0.01,  log,    0.0,  "Karlen et al. 2015", "sulfur of dry matter"},
  {ROW(soluble),            component, "1",       0.22,    0.02,   0.70,  logit,  0.0,  prototype, "neutral-detergent solubles, share of carbon"},
  {ROW(lignin),             component, "1",       0.12,    0.01,   0.40,  logit,  0.0,  prototype, "acid-detergent lignin, share of carbon"},
  {ROW(carbon_ash_free),    component, "g/g",     0.47,    0.40,   0.55,  linear, 0.0,  "0.44 of whole mass with 6 % ash", "carbon of ash-free dry matter"},
  {ROW(diameter_mm),        component, "mm",      20.0,    0.5,    60.0,  fixed,  0.0,  "lower internodes 20 to 28 mm, from memory", "diameter of a stalk or cob"},
  {ROW(thickness_mm),       component, "mm",      0.3,     0.05,   3.0,   fixed,  0.0,  assumed, "thickness of a leaf or husk"},
  {ROW(k_sol),              component, "1/d",     0.072,   0.005,  0.5,   log,    0.52, calibrated, "decay of solubles at 25 C"},
  {ROW(k_hol),              component, "1/d",     0.053,   0.001,  0.3,   log,    0.75, calibrated, "decay of open holocellulose at 25 C"},
  {ROW(k_lig),              component, "1/d",     0.0025,  1e-4,   0.03,  log,    0.67, calibrated, "decay of open lignin at 25 C"},
  {ROW(k_dec),              component, "1/d",     0.10,    0.01,   50.0,  log,    0.0,  prototype, "death of decomposers at 25 C"},
  {ROW(k_rem),              component, "1/d",     0.038,   0.001,  0.3,   log,    0.0,  prototype, "decay of microbial remains at 25 C"},
  {ROW(p_lig),              component, "1",       0.73,    0.0,    5.0,   linear, 0.0,  prototype, "protection of holocellulose by lignin"},
  {ROW(tissue),             component, "1",       1.0,     0.02,   3.0,   log,    0.0,  "definition: 1 for corn stalk; others calibrated, below", "rate of this tissue's holocellulose and lignin against stalk"},
  {ROW(tau_d),              component, "d",       18.0,    1.0,    90.0,  log,    0.87, calibrated, "time to take over tissue that was reached, at 25 C"},
  {ROW(v_mm_d),             component, "mm/d",    0.61,    0.01,   20.0,  log,    0.58, calibrated, "speed of advance from a cut or opening at 25 C"},
  {ROW(rind),               component, "1",       0.12,    0.001,  1.0,   logit,  0.0,  jars, "permeability of rind or cuticle against a cut face"},
  {ROW(e_sol),              component, "1",       0.55,    0.05,   0.75,  logit,  0.0,  prototype, "growth efficiency on solubles"},
  {ROW(e_hol),              component, "1",       0.43,    0.05,   0.75,  logit,  0.88, calibrated, "growth efficiency on holocellulose"},
  {ROW(e_lig),              component, "1",       0.15,    0.01,   0.6,   logit,  0.0,  prototype, "growth efficiency on lignin"},
  {ROW(e_rem),              component, "1",       0.20,    0.01,   0.6,   logit,  0.0,  prototype, "growth efficiency on microbial remains"},
  {ROW(a_rem),              component, "1",       0.35,    0.0,    1.0,   logit,  0.0,  prototype, "share of dead decomposers that stays as remains"},
  {ROW(a_som),              component, "1",       0.59,    0.0,    1.0,   logit,  0.0,  calibrated, "share of dead decomposers handed to the soil"},
  {ROW(k_wash_sol),         component, "1/mm",    0.026,   0.001,  0.5,   log,    0.59, calibrated, "wash-out of solubles by water"},
  {ROW(k_leach),            component, "1/mm",    0.007,   0.0005, 0.2,   log,    0.0,  "half of K out by 150 mm, Schomberg and Steiner 1999; 45 % left in spring, Mallarino and Oltmans", "wash-out of K and inorganic P by water"},
  {ROW(b_closed),           component, "1",       0.5,     0.0,    1.0,   logit,  0.0,  prototype, "share of wash-out that closed tissue withholds"},
  {ROW(N_structure),        component, "1",       0.86,    0.02,   1.0,   logit,  0.85, calibrated, "N of structure per g C relative to the whole residue's"},
  {ROW(P_structure),        component, "1",       0.65,    0.02,   1.0,   logit,  0.0,  left_P, "organic P of structure per g C relative to the whole residue's"},
  {ROW(S_structure),        component, "1",       0.3,     0.02,   1.0,   logit,  0.0,  stalks, "S of structure per g C relative to the whole residue's"},
  {ROW(phi_P),              component, "1",       0.15,    0.0,    0.95,  logit,  0.0,  left_P, "inorganic share of P"},
  {ROW(CN_mic),             field,     "1",       11.0,    4.0,    25.0,  log,    0.0,  set, "C:N of decomposers"},
  {ROW(CP_mic),             field,     "1",       100.0,   20.0,   500.0, log,    0.0,  set, "C:P of decomposers"},
  {ROW(CS_mic),             field,     "1",       110.0,   30.0,   500.0, log,    0.0,  set, "C:S of decomposers"},
  {ROW(k_som),              field,     "1/d",     0.0003,  0.0,    0.01,  linear, 0.0,  prototype, "decay of what decomposers handed to the soil at 25 C"},
  {ROW(k_upt),              field,     "1/d",     2.0,     0.05,   20.0,  log,    0.0,  set, "uptake of mineral N within reach at 25 C"},
  {ROW(contact),            field,     "1",       0.18,    0.0,    1.0,   logit,  1.63, calibrated, "contact of surface residue with the soil, r_c"},
  {ROW(soak_mm_d),          field,     "mm/d",    5.8,     0.01,   50.0,  log,    0.81, calibrated, "rain that washes as much out of buried residue as a day of soil full of water"},
  {ROW(standing_reach),     field,     "1",       0.05,    0.0,    1.0,   fixed,  0.0,  assumed, "reach of decomposers on standing residue to soil mineral N"},
  {ROW(k_fall),             field,     "1/d",     0.002,   0.0,    0.05,  linear, 0.0,  assumed, "fall of standing residue to the surface"},
  {ROW(N_bg),               field,     "g/m2/d",  0.06,    0.0,    0.5,   linear, 0.0,  set, "mineral N from the soil's own organic matter at 25 C and best moisture"},
  {ROW(deposition_N),       field,     "g/m2/d",  0.0022,  0.0,    0.02,  fixed,  0.0,  "7.7 kg/ha a year, dry and wet, in Iowa, Anderson and Downing 2006", "mineral N from the air"},
  {ROW(k_nit),              field,     "1/d",     0.075,   0.001,  1.0,   log,    0.0,  "Frederick 1956", "nitrification at 25 C, best moisture, neutral soil"},
  {ROW(k_hyd),              field,     "1/d",     0.3,     0.01,   5.0,   log,    0.0,  assumed, "hydrolysis of urea at 25 C"},
  {ROW(k_vol),              field,     "1/d",     0.15,    0.0,    2.0,   linear, 0.0,  "assumption; urea loses what trials in Pennsylvania, Denmark and Montana lost, within 10 points", "loss of ammonia from surface ammonium at 25 C and 2 m/s of wind, alkaline spot"},
  {ROW(k_in),               field,     "1/d",     0.1,     0.0,    2.0,   linear, 0.0,  assumed, "entry of surface ammonium into the soil without rain"},
  {ROW(k_wash),             field,     "1/mm",    0.25,    0.0,    2.0,   linear, 0.0,  assumed, "wash-in of surface urea and ammonium by water"},
  {ROW(c_urea),             field,     "1",       1.0,     0.0,    1.0,   fixed,  0.0,  assumed, "ammonia loss factor of ammonium from urea"},
  {ROW(c_ammonium),         field,     "1",       0.1,     0.0,    1.0,   fixed,  0.0,  assumed, "ammonia loss factor of ammonium salts at pH 7.5; follows the share of ammonia"},
  {ROW(k_den),              field,     "1/d",     0.064,   0.0,    1.0,   linear, 0.0,  "4 to 5 % of nitrate a day above 65 degF in saturated soil (Illinois; Sawyer 2014)", "denitrification of topsoil nitrate at 25 C in saturated soil"},
  {ROW(q10_den),            field,     "1",       2.5,     1.0,    5.0,   log,    0.0,  "2 to 3 % a day at 55 to 65 degF, 4 to 5 % above (extension)", "rate ratio of denitrification for 10 K"},
  {ROW(wet_den),            field,     "1",       0.60,    0.3,    0.95,  fixed,  0.0,  "Linn and Doran 1984, from memory", "water-filled pore space above which nitrate denitrifies"},
  {ROW(k_man),              field,     "1/d",     0.03,    0.0,    0.5,   log,    0.0,  assumed, "mineralisation of the available organic N of manure at 25 C and best moisture"},
  {ROW(q10),                field,     "1",       2.0,     1.0,    4.0,   log,    0.0,  "Kaetterer et al. 1998", "rate ratio for 10 K (q10 response only)"},
  {ROW(frost_C),            field,     "degC",    -2.0,    -10.0,  -0.1,  fixed,  0.0,  set, "temperature below which nothing decays; full rate from 0 C"},
  {ROW(wet_optimum),        field,     "1",       0.60,    0.3,    0.9,   fixed,  0.0,  "Linn and Doran 1984", "water-filled pore space of fastest aerobic decay"},
  {ROW(wet_floor),          field,     "1",       0.40,    0.0,    1.0,   fixed,  0.0,  assumed, "moisture response of saturated soil"},
  {ROW(psi_dry_MPa),        field,     "MPa",     -7.58,   -20.0,  -1.0,  fixed,  0.0,  "Andren and Paustian 1987, from memory", "water potential at which decay stops (water_potential response only)"},
  {ROW(psi_wet_MPa),        field,     "MPa",     -0.01,   -0.1,   -0.001, fixed, 0.0,  "Andren and Paustian 1987, from memory", "water potential of fastest decay (water_potential response only)"},
  {ROW(standing_water),     driver,    "1",       0.5,     0.0,    1.0,   fixed,  0.0,  assumed, "share of rain that wets standing residue"},
  {ROW(residue_capacity),   driver,    "g/g",     3.4,     1.0,    6.0,   fixed,  0.0,  "3.1 to 3.8 g/g, Iqbal thesis", "water held by wet residue"},
  {ROW(residue_drying),     driver,    "1",       0.24,    0.02,   1.0,   fixed,  0.0,  prototype, "drying of wet residue against reference evapotranspiration"},
  {ROW(mulch_loss),         driver,    "1/d",     0.0015,  0.0,    0.02,  fixed,  0.0,  set, "prescribed loss of the mulch that shades and insulates"},
  {ROW(mulch_shade),        driver,    "1",       0.5,     0.0,    1.0,   fixed,  0.0,  "5 % less for each 10 % of cover, FAO-56, from memory", "soil evaporation withheld under full cover"},
  {ROW(mulch_insulation),   driver,    "m2/kg",   0.35,    0.0,    3.0,   fixed,  0.0,  assumed, "damping of soil temperature by mulch"},
  {ROW(snow_C),             driver,    "degC",    0.5,     -3.0,   4.0,   fixed,  0.0,  assumed, "daily mean below which precipitation is snow"},
  {ROW(snow_melt_mm),       driver,    "mm/d/K",  2.74,    0.5,    8.0,   fixed,  0.0,  "degree-day factor, from memory", "melt for each degree of daily mean above 0 C"},
  {ROW(snow_insulation),    driver,    "1",       0.1,     0.01,   1.0,   fixed,  0.0,  "Zheng, Hunt and Running 1993, from memory", "response of soil temperature to air under snow"},
  {ROW(diffusivity_mm2_s),  driver,    "mm2/s",   0.5,     0.05,   2.0,   fixed,  0.0,  "5e-7 m2/s, textbook value", "thermal diffusivity of soil"},
  {ROW(topsoil_mm),         driver,    "mm",      200.0,   100.0,  400.0, fixed,  0.0,  "definition", "depth of the topsoil"},
  {ROW(subsoil_mm),         driver,    "mm",      1000.0,  500.0,  2000.0, fixed, 0.0,  "definition", "depth below which nitrate counts as leached"},
  {ROW(k_drain),            driver,    "1/d",     1.0,     0.1,    10.0,  fixed,  0.0,  assumed, "drainage of water above field capacity"},
  {ROW(wind_power),         driver,    "1",       0.5,     0.0,    1.0,   fixed,  0.0,  "assumption: trials disagree (Bouwmeester et al. 1985; Nye 1986)", "power of wind in the loss of ammonia, neutral at 2 m/s"},
  {ROW(harvest_index),      driver,    "1",       0.50,    0.3,    0.65,  fixed,  0.0,  "half of dry matter, Iowa State University; Pordesimo et al. 2004", "grain share of above-ground dry matter"},
  {ROW(plant_height_mm),    driver,    "mm",      2500.0,  200.0,  4000.0, fixed, 0.0,  "from memory", "height of the plant that a cutting height is measured against"},
  {ROW(cover_m2_g),         field,     "m2/g",    0.00339, 0.0005, 0.02,  log,    0.0,  "Gregory 1982 with corn 3.39e-4 ha/kg, from memory", "soil covered by residue, A of cover = 1 - exp(-A m)"},
});
#undef ROW

constexpr std::string_view karlen_johnson = "mean of Karlen et al. 2015 and Johnson et al. 2010";
constexpr std::string_view lizotte = "Lizotte et al. 2010, shares add to 101, scaled";

constexpr std::string_view one_component = "definition: the whole residue as one component";
constexpr std::string_view recalled = "from memory";
constexpr std::string_view sievers = "Sievers and Cook 2018, table 3, read in the source";
constexpr std::string_view sievers_fibre =
    "from fibre and lignin of Sievers and Cook 2018, table 3; 0.444 and 0.62 g C per g of polysaccharide and lignin";
constexpr double m2_g_of_acre_lb = 4046.8564224 / 453.59237;
constexpr double small_grain_cover = 0.00060 * m2_g_of_acre_lb;
constexpr double soybean_cover = 0.00058 * m2_g_of_acre_lb;
constexpr double sorghum_cover = 0.00034 * m2_g_of_acre_lb;

constexpr auto materials = std::to_array<MaterialRow>({
  // material component parameter        value         source
  {"corn", "stalk", "mass_share",   42.0 / 101.0, lizotte},
  {"corn", "stalk", "nitrogen",     0.44 / 70.0,  "C:N 70; below ear 6.4 (Johnson et al. 2010) to 6.8 g/kg (Karlen et al. 2015)"},
  {"corn", "stalk", "phosphorus",   0.00083,      karlen_johnson},
  {"corn", "stalk", "potassium",    0.0100,       karlen_johnson},
  {"corn", "stalk", "sulfur",       0.00049,      "Karlen et al. 2015, below ear"},
  {"corn", "leaf",  "mass_share",   29.0 / 101.0, lizotte},
  {"corn", "leaf",  "nitrogen",     0.44 / 45.0,  "C:N 45, chosen by the prototype"},
  {"corn", "leaf",  "phosphorus",   0.00104,      karlen_johnson},
  {"corn", "leaf",  "potassium",    0.0090,       karlen_johnson},
  {"corn", "leaf",  "sulfur",       0.00072,      "Karlen et al. 2015, above ear"},
  {"corn", "leaf",  "soluble",      0.30,         "chosen by the prototype"},
  {"corn", "leaf",  "lignin",       0.08,         "chosen by the prototype"},
  {"corn", "leaf",  "tissue",       1.7,          calibrated},
  {"corn", "husk",  "mass_share",   11.0 / 101.0, lizotte},
  {"corn", "husk",  "nitrogen",     0.44 / 60.0,  "assumption between leaf and stalk"},
  {"corn", "husk",  "phosphorus",   0.00104,      karlen_johnson},
  {"corn", "husk",  "potassium",    0.0090,       karlen_johnson},
  {"corn", "husk",  "sulfur",       0.00072,      "Karlen et al. 2015, above ear"},
  {"corn", "husk",  "soluble",      0.20,         "assumption: much fibre, little lignin (Li et al. 2014)"},
  {"corn", "husk",  "lignin",       0.06,         "assumption: much fibre, little lignin (Li et al. 2014)"},
  {"corn", "cob",   "mass_share",   19.0 / 101.0, lizotte},
  {"corn", "cob",   "nitrogen",     0.44 / 80.0,  "C:N 80; 5.5 g/kg, Johnson et al. 2010"},
  {"corn", "cob",   "phosphorus",   0.00043,      karlen_johnson},
  {"corn", "cob",   "potassium",    0.0065,       karlen_johnson},
  {"corn", "cob",   "sulfur",       0.00029,      "Karlen et al. 2015"},
  {"corn", "cob",   "soluble",      0.12,         "chosen by the prototype"},
  {"corn", "cob",   "lignin",       0.14,         "chosen by the prototype"},
  {"corn", "cob",   "tissue",       0.12,         "calibrated, mostly on cobs of Burgess et al. 2002, 32 % lost in two years"},
  {"corn", "cob",   "rind",         1.0,          "a cob has no rind"},
  {"corn", "cob",   "diameter_mm",  25.0,         "assumption, not verified"},

  {"wheat straw", "straw", "mass_share",   1.0,      one_component},
  {"wheat straw", "straw", "nitrogen",     0.44 / 80.0, "C:N 80, Kansas State, read in the source; 270 in Angers and Recous 1997"},
  {"wheat straw", "straw", "phosphorus",   0.0007,   recalled},
  {"wheat straw", "straw", "potassium",    0.0110,   recalled},
  {"wheat straw", "straw", "sulfur",       0.0010,   recalled},
  {"wheat straw", "straw", "soluble",      0.20,     "neutral-detergent fibre 73 to 81 %, from memory"},
  {"wheat straw", "straw", "lignin",       0.11,     "acid-detergent lignin 6 to 9 % of dry matter, from memory"},
  {"wheat straw", "straw", "tissue",       0.42,  calibrated},
  {"wheat straw", "straw", "diameter_mm",  3.5,      recalled},
  {"wheat straw", "",      "harvest_index",   0.45,  "Johnson et al. 2006, from memory"},
  {"wheat straw", "",      "plant_height_mm", 900.0, recalled},
  {"wheat straw", "",      "cover_m2_g",   small_grain_cover, "Gregory 1982 with small grain 0.00060 acre/lb, from memory"},

  {"soybean", "stem", "mass_share",   1.0,     "stems and pods, leaves drop before harvest; one component, not split"},
  {"soybean", "stem", "nitrogen",     0.0100,  "stems and pods at grain harvest, from memory; Kansas State has C:N 15 for soybean residue, read in the source"},
  {"soybean", "stem", "phosphorus",   0.0008,  recalled},
  {"soybean", "stem", "potassium",    0.0100,  recalled},
  {"soybean", "stem", "sulfur",       0.0008,  recalled},
  {"soybean", "stem", "soluble",      0.28,    recalled},
  {"soybean", "stem", "lignin",       0.16,    recalled},
  {"soybean", "stem", "diameter_mm",  7.0,     recalled},
  {"soybean", "",     "harvest_index",   0.46, "Johnson et al. 2006, from memory"},
  {"soybean", "",     "plant_height_mm", 900.0, recalled},
  {"soybean", "",     "cover_m2_g",   soybean_cover, "Gregory 1982 with soybean 0.00058 acre/lb, from memory"},

  {"sorghum", "stalk", "mass_share",   1.0,     one_component},
  {"sorghum", "stalk", "nitrogen",     0.0080,  "grain sorghum, from memory; young sorghum-sudangrass 10.9 g/kg (Lynch et al. 2016)"},
  {"sorghum", "stalk", "phosphorus",   0.0010,  recalled},
  {"sorghum", "stalk", "potassium",    0.0130,  recalled},
  {"sorghum", "stalk", "sulfur",       0.0008,  recalled},
  {"sorghum", "stalk", "soluble",      0.28,    recalled},
  {"sorghum", "stalk", "lignin",       0.10,    recalled},
  {"sorghum", "stalk", "diameter_mm",  15.0,    recalled},
  {"sorghum", "stalk", "tissue",       1.04,    calibrated},
  {"sorghum", "",      "plant_height_mm", 1200.0, recalled},
  {"sorghum", "",      "cover_m2_g",   sorghum_cover, "Gregory 1982 with sorghum 0.00034 acre/lb, from memory"},

  {"cereal rye", "shoot", "mass_share",   1.0,    one_component},
  {"cereal rye", "shoot", "carbon",       0.3986, sievers},
  {"cereal rye", "shoot", "nitrogen",     0.0115, sievers},
  {"cereal rye", "shoot", "phosphorus",   0.0025, recalled},
  {"cereal rye", "shoot", "potassium",    0.0200, recalled},
  {"cereal rye", "shoot", "sulfur",       0.0012, recalled},
  {"cereal rye", "shoot", "soluble",      soluble_share(0.3986, 0.6115, 0.0241), sievers_fibre},
  {"cereal rye", "shoot", "lignin",       lignin_share(0.3986, 0.0241), sievers_fibre},
  {"cereal rye", "shoot", "diameter_mm",  3.0,    recalled},
  {"cereal rye", "shoot", "tissue",       0.75,   calibrated},
  {"cereal rye", "shoot", "tau_d",        3.3,    calibrated},
  {"cereal rye", "",      "cover_m2_g",   small_grain_cover, "Gregory 1982 with small grain 0.00060 acre/lb, from memory"},

  {"hairy vetch", "shoot", "mass_share",   1.0,    one_component},
  {"hairy vetch", "shoot", "carbon",       0.3992, sievers},
  {"hairy vetch", "shoot", "nitrogen",     0.0419, sievers},
  {"hairy vetch", "shoot", "phosphorus",   0.0040, recalled},
  {"hairy vetch", "shoot", "potassium",    0.0300, recalled},
  {"hairy vetch", "shoot", "sulfur",       0.0025, recalled},
  {"hairy vetch", "shoot", "soluble",      soluble_share(0.3992, 0.3536, 0.0582), sievers_fibre},
  {"hairy vetch", "shoot", "lignin",       lignin_share(0.3992, 0.0582), sievers_fibre},
  {"hairy vetch", "shoot", "diameter_mm",  2.0,    recalled},
  {"hairy vetch", "shoot", "tissue",       2.5,    calibrated},
  {"hairy vetch", "shoot", "tau_d",        3.3,    calibrated},
  {"hairy vetch", "",      "cover_m2_g",   soybean_cover, "assumption: as soybean"},
});
// clang-format on

static_assert(sizeof(Parameters<double>) == rows.size() * sizeof(double), "a parameter has no table row");

template <class Real>
constexpr auto member(const ParameterRow& row) {
  if constexpr (std::is_same_v<Real, double>) {
    return row.in_double;
  } else if constexpr (std::is_same_v<Real, Dual>) {
    return row.in_dual;
  } else {
    return row.in_lanes;
  }
}

}  // namespace

std::span<const ParameterRow> parameter_table() { return rows; }

std::span<const MaterialRow> material_table() { return materials; }

const ParameterRow* find_parameter(std::string_view name) {
  for (const ParameterRow& row : rows) {
    if (row.name == name) return &row;
  }
  return nullptr;
}

template <class Real>
Real& at(Parameters<Real>& p, const ParameterRow& row) {
  return p.*member<Real>(row);
}

template <class Real>
const Real& at(const Parameters<Real>& p, const ParameterRow& row) {
  return p.*member<Real>(row);
}

Parameters<double> default_parameters() {
  Parameters<double> p{};
  for (const ParameterRow& row : rows) at(p, row) = row.value;
  return p;
}

template <class Real>
Parameters<Real> convert(const Parameters<double>& p) {
  Parameters<Real> converted{};
  for (const ParameterRow& row : rows) at(converted, row) = Real(at(p, row));
  return converted;
}

template double& at(Parameters<double>&, const ParameterRow&);
template Dual& at(Parameters<Dual>&, const ParameterRow&);
template Lanes& at(Parameters<Lanes>&, const ParameterRow&);
template const double& at(const Parameters<double>&, const ParameterRow&);
template const Dual& at(const Parameters<Dual>&, const ParameterRow&);
template const Lanes& at(const Parameters<Lanes>&, const ParameterRow&);
template Parameters<double> convert(const Parameters<double>&);
template Parameters<Dual> convert(const Parameters<double>&);
template Parameters<Lanes> convert(const Parameters<double>&);

}  // namespace stoverturn
