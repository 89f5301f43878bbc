#pragma once
#include <span>
#include <string>
#include <vector>

#include "scenarios/report/run_charts.hpp"

/// Sentences on single runs, written from their numbers in `results.units`.
namespace stoverturn {

/// What is said beneath a chart of a variable against time: lowest and highest treatment after a year.
std::string words_of_time_chart(std::span<const RunCharted> runs, std::string_view variable);
std::string words_of_members(const Results& results, std::string_view variable);
std::string words_of_driver(const Results& results, std::string_view variable, std::size_t placement);
std::string words_of_first_season(const Results& results);

/// What was run: residue, harvest, treatments, years, weather.
std::vector<std::string> about_run(const Results& results);

/// Three sentences that an educator would say: how fast, when the nutrients, what cover.
std::vector<std::string> said_of_run(const Results& results);

/// Whether a note warns of harm; these stand first.
bool is_caution(std::string_view note);

}  // namespace stoverturn
