#pragma once
/// The made counts of tests/reference/stand_counts.R and what R says of them.
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "tests/catch.hpp"

struct MadeCounts {
  Eigen::VectorXd counts, areas;
  Eigen::MatrixXd design;
};

struct MadeRow {
  int strip, treatment;
  double feet, plants;
};
inline std::vector<MadeRow> made_rows() {
  const double feet[] = {17.5, 17.5, 17.5, 35,   17.5, 17.5, 20, 20, 20, 20, 40, 20,
                         17.5, 17.5, 17.5, 17.5, 17.5, 17.5, 30, 15, 30, 15, 30, 15};
  const double plants[] = {31, 28, 33, 65, 24, 27, 34, 37, 38, 35, 60, 28,
                           30, 31, 29, 35, 25, 24, 50, 27, 57, 27, 41, 23};
  std::vector<MadeRow> rows;
  for (int i = 0; i < 24; ++i) rows.push_back({i / 6, i / 2 % 3, feet[i], plants[i]});
  return rows;
}
inline double made_area_m2(double feet) { return feet * 0.3048 * 30 * 0.0254; }

/// "rows", "plots" (rows of a treatment in a strip together) or "own strips" (plots without an effect of
/// strips).
inline MadeCounts made_counts(const std::string& kind) {
  std::map<int, MadeRow> units;
  int next = 0;
  for (const MadeRow& row : made_rows()) {
    const int unit = kind == "rows" ? next++ : 10 * row.strip + row.treatment;
    const auto [at, is_new] = units.emplace(unit, row);
    if (!is_new) {
      at->second.feet += row.feet;
      at->second.plants += row.plants;
    }
  }
  const auto n = static_cast<Eigen::Index>(units.size());
  MadeCounts made{Eigen::VectorXd(n), Eigen::VectorXd(n),
                  Eigen::MatrixXd::Zero(n, kind == "own strips" ? 3 : 6)};
  Eigen::Index i = 0;
  for (const auto& [number, unit] : units) {
    made.counts(i) = unit.plants;
    made.areas(i) = made_area_m2(unit.feet);
    made.design(i, unit.treatment) = 1.0;
    if (kind != "own strips" && unit.strip > 0) made.design(i, 2 + unit.strip) = 1.0;
    ++i;
  }
  return made;
}

/// The numbers behind a name in tests/reference/stand_counts.txt.
inline std::vector<double> of_R(const std::string& name) {
  std::istringstream lines(slurp(source_dir() / "tests" / "reference" / "stand_counts.txt"));
  for (std::string line; std::getline(lines, line);) {
    if (line.rfind(name + " ", 0) != 0) continue;
    std::istringstream words(line.substr(name.size()));
    std::vector<double> numbers;
    for (double x = 0.0; words >> x;) numbers.push_back(x);
    return numbers;
  }
  FAIL("R says nothing of " << name);
  return {};
}
