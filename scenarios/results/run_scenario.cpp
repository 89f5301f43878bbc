#include "scenarios/results/run_scenario.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/results/crop_stages.hpp"
#include "scenarios/results/series.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/weather/weather_raw.hpp"
#include "scenarios/weather/weather_years.hpp"

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

std::vector<std::string> union_of_components(const Scenario& scenario) {
  std::vector<std::string> names;
  for (const Treatment& t : scenario.treatments) {
    for (const ComponentPlan& c : t.components) {
      if (std::find(names.begin(), names.end(), c.name) == names.end()) names.push_back(c.name);
    }
  }
  return names;
}

/// Owns the series while treatments are simulated, and knows where each value goes.
class Recorder {
 public:
  Recorder(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results)
      : scenario_(scenario), jobs_(jobs), results_(results) {
    results.cohorts = union_of_cohorts(scenario, jobs, cohort_places_);
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
      places.own = declare(s.name, s.kind, {treatment, cohort, time},
                           fmt::format("{} of a cohort", s.meaning), s.substance);
      if (s.summed) {
        places.by_component = declare(summed_name(s, "component"), s.kind, {treatment, component, time},
                                      fmt::format("{} of residue, by component", s.meaning), s.substance);
        places.by_placement = declare(summed_name(s, "placement"), s.kind, {treatment, placement, time},
                                      fmt::format("{} of residue, by placement", s.meaning), s.substance);
      }
      of_cohort_.push_back(places);
    }
  }

  void record(std::size_t t, int day, const State<double>& x) {
    const TreatmentJob& made = jobs_[t];
    const Job<double>& job = made.job;
    const Treatment& plan = scenario_.treatments[t];
    DayView view{scenario_, plan, made, day, x.data() + job.layout->field(), 0, 0, 0, 0, 0, 0, 0, 0, 0};
    const Harvested harvested = harvested_by(t, day, view.field);
    view.harvested_g_m2 = harvested.all;
    record_harvests(t, day, x);
    for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
      const CohortView cohort_view{job.cohorts[j], x.data() + j * pools};
      const double mass = carbon_in(cohort_view.x) / cohort_view.traits.carbon;
      view.dry_matter_g_m2 += mass;
      if (!of_cover_crop(plan, component_of(t, j))) view.of_harvests_g_m2 += mass;
      if (cohort_view.traits.place == 1) view.flat_cover += cover_m2_g(plan, job.layout->cohorts[j]) * mass;
      view.C += carbon_in(cohort_view.x);
      view.N += element_in(cohort_view.traits, nitrogen, cohort_view.x);
      view.P += element_in(cohort_view.traits, phosphorus, cohort_view.x);
      view.K += cohort_view.x[potassium];
      view.S += element_in(cohort_view.traits, sulfur, cohort_view.x);
      record_cohort(t, j, day, cohort_view, harvested);
    }
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

 private:
  static std::string summed_name(const CohortSeries& s, const char* by) {
    return fmt::format("{}_by_{}", s.name.substr(s.name.find('_') + 1), by);
  }

  std::size_t declare(std::string_view name, Kind kind, std::vector<Dimension> dimensions,
                      std::string_view meaning, std::string_view substance) {
    std::size_t size = 1;
    for (const Dimension d : dimensions) size *= results_.extent(d);
    results_.series.push_back({std::string(name), kind, std::move(dimensions), std::string(meaning), "",
                               std::string(substance), std::vector<double>(size, 0.0)});
    return results_.series.size() - 1;
  }

  void add(std::size_t series, std::size_t t, std::size_t middle, int day, double value) {
    Variable& v = results_.series[series];
    const std::size_t extent = v.dimensions.size() == 3 ? results_.extent(v.dimensions[1]) : 1;
    v.values[(t * extent + middle) * static_cast<std::size_t>(results_.days) +
             static_cast<std::size_t>(day)] += value;
  }

  std::size_t component_of(std::size_t t, std::size_t j) const {
    return static_cast<std::size_t>(jobs_[t].job.layout->cohorts[j].component);
  }
  static bool of_cover_crop(const Treatment& plan, std::size_t component) {
    return plan.cover_crop && plan.components[component].material == plan.cover_crop->material;
  }

  /// Dry matter of a cover crop's component: what its N has made so far.
  static double of_cover_g_m2(const Treatment& plan, std::size_t component, const double* field) {
    double N_per_g = 0.0;
    for (std::size_t c = 0; c < plan.components.size(); ++c) {
      const Parameters<double>& p = plan.parameters.components[c];
      if (of_cover_crop(plan, c)) N_per_g += p.mass_share * p.nitrogen;
    }
    return field[cover_returned_N] / N_per_g * plan.parameters.components[component].mass_share;
  }

  /// Dry matter that came onto the field so far: of all harvests, and by component.
  struct Harvested {
    double all = 0.0;
    std::vector<double> of_component;
  };
  Harvested harvested_by(std::size_t t, int day, const double* field) const {
    const Treatment& plan = scenario_.treatments[t];
    Harvested sum{0.0, std::vector<double>(plan.components.size(), 0.0)};
    for (std::size_t h = 0; h < plan.harvests.size(); ++h) {
      if (jobs_[t].layout.stays[h].from > day) break;
      const HarvestPlan& harvest = plan.harvests[h];
      sum.all += harvest.dry_matter_g_m2;
      for (std::size_t c = 0; c < plan.components.size(); ++c) {
        sum.of_component[c] += harvest.dry_matter_g_m2 *
                               harvest.material_shares[plan.components[c].material] *
                               plan.parameters.components[c].mass_share;
      }
    }
    for (std::size_t c = 0; c < plan.components.size(); ++c) {
      if (of_cover_crop(plan, c)) sum.of_component[c] = of_cover_g_m2(plan, c, field);
    }
    return sum;
  }

  static double cover_m2_g(const Treatment& plan, const Cohort& cohort) {
    const std::size_t material = plan.components[static_cast<std::size_t>(cohort.component)].material;
    return plan.parameters.of_material[material].cover_m2_g;
  }

  void record_harvests(std::size_t t, int day, const State<double>& x) {
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

  void record_cohort(std::size_t t, std::size_t j, int day, const CohortView& view,
                     const Harvested& harvested) {
    const CohortLabel& label = results_.cohorts[cohort_places_[t][j]];
    const auto place_of = [](const std::vector<std::string>& names, const std::string& name) {
      return static_cast<std::size_t>(std::find(names.begin(), names.end(), name) - names.begin());
    };
    const std::size_t c = place_of(results_.components, label.component);
    const std::size_t p = place_of(results_.placements, label.placement);
    for (std::size_t s = 0; s < of_cohort_.size(); ++s) {
      const double value = cohort_series()[s].value(view);
      add(of_cohort_[s].own, t, cohort_places_[t][j], day, value);
      if (!cohort_series()[s].summed) continue;
      add(of_cohort_[s].by_component, t, c, day, value);
      add(of_cohort_[s].by_placement, t, p, day, value);
    }
    const double mass = carbon_in(view.x) / view.traits.carbon;
    const std::size_t own = component_of(t, j);
    const double of_component = harvested.of_component[own];
    if (of_component > 0.0) add(left_by_component_, t, c, day, mass / of_component);
    if (harvested.all > 0.0 && !of_cover_crop(scenario_.treatments[t], own)) {
      add(left_by_placement_, t, p, day, mass / harvested.all);
    }
  }

  const Scenario& scenario_;
  const std::vector<TreatmentJob>& jobs_;
  Results& results_;
  std::vector<std::vector<std::size_t>> cohort_places_;
  struct CohortPlaces {
    std::size_t own, by_component, by_placement;
  };
  std::vector<std::size_t> of_treatment_, of_climate_;
  std::vector<CohortPlaces> of_cohort_;
  std::size_t balance_ = 0, left_by_component_ = 0, left_by_placement_ = 0, left_by_harvest_ = 0;
};

