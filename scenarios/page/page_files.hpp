#pragma once
#include <string_view>

namespace stoverturn {

/// Files of scenarios/page and Vega's browser builds, held in the program. All empty where it was built with
/// STOVERTURN_PAGES=OFF.
struct PageFiles {
  std::string_view report_scripts;  ///< libraries, charts.js, report.js
  std::string_view report_style;
  std::string_view theme;           ///< of charts, JSON
  std::string_view licences;        ///< of the libraries
  std::string_view figure_scripts;  ///< libraries, charts.js
  std::string_view figure;          ///< the script for node
};
PageFiles page_files();

}  // namespace stoverturn
