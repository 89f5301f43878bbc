#pragma once
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace stoverturn {

/// Where a value stands in what the user wrote. `line` and `column` count from 1; line 0 means the source
/// has no lines ("command line").
struct Position {
  std::string source;
  int line = 0;
  int column = 0;
};

/// One mistake in an input: where, what was found, what was wanted.
struct Mistake {
  Position at;
  std::string message;
};

/// Bad input. `what()` is the whole text for the user: one paragraph a mistake, `file:line:column: message`.
struct InputError : std::runtime_error {
  explicit InputError(std::vector<Mistake> list);
  std::vector<Mistake> mistakes;
};

/// Collects all mistakes of an input so that the user sees them at once; the same one twice counts once.
class Mistakes {
 public:
  void add(Position at, std::string message);
  void add(const InputError& error);
  /// Adds those of another list; true when there are any.
  bool take(const Mistakes& others);
  bool any() const { return !list_.empty(); }
  /// Throws InputError when anything was added, in the order of the file; the text shows 20 and counts the
  /// rest.
  void throw_if_any() const;

 private:
  std::vector<Mistake> list_;
};

/// `file:line:column` ("file" alone for line 0).
std::string to_string(const Position& at);

/// The known word nearest to `word` (edit distance at most a third of its length, at least 1), else "".
std::string closest(std::string_view word, std::span<const std::string> known);

/// "; did you mean 'x'?" for the nearest known word, else "; known are a, b, c" (at most a dozen).
std::string did_you_mean(std::string_view word, std::span<const std::string> known);

}  // namespace stoverturn
