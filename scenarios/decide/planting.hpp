#pragma once
#include <array>

#include "scenarios/ensemble/ensemble.hpp"

/// What planting day will look like after a harvest: cover, pieces, standing stalks, the seedbed's climate
/// against bare soil, N tied up, in every weather year; and how residue builds up when the crop follows
/// itself.
namespace stoverturn {

/// Of the soil at planting: conservation tillage. Iowa State University ICM 1999; Purdue AY-280; USDA.
inline constexpr double conservation_cover = 0.30;
inline constexpr double warm_soil_C = 10.0;
inline constexpr int days_of_mean = 5;  ///< the running mean that must reach it

/// Lengths of pieces, inches: up to the first, between two that follow each other, over the last.
inline constexpr std::array<double, 5> length_edges_in = {1.0, 2.0, 4.0, 8.0, 16.0};
inline constexpr std::size_t length_classes = length_edges_in.size() + 1;

/// Series beside those of results: surface_mass, standing_mass, short_pieces_mass, then
/// the mass on the surface in each class of length.
std::span<const TreatmentSeries> planting_series();
std::string_view length_class_series(std::size_t length_class);

/// Throws InputError where no crop is named that could be planted, or its stages looked at.
void require_planting(const Scenario& scenario);

/// Whether the file itself goes on with other harvests, read with its years of build-up.
bool has_own_harvests(const Scenario& scenario);

/// The text of a scenario file with its harvest repeated every year.
std::string with_same_harvests(std::string_view text);

/// What an ensemble must keep for planting day, or for build-up: sets [ensemble] but for its weather years.
void ask_for_planting_day(Scenario& scenario);
void ask_for_build_up(Scenario& scenario);

/// The seedbed around one planting, with residue and bare; NaN where it is not known.
struct Seedbed {
  double residue_wetness, seed_C, seed_bare_C, moisture, moisture_bare;  ///< means of 14 days around planting
  double warm_day, warm_day_bare;  ///< first warm day, from planting on; negative: before
};
/// Means are of the seven days before planting and the seven from it on. The soil is warm on the first day,
/// from the coldest of the bare soil in the half year before planting on (not before `from`), whose mean with
/// the four days before it reaches 10 C; NaN where that does not come within 60 days after planting.
Seedbed seedbed_around(const CoveredAndBare& climate, int planting_day, int from);

/// By treatment and future of the ensemble. NaN in constant conditions.
std::vector<std::vector<Seedbed>> seedbeds(const Ensemble& ensemble, const Climates& climates,
                                           const ForEach& for_each);

/// Where stocks before each planting go. They level off when the last differs by less than 5 % from that of
/// three years before, near the mean of the last three.
struct StockTrend {
  double change = 0.0;  ///< over three years, share of the last stock
  double level = 0.0;   ///< mean of the last three
  bool levels_off = false;
  std::size_t from = 0;  ///< index of the first stock since which all are within 5 % of the level
};
/// Of at least four stocks.
StockTrend stock_trend(std::span<const double> stocks);

/// Adds what planting day is judged by to the results of an ensemble of single runs, and `build_up`'s stocks
/// (results with single runs of the same treatments, weather and draws).
void add_planting_numbers(const Scenario& scenario, const std::vector<std::vector<Seedbed>>& seedbeds,
                          const Results& build_up, Results& results);

/// Sentences on assumptions and what must be asked elsewhere. `repeated`: [planting]'s years of the same
/// harvest; nullptr where the harvests are the file's own.
std::vector<std::string> planting_notes(const Scenario& planting_day, const Scenario* repeated);

/// A table for people, at most 100 columns wide.
std::string printed_planting(const Results& results);

}  // namespace stoverturn
