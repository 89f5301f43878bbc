#include "scenarios/results/crop_stages.hpp"

#include <algorithm>

#include <fmt/format.h>

namespace stoverturn {
namespace {

using enum Dimension;

struct Reached {
  int planting = -1, day = -1;  ///< days of the run; -1: not reached
};

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

const std::vector<StageNumber>& stage_numbers() {
  static const std::vector<StageNumber> numbers = {
      {"stage_nitrogen_released",
       "net N given by residue from planting to the stage; negative: tied up",
       true,
       {"nitrogen_released"}},
      {"stage_nitrogen_to_crop", "N taken up from planting to the stage", true, {"nitrogen_to_crop"}},
      {"stage_mineral_nitrogen",
       "ammonium and nitrate N in the soil to 1 m at the stage",
       false,
       {"ammonium", "nitrate", "subsoil_nitrate"}},
      {"stage_topsoil_nitrogen",
       "ammonium and nitrate N in the topsoil at the stage",
       false,
       {"ammonium", "nitrate"}},
  };
  return numbers;
}

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

void add_crop_stages(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& r) {
  std::vector<std::vector<GrownCrop>> seasons;
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    seasons.push_back(seasons_of(scenario.treatments[t], jobs[t], r.start));
  }
  r.stages = union_of_stages(seasons);
  if (r.stages.empty()) return;
  const auto declared = [](std::string_view name, Kind kind, std::string_view meaning,
                           const char* substance) {
    return Variable{std::string(name), kind, {treatment, Dimension::stage}, std::string(meaning), "",
                    substance,         {}};
  };
  Variable day = declared("stage_day", Kind::time,
                          "days from the start of the run to the stage of the following crop", "");
  Variable planted =
      declared("stage_planting_day", Kind::time, "days from the start of the run to its planting", "");
  std::vector<Variable> numbers;
  for (const StageNumber& n : stage_numbers()) {
    numbers.push_back(declared(n.name, Kind::mass_per_area, n.meaning, "N"));
  }
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    const auto sum_on = [&](const StageNumber& n, int when) {
      double sum = 0.0;
      for (const std::string_view series : n.series) {
        sum += r.find(series).values[t * r.extent(time) + static_cast<std::size_t>(when)];
      }
      return sum;
    };
    for (const std::string& label : r.stages) {
      const Reached s = reached(seasons[t], label);
      const bool there = s.day >= 0;
      day.values.push_back(there ? s.day : not_measured);
      planted.values.push_back(s.planting >= 0 ? s.planting : not_measured);
      for (std::size_t i = 0; i < numbers.size(); ++i) {
        const StageNumber& n = stage_numbers()[i];
        const double before = there && n.since_planting ? sum_on(n, s.planting) : 0.0;
        numbers[i].values.push_back(there ? sum_on(n, s.day) - before : not_measured);
      }
    }
  }
  for (Variable* v : {&day, &planted}) r.key_numbers.push_back(std::move(*v));
  for (Variable& v : numbers) r.key_numbers.push_back(std::move(v));
}

}  // namespace stoverturn
