#include "scenarios/weather/preamble.hpp"

#include <algorithm>
#include <cctype>

#include "scenarios/text/csv_text.hpp"

namespace stoverturn {

std::optional<Preamble> split_preamble(std::string_view text, bool (*is_header)(std::string_view line)) {
  constexpr int most_lines = 100;
  std::size_t begin = 0;
  for (int line = 0; line < most_lines && begin < text.size(); ++line) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    if (is_header(text.substr(begin, end - begin))) {
      return Preamble{text.substr(0, begin), text.substr(begin), line};
    }
    begin = end + 1;
  }
  return std::nullopt;
}

std::string upper(std::string_view text) {
  std::string result(text);
  for (char& c : result) c = static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  return result;
}

std::optional<double> number_after(std::string_view text, std::string_view word) {
  const std::size_t at = upper(text).find(upper(word));
  if (at == std::string::npos) return std::nullopt;
  const std::size_t begin = text.find_first_not_of(" \t:=", at + word.size());
  if (begin == std::string_view::npos) return std::nullopt;
  return number(text.substr(begin, text.find_first_of(" \t\r\n,;", begin) - begin));
}

}  // namespace stoverturn
