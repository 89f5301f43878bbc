/// Streams of random numbers: alike everywhere, apart from each other.
#include "engine/random_stream.hpp"

#include <set>

#include <boost/random/normal_distribution.hpp>
#include <boost/random/uniform_01.hpp>

#include "tests/catch.hpp"

using namespace stoverturn;

TEST_CASE("random stream: the engine is the published Mersenne twister", "[engine][random]") {
  // ISO/IEC 14882:2011, 26.5.5: the 10,000th number of a default mt19937_64 is 9981545732273789042
  RandomStream engine;
  engine.discard(9999);
  CHECK(engine() == 9981545732273789042ULL);
}

TEST_CASE("random stream: seed, purpose and index each make another stream, the same ones the same",
          "[engine][random]") {
  std::set<std::uint64_t> first_numbers;
  int streams = 0;
  for (const std::uint64_t seed : {0ULL, 1ULL, 1ULL << 32}) {
    for (const char* purpose : {"weather", "draws", ""}) {
      for (std::uint64_t index = 0; index < 1000; ++index, ++streams) {
        RandomStream a = random_stream(seed, purpose, index), b = random_stream(seed, purpose, index);
        const std::uint64_t number = a();
        CHECK(number == b());
        first_numbers.insert(number);
      }
    }
  }
  // 9,000 of 2^64 numbers: two alike have a chance of 2e-12
  CHECK(first_numbers.size() == static_cast<std::size_t>(streams));
}

TEST_CASE("random stream: neighbours are not correlated", "[engine][random]") {
  // correlation of n independent pairs has a standard deviation of 1/sqrt(n) = 0.007; four of them
  constexpr int n = 20000;
  double sum_xy = 0.0, sum_x = 0.0, sum_xx = 0.0;
  boost::random::uniform_01<double> uniform;
  for (int i = 0; i < n; ++i) {
    RandomStream one = random_stream(7, "draws", static_cast<std::uint64_t>(i));
    RandomStream next = random_stream(7, "draws", static_cast<std::uint64_t>(i) + 1);
    const double x = uniform(one) - 0.5, y = uniform(next) - 0.5;
    sum_xy += x * y;
    sum_x += x;
    sum_xx += x * x;
  }
  CHECK(std::abs(sum_x / n) < 4.0 * std::sqrt(1.0 / 12.0 / n));
  CHECK(std::abs(sum_xy / sum_xx) < 4.0 / std::sqrt(n));
}
