#pragma once
/// Stand counts as the file that `stand` writes.
#include "scenarios/stand/stand_tables.hpp"

namespace stoverturn {

inline const std::string stand_head = "treatment,strip,row,length [ft],row width [in],plants,ears\n";

/// Two treatments side by side in four strips, 1/1000 acre each; `ears` of b less those of a is `more`.
inline std::string stand_pairs(int more, const std::string& prices = "") {
  const int plants[] = {30, 28, 31, 29};
  std::string text = prices + stand_head;
  for (int strip = 0; strip < 4; ++strip) {
    for (const char* treatment : {"a", "b"}) {
      const bool b = treatment[0] == 'b';
      const int n = plants[strip] + (b ? more + strip % 2 : 0);
      text += std::string(treatment) + "," + std::to_string(strip) + ",1,17.424,30," + std::to_string(n) +
              "," + std::to_string(n - 1) + "\n";
    }
  }
  return text;
}

inline TidyFile stand_file(const std::string& text, const StandSettings& settings = {}) {
  const StandReport report = stand_report(read_stand_data(text, "counts.csv"), settings);
  return {"counts.csv", std::string(stand_file_kind), stand_tables(report),
          report.notes, {{"counts", text}},           "stoverturn of a test"};
}

}  // namespace stoverturn
