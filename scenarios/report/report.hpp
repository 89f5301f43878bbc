#pragma once
#include <string>
#include <utility>
#include <vector>

#include "scenarios/charts/chart.hpp"

/// What a page says of results: words, charts and tables, in one system of units. Texts are plain: whoever
/// writes HTML escapes them.
namespace stoverturn {

struct ReportTable {
  std::string caption;
  std::vector<std::string> heads;              ///< the first stands over the heads of rows
  std::vector<std::vector<std::string>> rows;  ///< each as long as `heads`; the first cell is the row's head
};

struct ReportSection {
  std::string name;     ///< letters, digits and '-': its anchor
  std::string heading;  ///< in plain words: "When the nitrogen comes back"
  std::vector<std::string> words;
  std::vector<Chart> charts;
  std::vector<ReportTable> tables;
  bool folded = false;  ///< opened by a click: what only some readers want
};

/// One page of paper that a grower takes home: what the report says and its cautions stand on it besides.
struct Handout {
  std::vector<std::string> words;   ///< what was assumed, how sure; short
  std::vector<std::string> charts;  ///< names of at most three charts of the sections
  ReportTable table;                ///< by growth stage or date
};

struct Report {
  std::string title;               ///< of the results
  std::string kind;                ///< what they are: "a run of the model over five years"
  std::vector<std::string> about;  ///< what was run, in a few sentences
  std::vector<std::string> says;   ///< three sentences that an educator would say, from the numbers
  std::vector<ReportSection> sections;
  Handout handout;  ///< empty table and charts: no handout
  std::vector<std::string> cautions;
  std::string program, units = "si";                           ///< units of the file
  std::vector<KeptText> texts;                                 ///< inputs, for the fold-out
  std::vector<std::pair<std::string, std::string>> checksums;  ///< name, SHA-256 in hex
};

}  // namespace stoverturn
