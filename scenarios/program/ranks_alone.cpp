#include <cstdlib>
#include <initializer_list>
#include <stdexcept>
#include <string>

#include "scenarios/program/ranks.hpp"

/// Built without MPI.
namespace stoverturn {

Ranks::Ranks() {
  for (const char* size : {"OMPI_COMM_WORLD_SIZE", "PMI_SIZE"}) {
    const char* found = std::getenv(size);
    if (found && std::string(found) != "1") {
      throw std::runtime_error(
          "this program was built without MPI; build it with -DSTOVERTURN_MPI=ON, or start it "
          "once without mpirun");
    }
  }
}
Ranks::~Ranks() = default;

void Ranks::share_out(std::size_t count, const std::function<void(std::size_t)>& work) {
  for (std::size_t i = 0; i < count; ++i) work(i);
}
void Ranks::wait_for_all() const {}
void Ranks::abort(int code) const { std::exit(code); }

}  // namespace stoverturn
