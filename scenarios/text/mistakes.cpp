#include "scenarios/text/mistakes.hpp"

#include <algorithm>
#include <cctype>
#include <tuple>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace stoverturn {
namespace {

constexpr std::size_t most_shown = 20;

std::string text_of(const std::vector<Mistake>& list) {
  std::string text;
  for (std::size_t i = 0; i < std::min(list.size(), most_shown); ++i) {
    text += fmt::format("{}{}: {}", i ? "\n" : "", to_string(list[i].at), list[i].message);
  }
  if (list.size() > most_shown) text += fmt::format("\n... and {} more", list.size() - most_shown);
  return text;
}

std::size_t edit_distance(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const bool same = std::tolower(static_cast<unsigned char>(a[i - 1])) ==
                        std::tolower(static_cast<unsigned char>(b[j - 1]));
      const std::size_t next = std::min({row[j] + 1, row[j - 1] + 1, diagonal + (same ? 0 : 1)});
      diagonal = row[j];
      row[j] = next;
    }
  }
  return row[b.size()];
}

}  // namespace

InputError::InputError(std::vector<Mistake> list)
    : std::runtime_error(text_of(list)), mistakes(std::move(list)) {}

void Mistakes::add(Position at, std::string message) {
  const bool known = std::any_of(list_.begin(), list_.end(), [&](const Mistake& m) {
    return m.message == message && to_string(m.at) == to_string(at);
  });
  if (!known) list_.push_back({std::move(at), std::move(message)});
}

void Mistakes::add(const InputError& error) {
  for (const Mistake& mistake : error.mistakes) add(mistake.at, mistake.message);
}

bool Mistakes::take(const Mistakes& others) {
  for (const Mistake& mistake : others.list_) add(mistake.at, mistake.message);
  return others.any();
}

void Mistakes::throw_if_any() const {
  if (!any()) return;
  std::vector<Mistake> sorted = list_;
  std::stable_sort(sorted.begin(), sorted.end(), [](const Mistake& a, const Mistake& b) {
    return std::tie(a.at.source, a.at.line, a.at.column) < std::tie(b.at.source, b.at.line, b.at.column);
  });
  throw InputError(std::move(sorted));
}

std::string to_string(const Position& at) {
  return at.line > 0 ? fmt::format("{}:{}:{}", at.source, at.line, at.column) : at.source;
}

std::string closest(std::string_view word, std::span<const std::string> known) {
  std::string best;
  std::size_t best_distance = std::max<std::size_t>(1, word.size() / 3) + 1;
  for (const std::string& candidate : known) {
    const std::size_t distance = edit_distance(word, candidate);
    if (distance < best_distance) {
      best = candidate;
      best_distance = distance;
    }
  }
  return best;
}

std::string did_you_mean(std::string_view word, std::span<const std::string> known) {
  if (const std::string best = closest(word, known); !best.empty()) {
    return fmt::format("; did you mean '{}'?", best);
  }
  if (known.empty()) return "";
  const std::size_t shown = std::min<std::size_t>(known.size(), 12);
  return fmt::format("; known are {}{}", fmt::join(known.first(shown), ", "),
                     known.size() > shown ? ", ..." : "");
}

}  // namespace stoverturn
