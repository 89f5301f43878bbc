#pragma once
#include <cstddef>
#include <exception>
#include <functional>

namespace stoverturn {

/// The processes that mpirun started together, or this one alone. One object in a program.
class Ranks {
 public:
  /// Throws std::runtime_error when started by mpirun in a program that was built without MPI.
  Ranks();
  ~Ranks();  // NOLINT(performance-trivially-destructible): ends MPI where there is one
  Ranks(const Ranks&) = delete;
  Ranks& operator=(const Ranks&) = delete;

  int rank() const { return rank_; }
  int size() const { return size_; }
  bool first() const { return rank_ == 0; }

  /// Calls `work` for every number below `count` on one of the ranks: each takes the next when it is done
  /// with one, so that a slow machine holds nobody up. Returns when this rank has nothing more to do.
  void share_out(std::size_t count, const std::function<void(std::size_t)>& work);
  /// Returns when all ranks have come to it.
  void wait_for_all() const;
  /// Ends all ranks at once: one that has failed leaves others waiting.
  [[noreturn]] void abort(int code) const;

 private:
  int rank_ = 0, size_ = 1;
};

}  // namespace stoverturn
