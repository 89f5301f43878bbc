#include "scenarios/files/checksum.hpp"

#include <array>
#include <stdexcept>

#include <fmt/format.h>
#include <openssl/evp.h>

namespace stoverturn {
namespace {

struct Digest {
  std::array<unsigned char, EVP_MAX_MD_SIZE> bytes;
  unsigned length = 0;
};

Digest digest(std::string_view text) {
  Digest d;
  if (EVP_Digest(text.data(), text.size(), d.bytes.data(), &d.length, EVP_sha256(), nullptr) != 1) {
    throw std::runtime_error("SHA-256 is not available");
  }
  return d;
}

}  // namespace

std::string sha256(std::string_view text) {
  const Digest d = digest(text);
  std::string hex;
  for (unsigned i = 0; i < d.length; ++i) hex += fmt::format("{:02x}", d.bytes[i]);
  return hex;
}

std::string sha256_base64(std::string_view text) {
  const Digest d = digest(text);
  std::string base64(4 * ((d.length + 2) / 3) + 1, '\0');  // EVP_EncodeBlock ends it with a NUL
  const int written = EVP_EncodeBlock(reinterpret_cast<unsigned char*>(base64.data()), d.bytes.data(),
                                      static_cast<int>(d.length));
  base64.resize(static_cast<std::size_t>(written));
  return base64;
}

}  // namespace stoverturn
