#pragma once
#include <cstdint>
#include <string_view>

#include <boost/random/mersenne_twister.hpp>

namespace stoverturn {

/// A stream of random numbers of its own for each (seed, purpose, index): "weather" of run 7 draws the same
/// numbers whatever else draws, in whatever order, on any number of threads and on any platform. Draw from it
/// with Boost.Random distributions only; the standard library's differ between platforms.
using RandomStream = boost::random::mt19937_64;
RandomStream random_stream(std::uint64_t seed, std::string_view purpose, std::uint64_t index);

}  // namespace stoverturn
