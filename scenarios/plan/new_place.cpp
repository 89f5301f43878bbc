#include "scenarios/plan/new_place.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <string>

#include <boost/math/distributions/normal.hpp>
#include <boost/random/normal_distribution.hpp>

#include "engine/random_stream.hpp"
#include "fitting/unknown.hpp"

namespace stoverturn {

std::vector<double> table_spreads() {
  std::vector<double> spreads;
  for (const ParameterRow& row : parameter_table()) spreads.push_back(row.spread);
  return spreads;
}

double share_of_places(std::uint64_t seed, std::size_t draw, std::string_view parameter) {
  RandomStream stream = random_stream(seed, "new place: " + std::string(parameter), draw);
  boost::random::normal_distribution<double> normal;
  return boost::math::cdf(boost::math::normal(), normal(stream));
}

double value_of_places(const ParameterRow& row, double spread, double value, double share) {
  if (spread == 0.0) return value;
  const double centre = to_fit_scale(row.fit, value);
  if (!std::isfinite(centre)) return value;
  const boost::math::normal normal;
  const double below = cdf(normal, (to_fit_scale(row.fit, row.lower) - centre) / spread);
  const double up_to = cdf(normal, (to_fit_scale(row.fit, row.upper) - centre) / spread);
  constexpr double least = std::numeric_limits<double>::min(), most = 1.0 - 0x1p-53;
  const double z = quantile(normal, std::clamp(below + share * (up_to - below), least, most));
  return std::clamp(from_fit_scale(row.fit, centre + spread * z), row.lower, row.upper);
}

NewPlace new_place(std::uint64_t seed, std::size_t draw, std::vector<double> spreads) {
  NewPlace place{std::move(spreads), {}};
  for (std::size_t i = 0; i < place.spreads.size(); ++i) {
    const bool moves = place.spreads[i] > 0.0;
    place.shares.push_back(moves ? share_of_places(seed, draw, parameter_table()[i].name) : 0.5);
  }
  return place;
}

void move_to(const NewPlace& place, bool of_component, Parameters<double>& parameters) {
  for (std::size_t i = 0; i < place.spreads.size(); ++i) {
    const ParameterRow& row = parameter_table()[i];
    if (of_component && row.scope != Scope::component) continue;
    double& value = at(parameters, row);
    value = value_of_places(row, place.spreads[i], value, place.shares[i]);
  }
}

}  // namespace stoverturn
