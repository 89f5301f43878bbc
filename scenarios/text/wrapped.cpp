#include "scenarios/text/wrapped.hpp"

#include <algorithm>

namespace stoverturn {

std::string wrapped(std::string_view lead, std::string_view content) {
  constexpr std::size_t width = 100;
  std::string text, current(lead);
  std::size_t begin = 0;
  while (begin < content.size()) {
    const std::size_t end = std::min(content.find(' ', begin), content.size());
    const std::string_view word = content.substr(begin, end - begin);
    if (current.size() + word.size() + 1 > width) {
      text += current + "\n";
      current = std::string(lead.size(), ' ');
    }
    if (current.size() > lead.size()) current += ' ';
    current += word;
    begin = end + 1;
  }
  return text + current + "\n";
}

}  // namespace stoverturn
