#pragma once
#include "fitting/trial_model.hpp"

namespace stoverturn {

/// Spreads work over threads (oneTBB); 0, or more than the machine has: all it has. Ready when all of the
/// work is done. An exception of the work arrives at the caller, one of them when there are several; what has
/// not begun by then is left out. Work may itself spread work, also with the same object: the threads stay as
/// many as they are. The object may be copied and called from several threads. std::invalid_argument for a
/// negative number.
ForEach on_threads(int threads);

}  // namespace stoverturn
