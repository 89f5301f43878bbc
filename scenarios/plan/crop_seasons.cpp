#include "scenarios/plan/crop_seasons.hpp"

#include <algorithm>

#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using std::chrono::month_day;
using std::chrono::sys_days;

int day_of(const RunSpan& span, sys_days date) { return static_cast<int>((date - span.start).count()); }

/// That month and day of a year; 29 February counts as 1 March where there is none.
sys_days date_in(int year, month_day md) { return sys_days{std::chrono::year{year} / md}; }

/// The first such date after `from`.
sys_days next_after(sys_days from, month_day md) {
  const sys_days same_year = date_in(year_of(from), md);
  return same_year > from ? same_year : date_in(year_of(from) + 1, md);
}

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

struct CoverSpan {
  int planting, termination;
};
std::vector<CoverSpan> cover_spans(const CoverCropPlan& cover, const RunSpan& span, sys_days harvest) {
  std::vector<CoverSpan> spans;
  for (sys_days planting = next_after(harvest - std::chrono::days{1}, cover.planting);
       day_of(span, planting) < span.days; planting = next_after(planting, cover.planting)) {
    spans.push_back({day_of(span, planting), day_of(span, next_after(planting, cover.termination))});
  }
  return spans;
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

std::vector<CropCourse> cover_seasons(const CoverCropPlan& cover, const RunSpan& span, sys_days harvest,
                                      std::span<const DayRange> days) {
  std::vector<CropCourse> seasons;
  for (const CoverSpan& s : cover_spans(cover, span, harvest)) {
    seasons.push_back(crop_course(cover.crop->kind, cover.nitrogen_g_m2, s.planting,
                                  stretch(days, s.planting, s.termination)));
  }
  return seasons;
}

std::vector<int> termination_days(const CoverCropPlan& cover, const RunSpan& span, sys_days harvest) {
  std::vector<int> days;
  for (const CoverSpan& s : cover_spans(cover, span, harvest)) {
    if (s.termination <= span.days) days.push_back(s.termination);
  }
  return days;
}

void weigh_cover_mulch(const CoverCropPlan& cover, const RunSpan& span, sys_days harvest,
                       const std::vector<CropCourse>& seasons, std::vector<MulchEvent>& mulch) {
  const std::vector<int> ends = termination_days(cover, span, harvest);
  for (std::size_t i = 0; i < ends.size(); ++i) {
    double N_g_m2 = 0.0;
    for (const CropDay& day : seasons[i].days) N_g_m2 += day.nitrogen_g_m2_d;
    const double share = cover.nitrogen_g_m2 > 0.0 ? N_g_m2 / cover.nitrogen_g_m2 : 0.0;
    for (MulchEvent& event : mulch) {
      if (event.day != ends[i]) continue;
      event.standing_added *= share;
      event.surface_added *= share;
    }
  }
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

}  // namespace stoverturn
