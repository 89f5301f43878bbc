#include "scenarios/report/run_charts.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "scenarios/report/run_words.hpp"
#include "scenarios/results/forward_bands.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t most_points = 370;
constexpr std::size_t most_bands = 3;   ///< on top of each other
constexpr std::size_t most_lines = 6;   ///< more are drawn in small charts of their own
constexpr double never_counts = 0.005;  ///< share of a member that is not drawn
constexpr double forever = std::numeric_limits<double>::infinity();
constexpr double levelled_cover = 0.30;  ///< of conservation tillage: common practice, no source

double days_since_1970(const Results& r, double day) {
  return static_cast<double>(r.start.time_since_epoch().count()) + day;
}

/// Entries of `time` that are drawn: evenly spaced, the last one among them.
std::vector<std::size_t> drawn(std::size_t from, std::size_t end) {
  std::vector<std::size_t> entries;
  if (from >= end) return entries;
  const std::size_t step = (end - from + most_points - 1) / most_points;
  for (std::size_t i = from; i < end; i += step) entries.push_back(i);
  if (entries.back() + 1 != end) entries.push_back(end - 1);
  return entries;
}

/// Columns date, what, value and, with bands, low and high, filled stretch by stretch.
class Columns {
 public:
  Columns(Chart& chart, std::string value, std::string title, std::string what_title, const Shown& unit,
          bool bands)
      : chart_(chart), bands_(bands) {
    stoverturn::add_dates(chart, "date", "date");
    stoverturn::add_texts(chart, "what", std::move(what_title));
    stoverturn::add_numbers(chart, std::move(value), title, unit);
    if (!bands) return;
    stoverturn::add_numbers(chart, "low", title + ", low", unit);
    stoverturn::add_numbers(chart, "high", title + ", high", unit);
  }
  void add(const Results& r, const std::string& what, const Variable& v, std::size_t row, std::size_t from,
           std::size_t end) {
    const std::size_t extent = r.extent(Dimension::time);
    const Variable* low = bands_ ? find_variable(r, v.name + std::string(band_low)) : nullptr;
    const Variable* high = bands_ ? find_variable(r, v.name + std::string(band_high)) : nullptr;
    for (const std::size_t i : drawn(from, std::min(end, extent))) {
      chart_.fields[0].numbers.push_back(days_since_1970(r, static_cast<double>(i) * r.every_d));
      chart_.fields[1].texts.push_back(what);
      const std::size_t at = row * extent + i;
      chart_.fields[2].numbers.push_back(v.values[at]);
      if (!bands_) continue;
      chart_.fields[3].numbers.push_back(low ? low->values[at] : std::nan(""));
      chart_.fields[4].numbers.push_back(high ? high->values[at] : std::nan(""));
    }
  }

 private:
  Chart& chart_;
  bool bands_;
};

bool has_band(const Results& r, std::string_view variable) {
  return find_variable(r, std::string(variable) + std::string(band_low)) != nullptr;
}

std::size_t harvest_entry(const Results& r, std::size_t t) {
  const double day = r.find("harvest_day").values[t];
  return std::isnan(day) ? 0
                         : static_cast<std::size_t>(std::max(0.0, day)) / static_cast<std::size_t>(r.every_d);
}

std::string line_name(const RunCharted& run, std::size_t t) {
  const std::string& treatment = run.results->treatments[t];
  return run.name.empty() ? treatment : run.name + ": " + treatment;
}

nlohmann::json lines_of(const Chart& chart, std::string_view value, bool bands, bool one) {
  return lines(chart, {"date", value, one ? "" : "what", bands ? "low" : "", bands ? "high" : ""});
}

/// A level across the chart and dates upright in it; of these the handout's small one has plantings alone.
void mark(Chart& chart, double level, std::string_view word, std::vector<KeyDate> dates) {
  if (chart.small_spec.is_null()) chart.small_spec = chart.spec;
  add_level(chart.spec, level, word);
  add_key_dates(chart.spec, dates);
  dates.erase(
      std::remove_if(dates.begin(), dates.end(), [](const KeyDate& d) { return d.word != "planting"; }),
      dates.end());
  add_level(chart.small_spec, level, "");
  add_key_dates(chart.small_spec, dates);
}

Chart with_zero_and_dates(Chart chart, std::span<const RunCharted> runs) {
  mark(chart, 0.0, "", key_dates(*runs.front().results, forever));
  return chart;
}

constexpr TimeChart nitrogen_back = {"nitrogen-back", "nitrogen_released",
                                     "Nitrogen given back (above zero) or tied up (below)",
                                     "N given back since harvest"};

}  // namespace

