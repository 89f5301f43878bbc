#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace stoverturn {

/// Placement by its name; -1 for "" and others.
int placement_index(std::string_view name);

/// "standing", "surface", "buried"; "" for -1.
std::string_view placement_name(int placement);

/// "lines 4, 17 and 30", "line 4", "lines 1, 2, 3 and 40 more".
std::string lines_text(std::vector<int> lines);

/// Of a treatment, with what a bag holds and where: "opened, buried", "opened, cob, surface".
std::string place_text(const std::string& treatment, const std::string& component, int placement);

}  // namespace stoverturn
