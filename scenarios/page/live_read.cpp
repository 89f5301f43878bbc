#include "scenarios/page/live_engine.hpp"
#include "scenarios/page/live_numbers.hpp"
#include "scenarios/text/mistakes.hpp"

namespace stoverturn {

std::string scenario_text(const Json& request) { return wanted_text(request, "scenario"); }
Json live_read(const Json&) { throw mistake_of_request("read: not there yet"); }
Json live_merge(const Json&) { throw mistake_of_request("merge: not there yet"); }

}  // namespace stoverturn
