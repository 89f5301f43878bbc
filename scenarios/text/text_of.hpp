#pragma once
#include <functional>
#include <optional>
#include <string>

namespace stoverturn {

/// Text of a file that an input names, as it names it; nothing where there is none.
using TextOf = std::function<std::optional<std::string>(const std::string& file)>;

}  // namespace stoverturn
