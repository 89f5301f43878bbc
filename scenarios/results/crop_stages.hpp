#pragma once
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "scenarios/plan/scenario_jobs.hpp"
#include "scenarios/results/results.hpp"

namespace stoverturn {

/// A number at the stages of a following crop: the sum of series of a treatment on the day, or what they grew
/// by since planting.
struct StageNumber {
  std::string_view name, meaning;
  bool since_planting;
  std::vector<std::string_view> series;
};
const std::vector<StageNumber>& stage_numbers();

/// The seasons after a treatment's first harvest: those that its checkpoints number.
std::vector<GrownCrop> seasons_of(const Treatment& treatment, const TreatmentJob& job,
                                  std::chrono::sys_days start);

/// "V6 1", of the first season.
std::string stage_label(const CropRow& crop, std::size_t stage, std::size_t season);

/// Adds the key numbers at stages, where a crop is named.
void add_crop_stages(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results);

}  // namespace stoverturn
