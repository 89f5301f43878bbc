#include "scenarios/weather/weather_daymet.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "engine/evapotranspiration.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/weather/preamble.hpp"
#include "scenarios/weather/station_choice.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t field_radiation = 3, field_humidity = 5, field_snow_depth = 6;
constexpr double missing_code = -9999.0;
constexpr double snow_depth_per_water = 10.0;

bool is_header(std::string_view line) {
  const auto holds = [&](std::string_view part) { return line.find(part) != std::string_view::npos; };
  return line.starts_with("year,yday,") &&
         (holds("tmax (deg c)") || holds("tmin (deg c)") || holds("prcp (mm"));
}

struct Columns {
  std::size_t year = 0, yday = 1, tmin = 0, tmax = 0, prcp = 0, dayl = 0, srad = 0, vp = 0, swe = 0;

  Columns(const CsvRow& header, const Position& at, Mistakes& mistakes) {
    const auto find = [&](std::string_view name) {
      const auto found = std::find_if(header.begin(), header.end(),
                                      [&](const CsvCell& cell) { return cell.text.starts_with(name); });
      return static_cast<std::size_t>(found - header.begin());
    };
    tmin = find("tmin ");
    tmax = find("tmax ");
    prcp = find("prcp ");
    dayl = find("dayl ");
    srad = find("srad ");
    vp = find("vp ");
    swe = find("swe ");
    const auto need = [&](std::size_t place, std::string_view name) {
      if (place < header.size()) return;
      mistakes.add(at,
                   fmt::format("there is no column '{}'; ask Daymet for tmin, tmax and prcp at least", name));
    };
    need(tmin, "tmin (deg c)");
    need(tmax, "tmax (deg c)");
    need(prcp, "prcp (mm/day)");
  }
};

class Rows {
 public:
  Rows(const Columns& columns, const std::string& name, RawWeather& raw, Mistakes& mistakes)
      : columns_(columns), name_(name), raw_(raw), mistakes_(mistakes) {}

  void read(const CsvRow& row) {
    const auto day = date_of_row(row);
    if (!day) return;
    day_ = *day;
    const double tmin = value_at(row, columns_.tmin), tmax = value_at(row, columns_.tmax);
    keep(row, columns_.tmin, field_tmin, tmin);
    keep(row, columns_.tmax, field_tmax, tmax);
    keep(row, columns_.prcp, field_rain, value_at(row, columns_.prcp));
    keep(row, columns_.srad, field_radiation, value_at(row, columns_.srad) * daylight_s(row) * 1e-6);
    const double saturation_kPa = 0.5 * (saturation_vapour_kPa(tmin) + saturation_vapour_kPa(tmax));
    const double humidity = 0.1 * value_at(row, columns_.vp) / saturation_kPa;
    keep(row, columns_.vp, field_humidity, humidity > 100.0 ? 100.0 : humidity);
    keep(row, columns_.swe, field_snow_depth, snow_depth_per_water * value_at(row, columns_.swe));
  }

 private:
  std::optional<std::chrono::sys_days> date_of_row(const CsvRow& row) {
    const Position at{name_, row.front().line, 1};
    const auto year = number(row[columns_.year].text), yday = number(row[columns_.yday].text);
    const auto whole = [](const std::optional<double>& x) {
      return x && *x == std::floor(*x) && std::abs(*x) < 1e6;
    };
    if (!whole(year) || !whole(yday)) {
      mistakes_.add(at, fmt::format("year '{}' and yday '{}' are not whole numbers", row[columns_.year].text,
                                    row[columns_.yday].text));
      return std::nullopt;
    }
    try {
      return date_of_day(static_cast<int>(*year), static_cast<int>(*yday));
    } catch (const DateError& error) {
      mistakes_.add(at, error.what());
      return std::nullopt;
    }
  }

  /// NaN where nothing is measured, or the column is absent.
  double value_at(const CsvRow& row, std::size_t place) {
    if (place >= row.size() || row[place].text.empty()) return not_measured;
    const auto value = number(row[place].text);
    if (!value) {
      mistakes_.add({name_, row[place].line, row[place].column},
                    fmt::format("'{}' is not a number", row[place].text));
    }
    return !value || *value == missing_code ? not_measured : *value;
  }

  double daylight_s(const CsvRow& row) {
    if (columns_.dayl < row.size()) return value_at(row, columns_.dayl);
    return 3600.0 * daylight_h(raw_.latitude_deg, day_of_year(day_));
  }

  void keep(const CsvRow& row, std::size_t place, std::size_t field, double value) {
    if (std::isnan(value)) return;
    store(raw_, mistakes_, day_, field, value, fmt::format("{:.5g} {}", value, weather_fields[field].unit),
          {name_, row[place].line, row[place].column});
  }

  const Columns& columns_;
  const std::string& name_;
  RawWeather& raw_;
  Mistakes& mistakes_;
  std::chrono::sys_days day_{};
};

}  // namespace

bool is_daymet(std::string_view text) { return split_preamble(text, is_header).has_value(); }

RawWeather read_daymet(std::string_view text, const std::string& name, const WeatherOptions& options,
                       Mistakes& mistakes) {
  const Preamble parts = *split_preamble(text, is_header);
  refuse_station(options.station, name, mistakes);
  RawWeather raw;
  raw.years_of_365_days = true;
  raw.latitude_deg = number_after(parts.text, "Latitude:").value_or(not_measured);
  raw.elevation_m = number_after(parts.text, "Elevation:").value_or(not_measured);

  const CsvText csv = read_csv(parts.table, name, ',', parts.lines);
  const CsvRow& header = csv.rows.front();
  Mistakes header_mistakes;
  const Columns columns(header, {name, header.front().line, 1}, header_mistakes);
  if (mistakes.take(header_mistakes)) return raw;
  Rows rows(columns, name, raw, mistakes);
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    if (row.size() == header.size()) {
      rows.read(row);
    } else {
      mistakes.add({name, row.front().line, 1},
                   fmt::format("this row has {} cells, the header has {}", row.size(), header.size()));
    }
  }
  return raw;
}

}  // namespace stoverturn
