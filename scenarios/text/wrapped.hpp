#pragma once
#include <string>
#include <string_view>

namespace stoverturn {

/// A paragraph for people: `lead` and `content` in lines of at most 100 bytes (but for longer words), broken
/// at blanks, those after the first indented like the lead. Each line ends with a line feed.
[[nodiscard]] std::string wrapped(std::string_view lead, std::string_view content);

}  // namespace stoverturn
