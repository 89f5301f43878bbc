#pragma once
#include "scenarios/report/spread.hpp"

/// Charts of planting day. A chart is empty (no fields) where the results lack its numbers.
namespace stoverturn {

/// Results of planting and what is read of them. The results must outlive it.
struct PlantingLook {
  explicit PlantingLook(const Results& results);
  const Results& r;
  RunSpread spread;
  std::size_t planting;  ///< checkpoint
};

/// Net N tied up by residue since harvest, canonical: at planting (stage -1) or a stage of the crop.
RunInterval tied_up(const PlantingLook& look, std::size_t treatment, int stage);

Chart cover_chart(const PlantingLook& look);   ///< with the 30 % line
Chart pieces_chart(const PlantingLook& look);  ///< means, which add up
Chart seed_temperature_chart(const PlantingLook& look);
Chart warm_soil_later_chart(const PlantingLook& look);
Chart seedbed_water_chart(const PlantingLook& look);
Chart wet_residue_chart(const PlantingLook& look);
Chart tie_up_chart(const PlantingLook& look);  ///< by growth stage
Chart build_up_chart(const PlantingLook& look);

}  // namespace stoverturn
