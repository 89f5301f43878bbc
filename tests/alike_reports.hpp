#pragma once
/// A report in both systems of units must be alike: same sections, charts, fields and rows.
#include "scenarios/report/report.hpp"
#include "tests/catch.hpp"

namespace stoverturn {

inline const Chart& chart_in(const Report& report, const std::string& name) {
  for (const ReportSection& s : report.sections) {
    for (const Chart& c : s.charts) {
      if (c.name == name) return c;
    }
  }
  FAIL("no chart " << name);
  return report.sections.front().charts.front();
}

inline const ReportSection& section_in(const Report& report, const std::string& name) {
  for (const ReportSection& s : report.sections) {
    if (s.name == name) return s;
  }
  FAIL("no section " << name);
  return report.sections.front();
}

inline std::string all_words(const ReportSection& section) {
  std::string text;
  for (const std::string& words : section.words) text += words + "\n";
  return text;
}

inline void check_alike(const ReportTable& a, const ReportTable& b) {
  INFO(a.caption);
  REQUIRE(a.rows.size() == b.rows.size());
  CHECK(a.heads.size() == b.heads.size());
  for (const ReportTable* table : {&a, &b}) {
    for (const auto& row : table->rows) CHECK(row.size() == table->heads.size());
  }
}

inline void check_alike(const Report& si, const Report& us) {
  REQUIRE(si.sections.size() == us.sections.size());
  CHECK(si.says.size() == us.says.size());
  for (std::size_t i = 0; i < si.sections.size(); ++i) {
    const ReportSection &a = si.sections[i], &b = us.sections[i];
    INFO(a.name);
    CHECK(a.name == b.name);
    CHECK(a.words.size() == b.words.size());
    REQUIRE(a.charts.size() == b.charts.size());
    // chart_json throws where charts differ
    for (std::size_t c = 0; c < a.charts.size(); ++c) {
      const nlohmann::json both = chart_json(a.charts[c], b.charts[c]);
      CHECK(both["columns"].size() == a.charts[c].fields.size());
    }
    REQUIRE(a.tables.size() == b.tables.size());
    for (std::size_t t = 0; t < a.tables.size(); ++t) check_alike(a.tables[t], b.tables[t]);
  }
  CHECK(si.handout.charts == us.handout.charts);
  check_alike(si.handout.table, us.handout.table);
  for (const std::string& name : si.handout.charts) chart_in(si, name);
  CHECK(si.handout.charts.size() <= 3);
}

}  // namespace stoverturn
