#include "scenarios/trial/trial_words.hpp"

#include <algorithm>
#include <iterator>

#include <fmt/format.h>

#include "engine/layout.hpp"

namespace stoverturn {
namespace {

constexpr std::string_view names[placements] = {"standing", "surface", "buried"};

}  // namespace

int placement_index(std::string_view name) {
  const auto found = std::find(std::begin(names), std::end(names), name);
  return found == std::end(names) ? -1 : static_cast<int>(found - std::begin(names));
}

std::string_view placement_name(int placement) {
  return placement < 0 ? "" : names[static_cast<std::size_t>(placement)];
}

std::string lines_text(std::vector<int> lines) {
  std::sort(lines.begin(), lines.end());
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
  if (lines.size() == 1) return fmt::format("line {}", lines.front());
  constexpr std::size_t most = 12;
  std::string text = "lines";
  const std::size_t shown = lines.size() > most ? most : lines.size() - 1;
  for (std::size_t i = 0; i < shown; ++i) text += fmt::format("{} {}", i > 0 ? "," : "", lines[i]);
  if (lines.size() > most) return text + fmt::format(" and {} more", lines.size() - most);
  return text + fmt::format(" and {}", lines.back());
}

std::string place_text(const std::string& treatment, const std::string& component, int placement) {
  std::string text = treatment;
  if (!component.empty()) text += ", " + component;
  if (placement >= 0) text += fmt::format(", {}", placement_name(placement));
  return text;
}

}  // namespace stoverturn
