#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "engine/weather.hpp"

namespace stoverturn {

/// The units of a plain table's columns whose header states none.
enum class ColumnsIn {
  header,  ///< there are none: every header states its unit
  us,      ///< degF, in, mph
  metric,  ///< degC, mm, m/s
  tenths,  ///< tenths of degC, of mm and of m/s; snow depth in whole mm
};

/// As users write them, in the order of ColumnsIn, without `header`.
inline const std::vector<std::string> columns_in_words = {"us", "metric", "tenths"};

/// `header` for any other word.
ColumnsIn columns_in_of(std::string_view word);

struct WeatherOptions {
  double latitude_deg = not_measured;  ///< goes before what the file says
  double elevation_m = not_measured;   ///< likewise; 0 when neither says it
  int longest_gap_d = 7;               ///< longer gaps are refused
  std::string station;                 ///< which of several stations in one file
  ColumnsIn columns_in = ColumnsIn::header;
};

}  // namespace stoverturn