constexpr const char* how_sure =
    "How sure: on the 20 published figures that the default parameters were fitted to, mass left is off by 6 "
    "points "
    "(root mean square). Release and tie-up of N, P and S are not calibrated.";
constexpr const char* nitrogen_caution =
    "Nitrogen: state and local rules may forbid it in the fall or near water and wells; ask before "
    "spreading. "
    "Ammonium forms belong on soil below 50 degF (10 degC) that is cooling. Ammonia burns eyes, skin and "
    "lungs: goggles, "
    "gloves and clean water at hand. Agree rate and date with a licensed or certified adviser.";

constexpr const char* nitrate_caution =
    "Nitrate: what is leached and denitrified is an estimate to compare treatments by, not for a permit. "
    "Have "
    "wells near the field tested; state and local rules come first.";

/// Whether anybody is to decide on nitrogen by these numbers.
bool concerns_nitrate(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(), [](const Treatment& t) {
    return t.cover_crop || std::any_of(t.crop_seasons.begin(), t.crop_seasons.end(),
                                       [](const PlantedCrop& p) { return p.crop.grows; });
  });
}

bool spreads_nitrogen(const Scenario& scenario) {
  return std::any_of(scenario.treatments.begin(), scenario.treatments.end(), [](const Treatment& t) {
    return std::any_of(t.events.begin(), t.events.end(),
                       [](const EventPlan& e) { return std::holds_alternative<FertiliserPlan>(e); });
  });
}

std::string variable_name(const WeatherField& field) {
  std::string name(field.name);
  std::replace(name.begin(), name.end(), ' ', '_');
  return name;
}

void keep_weather(const Climates& climates, Results& results) {
  const Weather& weather = climates.weather;
  results.weather_start = weather.start;
  results.weather_days = static_cast<int>(weather.days.size());
  results.latitude_deg = weather.latitude_deg;
  results.elevation_m = weather.elevation_m;
  for (const WeatherField& field : weather_fields) {
    Variable v{variable_name(field), field.kind, {time}, fmt::format("daily {}", field.name), "", "", {}};
    for (const WeatherDay& day : weather.days) v.values.push_back(day.*field.member);
    const bool measured =
        std::any_of(v.values.begin(), v.values.end(), [](double x) { return std::isfinite(x); });
    if (measured) results.weather.push_back(std::move(v));
  }
}

