#pragma once
#include <string>
#include <vector>

#include "scenarios/plan/crops.hpp"
#include "scenarios/plan/materials.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {

/// The built-in crops and those of the file's [crop.NAME] tables, which are `tables`. A definition takes over
/// from `like`, a built-in crop, or says everything. Mistakes are added; a crop with mistakes is still known
/// by its name, so that each is told once.
CropLibrary read_crops(const Table* tables, const MaterialLibrary& materials, Mistakes& mistakes,
                       std::vector<std::string>& warnings);

}  // namespace stoverturn
