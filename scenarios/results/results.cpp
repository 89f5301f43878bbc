#include "scenarios/results/results.hpp"

#include <stdexcept>

namespace stoverturn {

std::string_view to_string(Dimension d) {
  switch (d) {
    case Dimension::treatment:
      return "treatment";
    case Dimension::cohort:
      return "cohort";
    case Dimension::component:
      return "component";
    case Dimension::placement:
      return "placement";
    case Dimension::element:
      return "element";
    case Dimension::harvest:
      return "harvest";
    case Dimension::checkpoint:
      return "checkpoint";
    case Dimension::stage:
      return "stage";
    case Dimension::site:
      return "site";
    case Dimension::quantile:
      return "quantile";
    case Dimension::weather_year:
      return "weather_year";
    case Dimension::draw:
      return "draw";
    case Dimension::time:
      return "time";
  }
  return "";
}

std::size_t Results::extent(Dimension d) const {
  switch (d) {
    case Dimension::treatment:
      return treatments.size();
    case Dimension::cohort:
      return cohorts.size();
    case Dimension::component:
      return components.size();
    case Dimension::placement:
      return placements.size();
    case Dimension::element:
      return elements.size();
    case Dimension::harvest:
      return harvests.size();
    case Dimension::checkpoint:
      return checkpoints.size();
    case Dimension::stage:
      return stages.size();
    case Dimension::site:
      return sites.size();
    case Dimension::quantile:
      return quantiles.size();
    case Dimension::weather_year:
      return weather_years.size();
    case Dimension::draw:
      return draws;
    case Dimension::time:
      return static_cast<std::size_t>(days);
  }
  return 0;
}

const Variable& Results::find(std::string_view name) const {
  for (const std::vector<Variable>* list : {&series, &key_numbers}) {
    for (const Variable& v : *list) {
      if (v.name == name) return v;
    }
  }
  throw std::out_of_range("no result is named " + std::string(name));
}

}  // namespace stoverturn
