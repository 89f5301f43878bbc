#pragma once
#include <algorithm>
#include <array>
#include <iterator>
#include <optional>
#include <string_view>

#include "fitting/unknown.hpp"
#include "scenarios/trial/fit_result.hpp"

/// Words for what a fit holds, alike in files, pages and print.
namespace stoverturn {

constexpr std::array<std::string_view, 4> words_of(Fit /*scale*/) {
  return {"fixed", "linear", "log", "logit"};
}
constexpr std::array<std::string_view, 2> words_of(Prior::Shape /*shape*/) { return {"flat", "normal"}; }

template <class Enum>
constexpr std::string_view word_of(Enum value) {
  return words_of(value)[static_cast<std::size_t>(value)];
}

/// The value that a word stands for; nothing for another word.
template <class Enum>
std::optional<Enum> from_word(std::string_view word) {
  constexpr auto words = words_of(Enum{});
  const auto found = std::find(words.begin(), words.end(), word);
  if (found == words.end()) return std::nullopt;
  return static_cast<Enum>(found - words.begin());
}

/// The intervals of an unknown, the most trusted first.
struct IntervalMethod {
  std::string_view name;  ///< "posterior"
  Between FittedUnknown::*between;
};
inline constexpr IntervalMethod interval_methods[] = {
    {"posterior", &FittedUnknown::posterior},
    {"profile", &FittedUnknown::profile},
    {"bootstrap", &FittedUnknown::bootstrap},
    {"curvature", &FittedUnknown::curvature},
};

inline bool is_there(const Between& b) { return b.lower == b.lower || b.upper == b.upper; }

/// The first method that gave an interval; nullptr where none did.
inline const IntervalMethod* best_interval(const FittedUnknown& u) {
  const auto found = std::find_if(std::begin(interval_methods), std::end(interval_methods),
                                  [&](const IntervalMethod& m) { return is_there(u.*m.between); });
  return found == std::end(interval_methods) ? nullptr : found;
}

}  // namespace stoverturn
