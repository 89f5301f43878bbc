#pragma once
#include <chrono>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "engine/access.hpp"
#include "engine/drivers.hpp"
#include "engine/irrigation.hpp"
#include "engine/simulate.hpp"
#include "engine/soil.hpp"
#include "engine/weather.hpp"
#include "scenarios/plan/crops.hpp"
#include "scenarios/plan/ensemble_plan.hpp"
#include "scenarios/plan/parameter_settings.hpp"
#include "scenarios/plan/planting_plan.hpp"
#include "scenarios/plan/prices.hpp"
#include "scenarios/plan/timing_plan.hpp"
#include "scenarios/text/document.hpp"
#include "scenarios/weather/weather_normals.hpp"
#include "scenarios/weather/weather_options.hpp"

namespace stoverturn {

/// Pieces of one geometry and their share of the component's mass.
struct PieceClass {
  std::string name;
  Pieces geometry;
  double share = 1.0;
};

struct ComponentPlan {
  std::string name;                ///< of the treatment: "stalk", "soybean stem"
  std::vector<PieceClass> pieces;  ///< where a harvest says nothing else
  std::size_t material = 0;        ///< index into the treatment's materials
  std::string part;                ///< name in its material's table
};

/// One pass of an implement. Shares are of the residue standing, lying on the surface or buried before
/// the pass.
struct TillagePlan {
  std::chrono::sys_days date;
  double knock_down = 0.0;  ///< standing residue that is knocked down (and then buried like the rest)
  double bury = 0.0;        ///< surface residue that is buried
  double bring_up = 0.0;    ///< buried residue that comes back to the surface
  struct Recut {
    std::size_t component;
    std::optional<double> cut_length_mm, entry_spacing_mm, opening;
  };
  std::vector<Recut> recuts;
};

inline constexpr int soil_cools_within_d = 120;

struct FertiliserPlan {
  std::chrono::sys_days date;  ///< with `soil_below_C` the earliest
  Fertiliser<double> amounts;
  /// Spread on the first day from which the soil at 100 mm stays colder; not at all where that does not come
  /// within `soil_cools_within_d`.
  std::optional<double> soil_below_C = {};
};

/// Residue taken off the field, from where it stands or lies open.
struct RemovalPlan {
  std::chrono::sys_days date;
  bool from_standing = true, from_surface = true;
  struct Take {
    int component = -1;  ///< -1: all together
    double amount = 0.0;
    bool by_mass = false;  ///< amount in g m-2 of dry matter, else a share
  };
  std::vector<Take> takes;
  double returned = 0.0;  ///< share of its N, P, K and S that comes back as dung and urine
};

struct IrrigationPlan {
  std::chrono::sys_days date;
  double water_mm = 0.0;
};

using EventPlan = std::variant<TillagePlan, FertiliserPlan, RemovalPlan, IrrigationPlan>;

/// A following crop: when it is planted each year and the mineral N it would take in a season.
struct CropPlan {
  struct Seen {
    std::size_t stage;
    std::chrono::month_day date;
  };
  bool given = false;  ///< the file names it: its stages are told
  CropPointer crop = find_crop("corn");
  std::chrono::month_day planting{std::chrono::month{5}, std::chrono::day{1}};
  bool grows = false;  ///< draws water and N; otherwise its dates and stages serve the reports alone
  double nitrogen_g_m2 = 0.0;
  std::vector<Seen> seen;  ///< stages given in the file, in order
};

/// A cover crop of every year: takes N, and is residue when it ends.
struct CoverCropPlan {
  CropPointer crop;
  std::chrono::month_day planting{std::chrono::month{9}, std::chrono::day{20}};
  std::chrono::month_day termination{std::chrono::month{4}, std::chrono::day{20}};
  double nitrogen_g_m2 = 0.0;  ///< most it would take until maturity
  double standing = 0.0;       ///< share of its residue left standing
  std::size_t material = 0;    ///< of its residue, index into the treatment's materials
};

struct ModelChoices {
  ResponseForms forms;
  Tolerance tolerance;
  double merge_after_d = 3 * 365.25;  ///< age at which residue joins that of older harvests
};

/// Conditions in place of weather: constant, or a log (its text is read by conditions_reading.hpp).
struct ConditionsPlan {
  std::optional<ConstantConditions> constant;
  std::string log_file;
  Position at;  ///< of the log's name
};

/// Stalks left standing by the cut: share of their component's mass, as pieces as long as the cut is high.
struct Stubble {
  std::size_t component;
  double share;
  double height_mm;
};

/// Residue that one harvest leaves.
struct HarvestPlan {
  std::chrono::sys_days date{};
  std::vector<double> material_shares;  ///< of the dry matter, by material of the treatment; together 1
  double dry_matter_g_m2 = 0.0;
  std::array<double, placements> placement_shares{0.0, 1.0, 0.0};
  std::optional<Stubble> stubble;
  std::vector<std::vector<PieceClass>> pieces;  ///< by component of the treatment
  double cost_m2 = 0.0;                         ///< of what is done at harvest, as chopping
};

/// One season of a crop.
struct PlantedCrop {
  std::chrono::sys_days planting;
  CropPlan crop;
};

struct Treatment {
  std::string name;                   ///< the key, used in addresses
  std::string label;                  ///< what people see
  std::vector<HarvestPlan> harvests;  ///< at least one, by date
  const HarvestPlan& first() const { return harvests.front(); }
  std::vector<std::string> materials = {"corn"};
  std::vector<bool> fragile;  ///< by material: a pass buries more of it
  std::vector<ComponentPlan> components;
  TreatmentParameters parameters;
  std::vector<EventPlan> events;
  std::vector<Payment> payments;  ///< one an event
  Soil soil;
  SoilStart<double> soil_start;
  double burial_depth_mm = 100.0;
  CropPlan crop;                          ///< of [next_crop]: a season where nothing else is said
  std::vector<PlantedCrop> crop_seasons;  ///< all that the run meets, by date
  std::optional<IrrigationRule> irrigation;
  std::optional<CoverCropPlan> cover_crop;
  std::optional<ConditionsPlan> conditions;

