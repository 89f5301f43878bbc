#include "scenarios/ensemble/site_table.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "engine/weather.hpp"
#include "scenarios/text/column_header.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {
namespace {

/// Columns with a short name, and the key that they set ("": none).
struct ShortName {
  std::string_view name, key;
};
constexpr ShortName short_names[] = {
    {"site", ""},
    {"longitude", ""},
    {"latitude", "weather.latitude"},
    {"elevation", "weather.elevation"},
    {"weather", "weather.file"},
    {"climate", "weather.climate"},
    {"soil", "soil.texture"},
    {"yield", "harvest.grain_yield"},
};

struct SiteColumn {
  std::string name, key, unit;
};

std::vector<SiteColumn> columns_of(const CsvRow& header, const std::string& file, Mistakes& mistakes) {
  std::vector<std::string> known;
  for (const ShortName& s : short_names) known.emplace_back(s.name);
  std::vector<SiteColumn> columns;
  for (const CsvCell& cell : header) {
    const ColumnHeader head = column_header(cell);
    const Position at{file, cell.line, cell.column};
    SiteColumn column{head.name, head.name, head.unit};
    const auto* found = std::find_if(std::begin(short_names), std::end(short_names),
                                     [&](const ShortName& s) { return s.name == head.folded; });
    if (found != std::end(short_names)) {
      column = {std::string(found->name), std::string(found->key), head.unit};
    } else if (head.name.find('.') == std::string::npos) {
      mistakes.add(at,
                   fmt::format("unknown column '{}'; wanted site, latitude, longitude, elevation, weather, "
                               "climate, soil, yield, or a key of the scenario with its section, such as "
                               "soil.pH{}",
                               head.name,
                               closest(head.folded, known).empty() ? "" : did_you_mean(head.folded, known)));
    }
    for (const SiteColumn& other : columns) {
      if (other.name == column.name) mistakes.add(at, fmt::format("column '{}' stands twice", column.name));
    }
    columns.push_back(std::move(column));
  }
  return columns;
}

double degrees(const CsvCell& cell, double most, const std::string& column, const std::string& file,
               Mistakes& mistakes) {
  const Position at{file, cell.line, cell.column};
  const auto angle = read_quantity({at, cell.text}, Kind::angle, column, mistakes);
  if (!angle || std::abs(angle->value) <= most) return angle ? angle->value : not_measured;
  mistakes.add(at,
               fmt::format("{}: found '{}'; wanted degrees from {} to {}", column, cell.text, -most, most));
  return not_measured;
}

/// "key=value", with the unit of the column behind a bare number.
std::string override_of(const SiteColumn& column, const CsvCell& cell) {
  if (column.unit.empty() || !number(cell.text)) return fmt::format("{}={}", column.key, cell.text);
  return fmt::format("{}={} {}", column.key, cell.text, column.unit);
}

}  // namespace

void tell_of_site(const SiteRow& site, const InputError& error) {
  if (site.at.source.empty()) throw error;
  std::vector<Mistake> list = error.mistakes;
  for (Mistake& m : list) {
    if (m.at.source == "command line") m.at = site.at;
    m.message = fmt::format("site '{}': {}", site.name, m.message);
  }
  throw InputError(std::move(list));
}

std::string sites_named_in(std::string_view text, const std::string& name,
                           const std::vector<std::string>& overrides) {
  Mistakes ignored;
  Table top = read_toml(text, name);
  for (const std::string& o : overrides) {
    const Override split = split_override(o, ignored);
    if (split.address.starts_with("ensemble.")) set_path(top, split.address, split.value);
  }
  const Value* section = find(top, "ensemble");
  const Value* sites = section && section->table() ? find(*section->table(), "sites") : nullptr;
  return sites && sites->text() ? *sites->text() : "";
}

std::vector<SiteRow> read_site_table(std::string_view text, const std::string& name) {
  Mistakes mistakes;
  const CsvText csv = read_csv(text, name);
  if (csv.rows.empty()) throw InputError({{{name, 1, 1}, "the table of sites is empty"}});
  const std::vector<SiteColumn> columns = columns_of(csv.rows[0], name, mistakes);
  const bool named =
      std::any_of(columns.begin(), columns.end(), [](const auto& c) { return c.name == "site"; });
  if (!named) mistakes.add({name, 1, 1}, "the table lacks a column `site`");
  std::vector<SiteRow> sites;
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    SiteRow site{"", not_measured, not_measured, {}, {name, row[0].line, row[0].column}};
    if (row.size() != columns.size()) {
      mistakes.add(site.at, fmt::format("found {} cells; the head has {}", row.size(), columns.size()));
      continue;
    }
    for (std::size_t c = 0; c < columns.size(); ++c) {
      const SiteColumn& column = columns[c];
      const CsvCell& cell = row[c];
      if (cell.text.empty()) continue;
      if (column.name == "site") site.name = cell.text;
      if (column.name == "longitude") {
        site.longitude_deg = degrees(cell, 180.0, "longitude", name, mistakes);
      } else if (column.name == "latitude") {
        site.latitude_deg = degrees(cell, 90.0, "latitude", name, mistakes);
        site.overrides.push_back(fmt::format("weather.latitude={} deg", site.latitude_deg));
      } else if (!column.key.empty()) {
        site.overrides.push_back(override_of(column, cell));
      }
    }
    if (named && site.name.empty()) mistakes.add(site.at, "site: this row has no name");
    for (const SiteRow& other : sites) {
      if (other.name == site.name && !site.name.empty()) {
        mistakes.add(site.at, fmt::format("site: '{}' stands in line {} already", site.name, other.at.line));
      }
    }
    sites.push_back(std::move(site));
  }
  if (sites.empty()) mistakes.add({name, 1, 1}, "the table of sites has no rows");
  mistakes.throw_if_any();
  return sites;
}

}  // namespace stoverturn
