#include "scenarios/results/recorder.hpp"

#include <algorithm>
#include <array>

#include <fmt/format.h>

#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

/// "1", or "1, 4, 7" for harvests that follow each other under one number, or "older", or "cover crop".
std::string harvest_label(const TreatmentLayout& layout, int number) {
  if (number == older_harvests) return "older";
  if (number == cover_crops) return "cover crop";
  std::string label;
  for (std::size_t h = 0; h < layout.stays.size(); ++h) {
    if (layout.stays[h].number == number) label += fmt::format("{}{}", label.empty() ? "" : ", ", h + 1);
  }
  return label;
}

/// The cohort axis of all treatments together: every label that any treatment has, once.
std::vector<CohortLabel> union_of_cohorts(const Scenario& scenario, const std::vector<TreatmentJob>& jobs,
                                          std::vector<std::vector<std::size_t>>& places) {
  std::vector<CohortLabel> labels;
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    places.emplace_back();
    for (const Cohort& c : jobs[t].job.layout->cohorts) {
      static constexpr std::array words = {"standing", "surface", "buried"};
      const CohortLabel label{scenario.treatments[t].components[static_cast<std::size_t>(c.component)].name,
                              jobs[t].layout.pieces[static_cast<std::size_t>(c.pieces)].name,
                              words[static_cast<std::size_t>(c.placement)],
                              harvest_label(jobs[t].layout, c.harvest)};
      const auto same = std::find_if(labels.begin(), labels.end(), [&](const CohortLabel& l) {
        return l.component == label.component && l.pieces == label.pieces && l.placement == label.placement &&
               l.harvest == label.harvest;
      });
      places.back().push_back(static_cast<std::size_t>(same - labels.begin()));
      if (same == labels.end()) labels.push_back(label);
    }
  }
  return labels;
}

std::string summed_name(const CohortSeries& s, const char* by) {
  return fmt::format("{}_by_{}", s.name.substr(s.name.find('_') + 1), by);
}

}  // namespace

Recorder::Recorder(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results,
                   bool of_cohorts)
    : scenario_(scenario), jobs_(jobs), results_(results), with_cohorts_(of_cohorts) {
  std::vector<std::vector<std::size_t>> found;
  results.cohorts = union_of_cohorts(scenario, jobs, found);
  for (const std::vector<std::size_t>& of_treatment : found) {
    cohorts_.emplace_back();
    for (const std::size_t i : of_treatment) {
      const CohortLabel& label = results.cohorts[i];
      cohorts_.back().push_back(
          {i, index_of(results.components, label.component), index_of(results.placements, label.placement)});
    }
  }
  for (const TreatmentSeries& s : treatment_series()) {
    of_treatment_.push_back(declare(s.name, s.kind, {treatment, time}, s.meaning, s.substance));
  }
  balance_ = declare("balance_residual", Kind::mass_per_area, {treatment, element, time},
                     "what entered less what is there or left: 0 but for rounding", "");
  for (const ClimateSeries& s : climate_series()) {
    of_climate_.push_back(declare(s.name, s.kind, {treatment, placement, time}, s.meaning, ""));
  }
  left_by_component_ = declare("mass_left_by_component", Kind::fraction, {treatment, component, time},
                               "residue left, share of what was harvested of the component", "");
  left_by_placement_ = declare("mass_left_by_placement", Kind::fraction, {treatment, placement, time},
                               "residue left there, share of all that was harvested", "");
  left_by_harvest_ = declare("mass_left_by_harvest", Kind::fraction, {treatment, harvest, time},
                             "residue left of that harvest, until it joins that of older ones", "");
  for (const CohortSeries& s : cohort_series()) {
    CohortPlaces places{};
    if (with_cohorts_) {
      places.own = declare(s.name, s.kind, {treatment, cohort, time},
                           fmt::format("{} of a cohort", s.meaning), s.substance);
    }
    if (s.summed) {
      places.by_component = declare(summed_name(s, "component"), s.kind, {treatment, component, time},
                                    fmt::format("{} of residue, by component", s.meaning), s.substance);
      places.by_placement = declare(summed_name(s, "placement"), s.kind, {treatment, placement, time},
                                    fmt::format("{} of residue, by placement", s.meaning), s.substance);
    }
    of_cohort_.push_back(places);
  }
}

