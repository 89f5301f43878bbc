#include "scenarios/results/text_table.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/shown.hpp"

namespace stoverturn {

std::string text_table(const std::vector<std::vector<std::string>>& rows) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows) {
    widths.resize(std::max(widths.size(), row.size()), 0);
    for (std::size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], row[c].size());
  }
  std::string text;
  for (const auto& row : rows) {
    std::string line;
    for (std::size_t c = 0; c < row.size(); ++c) {
      line +=
          c == 0 ? fmt::format("  {:<{}}", row[c], widths[c]) : fmt::format("  {:>{}}", row[c], widths[c]);
    }
    text += line + '\n';
  }
  return text;
}

std::string fixed_range(double lower, double upper, int digits) {
  if (!std::isfinite(lower) || !std::isfinite(upper)) return "-";
  return fmt::format("{} to {}", shown_number(lower, digits), shown_number(upper, digits));
}

std::string short_number(double x) { return std::isfinite(x) ? fmt::format("{:.4g}", x + 0.0) : "-"; }

}  // namespace stoverturn
