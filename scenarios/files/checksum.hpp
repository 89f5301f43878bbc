#pragma once
#include <string>
#include <string_view>

namespace stoverturn {

/// SHA-256 (FIPS 180-4) of a text, 64 lower-case hexadecimal digits.
std::string sha256(std::string_view text);
/// The same in base64 (RFC 4648), as a Content-Security-Policy has it.
std::string sha256_base64(std::string_view text);

}  // namespace stoverturn
