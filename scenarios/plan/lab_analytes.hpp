#pragma once
#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace stoverturn {

/// What a laboratory measures in plant matter and this program uses.
enum class Analyte {
  moisture,
  dry_matter,
  ash,
  NDF,
  ADF,
  ADL,
  carbon,
  nitrogen,
  crude_protein,
  phosphorus,
  phosphate,  ///< P2O5
  potassium,
  potash,  ///< K2O
  sulfur,
};
inline constexpr std::size_t analytes = 14;

/// As it stands in messages: "NDF", "crude protein".
std::string_view to_string(Analyte analyte);

/// The analyte that a laboratory calls so, in any of its common spellings ("Neutral Detergent Fibre (aNDF)",
/// "CP", "P2O5"): upper and lower case, blanks and signs make no difference.
std::optional<Analyte> find_analyte(std::string_view text);

/// Known to laboratories and of no use here: calcium, sugars, feed values, crude fibre, ...
bool is_unused_analyte(std::string_view text);

/// One of the unused: it cannot stand in for the detergent fibres.
bool is_crude_fibre(std::string_view text);

/// The names that messages suggest.
const std::vector<std::string>& analyte_names();

/// Lower-case letters and digits of a word: "As Received" and "as_received" are one.
std::string plain_word(std::string_view text);

}  // namespace stoverturn
