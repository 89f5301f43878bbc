#pragma once
#include <filesystem>

#include "scenarios/results/results.hpp"

namespace stoverturn {

/// An ensemble's key numbers as tidy CSV: a row a site, treatment, number and checkpoint, the quantiles side
/// by side. In the units people are shown, as all CSV of this program (csv_write.hpp).
///
///   site,longitude,latitude,treatment,checkpoint,variable,substance,mean,q0.05,...,unit
void write_ensemble_csv(const std::filesystem::path& path, const Results& results);

/// The same of the courses of series: `date` in place of the checkpoint.
void write_ensemble_series_csv(const std::filesystem::path& path, const Results& results);

/// A row a site and treatment with place and the quantile nearest to the middle of every number: what a
/// geographic information system reads as points.
void write_sites_csv(const std::filesystem::path& path, const Results& results);

}  // namespace stoverturn
