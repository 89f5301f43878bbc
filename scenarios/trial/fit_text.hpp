#pragma once
#include <string>
#include <vector>

#include "scenarios/trial/fit_result.hpp"

/// Words, numbers and tables that print and page both show of a fit.
namespace stoverturn {

inline constexpr const char* not_converged_words = "NOT CONVERGED: do not use these estimates.";

/// So many digits, zeros at the end among them; "> run" for a time that the run does not reach, "-" for NaN.
std::string fit_number(double x, int digits = 4);
/// So many decimals; "-" where not finite.
std::string fixed_number(double x, int decimals);
/// "0.0291 to 0.0384"; an end that is missing or endless is left open: "from 0.24", "up to 3".
std::string between_words(const Between& between);
/// "90 %"
std::string level_words(const FitResult& fit);
/// Numbers without a unit have none in print: "" for "1".
std::string unit_words_of(const std::string& unit);
/// "half-life, d"; without a unit the name alone.
std::string with_unit(const std::string& name, const std::string& unit);
/// "0.00879 to 0.0455, normal": the central share at the level of the fit, or bounds of a flat one.
std::string prior_words(const Unknown& unknown, double level);

struct FitColumn {
  std::string head;
  bool number = false;  ///< stands to the right
};

/// Rows are as long as `columns`; no rows: nothing to tell.
struct FitTable {
  std::vector<FitColumn> columns;
  std::vector<std::vector<std::string>> rows;
  std::vector<std::string> notes;
};

/// Estimates with their most trusted interval; `every_method`: the others in rows of their own below it.
FitTable estimates_table(const FitResult& fit, bool every_method);
/// Standard errors on the fit scale, R-hat, effective draws.
FitTable checks_table(const FitResult& fit);
FitTable quality_table(const FitResult& fit);
FitTable models_table(const FitResult& fit);

/// Each remark once, after the models that it is on.
std::vector<std::string> model_remarks(const FitResult& fit);
/// What the data say of the unknowns, each once after all of whom it is said.
std::vector<std::string> what_data_tell(const FitResult& fit);
/// A sentence a stage of the search; `details`: with its work.
std::vector<std::string> search_words(const FitResult& fit, bool details);
/// "trial.csv:18: opened, mass left on day 91 is 0.5510, the fit says 0.7010 (-3.8 sd)"
std::string odd_residual_words(const FitResidual& residual);
/// Why there are no draws, "" where a warning has said so.
std::string no_draws_words(const FitResult& fit);

}  // namespace stoverturn
