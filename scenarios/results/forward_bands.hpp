#pragma once
#include <memory>
#include <string_view>

#include "fitting/trial_model.hpp"
#include "scenarios/results/run_scenario.hpp"

namespace stoverturn {

/// What follows the name of a variable in those of its band.
inline constexpr std::string_view band_low = "_low", band_middle = "_median", band_high = "_high";

/// Names of a key number's or series' band are its own with these after it; "" where it is none.
bool is_of_band(std::string_view name);

/// A run with its bands, some draws at a time. As run_scenario(); where the scenario has draws, it is also
/// run with each, and every series that does not run over cohorts gets a band, NAME_low and NAME_high, every
/// key number NAME_low, NAME_median and NAME_high: pointwise quantiles of the draws at Scenario::draws->level
/// (type 7 of Hyndman and Fan 1996). A value that is not reached in a draw counts as above all others. Draws
/// that cannot be run are left out and counted in a note. The same numbers however it is cut into steps.
class BandsUnderWay {
 public:
  /// Runs what the file itself says. Scenario and climates must outlive it.
  BandsUnderWay(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                const RunProgress& progress = {}, KnownDrivers* known = nullptr);
  ~BandsUnderWay();
  BandsUnderWay(const BandsUnderWay&) = delete;
  BandsUnderWay& operator=(const BandsUnderWay&) = delete;

  bool done() const;
  double share_done() const;  ///< of all runs
  /// The next draws, at most so many.
  void step(std::size_t most, const ForEach& for_each = one_after_the_other);
  /// Once done; throws InputError where no draw could be run.
  Results finish();

 private:
  struct Inside;
  std::unique_ptr<Inside> in_;
};

/// The whole of it. The same numbers for any `for_each`.
Results run_with_bands(const Scenario& scenario, const Climates& climates, std::vector<KeptText> texts,
                       const RunProgress& progress = {}, const ForEach& for_each = one_after_the_other);

}  // namespace stoverturn
