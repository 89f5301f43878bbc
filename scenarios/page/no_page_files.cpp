#include "scenarios/page/page_files.hpp"

namespace stoverturn {

PageFiles page_files() { return {}; }

}  // namespace stoverturn
