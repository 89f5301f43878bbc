#include "scenarios/results/crop_stages.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace stoverturn {
namespace {

using enum Dimension;

struct Reached {
  int planting = -1, day = -1;  ///< days of the run; -1: not reached
};

/// The seasons after a treatment's first harvest: those that its checkpoints number.
std::vector<GrownCrop> seasons_of(const Treatment& treatment, const TreatmentJob& job,
                                  std::chrono::sys_days start) {
  std::vector<GrownCrop> seasons;
  for (const GrownCrop& season : job.crops) {
    if (start + std::chrono::days{season.course.planting_day} > treatment.first().date)
      seasons.push_back(season);
  }
  return seasons;
}

std::string stage_label(const CropRow& crop, std::size_t stage, std::size_t season) {
  return fmt::format("{} {}", crop.stages[stage], season + 1);
}

/// Labels of all treatments, each once, season after season.
std::vector<std::string> union_of_stages(const std::vector<std::vector<GrownCrop>>& treatments) {
  std::vector<std::string> labels;
  std::size_t most = 0;
  for (const auto& seasons : treatments) most = std::max(most, seasons.size());
  for (std::size_t season = 0; season < most; ++season) {
    for (const auto& seasons : treatments) {
      if (season >= seasons.size() || !seasons[season].plan.given) continue;
      for (std::size_t stage = 0; stage < crop_stages; ++stage) {
        const std::string label = stage_label(*seasons[season].plan.crop, stage, season);
        if (std::find(labels.begin(), labels.end(), label) == labels.end()) labels.push_back(label);
      }
    }
  }
  return labels;
}

Reached reached(const std::vector<GrownCrop>& seasons, const std::string& label) {
  for (std::size_t season = 0; season < seasons.size(); ++season) {
    const auto& [plan, course] = seasons[season];
    if (!plan.given) continue;
    for (std::size_t stage = 0; stage < crop_stages; ++stage) {
      if (stage_label(*plan.crop, stage, season) != label) continue;
      return {course.planting_day, course.stage_day[stage]};
    }
  }
  return {};
}

}  // namespace

void add_crop_stages(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& r) {
  std::vector<std::vector<GrownCrop>> seasons;
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    seasons.push_back(seasons_of(scenario.treatments[t], jobs[t], r.start));
  }
  r.stages = union_of_stages(seasons);
  if (r.stages.empty()) return;
  const auto declared = [](const char* name, Kind kind, const char* meaning, const char* substance) {
    return Variable{name, kind, {treatment, Dimension::stage}, meaning, "", substance, {}};
  };
  Variable day = declared("stage_day", Kind::time,
                          "days from the start of the run to the stage of the following crop", "");
  Variable planted =
      declared("stage_planting_day", Kind::time, "days from the start of the run to its planting", "");
  Variable released = declared("stage_nitrogen_released", Kind::mass_per_area,
                               "net N given by residue from planting to the stage; negative: tied up", "N");
  Variable taken =
      declared("stage_nitrogen_to_crop", Kind::mass_per_area, "N taken up from planting to the stage", "N");
  Variable mineral = declared("stage_mineral_nitrogen", Kind::mass_per_area,
                              "ammonium and nitrate N in the soil to 1 m at the stage", "N");
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    const auto at = [&](const char* series, int when) {
      return r.find(series).values[t * r.extent(time) + static_cast<std::size_t>(when)];
    };
    for (const std::string& label : r.stages) {
      const Reached s = reached(seasons[t], label);
      const bool there = s.day >= 0;
      day.values.push_back(there ? s.day : not_measured);
      planted.values.push_back(s.planting >= 0 ? s.planting : not_measured);
      const auto since = [&](const char* series) {
        return there ? at(series, s.day) - at(series, s.planting) : not_measured;
      };
      released.values.push_back(since("nitrogen_released"));
      taken.values.push_back(since("nitrogen_to_crop"));
      mineral.values.push_back(
          there ? at("ammonium", s.day) + at("nitrate", s.day) + at("subsoil_nitrate", s.day) : not_measured);
    }
  }
  for (Variable* v : {&day, &planted, &released, &taken, &mineral}) r.key_numbers.push_back(std::move(*v));
}

}  // namespace stoverturn
