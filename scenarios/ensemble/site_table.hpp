#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {

/// One row of a table of sites: what differs from the scenario there.
struct SiteRow {
  std::string name;
  double latitude_deg, longitude_deg;  ///< NaN where the table does not say
  std::vector<std::string> overrides;  ///< "soil.texture=loam", as of --set
  Position at;
};

/// The table that [ensemble] of a scenario file names, "" for none. Before the scenario is read as a whole: a
/// site may give what the file lacks.
std::string sites_named_in(std::string_view text, const std::string& name,
                           const std::vector<std::string>& overrides);

/// Throws the mistakes with the name of the site; those of what its row sets, where the row stands. Those of
/// a scenario without a table as they are.
[[noreturn]] void tell_of_site(const SiteRow& site, const InputError& error);

/// Reads a table of sites (CSV). `site` names them; `latitude` and `longitude` in degrees (north and east
/// positive); `soil` is a texture, `yield` the grain yield, `weather` a file, `climate` a built-in one,
/// `elevation` that of the weather; any other column is the dotted key of the scenario file that it sets. A
/// unit stands in the head of a column, "yield [bu/acre]", or in every cell. An empty cell leaves the
/// scenario's value. Throws InputError with all mistakes.
std::vector<SiteRow> read_site_table(std::string_view text, const std::string& name);

}  // namespace stoverturn
