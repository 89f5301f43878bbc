#pragma once
#include <stdexcept>
#include <string>

#include "scenarios/text/csv_text.hpp"
#include "tests/catch.hpp"

/// Ames, Iowa, 1980-2020, as plain weather text, radiation included (column names and order of the source
/// differ). Needs NEEDS_SHARED("weather-ames-iowa") first. Latitude 42.02 N; the elevation is not stated by
/// the source.
///
/// The folder lists days that look wrong and are left as they are (qc_flags.csv): tmax 45.0 on 1993-08-10
/// and 41.8 on 1991-05-21; daily range 30 and 31 C in January on 1992-01-25 and 1996-01-17; tmin and tmax
/// both 0 on 2010-01-11; radiation 0 on 2015-07-31; large but possible rain on 1988-08-22 (142.0 mm) and
/// 2016-08-11 (126 mm).
inline std::string ames_plain_weather() {
  const auto path = shared_data("weather-ames-iowa") / "mrs_wea.csv";
  const auto csv = stoverturn::read_csv(slurp(path), path.filename().string());
  const auto& header = csv.rows.at(0);
  const auto column = [&](const std::string& name) {
    for (std::size_t i = 0; i < header.size(); ++i) {
      if (header[i].text == name) return i;
    }
    throw std::runtime_error("no column " + name + " in " + path.string());
  };
  const std::size_t order[] = {column("date"), column("mint_c"), column("maxt_c"), column("rain_mm"),
                               column("radn_MJm2")};
  std::string text = "# latitude: 42.02\ndate,tmin [degC],tmax [degC],rain [mm],radiation [MJ/m2/d]\n";
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    for (const std::size_t c : order) text += (c == order[0] ? "" : ",") + csv.rows[r].at(c).text;
    text += '\n';
  }
  return text;
}
