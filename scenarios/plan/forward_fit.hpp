#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "scenarios/plan/parameter_settings.hpp"
#include "scenarios/text/text_of.hpp"
#include "scenarios/trial/fit_result.hpp"

/// Running forward with a fit: `parameters = "fit.h5"` and `draws = 200` in a scenario; without the first,
/// `draws` are of new places.
namespace stoverturn {

/// Most draws that a run takes. A text that stands in for fit.h5 holds as many.
inline constexpr std::size_t most_forward_draws = 1000;

struct ForwardFit {
  std::string file;
  Position at;  ///< of its name
  FitResult fit;
  std::vector<std::size_t> draws;  ///< columns of fit.draws that are run; empty: the estimates alone
};

/// `parameters = "FILE"` becomes `file` of the table [parameters], also of treatments (which may have none);
/// `draws` at the top joins that of the top.
void gather_fit_keys(Table& top, Mistakes& mistakes);

/// Whether a key of [parameters] tells a fit, not a parameter.
bool is_fit_key(const std::string& key);
/// Whether the [parameters] of a table, gathered, name a fit; whether they ask for draws.
bool names_fit(const Table& table);
bool asks_for_draws(const Table& table);

/// The fit that the gathered [parameters] name, read from the text that `text_of` has for it (fit.json, or
/// made from fit.h5); none where they name none, or a mistake was made.
std::shared_ptr<const ForwardFit> read_forward_fit(const Table& top, const TextOf& text_of,
                                                   Mistakes& mistakes);

/// How many new places the gathered [parameters] ask for; 0 where they name a fit, or ask for none.
std::size_t read_place_draws(const Table& top, Mistakes& mistakes);

/// Parameters that are gone, values out of bounds, and estimates that nothing in the scenario takes.
void check_forward_fit(const ForwardFit& forward, const std::vector<std::string>& components,
                       Mistakes& mistakes);

/// Who a treatment is, in the scenario and in the trial.
struct TrialRole {
  std::string name, label;
  std::string as_in_trial;  ///< "" where not said
  Position at;
};

/// What a fit gives a treatment: its estimates, or draw `draw` of ForwardFit::draws. A mistake where the fit
/// tells treatments apart and this one is none of them.
std::vector<ParameterSetting> fit_settings(const ForwardFit& forward, std::optional<std::size_t> draw,
                                           const TrialRole& treatment, Mistakes& mistakes);

/// A sentence for each estimate that gives way to what the scenario itself sets.
void note_own_values(const ForwardFit& forward, const std::vector<ParameterSetting>& settings,
                     const TreatmentParameters& in_force, const std::string& treatment_label,
                     std::vector<std::string>& warnings);

}  // namespace stoverturn
