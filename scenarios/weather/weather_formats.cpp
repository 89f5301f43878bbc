#include "scenarios/weather/weather_formats.hpp"

#include <algorithm>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/weather/weather_daymet.hpp"
#include "scenarios/weather/weather_ghcnd.hpp"
#include "scenarios/weather/weather_plain.hpp"
#include "scenarios/weather/weather_power.hpp"

namespace stoverturn {
namespace {

// The first that recognises the text reads it.
constexpr WeatherFormat formats[] = {
    {"GHCN-Daily, fixed width", is_ghcnd_fixed_width, read_ghcnd_fixed_width},
    {"GHCN-Daily, by station", is_ghcnd_by_station, read_ghcnd_by_station},
    {"Daymet, single pixel", is_daymet, read_daymet},
    {"NASA POWER, daily", is_power, read_power},
    {"plain CSV", is_plain_weather, read_plain_weather, false},
};

struct Signature {
  std::string_view begins, looks_like;
};
constexpr Signature signatures[] = {
    {"PK\x03\x04", "a spreadsheet or a zip archive; save the sheet as CSV UTF-8, or unpack it"},
    {"\xD0\xCF\x11\xE0", "an old spreadsheet; save the sheet as CSV UTF-8"},
    {"\x1F\x8B", "a file packed with gzip; unpack it"},
    {"\x89HDF", "an HDF5 or netCDF-4 file; write its series as CSV"},
    {"CDF", "a netCDF file; write its series as CSV"},
    {"GRIB", "a GRIB file; write its series as CSV"},
    {"%PDF", "a PDF document"},
};

std::string_view first_line_of(std::string_view text) {
  const std::size_t start = std::min(text.find_first_not_of(" \t\r\n"), text.size());
  return text.substr(start, std::min(text.find_first_of("\r\n", start), text.size()) - start);
}

/// What people would call the text.
std::string appearance(std::string_view text) {
  constexpr std::size_t shown = 60;
  const std::string_view line = first_line_of(text);
  const std::string first =
      fmt::format("its first line is '{}{}'", line.substr(0, shown), line.size() > shown ? "..." : "");
  if (line.starts_with("<")) return "a web page or XML (a download that failed?); " + first;
  if (line.starts_with("{") || line.starts_with("[")) return "JSON; ask the source for CSV; " + first;
  for (const auto& [separator, called] :
       {std::pair(',', "commas"), std::pair(';', "semicolons"), std::pair('\t', "tabs")}) {
    if (const auto count = std::count(line.begin(), line.end(), separator); count > 0) {
      return fmt::format("a table of {} columns parted by {}; {}", count + 1, called, first);
    }
  }
  return "text that is no table; " + first;
}

}  // namespace

const WeatherFormat& format_of(std::string_view text, const std::string& name) {
  for (const Signature& s : signatures) {
    if (text.starts_with(s.begins))
      throw InputError({{{name}, fmt::format("wanted is daily weather as text; this is {}", s.looks_like)}});
  }
  if (text.find('\0') != std::string_view::npos) {
    throw InputError(
        {{{name}, "this is not a text file in UTF-8 (it holds NUL bytes); save it as CSV UTF-8"}});
  }
  if (text.find_first_not_of(" \t\r\n") == std::string_view::npos) {
    throw InputError({{{name}, "the file is empty; wanted is daily weather"}});
  }
  for (const WeatherFormat& format : formats) {
    if (format.recognises(text)) return format;
  }
  std::vector<std::string_view> names;
  for (const WeatherFormat& format : formats) names.push_back(format.name);
  throw InputError(
      {{{name, 1, 1},
        fmt::format("this is daily weather in none of the formats that can be read ({}); it looks like {}; "
                    "a plain CSV begins with a header such as: date,tmin [degC],tmax [degC],rain [mm]",
                    fmt::join(names, "; "), appearance(text))}});
}

}  // namespace stoverturn
