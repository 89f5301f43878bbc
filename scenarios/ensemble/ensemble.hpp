#pragma once
#include <functional>

#include "scenarios/ensemble/futures.hpp"
#include "scenarios/ensemble/site_table.hpp"
#include "scenarios/ensemble/treatment_runs.hpp"

/// Runs of sites x treatments x weather years x draws, in that order, draws innermost.
namespace stoverturn {

/// A scenario as it is at one site.
struct SiteScenario {
  Scenario scenario;
  Climates climates;
};
using LoadSite = std::function<SiteScenario(std::size_t site)>;

struct EnsembleShape {
  std::size_t sites = 0, treatments = 0, futures = 0, draws = 0;
  std::size_t blocks() const { return sites * treatments; }  ///< of one treatment at one site
  std::size_t runs_in_block() const { return futures * draws; }
  std::size_t runs() const { return blocks() * runs_in_block(); }
  std::size_t groups_in_block() const { return (runs_in_block() + lane_count - 1) / lane_count; }
  std::size_t groups() const { return blocks() * groups_in_block(); }
};

/// Work is divided into parts of so many groups, by number alone.
inline constexpr std::size_t groups_in_part = 128;

/// Runs that follow each other.
struct PartRows {
  std::size_t first_run = 0, runs = 0;
  std::vector<double> values;  ///< by run, then by column
  std::vector<RunFailure> failures;
};

/// Called with the runs done of a part.
using PartProgress = std::function<void(std::size_t runs)>;

class Ensemble {
 public:
  /// Loads the first site: it says how many futures and which numbers there are, of `own` series too. Throws
  /// InputError.
  Ensemble(std::vector<SiteRow> sites, LoadSite load, ForEach for_each,
           std::span<const TreatmentSeries> own = {});

  const EnsembleShape& shape() const { return shape_; }
  const RunNumbers& numbers() const { return numbers_; }
  const std::vector<SiteRow>& sites() const { return sites_; }
  const std::vector<Future>& futures() const { return futures_; }
  /// Of the first site.
  const Scenario& scenario() const { return first_; }

  std::size_t parts() const { return (shape_.groups() + groups_in_part - 1) / groups_in_part; }
  /// First run of a part, and how many it has.
  std::pair<std::size_t, std::size_t> runs_of_part(std::size_t part) const;

  /// Simulates a part. Throws InputError, naming the site, where a scenario or its weather is wrong there.
  PartRows run_part(std::size_t part, const PartProgress& progress = {});

 private:
  struct AtSite;
  struct Wave;
  template <class Work>
  auto at_site(std::size_t site, const Work& work) const;
  void go_to(std::size_t site);
  std::shared_ptr<AtSite> loaded(std::size_t site, AtSite* before);
  void require_as_first(const AtSite& site) const;
  std::size_t first_run_of_group(std::size_t group) const;
  Wave wave_from(std::size_t group, std::size_t end) const;
  std::vector<TreatmentRuns> runs_of(const Wave& wave);

  std::vector<SiteRow> sites_;
  LoadSite load_;
  ForEach for_each_;
  std::span<const TreatmentSeries> own_;
  Scenario first_;
  std::vector<Future> futures_;
  RunNumbers numbers_;
  EnsembleShape shape_;
  std::shared_ptr<AtSite> at_;  ///< the site whose runs were made last
};

}  // namespace stoverturn
