#pragma once
#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

namespace stoverturn {

/// Where a name stands in a list; the size of the list where it does not.
inline std::size_t index_of(const std::vector<std::string>& names, std::string_view name) {
  return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin());
}

}  // namespace stoverturn
