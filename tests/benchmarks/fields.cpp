#include "tests/benchmarks/fields.hpp"

#include <fstream>
#include <iterator>

#include "scenarios/plan/scenario_jobs.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/daily_table.hpp"

namespace stoverturn {
namespace {

const std::string folder = STOVERTURN_SOURCE_DIR;

std::string text_of(const std::string& path) {
  std::ifstream file(path);
  if (!file) throw std::runtime_error("cannot read " + path);
  return {std::istreambuf_iterator<char>(file), {}};
}

Parameters<Lanes> eight(const Parameters<double>& p) {
  Parameters<Lanes> lanes;
  for (const ParameterRow& row : parameter_table()) at(lanes, row) = Lanes::Constant(at(p, row));
  for (int i = 0; i < 8; ++i) lanes.k_hol[i] *= 1.0 + 0.02 * i;
  return lanes;
}

std::shared_ptr<const Drivers<Lanes>> apart(const Drivers<double>& drivers, double apart_C) {
  std::array<Drivers<double>, 8> climates;
  std::array<const Drivers<double>*, 8> lanes{};
  for (std::size_t i = 0; i < 8; ++i) {
    climates[i] = drivers;
    for (DayDrivers<double>& day : climates[i].days) {
      for (double& t : day.temperature_C) t += apart_C * static_cast<double>(i);
    }
    lanes[i] = &climates[i];
  }
  return std::make_shared<const Drivers<Lanes>>(in_lanes(lanes));
}

}  // namespace

BenchmarkField one_cohort() {
  BenchmarkField f;
  f.field = default_parameters();
  f.components = {default_parameters()};
  for (const MaterialRow& row : material_table()) {
    if (row.material == "corn" && row.component == "stalk") {
      at(f.components[0], *find_parameter(row.parameter)) = row.value;
    }
  }
  auto layout = std::make_shared<Layout>();
  layout->cohorts.push_back({0, 0, Placement::surface, 0, -1});
  f.plan.layout = layout;
  f.plan.pieces = {{.length_mm = 150.0, .spacing_mm = 50.0, .opening = 0.5}};
  f.plan.start = {2.0, 4.0, 3.0};
  f.plan.drivers =
      std::make_shared<Drivers<double>>(read_daily_table(folder + "/tests/reference/daily_drivers.txt"));
  f.plan.events = {{0, Harvest<double>{0, 700.0}}, {0, Fertiliser<double>{3.0, 1.5, 0.0, 0.0, true}}};
  f.plan.days = 548;
  return f;
}

BenchmarkField hollow_creek(const std::string& treatment) {
  const Scenario scenario =
      read_scenario(text_of(folder + "/scenarios/examples/hollow-creek.toml"), "hollow-creek.toml", {});
  const WeatherPlan& weather = *scenario.weather;
  Climates climates;
  climates.weather = read_weather(text_of(folder + "/scenarios/examples/" + weather.file), weather.file,
                                  {weather.latitude_deg, weather.elevation_m, weather.longest_gap_d,
                                   weather.station, weather.columns_in})
                         .weather;
  for (const Treatment& t : scenario.treatments) {
    if (t.name != treatment) continue;
    return {treatment_job(scenario, t, climates).plan, t.parameters.field, t.parameters.components};
  }
  throw std::runtime_error("no treatment " + treatment);
}

Job<double> single_job(const BenchmarkField& f, const Tolerance& tolerance) {
  Job<double> job = make_job<double>(f.plan, f.field, f.components);
  job.tolerance = tolerance;
  return job;
}

Job<Lanes> lanes_job(const BenchmarkField& f, const Tolerance& tolerance, double apart_C) {
  JobPlan<Lanes> plan = in_lanes(f.plan);
  if (apart_C != 0.0) plan.drivers = apart(*f.plan.drivers, apart_C);
  std::vector<Parameters<Lanes>> components;
  for (const Parameters<double>& p : f.components) components.push_back(eight(p));
  Parameters<Lanes> field = eight(f.field);
  Job<Lanes> job = make_job<Lanes>(plan, field, components);
  job.tolerance = tolerance;
  return job;
}

}  // namespace stoverturn
