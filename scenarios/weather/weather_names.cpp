#include "scenarios/weather/weather_names.hpp"

#include <algorithm>
#include <cctype>
#include <vector>

namespace stoverturn {
namespace {

constexpr std::size_t tmin = field_tmin, tmax = field_tmax, rain = field_rain, radiation = 3, wind = 4,
                      humidity = 5, snow_depth = 6, soil_temperature = 7, soil_moisture = 8;

// The name of the plain format first.
constexpr Spelling name_spellings[] = {
    {"date", date_column},
    {"timestamp", date_column},
    {"date time", date_column},
    {"yyyymmdd", date_column},
    {"observation date", date_column},
    {"year", year_column},
    {"yr", year_column},
    {"yyyy", year_column},
    {"month", month_column},
    {"mon", month_column},
    {"mo", month_column},
    {"day", day_column},
    {"dy", day_column},
    {"dom", day_column},
    {"day of month", day_column},
    {"day of year", day_of_year_column},
    {"doy", day_of_year_column},
    {"yday", day_of_year_column},
    {"jday", day_of_year_column},
    {"julian day", day_of_year_column},
    {"tmin", tmin},
    {"mint", tmin},
    {"tmn", tmin},
    {"min temp", tmin},
    {"temp min", tmin},
    {"min temperature", tmin},
    {"temperature min", tmin},
    {"minimum temp", tmin},
    {"minimum temperature", tmin},
    {"temperature minimum", tmin},
    {"low temp", tmin},
    {"low temperature", tmin},
    {"t2m min", tmin},
    {"tmax", tmax},
    {"maxt", tmax},
    {"tmx", tmax},
    {"max temp", tmax},
    {"temp max", tmax},
    {"max temperature", tmax},
    {"temperature max", tmax},
    {"maximum temp", tmax},
    {"maximum temperature", tmax},
    {"temperature maximum", tmax},
    {"high temp", tmax},
    {"high temperature", tmax},
    {"t2m max", tmax},
    {"rain", rain},
    {"rainfall", rain},
    {"precipitation", rain},
    {"precip", rain},
    {"prcp", rain},
    {"prec", rain},
    {"ppt", rain},
    {"pcp", rain},
    {"rain amount", rain},
    {"precipitation amount", rain},
    {"radiation", radiation},
    {"solar radiation", radiation},
    {"global radiation", radiation},
    {"global solar radiation", radiation},
    {"shortwave radiation", radiation},
    {"solar rad", radiation},
    {"solar", radiation},
    {"srad", radiation},
    {"radn", radiation},
    {"rs", radiation},
    {"wind", wind},
    {"wind speed", wind},
    {"ws", wind},
    {"ws 2m", wind},
    {"wind 2m", wind},
    {"wind speed 2m", wind},
    {"u2", wind},
    {"wind 10m", wind, true},
    {"wind speed 10m", wind, true},
    {"ws 10m", wind, true},
    {"u10", wind, true},
    {"awnd", wind, true},  // as in GHCN-Daily
    {"humidity", humidity},
    {"relative humidity", humidity},
    {"rel humidity", humidity},
    {"rh", humidity},
    {"rh 2m", humidity},
    {"snow depth", snow_depth},
    {"depth of snow", snow_depth},
    {"snow on ground", snow_depth},
    {"snwd", snow_depth},
    {"soil temperature", soil_temperature},
    {"soil temp", soil_temperature},
    {"tsoil", soil_temperature},
    {"soil temperature 10cm", soil_temperature},
    {"soil temp 10cm", soil_temperature},
    {"soil temperature 100mm", soil_temperature},
    {"soil temp 100mm", soil_temperature},
    {"soil temperature 4in", soil_temperature},
    {"soil temp 4in", soil_temperature},
    {"soil moisture", soil_moisture},
    {"soil water content", soil_moisture},
    {"soil water", soil_moisture},
    {"soil vwc", soil_moisture},
    {"vwc", soil_moisture},
    {"station", station_column},
    {"station id", station_column},
    {"site", station_column},
    {"site id", station_column},
    {"location", station_column},
    {"latitude", latitude_column},
    {"lat", latitude_column},
    {"elevation", elevation_column},
    {"elev", elevation_column},
    {"altitude", elevation_column},
    {"longitude", note_column},
    {"note", note_column},
    {"notes", note_column},
    {"remark", note_column},
    {"remarks", note_column},
    {"comment", note_column},
};

constexpr std::string_view words_without_weight[] = {"air", "daily", "total", "mean", "average", "avg"};

struct UnitEnding {
  std::string_view text, unit;
};
constexpr UnitEnding unit_endings[] = {
    {"c", "degC"},       {"degc", "degC"},      {"f", "degF"},
    {"degf", "degF"},    {"mm", "mm"},          {"cm", "cm"},
    {"in", "in"},        {"inch", "in"},        {"inches", "in"},
    {"mps", "m/s"},      {"mph", "mph"},        {"kmh", "km/h"},
    {"pct", "%"},        {"percent", "%"},      {"mj", "MJ/m2/d"},
    {"mjm2", "MJ/m2/d"}, {"mjm2d", "MJ/m2/d"},  {"mjm2day", "MJ/m2/d"},
    {"wm2", "W/m2"},     {"kwhm2", "kWh/m2/d"}, {"m3m3", "m3/m3"},
    {"m", "m"},          {"ft", "ft"},
};

std::vector<std::string> words_of(const std::string& text) {
  std::vector<std::string> words;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find(' ', begin), text.size());
    if (end > begin) words.push_back(text.substr(begin, end - begin));
    begin = end + 1;
  }
  return words;
}

