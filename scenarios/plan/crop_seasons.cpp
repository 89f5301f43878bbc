#include "scenarios/plan/crop_seasons.hpp"

#include <algorithm>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using std::chrono::month_day;
using std::chrono::sys_days;

int day_of(const RunSpan& span, sys_days date) { return static_cast<int>((date - span.start).count()); }

/// The first such date after `from`.
sys_days next_after(sys_days from, month_day md) { return next_on_or_after(from + std::chrono::days{1}, md); }

std::span<const DayRange> stretch(std::span<const DayRange> days, int from, int to) {
  const int end = std::clamp(to, from, static_cast<int>(days.size()));
  return days.subspan(static_cast<std::size_t>(from), static_cast<std::size_t>(end - from));
}

/// Of a season: its harvest or the next planting, whichever comes first.
sys_days season_end(const Treatment& treatment, std::size_t season) {
  const auto& [planting, crop] = treatment.crop_seasons[season];
  sys_days end = next_after(planting, crop.planting);
  if (season + 1 < treatment.crop_seasons.size()) {
    end = std::min(end, treatment.crop_seasons[season + 1].planting);
  }
  for (const HarvestPlan& harvest : treatment.harvests) {
    if (harvest.date > planting) end = std::min(end, harvest.date);
  }
  return end;
}

}  // namespace

std::vector<GrownCrop> crop_seasons(const Treatment& treatment, const RunSpan& span,
                                    std::span<const DayRange> days) {
  std::vector<GrownCrop> seasons;
  for (std::size_t i = 0; i < treatment.crop_seasons.size(); ++i) {
    const auto& [planting, crop] = treatment.crop_seasons[i];
    const int day = day_of(span, planting);
    if (day < 0 || day >= span.days) continue;
    std::vector<StageSeen> seen;
    for (const CropPlan::Seen& s : crop.seen) {
      seen.push_back({s.stage, day_of(span, next_after(planting, s.date)) - day});
    }
    const int end = day_of(span, season_end(treatment, i));
    seasons.push_back(
        {crop, crop_course(crop.crop->kind, crop.nitrogen_g_m2, day, stretch(days, day, end), seen)});
  }
  return seasons;
}

std::vector<CoverSeason> cover_seasons(const Treatment& treatment, const RunSpan& span,
                                       std::span<const DayRange> days) {
  std::vector<CoverSeason> seasons;
  if (!treatment.cover_crop) return seasons;
  const CoverCropPlan& cover = *treatment.cover_crop;
  for (sys_days planting = next_on_or_after(treatment.first().date, cover.planting);
       day_of(span, planting) < span.days; planting = next_after(planting, cover.planting)) {
    const int from = day_of(span, planting), to = day_of(span, next_after(planting, cover.termination));
    seasons.push_back(
        {crop_course(cover.crop->kind, cover.nitrogen_g_m2, from, stretch(days, from, to)), to});
  }
  return seasons;
}

std::vector<DayRange> day_ranges(const Weather& weather, const RunSpan& span) {
  std::vector<DayRange> ranges;
  const int lead = static_cast<int>((span.start - weather.start).count());
  for (int d = lead; d < lead + span.days; ++d) {
    const WeatherDay& w = weather.days[static_cast<std::size_t>(d)];
    ranges.push_back({w.tmin_C, w.tmax_C});
  }
  return ranges;
}

std::vector<DayRange> day_ranges(const Drivers<double>& conditions) {
  std::vector<DayRange> ranges;
  for (const DayDrivers<double>& d : conditions.days)
    ranges.push_back({d.temperature_C[0], d.temperature_C[0]});
  return ranges;
}

const PlantedCrop* named_next_crop(const Treatment& t) {
  const auto season = std::find_if(t.crop_seasons.begin(), t.crop_seasons.end(), [&](const PlantedCrop& s) {
    return s.planting > t.first().date && s.crop.given;
  });
  return season == t.crop_seasons.end() ? nullptr : &*season;
}

}  // namespace stoverturn