/// Masses to be taken off of which less was there.
void note_short_removals(const Scenario& scenario, const std::vector<TreatmentJob>& jobs, Results& results) {
  const Variable& taken = results.find("residue_removed");
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    double wanted = 0.0;
    bool all_by_mass = true;
    for (const Event<double>& e : jobs[t].job.events) {
      const auto* removal = std::get_if<Removal<double>>(&e.what);
      if (!removal || e.day >= results.days) continue;
      all_by_mass = all_by_mass && removal->by_mass;
      wanted += removal->amount;
    }
    const double had = taken.values[(t + 1) * results.extent(time) - 1];
    if (all_by_mass && had < 0.999 * wanted) {
      results.notes.push_back(fmt::format("'{}': of {:.2f} t/ha to be taken off only {:.2f} lay there.",
                                          scenario.treatments[t].label, wanted / 100.0, had / 100.0));
    }
  }
}

/// How a run goes on beyond its weather record.
std::string repetition_note(const Scenario& scenario, const Weather& weather, const RunSpan& span) {
  const std::string record = format_dates(
      weather.start, weather.start + std::chrono::days{static_cast<int>(weather.days.size()) - 1});
  if (!scenario.weather || !scenario.weather->resample) {
    return fmt::format(
        "The run goes beyond its weather record ({}); its years are used again in their order.", record);
  }
  const std::uint64_t seed = scenario.weather->seed;
  return fmt::format(
      "The run goes beyond its weather record ({}); the years before and after it are drawn from it at "
      "random, seed {}: {}.",
      record, seed, drawn_years(weather, span.start, span.start + std::chrono::days{span.days - 1}, seed));
}

}  // namespace

Weather kept_weather(const Results& results) {
  Weather weather;
  weather.start = results.weather_start;
  weather.latitude_deg = results.latitude_deg;
  weather.elevation_m = results.elevation_m;
  weather.days.resize(static_cast<std::size_t>(results.weather_days));
  for (const WeatherField& field : weather_fields) {
    for (const Variable& v : results.weather) {
      if (v.name != variable_name(field)) continue;
      for (std::size_t i = 0; i < weather.days.size(); ++i) weather.days[i].*field.member = v.values[i];
    }
  }
  return weather;
}

std::string program_name() { return "stoverturn " STOVERTURN_VERSION; }

Results run_scenario(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                     const Progress& progress) {
  const RunSpan span = run_span(scenario);
  Results results;
  results.title = scenario.title;
  results.program = program_name();
  results.units = scenario.units;
  results.currency = scenario.currency;
  results.components = union_of_components(scenario);
  results.placements = {"standing", "surface", "buried"};
  results.elements = {"C", "N", "P", "K", "S"};
  results.start = span.start;
  results.days = span.days + 1;
  results.notes = scenario.warnings;
  results.texts = std::move(texts);

  std::vector<TreatmentJob> jobs;
  for (const Treatment& t : scenario.treatments) {
    results.treatments.push_back(t.label);
    jobs.push_back(treatment_job(scenario, t, climates));
  }
  std::size_t most = 0;
  for (const Treatment& t : scenario.treatments) most = std::max(most, t.harvests.size());
  for (std::size_t h = 1; h <= most; ++h) results.harvests.push_back(std::to_string(h));
  Recorder recorder(scenario, jobs, results);
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    const Outcome outcome = simulate<double>(jobs[t].job, [&](int day, const State<double>& x) {
      recorder.record(t, day, x);
      if (progress && day % 64 == 0) {
        progress((static_cast<double>(t) + static_cast<double>(day) / span.days) /
                 static_cast<double>(jobs.size()));
      }
    });
    if (!outcome.ok) {
      throw InputError({{{scenario.title, 0, 0},
                         fmt::format("treatment '{}': {}", scenario.treatments[t].label, outcome.message)}});
    }
  }
  if (!climates.weather.days.empty()) keep_weather(climates, results);
  const bool looped = std::any_of(jobs.begin(), jobs.end(), [](const TreatmentJob& j) { return j.looped; });
  if (looped) {
    results.notes.push_back(repetition_note(scenario, climates.weather, span));
  }
  for (std::size_t t = 0; t < jobs.size(); ++t) {
    for (const Event<double>& e : jobs[t].job.events) {
      if (e.day > span.days) {
        results.notes.push_back(
            fmt::format("'{}': an event on {} lies after the end of the run and has no effect.",
                        scenario.treatments[t].label, format_date(span.start + std::chrono::days{e.day})));
      }
    }
  }
  note_short_removals(scenario, jobs, results);
  add_key_numbers(scenario, results);
  add_crop_stages(scenario, jobs, results);
  results.notes.insert(results.notes.end(), {how_sure});
  if (spreads_nitrogen(scenario)) results.notes.insert(results.notes.end(), {nitrogen_caution});
  if (spreads_nitrogen(scenario) || concerns_nitrate(scenario)) results.notes.emplace_back(nitrate_caution);
  return results;
}

}  // namespace stoverturn
