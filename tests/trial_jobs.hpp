#pragma once
/// Whole simulations for tests: invented residue of the built-in corn, on real weather or constant
/// conditions.
#include <cmath>
#include <memory>
#include <string>
#include <type_traits>
#include <vector>

#include "engine/simulate.hpp"
#include "engine/weather_drivers.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/ames_weather.hpp"
#include "tests/catch.hpp"
#include "tests/scaled_error.hpp"

namespace stoverturn {

/// All air temperatures raised by `shift_C`.
inline Weather shifted(Weather weather, double shift_C) {
  for (WeatherDay& day : weather.days) {
    day.tmin_C += shift_C;
    day.tmax_C += shift_C;
  }
  return weather;
}

/// Ames, Iowa, 1980-2020 (NEEDS_SHARED("weather-ames-iowa") first); mean of the year 9.5 C.
inline const Weather& ames() {
  static const Weather weather = read_weather(ames_plain_weather(), "ames.csv").weather;
  return weather;
}

/// New York 2012-2015, shipped with the project: there on every machine.
inline const Weather& new_york() {
  static const Weather weather = [] {
    const auto path = source_dir() / "notebooks-data" / "weather-newyork-2012-2015.csv";
    return read_weather(slurp(path), path.filename().string()).weather;
  }();
  return weather;
}

using SharedDrivers = std::shared_ptr<const Drivers<double>>;

/// Where residue lies for the weather's sake: depth when buried, dry matter above ground.
struct Cover {
  double burial_depth_mm = 100.0;
  double standing_g_m2 = 0.0, surface_g_m2 = 0.0;
  std::vector<CropCourse> crops = {}, covers = {};
};
inline SharedDrivers weather_drivers_of(const Weather& weather, std::chrono::sys_days start, int days,
                                        const Cover& cover) {
  WeatherDriversInput in;
  in.weather = &weather;
  in.start = start;
  in.days = days;
  in.burial_depth_mm = cover.burial_depth_mm;
  in.mulch = {{.day = 0, .standing_added = cover.standing_g_m2, .surface_added = cover.surface_g_m2}};
  in.crops = cover.crops;
  in.covers = cover.covers;
  in.parameters = default_parameters();
  return std::make_shared<Drivers<double>>(weather_drivers(in).drivers);
}

/// A jar or an incubator: no water drains.
inline SharedDrivers jar(double temperature_C, int days) {
  return std::make_shared<Drivers<double>>(constant_drivers({.temperature_C = temperature_C}, days));
}

inline const std::vector<std::string>& corn_parts() {
  static const std::vector<std::string> parts = {"stalk", "leaf", "husk", "cob"};
  return parts;
}

/// Defaults of the parameter table with the built-in corn's values of one component.
inline Parameters<double> corn(const std::string& component) {
  Parameters<double> p = default_parameters();
  for (const MaterialRow& row : material_table()) {
    if (row.material == "corn" && row.component == component)
      at(p, *find_parameter(row.parameter)) = row.value;
  }
  return p;
}

/// Pieces as a combine leaves them: sheets, whole cobs, stalks of 150 mm.
inline Pieces usual_pieces(const std::string& component) {
  if (component == "leaf" || component == "husk") return {.shape = Shape::sheet, .length_mm = 100.0};
  return {.length_mm = component == "cob" ? 180.0 : 150.0};
}

template <class Real>
Parameters<Real> as(const Parameters<double>& p) {
  if constexpr (std::is_same_v<Real, double>) {
    return p;
  } else {
    return convert<Real>(p);
  }
}

/// One cohort of a trial and what falls onto it on day 0.
template <class Real>
struct Part {
  Parameters<Real> parameters;
  Pieces pieces;
  Placement placement = Placement::surface;
  Driver<Real> dry_matter_g_m2 = Driver<Real>(0.0);
  int falls_to = -1;
};

/// What a job is made of, before the traits of its cohorts are computed.
template <class Real>
struct Trial {
  std::vector<Part<Real>> parts;
  Parameters<Real> field = as<Real>(default_parameters());
  std::shared_ptr<const Drivers<Driver<Real>>> drivers;
  int days = 0;
  SoilStart<Driver<Real>> start{Driver<Real>(2.0), Driver<Real>(3.0), Driver<Real>(3.0)};
  std::vector<Event<Driver<Real>>> events;  ///< besides the harvest of day 0
  double pH = 6.5;
  Tolerance tolerance;
};

template <class Real>
Job<Real> job_of(const Trial<Real>& trial) {
  Job<Real> job;
  auto layout = std::make_shared<Layout>();
  job.events = trial.events;
  for (std::size_t i = 0; i < trial.parts.size(); ++i) {
    const Part<Real>& part = trial.parts[i];
    const int index = static_cast<int>(i);
    const Cohort cohort{index, index, part.placement, 0, part.falls_to};
    layout->cohorts.push_back(cohort);
    job.cohorts.push_back(cohort_traits<Real>(cohort, part.pieces, part.parameters, trial.field));
    job.events.push_back({0, Harvest<Driver<Real>>{index, part.dry_matter_g_m2}});
  }
  sort_events(job.events);
  job.layout = layout;
  job.field = trial.field;
  job.pH = trial.pH;
  job.start = trial.start;
  job.drivers = trial.drivers;
  job.days = trial.days;
  job.tolerance = trial.tolerance;
  return job;
}

/// The invented stover of these tests: `dry_matter_g_m2` of all corn parts, or of those named, in one
/// placement.
inline Trial<double> stover(Placement placement, SharedDrivers drivers, double dry_matter_g_m2 = 900.0,
                            const std::vector<std::string>& components = corn_parts()) {
  Trial<double> trial;
  trial.drivers = drivers;
  trial.days = static_cast<int>(drivers->days.size());
  double shares = 0.0;
  for (const std::string& name : components) shares += corn(name).mass_share;
  for (const std::string& name : components) {
    const double mass = dry_matter_g_m2 * corn(name).mass_share / shares;
    trial.parts.push_back({corn(name), usual_pieces(name), placement, mass});
  }
  return trial;
}

/// States of all days, 0 to `days`; the test fails when the run does.
template <class Real>
std::vector<State<Real>> states_of(const Job<Real>& job) {
  std::vector<State<Real>> states;
  const Outcome outcome = simulate<Real>(job, [&](int, const State<Real>& x) { states.push_back(x); });
  INFO(outcome.message);
  REQUIRE(outcome.ok);
  return states;
}

/// Carbon and nitrogen of all residue, as litterbags would hold them, g m-2.
template <class Real>
Real bag_carbon(const Job<Real>& job, const State<Real>& x) {
  Real sum = Real(0.0);
  for (std::size_t j = 0; j < job.cohorts.size(); ++j) sum += carbon_in(x.data() + j * pools);
  return sum;
}
template <class Real>
Real bag_nitrogen(const Job<Real>& job, const State<Real>& x) {
  Real sum = Real(0.0);
  for (std::size_t j = 0; j < job.cohorts.size(); ++j) {
    sum += element_in(job.cohorts[j], nitrogen, x.data() + j * pools);
  }
  return sum;
}

template <class Real>
const Real& in_field(const Job<Real>& job, const State<Real>& x, FieldPool pool) {
  return x[job.layout->field() + pool];
}

/// Mineral N in the soil for every need: nothing waits for N.
inline constexpr SoilStart<double> plenty_of_N{0.0, 1e4, 0.0};

/// Each element of a state against the error the integrator allows it, largest over all.
inline double in_tolerances(const State<double>& x, const State<double>& reference, const Tolerance& t) {
  double largest = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    const double e = scaled_error(x[i] - reference[i], reference[i], t.absolute, t.relative);
    if (!(e <= largest)) largest = e;
  }
  return largest;
}

}  // namespace stoverturn
