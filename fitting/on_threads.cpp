#include "fitting/on_threads.hpp"

#include <algorithm>
#include <memory>
#include <stdexcept>

#include <tbb/info.h>
#include <tbb/parallel_for.h>
#include <tbb/task_arena.h>

namespace stoverturn {

ForEach on_threads(int threads) {
  if (threads < 0) throw std::invalid_argument("a number of threads is 0 or more");
  if (threads == 1) return one_after_the_other;
  const int all = tbb::info::default_concurrency();
  auto arena = std::make_shared<tbb::task_arena>(threads == 0 ? all : std::min(threads, all));
  return [arena](std::size_t n, const std::function<void(std::size_t)>& work) {
    arena->execute([&] {
      // a thread that waits for its part of inner work takes up none of the outer work meanwhile
      tbb::this_task_arena::isolate([&] { tbb::parallel_for(std::size_t{0}, n, work); });
    });
  };
}

}  // namespace stoverturn
