#pragma once
#include <filesystem>

#include "scenarios/results/results.hpp"
#include "scenarios/trial/fit_result.hpp"

namespace stoverturn {

/// Tidy CSV (RFC 4180 quoting, UTF-8, lines ending in LF): one header line, then one row a value.
///
///   key numbers
///   treatment,checkpoint,variable,component,pieces,placement,harvest,element,substance,value,unit
///   series treatment,date,variable,component,pieces,placement,harvest,element,substance,value,unit
///
/// Values are in the units people are shown (shown.hpp), P as P2O5 and K as K2O where `substance` says so.
/// A column that does not apply is empty, and so is an undefined value. Numbers have ten digits, no -0.
/// Files are written atomically and replace others of their name. Throws FileError.
void write_key_numbers_csv(const std::filesystem::path& path, const Results& results);

/// `daily`: every day. Otherwise the first and last day of the run and the first of each month. Series that
/// run over cohorts are in the HDF5 file alone (their sums are series of their own).
void write_series_csv(const std::filesystem::path& path, const Results& results, bool daily);

/// The estimates of a fit with every interval, for a supplement: a row an unknown.
void write_fit_parameters_csv(const std::filesystem::path& path, const FitResult& fit);

/// A row a measured number, beside what the fit makes of it.
void write_fit_residuals_csv(const std::filesystem::path& path, const FitResult& fit);

}  // namespace stoverturn