  /// Share of a harvest's dry matter.
  double share_of(const HarvestPlan& harvest, std::size_t component) const {
    return harvest.material_shares[components[component].material] *
           parameters.components[component].mass_share;
  }
  /// Index of the last harvest on or before a date; the first where there is none.
  std::size_t harvest_on(std::chrono::sys_days date) const;
  /// Whether a component is residue of the cover crop.
  bool of_cover_crop(std::size_t component) const {
    return cover_crop && components[component].material == cover_crop->material;
  }
  /// N in the dry matter of the cover crop's residue, g g-1.
  double cover_nitrogen() const;
};

/// Weather from a file, or generated from monthly normals (of a built-in climate or the scenario's own).
struct WeatherPlan {
  std::string file;  ///< empty when generated
  Position at;
  double latitude_deg = not_measured, elevation_m = not_measured;  ///< NaN: as the file says
  int longest_gap_d = 7;
  std::string station;
  ColumnsIn columns_in = ColumnsIn::header;
  std::optional<MonthlyNormals> normals;
  std::string normals_name;  ///< for people: whose normals, and their source
  std::uint64_t seed = 1;
  bool resample = false;  ///< years beyond the record are drawn at random from it
};

struct Scenario;

/// A scenario that is also run with draws: of a fit in place of its estimates, or of new places. Draw `i` is
/// the same of all treatments.
struct ScenarioDraws {
  std::string fit;  ///< its file; "" where draws are new places
  std::string are;  ///< "posterior", "bootstrap", ...
  double level = 0.9;
  std::size_t count = 0;
  std::function<Scenario(std::size_t i)> with_draw;  ///< on any thread; may throw InputError
};

struct Scenario {
  std::string title;
  std::string units = "si";
  std::string currency = "$";
  double duration_d = 5 * 365.25;
  std::optional<WeatherPlan> weather;
  std::vector<Treatment> treatments;
  Prices prices;
  ModelChoices model;
  EnsemblePlan ensemble;
  TimingPlan timing;
  PlantingPlan planting;
  std::optional<ScenarioDraws> draws;
  std::vector<std::string> warnings;  ///< each says what to do
};

/// Reads a scenario file. `overrides` are the command line's "address=value" texts: a dotted path sets a key
/// of the file, anything else a parameter. `text_of` gives the texts of files that it names (sieve and lab
/// sheets, materials; fit.json for a fit).
/// Throws InputError with all mistakes.
Scenario read_scenario(std::string_view text, const std::string& name,
                       const std::vector<std::string>& overrides, const TextOf& text_of = {});

/// The tables that a treatment of a scenario file reads: those of the file's top that treatments may change, of
/// what it is `like`, and its own, laid over each other. "" where the file has no treatments.
Table treatment_tables(const Table& top, const std::string& treatment);

}  // namespace stoverturn
