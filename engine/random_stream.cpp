#include "engine/random_stream.hpp"

#include <array>

#include <boost/random/seed_seq.hpp>

namespace stoverturn {
namespace {

/// FNV-1a, 64 bits.
std::uint64_t hash_of(std::string_view text) {
  std::uint64_t hash = 14695981039346656037ULL;
  for (const char c : text) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ULL;
  return hash;
}

}  // namespace

RandomStream random_stream(std::uint64_t seed, std::string_view purpose, std::uint64_t index) {
  const std::uint64_t hash = hash_of(purpose);
  std::array<std::uint32_t, 6> words{};
  std::size_t next = 0;
  for (const std::uint64_t word : {seed, hash, index}) {
    words[next++] = static_cast<std::uint32_t>(word);
    words[next++] = static_cast<std::uint32_t>(word >> 32);
  }
  boost::random::seed_seq sequence(words.begin(), words.end());
  return RandomStream(sequence);
}

}  // namespace stoverturn
