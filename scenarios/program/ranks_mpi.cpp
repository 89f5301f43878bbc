#include <mpi.h>

#include <atomic>
#include <chrono>
#include <cstdlib>
#include <initializer_list>
#include <thread>

#include "scenarios/program/ranks.hpp"

/// Built with MPI: the first rank hands out numbers, one at a time, and works itself.
namespace stoverturn {
namespace {

constexpr int ask = 1, answer = 2;
constexpr long nothing_left = -1;

bool started_by_mpirun() {
  for (const char* sign : {"OMPI_COMM_WORLD_SIZE", "PMI_SIZE", "PMIX_RANK"}) {
    if (std::getenv(sign)) return true;
  }
  return false;
}

/// Answers the other ranks until each has been told that nothing is left. Asks now and then rather than wait:
/// MPI waits with all of a core.
void hand_out(std::atomic<std::size_t>& next, std::size_t count, int others) {
  while (others > 0) {
    int asked = 0;
    MPI_Status from;
    MPI_Iprobe(MPI_ANY_SOURCE, ask, MPI_COMM_WORLD, &asked, &from);
    if (!asked) {
      std::this_thread::sleep_for(std::chrono::milliseconds(2));
      continue;
    }
    char nothing;
    MPI_Recv(&nothing, 0, MPI_CHAR, from.MPI_SOURCE, ask, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
    const std::size_t number = next.fetch_add(1);
    const long reply = number < count ? static_cast<long>(number) : nothing_left;
    if (reply == nothing_left) --others;
    MPI_Send(&reply, 1, MPI_LONG, from.MPI_SOURCE, answer, MPI_COMM_WORLD);
  }
}

}  // namespace

Ranks::Ranks() {
  if (!started_by_mpirun()) return;
  int given = 0;
  MPI_Init_thread(nullptr, nullptr, MPI_THREAD_FUNNELED, &given);
  MPI_Comm_rank(MPI_COMM_WORLD, &rank_);
  MPI_Comm_size(MPI_COMM_WORLD, &size_);
}

Ranks::~Ranks() {
  int started = 0;
  MPI_Initialized(&started);
  if (started) MPI_Finalize();
}

void Ranks::share_out(std::size_t count, const std::function<void(std::size_t)>& work) {
  if (!first()) {
    for (;;) {
      const char nothing = 0;
      MPI_Send(&nothing, 0, MPI_CHAR, 0, ask, MPI_COMM_WORLD);
      long number = nothing_left;
      MPI_Recv(&number, 1, MPI_LONG, 0, answer, MPI_COMM_WORLD, MPI_STATUS_IGNORE);
      if (number == nothing_left) return;
      work(static_cast<std::size_t>(number));
    }
  }
  std::atomic<std::size_t> next = 0;
  std::exception_ptr failed;
  std::thread own([&] {
    try {
      for (std::size_t i = next++; i < count; i = next++) work(i);
    } catch (...) {
      failed = std::current_exception();
      next = count;
    }
  });
  hand_out(next, count, size_ - 1);
  own.join();
  if (failed) std::rethrow_exception(failed);
}

void Ranks::wait_for_all() const {
  if (size_ > 1) MPI_Barrier(MPI_COMM_WORLD);
}

void Ranks::abort(int code) const {
  if (size_ > 1) MPI_Abort(MPI_COMM_WORLD, code);
  std::exit(code);
}

}  // namespace stoverturn