Chart chart_against_time(std::span<const RunCharted> runs, const TimeChart& what, double until_day) {
  Chart chart{std::string(what.chart), std::string(what.title), "", {}, {}, "", 260};
  const bool bands = std::any_of(
      runs.begin(), runs.end(), [&](const RunCharted& run) { return has_band(*run.results, what.variable); });
  const Results& first = *runs.front().results;
  Columns columns(chart, "value", std::string(what.axis), "treatment",
                  shown(first.find(what.variable), first), bands);
  std::size_t count = 0;
  for (const RunCharted& run : runs) {
    const Variable& v = run.results->find(what.variable);
    for (std::size_t t = 0; t < run.results->treatments.size(); ++t, ++count) {
      const std::size_t end =
          std::isinf(until_day)
              ? run.results->extent(Dimension::time)
              : static_cast<std::size_t>(until_day) / static_cast<std::size_t>(run.results->every_d) + 1;
      columns.add(*run.results, line_name(run, t), v, t, harvest_entry(*run.results, t), end);
    }
  }
  const bool apart = count > (bands ? most_bands : most_lines);
  if (apart) {
    chart.small_spec = lines_of(chart, "value", false, false);
    chart.facet = "what";
    chart.height_px = 150;
  }
  chart.spec = lines_of(chart, "value", bands, apart || count == 1);
  chart.says = words_of_time_chart(runs, what.variable);
  return chart;
}

Chart chart_of_members(const Results& r, const TimeChart& what, std::string_view member_title) {
  const Variable& v = r.find(what.variable);
  const std::size_t members = r.extent(v.dimensions[1]), extent = r.extent(Dimension::time);
  const std::vector<std::string>& names =
      v.dimensions[1] == Dimension::component ? r.components : r.placements;
  Chart chart{std::string(what.chart), std::string(what.title), "", {}, {}, "treatment", 170};
  Columns columns(chart, "value", std::string(what.axis), std::string(member_title), shown(v, r), false);
  add_texts(chart, "treatment", "treatment");
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    for (std::size_t m = 0; m < members; ++m) {
      const std::size_t row = t * members + m;
      const auto begin = v.values.begin() + static_cast<std::ptrdiff_t>(row * extent);
      const bool counts = std::any_of(begin, begin + static_cast<std::ptrdiff_t>(extent),
                                      [](double x) { return x > never_counts; });
      if (counts) columns.add(r, names[m], v, row, harvest_entry(r, t), extent);
      chart.fields.back().texts.resize(chart.fields.front().numbers.size(), r.treatments[t]);
    }
  }
  if (r.treatments.size() == 1) {
    chart.facet = "";
    chart.height_px = 260;
  }
  chart.spec = lines_of(chart, "value", false, false);
  chart.says = words_of_members(r, what.variable);
  return chart;
}

Chart mass_left_chart(std::span<const RunCharted> runs) {
  return chart_against_time(runs, {"mass-left", "mass_left", "How much residue is left", "residue left"});
}

Chart nitrogen_back_chart(std::span<const RunCharted> runs) {
  return with_zero_and_dates(chart_against_time(runs, nitrogen_back), runs);
}

Chart phosphorus_back_chart(std::span<const RunCharted> runs) {
  const Results& r = *runs.front().results;
  const std::string axis = shown(r.find("phosphorus_released"), r).substance + " given back since harvest";
  return with_zero_and_dates(chart_against_time(runs, {"phosphorus-back", "phosphorus_released",
                                                       "Phosphorus given back or tied up", axis}),
                             runs);
}

Chart potassium_back_chart(std::span<const RunCharted> runs) {
  const Results& r = *runs.front().results;
  const std::string axis = shown(r.find("potassium_released"), r).substance + " given back since harvest";
  return chart_against_time(runs, {"potassium-back", "potassium_released", "Potassium given back", axis});
}

Chart sulfur_back_chart(std::span<const RunCharted> runs) {
  return with_zero_and_dates(
      chart_against_time(runs, {"sulfur-back", "sulfur_released", "Sulfur given back or tied up",
                                "S given back since harvest"}),
      runs);
}

Chart soil_cover_chart(std::span<const RunCharted> runs) {
  Chart chart = chart_against_time(runs, {"soil-cover", "soil_cover", "How much of the soil lies covered",
                                          "soil covered by flat residue"});
  mark(chart, 100.0 * levelled_cover, "30 %: conservation tillage",
       key_dates(*runs.front().results, forever));
  return chart;
}

