#pragma once
#include "scenarios/ensemble/ensemble.hpp"

/// Whether, when and with what to spread fertiliser on residue: every choice of [timing] in every weather
/// year, each against the same treatment without it in the same year.
namespace stoverturn {

/// The text of a scenario file with a treatment added for every choice of its [timing] on every treatment
/// that it names, and the choices as they follow each other. Throws InputError where it has no [timing],
/// names treatments that are not there, or no crop whose season could be looked at.
struct ChosenTiming {
  std::string treatment, base;  ///< names of the treatment with the choice, and of the one without
  TimingChoice choice;
};
/// Mistakes that were found in what with_choices() added behind the `text` of the file, told where the file
/// says it.
[[noreturn]] void tell_of_choices(const Scenario& as_written, std::string_view text, const InputError& error);

std::string with_choices(std::string_view text, const Scenario& scenario, std::vector<ChosenTiming>& chosen);

/// What an ensemble must keep for it: sets [ensemble] of the scenario but for its weather years.
void ask_for_timing(Scenario& scenario);

/// The results of all choices: those of an ensemble with every run kept, and of each number NAME_difference,
/// what the choice changed in the same year and draw; `share_leached`, `share_to_air` of the N that was
/// spread, until the first planting; `net_gain` in money and `share_that_pays`. `results` must hold single
/// runs.
void add_timing_numbers(const Ensemble& ensemble, const std::vector<ChosenTiming>& chosen, Results& results);

/// Adds `share_of_weathers_warm`: in how many of the weathers the soil was warm on the day of spreading.
void add_soil_on_the_day(const Ensemble& ensemble, const Climates& climates,
                         const std::vector<ChosenTiming>& chosen, Results& results);

/// A table for people, best choice first.
std::string printed_timing(const Results& results, const Scenario& scenario,
                           const std::vector<ChosenTiming>& chosen);

/// The choices as CSV: treatment, base, product, rate, date, placement.
std::string choices_csv(const Scenario& scenario, const std::vector<ChosenTiming>& chosen);

}  // namespace stoverturn
