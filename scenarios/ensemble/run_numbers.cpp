#include "scenarios/ensemble/run_numbers.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/crop_seasons.hpp"
#include "scenarios/results/crop_stages.hpp"
#include "scenarios/results/found_along.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using std::chrono::days;
using std::chrono::sys_days;

constexpr std::string_view usual_numbers[] = {
    "mass_left",          "soil_cover",      "nitrogen_released", "phosphorus_released",
    "potassium_released", "sulfur_released", "nitrogen_leached",  "value_released",
};

const TreatmentSeries& series_named(const PlacedWord& name, std::span<const TreatmentSeries> own,
                                    Mistakes& mistakes) {
  for (const TreatmentSeries& s : own) {
    if (s.name == name.word) return s;
  }
  const std::span<const TreatmentSeries> all = treatment_series();
  const auto found = std::find_if(all.begin(), all.end(), [&](const auto& s) { return s.name == name.word; });
  if (found != all.end()) return *found;
  std::vector<std::string> names;
  for (const TreatmentSeries& s : all) names.emplace_back(s.name);
  mistakes.add(name.at, fmt::format("there is no series '{}'{}", name.word, did_you_mean(name.word, names)));
  return all.front();
}

/// Those of a run, and the dates that the ensemble asks for.
std::vector<Checkpoint> with_dates(const Treatment& t, const EnsemblePlan& plan, sys_days end) {
  std::vector<Checkpoint> list = checkpoints(t, end);
  const bool ends = list.back().name == "end";
  if (ends) list.pop_back();
  const sys_days begin = t.first().date;
  for (const std::chrono::month_day md : plan.dates) {
    int number = 1;
    for (sys_days date = next_on_or_after(begin + days(1), md); date <= end;
         date = next_on_or_after(date + days(1), md)) {
      list.push_back({fmt::format("{:02}-{:02} {}", static_cast<unsigned>(md.month()),
                                  static_cast<unsigned>(md.day()), number++),
                      date});
    }
  }
  for (const int after : plan.days_after) {
    if (begin + days(after) <= end) list.push_back({fmt::format("day {}", after), begin + days(after)});
  }
  std::stable_sort(list.begin(), list.end(),
                   [](const Checkpoint& a, const Checkpoint& b) { return a.date < b.date; });
  if (ends) list.push_back({"end", end});
  return list;
}

class Builder {
 public:
  Builder(const Scenario& scenario, std::span<const TreatmentSeries> own) : scenario_(scenario), own_(own) {
    const RunSpan span = run_span(scenario);
    out_.start = span.start;
    out_.every_d = scenario.ensemble.every_d;
    if (!scenario.ensemble.series.empty()) out_.times = span.days / out_.every_d + 1;
    std::vector<std::vector<Checkpoint>> lists;
    for (const Treatment& t : scenario.treatments) {
      lists.push_back(with_dates(t, scenario.ensemble, span.start + days(span.days)));
    }
    out_.checkpoints = checkpoint_days(lists, span.start, span.start + days(span.days));
    out_.taken.resize(scenario.treatments.size());
  }

  RunNumbers build() {
    std::vector<PlacedWord> names = scenario_.ensemble.numbers;
    if (names.empty()) {
      for (const std::string_view name : usual_numbers) names.push_back({std::string(name), {}});
    }
    for (const PlacedWord& name : names) add_at_checkpoints(series_named(name, own_, mistakes_));
    add_stages();
    out_.found = out_.columns;
    for (const FoundNumber& n : found_numbers()) {
      add({std::string(n.name), n.kind, {}, std::string(n.meaning), "", std::string(n.substance), {}}, 1);
    }
    add({"balance_error",
         Kind::mass_per_area,
         {},
         "largest residual of any element's balance on these days",
         "",
         "",
         {}},
        1);
    for (const PlacedWord& name : scenario_.ensemble.series) add_course(series_named(name, own_, mistakes_));
    mistakes_.throw_if_any();
    for (std::vector<RunNumbers::Taken>& taken : out_.taken) {
      std::stable_sort(taken.begin(), taken.end(),
                       [](const auto& a, const auto& b) { return a.day < b.day; });
    }
    return std::move(out_);
  }

 private:
  void add(Variable variable, std::size_t columns) {
    const bool twice = std::any_of(out_.variables.begin(), out_.variables.end(),
                                   [&](const Variable& v) { return v.name == variable.name; });
    if (twice) mistakes_.add({}, fmt::format("[ensemble] asks twice for {}", variable.name));
    out_.variables.push_back(std::move(variable));
    out_.first.push_back(out_.columns);
    out_.columns += columns;
  }

  void add_at_checkpoints(const TreatmentSeries& s) {
    for (std::size_t t = 0; t < out_.taken.size(); ++t) {
      const std::vector<int>& on = out_.checkpoints.days[t];
      for (std::size_t c = 0; c < on.size(); ++c) {
        if (on[c] >= 0) out_.taken[t].push_back({on[c], &s, out_.columns + c});
      }
    }
    add({fmt::format("{}_at", s.name),
         s.kind,
         {Dimension::checkpoint},
         std::string(s.meaning),
         "",
         std::string(s.substance),
         {}},
        out_.checkpoints.names.size());
  }

  /// Of the first crop that is named; other treatments may grow another, and then have none of its stages.
  void add_stages() {
    const CropRow* crop = nullptr;
    for (const Treatment& t : scenario_.treatments) {
      const PlantedCrop* season = named_next_crop(t);
      if (season && !crop) crop = season->crop.crop.get();
    }
    if (!crop) return;
    for (std::size_t s = 0; s < crop_stages; ++s) out_.stages.push_back(stage_label(*crop, s, 0));
    out_.stage_day = out_.columns;
    add({"stage_day",
         Kind::time,
         {Dimension::stage},
         "days from the start of the run to the stage of the following crop",
         "",
         "",
         {}},
        crop_stages);
    for (const StageNumber& n : stage_numbers()) {
      for (std::size_t s = 0; s < crop_stages; ++s) {
        for (const std::string_view name : n.series) {
          out_.at_stages.push_back({s, n.since_planting,
                                    &series_named({std::string(name), {}}, own_, mistakes_),
                                    out_.columns + s});
        }
      }
      add({std::string(n.name), Kind::mass_per_area, {Dimension::stage}, std::string(n.meaning), "", "N", {}},
          crop_stages);
    }
  }

  void add_course(const TreatmentSeries& s) {
    for (std::vector<RunNumbers::Taken>& taken : out_.taken) {
      for (int i = 0; i < out_.times; ++i) {
        taken.push_back({i * out_.every_d, &s, out_.columns + static_cast<std::size_t>(i)});
      }
    }
    add({std::string(s.name),
         s.kind,
         {Dimension::time},
         std::string(s.meaning),
         "",
         std::string(s.substance),
         {}},
        static_cast<std::size_t>(out_.times));
  }

  const Scenario& scenario_;
  std::span<const TreatmentSeries> own_;
  RunNumbers out_;
  Mistakes mistakes_;
};

}  // namespace

RunNumbers run_numbers(const Scenario& scenario, std::span<const TreatmentSeries> own) {
  return Builder(scenario, own).build();
}

}  // namespace stoverturn
