#include "scenarios/files/checksum.hpp"

#include <array>
#include <stdexcept>

#include <fmt/format.h>
#include <openssl/evp.h>

namespace stoverturn {

std::string sha256(std::string_view text) {
  std::array<unsigned char, EVP_MAX_MD_SIZE> digest;
  unsigned length = 0;
  if (EVP_Digest(text.data(), text.size(), digest.data(), &length, EVP_sha256(), nullptr) != 1) {
    throw std::runtime_error("SHA-256 is not available");
  }
  std::string hex;
  for (unsigned i = 0; i < length; ++i) hex += fmt::format("{:02x}", digest[i]);
  return hex;
}

}  // namespace stoverturn
