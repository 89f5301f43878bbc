#pragma once
#include <array>
#include <span>
#include <string_view>

#include "engine/crop.hpp"

namespace stoverturn {

/// A crop that may grow after the residue, by its degree days. docs/file-formats.md, Crops.
struct CropRow {
  std::string_view name;
  std::array<std::string_view, crop_stages> stages;  ///< names, in the order of CropKind::stage_Kd
  CropKind kind;
  std::string_view cover_material;  ///< residue of a cover crop when it ends; "": no cover crop
  std::string_view degree_day_source, stage_source, uptake_source, basal_source;
};

std::span<const CropRow> crop_table();

/// The cover crop where a file names none.
inline constexpr std::string_view usual_cover_crop = "cereal rye";

/// Row of that name, in upper or lower case; nullptr when there is none.
const CropRow* find_crop(std::string_view name);

}  // namespace stoverturn
