#pragma once
#include "scenarios/ensemble/ensemble.hpp"

namespace stoverturn {

/// Columns [first, last) of a part's runs, run by run.
using PartColumns = std::function<std::vector<double>(std::size_t part, std::size_t first, std::size_t last)>;

/// Columns of parts that are in memory, which must outlive it.
PartColumns columns_in(const std::vector<PartRows>& parts, const Ensemble& ensemble);

/// The results of an ensemble whose parts are all there: by site and treatment the quantiles and mean of
/// every number over weather years and draws (type 7 of Hyndman and Fan 1996; a number that is not reached
/// counts as above all others, and has no mean), and with `single_runs` those of each run. Reads so few
/// columns at once that memory does not grow with the number of runs, but for single runs.
///
/// NAME runs over (site, treatment, quantile, ...), NAME_mean over (site, treatment, ...), NAME_of_run over
/// (site, treatment, weather_year, draw, ...).
Results ensemble_results(const Ensemble& ensemble, const PartColumns& columns, bool single_runs,
                         const std::vector<RunFailure>& failures, std::vector<KeptText> texts);

/// Throws InputError where none of the runs could be integrated.
void refuse_no_runs(const Ensemble& ensemble, const std::vector<RunFailure>& failures);

/// Runs all parts and keeps every run in memory: for ensembles of thousands. Throws InputError where none of
/// the runs can be integrated.
Results run_in_memory(Ensemble& ensemble, std::vector<KeptText> texts, const PartProgress& progress = {});

/// Adds the quantiles and the mean of a number of each run (site, treatment, weather_year, draw, ...): NAME
/// and NAME_mean. Of numbers that are not there in some runs (NaN) the largest quantiles have none.
void add_quantiles(Results& results, Variable of_run, const std::string& name);

/// Place of the quantile that is nearest to the middle of the runs.
std::size_t middle_quantile(const Results& results);

/// Whether single runs are kept where the file does not say: up to 4 million numbers.
bool keeps_single_runs(const Ensemble& ensemble);

/// A table for people: at one site a block a treatment with the median and the range from the lowest to the
/// highest quantile; at more the lowest, middle and highest of the sites' medians.
std::string printed_ensemble(const Results& results);

}  // namespace stoverturn
