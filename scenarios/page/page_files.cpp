#include "scenarios/page/page_files.hpp"

// begin and end of each file in the section that page_files.S.in fills
extern "C" {
extern const char stoverturn_report_scripts_begin[], stoverturn_report_scripts_end[];
extern const char stoverturn_report_style_begin[], stoverturn_report_style_end[];
extern const char stoverturn_theme_begin[], stoverturn_theme_end[];
extern const char stoverturn_licences_begin[], stoverturn_licences_end[];
extern const char stoverturn_figure_scripts_begin[], stoverturn_figure_scripts_end[];
extern const char stoverturn_figure_begin[], stoverturn_figure_end[];
}

namespace stoverturn {

PageFiles page_files() {
  return {{stoverturn_report_scripts_begin, stoverturn_report_scripts_end},
          {stoverturn_report_style_begin, stoverturn_report_style_end},
          {stoverturn_theme_begin, stoverturn_theme_end},
          {stoverturn_licences_begin, stoverturn_licences_end},
          {stoverturn_figure_scripts_begin, stoverturn_figure_scripts_end},
          {stoverturn_figure_begin, stoverturn_figure_end}};
}

}  // namespace stoverturn
