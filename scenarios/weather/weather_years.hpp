#pragma once
#include <chrono>
#include <cstdint>
#include <optional>
#include <string>

#include "engine/weather.hpp"

namespace stoverturn {

/// The day `years` years after `start` (or before, when negative). From 29 February it is 1 March where the
/// year has no leap day.
std::chrono::sys_days anniversary(std::chrono::sys_days start, int years);

/// Years of twelve months that the record holds, counted from its first day.
int whole_years(const Weather& weather);

/// How days outside the record get their weather: the record's years in their order, or with a seed drawn at
/// random.
using YearsBeyond = std::optional<std::uint64_t>;

/// Which whole year of a record of `years` stands for its year `number` (0 begins at the record's first day).
/// With a seed each number has a draw of its own, every year equally likely, whatever other numbers are asked
/// for.
int year_for(int number, int years, YearsBeyond beyond);

/// The weather of [first, last]. A day inside the record is taken as it is; for any other the whole years of
/// the record follow each other as `beyond` says, each calendar day keeping its month and day (29 February
/// takes 28 February where the year has none). `looped` tells whether any day was repeated. A year begins at
/// the record's first day of the year; what the record holds beyond its whole years is used in its own place
/// only. Throws InputError when days must be repeated and the record holds less than 365.
Weather extended(const Weather& weather, std::chrono::sys_days first, std::chrono::sys_days last,
                 bool& looped, YearsBeyond beyond = {});

/// The weather of [first, last] as if it were `years` later (or earlier, when negative): each day gets that
/// of its month and day so many years on (29 February that of 28 February where there is none). Days beyond
/// the record as in extended().
Weather weather_of_years_on(const Weather& weather, std::chrono::sys_days first, std::chrono::sys_days last,
                            int years, YearsBeyond beyond = {});

/// "2016 as 2013, 2017 as 2012": the drawn years that [first, last] needs, by the calendar year in which each
/// begins; before them "years from 07-01 on" where that is not 1 January.
std::string drawn_years(const Weather& weather, std::chrono::sys_days first, std::chrono::sys_days last,
                        std::uint64_t seed);

}  // namespace stoverturn