namespace {

/// The placement whose residue, added up over days and treatments, is most.
std::size_t fullest_placement(const Results& r) {
  const Variable& v = r.find("dry_matter_by_placement");
  const std::size_t extent = r.extent(Dimension::time);
  std::vector<double> sum(r.placements.size(), 0.0);
  for (std::size_t i = 0; i < v.values.size(); ++i) {
    if (!std::isnan(v.values[i])) sum[i / extent % sum.size()] += v.values[i];
  }
  return static_cast<std::size_t>(std::max_element(sum.begin(), sum.end()) - sum.begin());
}

/// A driver as its mean over weeks or so: days alone are too jagged to be read.
Chart driver_chart(const Results& r, const TimeChart& what) {
  const Variable& v = r.find(what.variable);
  const std::size_t extent = r.extent(Dimension::time), p = fullest_placement(r);
  Chart chart{std::string(what.chart), std::string(what.title), "", {}, {}, "", 200};
  add_dates(chart, "date", "date");
  add_texts(chart, "what", "treatment");
  add_numbers(chart, "value", fmt::format("{}, {}", what.axis, r.placements[p]), shown(v, r));
  const std::size_t step = std::max<std::size_t>(7, (extent + most_points - 1) / most_points);
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    const double* values = v.values.data() + (t * r.placements.size() + p) * extent;
    for (std::size_t i = 0; i < extent; i += step) {
      const std::size_t end = std::min(i + step, extent);
      double sum = 0.0;
      for (std::size_t k = i; k < end; ++k) sum += values[k];
      chart.fields[0].numbers.push_back(
          days_since_1970(r, static_cast<double>(i + end - 1) / 2.0 * r.every_d));
      chart.fields[1].texts.push_back(r.treatments[t]);
      chart.fields[2].numbers.push_back(sum / static_cast<double>(end - i));
    }
  }
  chart.spec = lines_of(chart, "value", false, r.treatments.size() == 1);
  chart.says = words_of_driver(r, what.variable, p);
  return chart;
}

}  // namespace

Chart residue_temperature_chart(const Results& r) {
  return driver_chart(r, {"residue-temperature", "residue_temperature",
                          "How warm the residue is (means of a week)", "temperature of residue"});
}

Chart residue_wetness_chart(const Results& r) {
  return driver_chart(r, {"residue-wetness", "residue_wetness", "How wet the residue is (means of a week)",
                          "wetness of residue"});
}

std::vector<KeyDate> key_dates(const Results& r, double until_day) {
  const double end = std::min<double>(r.days, until_day);
  std::vector<KeyDate> dates;
  if (r.stages.empty()) {
    for (std::size_t c = 0; c < r.checkpoints.size(); ++c) {
      const double day = r.find("checkpoint_day").values[c];
      if (r.checkpoints[c].starts_with("planting ") && !std::isnan(day) && day < end)
        dates.push_back({days_since_1970(r, day), "planting"});
    }
    return dates;
  }
  const std::vector<double>& days = r.find("stage_day").values;
  const std::vector<double>& planted = r.find("stage_planting_day").values;
  for (std::size_t s = 0; s < r.stages.size(); ++s) {
    const std::string& stage = r.stages[s];
    const std::string name = stage.substr(0, stage.rfind(' '));
    if (!std::isnan(planted[s]) && planted[s] < end) {
      const double date = days_since_1970(r, planted[s]);
      const bool known =
          std::any_of(dates.begin(), dates.end(), [&](const KeyDate& d) { return d.date == date; });
      if (!known) dates.push_back({date, "planting"});
    }
    const bool marked = stage.ends_with(" 1") && (name == "V6" || name == "silking");
    if (marked && !std::isnan(days[s]) && days[s] < end) dates.push_back({days_since_1970(r, days[s]), name});
  }
  return dates;
}

double first_season_end(const Results& r) {
  double last = std::nan("");
  if (r.stages.empty()) return last;
  const std::vector<double>& days = r.find("stage_day").values;
  for (std::size_t i = 0; i < days.size(); ++i) {
    if (r.stages[i % r.stages.size()].ends_with(" 1") && !(days[i] <= last))
      last = std::isnan(days[i]) ? last : days[i];
  }
  return last;
}

Chart first_season_chart(const Results& r) {
  const double end = first_season_end(r);
  const RunCharted run{&r, ""};
  Chart chart =
      chart_against_time(std::span(&run, 1),
                         {"first-season", nitrogen_back.variable,
                          "The first season close up: nitrogen given back or tied up", nitrogen_back.axis},
                         end);
  mark(chart, 0.0, "", key_dates(r, end));
  chart.says = words_of_first_season(r);
  return chart;
}

}  // namespace stoverturn
