#pragma once
#include <array>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/crop.hpp"

namespace stoverturn {

/// A crop that may grow after the residue, by its degree days. docs/file-formats.md, Crops.
struct CropRow {
  std::string name;
  std::array<std::string, crop_stages> stages;  ///< names, in the order of CropKind::stage_Kd
  CropKind kind;
  std::string cover_material;  ///< residue of a cover crop when it ends; "": no cover crop
  std::string degree_day_source, stage_source, uptake_source, basal_source;  ///< of a built-in one
};

/// Plans share their crop with the library it came from, and outlive it.
using CropPointer = std::shared_ptr<const CropRow>;
using CropLibrary = std::vector<CropPointer>;

const CropLibrary& builtin_crops();

/// The cover crop where a file names none.
inline constexpr std::string_view usual_cover_crop = "cereal rye";

/// Row of that name, in upper or lower case; nullptr when there is none.
CropPointer find_crop(std::string_view name, const CropLibrary& library = builtin_crops());

}  // namespace stoverturn
