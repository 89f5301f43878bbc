#include <limits>

#include "scenarios/decide/planting.hpp"

namespace stoverturn {
namespace {

constexpr double mm_in_inch = 25.4;
constexpr double rounding = 1.0 + 1e-9;  // 4 in read from text is 4 in
constexpr double no_limit = std::numeric_limits<double>::infinity();

/// Dry matter in one placement, in pieces longer than one length and up to another.
double mass_in(const DayView& d, Placement placement, double over_mm, double to_mm) {
  const double* state = d.field - d.job.layout->field();
  double sum = 0.0;
  for (std::size_t j = 0; j < d.job.cohorts.size(); ++j) {
    const Cohort& cohort = d.job.layout->cohorts[j];
    if (cohort.placement != placement) continue;
    const double length_mm = d.made.layout.pieces[static_cast<std::size_t>(cohort.pieces)].geometry.length_mm;
    if (length_mm > over_mm * rounding && length_mm <= to_mm * rounding) {
      sum += carbon_in(state + j * pools) / d.job.cohorts[j].carbon;
    }
  }
  return sum;
}

double on_surface(const DayView& d, double over_mm, double to_mm) {
  return mass_in(d, Placement::surface, over_mm, to_mm);
}

template <std::size_t i>
double in_class(const DayView& d) {
  const double over_mm = i == 0 ? -no_limit : length_edges_in[i - 1] * mm_in_inch;
  const double to_mm = i == length_edges_in.size() ? no_limit : length_edges_in[i] * mm_in_inch;
  return on_surface(d, over_mm, to_mm);
}

// clang-format off
constexpr auto series = std::to_array<TreatmentSeries>({
  {"surface_mass", Kind::mass_per_area, "dry matter", "residue on the surface", [](const DayView& d) { return on_surface(d, -no_limit, no_limit); }},
  {"standing_mass", Kind::mass_per_area, "dry matter", "residue standing", [](const DayView& d) { return mass_in(d, Placement::standing, -no_limit, no_limit); }},
  {"short_pieces_mass", Kind::mass_per_area, "dry matter", "residue on the surface in pieces up to `short_pieces` of [planting]", [](const DayView& d) { return on_surface(d, -no_limit, d.scenario.planting.short_mm); }},
  {"surface_pieces_to_1_in", Kind::mass_per_area, "dry matter", "residue on the surface in pieces up to 25.4 mm", in_class<0>},
  {"surface_pieces_1_to_2_in", Kind::mass_per_area, "dry matter", "residue on the surface in pieces of 25.4 to 50.8 mm", in_class<1>},
  {"surface_pieces_2_to_4_in", Kind::mass_per_area, "dry matter", "residue on the surface in pieces of 50.8 to 101.6 mm", in_class<2>},
  {"surface_pieces_4_to_8_in", Kind::mass_per_area, "dry matter", "residue on the surface in pieces of 101.6 to 203.2 mm", in_class<3>},
  {"surface_pieces_8_to_16_in", Kind::mass_per_area, "dry matter", "residue on the surface in pieces of 203.2 to 406.4 mm", in_class<4>},
  {"surface_pieces_over_16_in", Kind::mass_per_area, "dry matter", "residue on the surface in pieces over 406.4 mm", in_class<5>},
});
// clang-format on
static_assert(series.size() == 3 + length_classes);

}  // namespace

std::span<const TreatmentSeries> planting_series() { return series; }
std::string_view length_class_series(std::size_t length_class) { return series[3 + length_class].name; }

}  // namespace stoverturn
