#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/report/report.hpp"

namespace stoverturn {

/// A report in both systems of units, alike but for these.
struct ReportInBoth {
  Report si, us;
};

/// What every page holds, and its SHA-256 in base64 for the page's policy: no other script or style runs.
struct PageParts {
  std::string_view scripts, style, theme, licences;
  std::string scripts_hash, style_hash;
};

/// One page, whole in itself: a chapter a report. Whatever comes from files is escaped. Throws
/// std::invalid_argument for a report whose two halves differ in more than units.
std::string report_html(const std::vector<ReportInBoth>& reports, const PageParts& parts);

/// A text between tags or quotes of HTML.
std::string escaped(std::string_view text);

}  // namespace stoverturn