std::string without_blanks(std::string_view text) {
  std::string joined;
  std::copy_if(text.begin(), text.end(), std::back_inserter(joined), [](char c) { return c != ' '; });
  return joined;
}

const Spelling* spelling_of(const std::vector<std::string>& words) {
  std::string joined;
  for (const std::string& word : words) {
    const bool weightless = std::find(std::begin(words_without_weight), std::end(words_without_weight),
                                      word) != std::end(words_without_weight);
    if (!weightless) joined += word;
  }
  const auto found = std::find_if(std::begin(name_spellings), std::end(name_spellings),
                                  [&](const Spelling& s) { return without_blanks(s.text) == joined; });
  return found == std::end(name_spellings) ? nullptr : found;
}

}  // namespace

std::string folded_name(std::string_view name) {
  const auto is = [](int (*test)(int), char c) { return test(static_cast<unsigned char>(c)) != 0; };
  std::string parted;
  for (std::size_t i = 0; i < name.size(); ++i) {
    if (i > 0 && is(std::isupper, name[i]) && is(std::islower, name[i - 1])) parted += ' ';
    parted += name[i] == '.' ? ' ' : name[i];
  }
  return folded_words(parted);
}

const Spelling* understood(ColumnHeader& header) {
  std::vector<std::string> words = words_of(folded_name(header.name));
  if (const Spelling* whole = spelling_of(words)) return whole;
  if (words.size() < 2 || !header.unit.empty()) return nullptr;
  const auto ending = std::find_if(std::begin(unit_endings), std::end(unit_endings),
                                   [&](const UnitEnding& e) { return e.text == words.back(); });
  if (ending == std::end(unit_endings)) return nullptr;
  words.pop_back();
  const Spelling* found = spelling_of(words);
  if (found != nullptr) header.unit = ending->unit;
  return found;
}

std::string nearest_spelling(const std::string& name) {
  constexpr std::size_t shortest = 4;
  if (name.size() < shortest || name.find_first_of("0123456789") != std::string::npos) return "";
  std::vector<std::string> words;
  for (const Spelling& s : name_spellings) {
    const std::string text(s.text);
    if (name.starts_with(text + ' ') || name.ends_with(' ' + text)) return "";
    if (text.size() >= shortest && s.meaning < note_column) words.push_back(text);
  }
  return closest(name, words);
}

std::string_view name_of(std::size_t meaning) {
  if (meaning < weather_fields.size()) return weather_fields[meaning].name;
  const auto found = std::find_if(std::begin(name_spellings), std::end(name_spellings),
                                  [&](const Spelling& s) { return s.meaning == meaning; });
  return found->text;
}

bool names_weather_or_date(std::string_view header_cell) {
  ColumnHeader header = column_header({std::string(header_cell), 1, 1});
  const Spelling* spelling = understood(header);
  return spelling != nullptr && (spelling->meaning <= year_column || spelling->meaning == day_of_year_column);
}

}  // namespace stoverturn