void Recorder::record(std::size_t t, int day, const State<double>& x) {
  const TreatmentJob& made = jobs_[t];
  const Job<double>& job = made.job;
  const Treatment& plan = scenario_.treatments[t];
  const Harvested harvested = harvested_by(plan, made, day, x.data() + job.layout->field());
  record_harvests(t, day, x);
  for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
    record_cohort(t, j, day, {job.cohorts[j], x.data() + j * pools}, harvested);
  }
  const DayView view = day_view(scenario_, plan, made, job, day, x, harvested.all);
  for (std::size_t s = 0; s < of_treatment_.size(); ++s)
    add(of_treatment_[s], t, 0, day, treatment_series()[s].value(view));
  const auto elements_books = books(job, x);
  for (std::size_t e = 0; e < elements_books.size(); ++e) {
    add(balance_, t, e, day, elements_books[e].residual());
  }
  const std::size_t last = job.drivers->days.size() - 1;
  const DayDrivers<double>& climate = job.drivers->days[std::min(static_cast<std::size_t>(day), last)];
  for (std::size_t s = 0; s < of_climate_.size(); ++s) {
    for (std::size_t p = 0; p < placements; ++p)
      add(of_climate_[s], t, p, day, climate_series()[s].value(climate, p));
  }
}

std::size_t Recorder::declare(std::string_view name, Kind kind, std::vector<Dimension> dimensions,
                              std::string_view meaning, std::string_view substance) {
  std::size_t size = 1;
  for (const Dimension d : dimensions) size *= results_.extent(d);
  middle_.push_back(dimensions.size() == 3 ? results_.extent(dimensions[1]) : 1);
  results_.series.push_back({std::string(name), kind, std::move(dimensions), std::string(meaning), "",
                             std::string(substance), std::vector<double>(size, 0.0)});
  return results_.series.size() - 1;
}

void Recorder::add(std::size_t series, std::size_t t, std::size_t middle, int day, double value) {
  Variable& v = results_.series[series];
  v.values[(t * middle_[series] + middle) * static_cast<std::size_t>(results_.days) +
           static_cast<std::size_t>(day)] += value;
}

std::size_t Recorder::component_of(std::size_t t, std::size_t j) const {
  return static_cast<std::size_t>(jobs_[t].job.layout->cohorts[j].component);
}

void Recorder::record_harvests(std::size_t t, int day, const State<double>& x) {
  const TreatmentJob& made = jobs_[t];
  for (std::size_t h = 0; h < results_.harvests.size(); ++h) {
    const auto& stays = made.layout.stays;
    const bool there = h < stays.size() && stays[h].from <= day && day < stays[h].to;
    double left = there ? 0.0 : not_measured;
    for (std::size_t j = 0; j < made.job.cohorts.size() && there; ++j) {
      if (made.job.layout->cohorts[j].harvest != stays[h].number) continue;
      left += carbon_in(x.data() + j * pools) / made.job.cohorts[j].carbon /
              scenario_.treatments[t].harvests[h].dry_matter_g_m2;
    }
    add(left_by_harvest_, t, h, day, left);
  }
}

void Recorder::record_cohort(std::size_t t, std::size_t j, int day, const CohortView& view,
                             const Harvested& harvested) {
  const auto& [own_place, c, p] = cohorts_[t][j];
  for (std::size_t s = 0; s < of_cohort_.size(); ++s) {
    const double value = cohort_series()[s].value(view);
    if (with_cohorts_) add(of_cohort_[s].own, t, own_place, day, value);
    if (!cohort_series()[s].summed) continue;
    add(of_cohort_[s].by_component, t, c, day, value);
    add(of_cohort_[s].by_placement, t, p, day, value);
  }
  const double mass = carbon_in(view.x) / view.traits.carbon;
  const std::size_t own = component_of(t, j);
  const double of_component = harvested.of_component[own];
  if (of_component > 0.0) add(left_by_component_, t, c, day, mass / of_component);
  if (harvested.all > 0.0 && !scenario_.treatments[t].of_cover_crop(own)) {
    add(left_by_placement_, t, p, day, mass / harvested.all);
  }
}

}  // namespace stoverturn
