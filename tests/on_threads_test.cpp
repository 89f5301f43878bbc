#include "fitting/on_threads.hpp"

#include <atomic>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "tests/catch.hpp"

using namespace stoverturn;

namespace {

std::vector<double> series(const ForEach& for_each) {
  std::vector<double> result(1000);
  for_each(result.size(), [&](std::size_t i) {
    double sum = 0.0;
    for (int k = 1; k < 200; ++k) sum += std::sin(static_cast<double>(i) / k);
    result[i] = sum;
  });
  return result;
}

}  // namespace

TEST_CASE("on threads: each piece of work is done once, to the same bits", "[fitting][threads]") {
  const std::vector<double> expected = series(one_after_the_other);
  for (const int threads : {0, 1, 2, 8}) CHECK(series(on_threads(threads)) == expected);
  std::vector<std::atomic<int>> done(5000);
  on_threads(4)(done.size(), [&](std::size_t i) { ++done[i]; });
  CHECK(std::all_of(done.begin(), done.end(), [](const std::atomic<int>& times) { return times == 1; }));
  on_threads(4)(0, [](std::size_t) { FAIL("there is no work"); });
}

TEST_CASE("on threads: an exception arrives, and work goes on afterwards", "[fitting][threads]") {
  for (const int threads : {1, 4}) {
    const ForEach for_each = on_threads(threads);
    CHECK_THROWS_WITH(for_each(100,
                               [](std::size_t i) {
                                 if (i == 37) throw std::runtime_error("bag 37");
                               }),
                      "bag 37");
    std::atomic<int> done = 0;
    for_each(100, [&](std::size_t) { ++done; });
    CHECK(done == 100);
  }
  CHECK_THROWS_AS(on_threads(-1), std::invalid_argument);
}

TEST_CASE("on threads: work may spread work, and its exceptions arrive too", "[fitting][threads]") {
  const ForEach outer = on_threads(4), inner = on_threads(2);
  for (const ForEach* within : {&outer, &inner}) {
    std::vector<double> sums(50);
    outer(sums.size(), [&](std::size_t i) {
      std::vector<double> parts(40);
      // a thread that took up other outer work while it waits here would be seen in the mark it left
      thread_local std::size_t mark = 0;
      mark = i;
      (*within)(parts.size(), [&](std::size_t k) { parts[k] = static_cast<double>(i * k); });
      sums[i] = mark == i ? std::accumulate(parts.begin(), parts.end(), 0.0) : -1.0;
    });
    for (std::size_t i = 0; i < sums.size(); ++i) CHECK(sums[i] == 780.0 * static_cast<double>(i));
    CHECK_THROWS_WITH(outer(10,
                            [&](std::size_t) {
                              (*within)(10, [](std::size_t k) {
                                if (k == 3) throw std::runtime_error("inner");
                              });
                            }),
                      "inner");
  }
}
