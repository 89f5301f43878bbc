#pragma once
#include <filesystem>
#include <sstream>
#include <string>

#include "tests/catch.hpp"
#include "tests/nist_models.hpp"

namespace nist {

/// Reads one .dat file as NIST publishes it: parameters from line 41, data from line 61.
inline Set read(const std::filesystem::path& path) {
  Set set;
  set.name = path.stem().string();
  set.starts.resize(2);
  std::istringstream lines(slurp(path));
  std::string line;
  for (int number = 1; std::getline(lines, line); ++number) {
    std::istringstream words(line);
    std::string name, equals;
    double first, second, certified, sd;
    if (number >= 41 && number < 60 && words >> name >> equals >> first >> second >> certified >> sd &&
        name[0] == 'b') {
      set.starts[0].push_back(first);
      set.starts[1].push_back(second);
      set.certified.push_back(certified);
      set.sd.push_back(sd);
    } else if (number >= 61) {
      std::istringstream numbers(line);
      std::vector<double> row;
      for (double value; numbers >> value;) row.push_back(value);
      if (row.size() < 2) continue;
      set.y.push_back(row[0]);
      set.x.emplace_back(row.begin() + 1, row.end());
    }
  }
  return set;
}

}  // namespace nist
