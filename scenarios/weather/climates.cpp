#include "scenarios/weather/climates.hpp"

#include <algorithm>

#include "scenarios/plan/implements.hpp"

namespace stoverturn {
namespace {

/// tmax, tmin, rain, wet days and the least rain that made a day count as wet.
MonthlyNormals of(const Months& tmax_C, const Months& tmin_C, const Months& rain_mm, const Months& wet_days,
                  double wet_day_mm, const Months& temperature_sd_C = months_not_known) {
  MonthlyNormals n;
  n.tmax_C = tmax_C;
  n.tmin_C = tmin_C;
  n.rain_mm = rain_mm;
  n.wet_days = wet_days;
  n.wet_day_mm = wet_day_mm;
  n.temperature_sd_C = temperature_sd_C;
  return n;
}

// clang-format off
const ClimateRow rows[] = {
  {"central Iowa", "Ames", 42.02, 335.0,
   of({-1.8, 0.5, 8.0, 15.7, 21.8, 27.0, 28.6, 27.6, 24.5, 16.9, 8.2, 0.8},
      {-11.4, -9.1, -2.6, 3.5, 10.3, 15.9, 17.7, 16.4, 11.6, 4.8, -2.4, -8.1},
      {20, 26, 53, 91, 114, 116, 103, 108, 74, 64, 48, 31},
      {4.6, 5.2, 6.3, 9.0, 9.9, 8.5, 7.8, 8.0, 6.6, 7.1, 5.9, 4.5}, 1.0,
      {6.9, 6.7, 5.9, 5.2, 4.4, 3.3, 3.0, 3.0, 4.1, 4.8, 5.6, 6.3}),
   "computed from the daily record of the Ames cooperative station, 1991-2020"},
  {"southeast Wisconsin", "Milwaukee", 42.95, 204.0,
   of({-0.8, 0.7, 6.7, 12.6, 18.7, 24.7, 27.3, 26.6, 23.0, 16.1, 8.8, 2.0},
      {-8.0, -7.2, -1.7, 3.2, 8.6, 14.7, 18.2, 17.8, 13.8, 7.3, 0.8, -5.0},
      {40, 45, 63, 94, 99, 103, 85, 97, 82, 72, 51, 53},
      {7.0, 6.4, 7.9, 9.1, 9.5, 8.8, 6.8, 7.4, 6.5, 7.9, 6.3, 7.5}, 1.0,
      {6.1, 5.8, 5.2, 4.7, 4.6, 4.0, 3.3, 2.9, 3.7, 4.3, 4.7, 5.8}),
   "computed from GHCN-Daily USW00014839, 2000-2025"},
  {"central Nebraska", "Grand Island", 40.96, 561.0,
   of({2.2, 4.6, 11.1, 16.9, 22.6, 28.7, 31.3, 29.9, 25.9, 18.4, 10.2, 3.3},
      {-9.7, -7.7, -2.4, 3.4, 9.8, 15.6, 18.3, 17.1, 11.6, 4.3, -2.9, -8.0},
      {14, 18, 34, 68, 109, 102, 86, 78, 54, 51, 25, 22},
      {5.0, 5.5, 6.5, 9.3, 11.4, 9.5, 9.0, 8.3, 6.8, 6.8, 4.8, 5.1}, 0.25),
   "NOAA normals 1991-2020, from memory, rounded"},
  {"southern Quebec", "Montreal", 45.47, 36.0,
   of({-5.3, -3.2, 2.5, 11.6, 18.9, 23.9, 26.3, 25.3, 20.6, 13.0, 5.9, -1.4},
      {-14.0, -12.2, -6.5, 1.2, 7.9, 13.2, 16.1, 14.8, 10.3, 3.9, -1.7, -9.3},
      {77, 63, 69, 82, 81, 87, 89, 94, 83, 91, 96, 87},
      {16.7, 13.7, 13.6, 12.9, 13.6, 13.3, 12.3, 11.6, 11.1, 13.3, 14.8, 16.3}, 0.2),
   "Environment Canada normals 1981-2010, from memory"},
  {"Mato Grosso", "Cuiaba", -15.60, 165.0,
   of({32.6, 32.6, 32.9, 32.7, 31.6, 30.7, 31.8, 34.1, 34.1, 34.0, 31.1, 32.5},
      {23.2, 22.9, 22.9, 22.0, 19.7, 17.5, 16.6, 18.3, 22.1, 22.0, 22.9, 23.0},
      {210, 199, 171, 123, 54, 16, 10, 11, 58, 115, 154, 194},
      {16, 15, 14, 9, 4, 2, 1, 2, 5, 9, 12, 15}, 1.0),
   "temperature and rain: travelguide-en.org/cuiaba-climate, read (period not stated); wet days from memory"},
  {"Brazilian plateau", "Brasilia", -15.79, 1172.0,
   of({26.9, 26.7, 27.1, 26.6, 25.7, 25.2, 25.1, 27.3, 28.3, 27.5, 26.6, 26.2},
      {17.4, 17.4, 17.5, 16.8, 15.0, 13.3, 12.9, 14.6, 16.0, 17.4, 17.5, 17.5},
      {247, 218, 181, 124, 39, 9, 11, 14, 55, 167, 231, 246},
      {17, 14, 13, 9, 3, 1, 1, 1, 5, 13, 16, 18}, 1.0),
   "travelguide-en.org/brasilia-climate, read (period not stated); a wet day of 1 mm is assumed"},
  {"Pampas", "Rosario", -32.92, 25.0,
   of({31.0, 29.6, 27.8, 23.8, 20.3, 17.1, 16.6, 19.4, 21.4, 24.3, 27.6, 30.0},
      {18.6, 17.9, 16.0, 12.4, 9.2, 6.1, 5.1, 6.4, 8.5, 12.2, 14.7, 17.1},
      {115, 125, 127, 112, 51, 31, 24, 33, 51, 110, 100, 124},
      {8.0, 8.0, 8.0, 8.0, 6.0, 5.0, 4.5, 4.5, 6.0, 9.0, 9.0, 9.0}, 0.1),
   "national weather service normals 1991-2020, from memory, rounded"},
  {"North China Plain", "Shijiazhuang", 38.03, 81.0,
   of({3.0, 7.4, 14.1, 21.4, 27.4, 32.1, 32.3, 30.5, 26.9, 20.5, 11.3, 4.6},
      {-6.0, -2.6, 3.1, 9.7, 15.5, 20.5, 23.1, 21.7, 16.4, 9.6, 1.8, -4.1},
      {3, 6, 10, 24, 38, 61, 135, 140, 59, 28, 15, 4},
      {1.7, 2.7, 2.9, 4.9, 6.2, 8.7, 11.2, 10.4, 7.7, 5.2, 3.9, 1.9}, 0.1,
      {2.8, 3.2, 3.8, 3.8, 3.5, 3.0, 2.5, 2.3, 2.8, 3.2, 3.5, 2.9}),
   "China Meteorological Administration normals 1991-2020, from memory, rounded; standard deviation assumed"},
  {"Bihar", "Patna", 25.59, 53.0,
   of({22.6, 26.3, 32.2, 37.0, 37.4, 36.3, 33.2, 32.9, 32.4, 31.9, 29.1, 24.8},
      {8.7, 11.6, 16.3, 21.7, 24.7, 26.3, 26.2, 26.2, 25.2, 21.4, 14.8, 10.0},
      {12, 12, 9, 13, 46, 148, 330, 258, 224, 56, 6, 8},
      {1.1, 1.1, 0.9, 1.2, 3.0, 6.8, 13.8, 12.1, 9.7, 2.9, 0.5, 0.6}, 2.5),
   "India Meteorological Department normals 1981-2010 (rainy days of 2.5 mm), from memory"},
  {"Highveld", "Bloemfontein", -29.12, 1400.0,
   of({31, 29, 27, 23, 20, 17, 17, 20, 24, 26, 28, 30},
      {15, 15, 12, 8, 3, -2, -2, 1, 5, 9, 12, 14},
      {83, 111, 72, 56, 17, 12, 8, 15, 24, 43, 58, 60},
      {11, 11, 11, 9, 4, 3, 2, 3, 4, 7, 9, 10}, 0.1),
   "travelguide-en.org/bloemfontein-climate, read (period not stated); a wet day of 0.1 mm is assumed"},
  {"Kenya highlands", "Nairobi", -1.30, 1798.0,
   of({24.5, 25.6, 25.6, 24.1, 22.6, 21.5, 20.6, 21.4, 23.7, 24.7, 23.1, 23.4},
      {11.5, 11.6, 13.1, 14.0, 13.2, 11.0, 10.1, 10.2, 10.5, 12.5, 13.1, 12.6},
      {64.1, 56.5, 92.8, 219.4, 176.6, 35.0, 17.5, 23.5, 28.3, 55.3, 154.2, 101.0},
      {4, 5, 9, 16, 13, 5, 3, 4, 4, 7, 15, 8}, 1.0),
   "World Weather Information table at theodora.com/wfbcurrent/kenya, read; a wet day of 1 mm is assumed"},
  {"Po valley", "Piacenza", 45.02, 61.0,
   of({6.3, 9.0, 14.7, 18.8, 23.7, 28.0, 30.6, 29.9, 25.0, 18.6, 11.7, 6.8},
      {-1.0, 0.3, 4.3, 8.3, 12.9, 17.1, 19.3, 18.9, 14.6, 10.1, 4.8, 0.1},
      {45, 46, 50, 72, 77, 68, 62, 75, 85, 100, 105, 60},
      {5.5, 5.0, 5.5, 8.0, 8.0, 7.0, 5.0, 6.0, 6.5, 8.0, 9.0, 6.5}, 1.0),
   "air force weather service normals 1991-2020, from memory, rounded"},
  {"Hungary", "Debrecen", 47.49, 108.0,
   of({2.0, 4.8, 10.9, 17.6, 22.6, 26.2, 28.2, 28.2, 22.7, 16.8, 9.6, 2.9},
      {-4.0, -3.0, 0.8, 5.9, 10.7, 14.4, 16.0, 15.6, 11.1, 6.0, 1.8, -2.5},
      {29, 33, 31, 42, 61, 66, 71, 52, 50, 47, 40, 44},
      {6.0, 6.5, 6.0, 6.8, 8.5, 8.2, 8.0, 6.0, 6.5, 6.3, 6.5, 7.8}, 1.0),
   "national weather service normals 1991-2020, from memory, rounded"},
  {"Ukraine", "Poltava", 49.60, 160.0,
   of({-2.0, -0.5, 5.6, 15.0, 21.7, 25.5, 27.8, 27.2, 20.8, 13.0, 4.6, -0.6},
      {-7.2, -6.9, -2.0, 4.7, 10.4, 14.5, 16.4, 15.3, 10.0, 4.3, -0.8, -5.2},
      {40, 34, 40, 36, 51, 63, 67, 41, 52, 48, 41, 43},
      {8.5, 7.5, 8.0, 6.8, 7.5, 8.0, 7.5, 5.0, 6.3, 6.8, 7.3, 8.5}, 1.0),
   "World Meteorological Organization normals 1991-2020, from memory, rounded"},
  {"southwest France", "Mont-de-Marsan", 43.91, 60.0,
   of({10.9, 12.5, 16.0, 18.6, 22.3, 25.7, 27.7, 28.1, 24.9, 20.5, 14.5, 11.5},
      {2.2, 2.2, 4.4, 7.0, 10.7, 13.9, 15.6, 15.5, 12.2, 9.6, 5.4, 2.8},
      {84, 67, 66, 84, 79, 68, 55, 63, 73, 78, 105, 90},
      {11.5, 9.5, 9.8, 11.5, 10.5, 8.8, 7.2, 7.5, 8.3, 9.8, 12.2, 11.3}, 1.0),
   "national weather service normals 1991-2020, from memory, rounded"},
};
// clang-format on

}  // namespace

std::span<const ClimateRow> climate_table() { return rows; }

const ClimateRow* find_climate(std::string_view name) {
  const auto row = std::find_if(std::begin(rows), std::end(rows),
                                [&](const ClimateRow& r) { return same_word(r.name, name); });
  return row == std::end(rows) ? nullptr : row;
}

std::vector<std::string> climate_names() {
  std::vector<std::string> names;
  for (const ClimateRow& row : rows) names.emplace_back(row.name);
  return names;
}

}  // namespace stoverturn
