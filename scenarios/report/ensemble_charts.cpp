#include "scenarios/report/ensemble_charts.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/charts/site_map.hpp"
#include "scenarios/text/index_of.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t checkpoints_shown = 4;
constexpr std::size_t times_shown = 400;

struct WordsRow {
  std::string_view number;
  const char *title, *axis;
  bool turned = false;
};
constexpr WordsRow words[] = {
    {"mass_left", "How much residue is left", "residue left"},
    {"soil_cover", "How much of the soil is covered", "soil covered"},
    {"nitrogen_released", "Nitrogen given back (below zero: tied up)", "N given back since harvest"},
    {"phosphorus_released", "Phosphorus given back", "given back since harvest"},
    {"potassium_released", "Potassium given back", "given back since harvest"},
    {"sulfur_released", "Sulfur given back", "S given back since harvest"},
    {"nitrogen_leached", "Nitrogen washed below 1 m, as nitrate", "N leached since the start"},
    {"value_released", "What the nutrients given back are worth", "value given back since harvest"},
    {"dry_matter", "Residue on the field", "residue"},
    {"days_to_half", "When half of the residue is gone", "days after harvest"},
    {"days_to_95_lost", "When 95 % of the residue is gone", "days after harvest"},
    {"tie_up_deepest", "Nitrogen tied up at its deepest", "most N tied up", true},
    {"tie_up_deepest_day", "When most nitrogen is tied up", "days after harvest"},
    {"tie_up_repaid_day", "When all nitrogen tied up is given back", "days after harvest"},
    {"stage_nitrogen_released", "Nitrogen given back since planting (below zero: tied up)",
     "N given back since planting"},
    {"stage_nitrogen_to_crop", "Nitrogen taken up by the next crop", "N taken up since planting"},
    {"stage_mineral_nitrogen", "Mineral nitrogen in the soil to 1 m", "N in the soil to 1 m"},
    {"stage_topsoil_nitrogen", "Mineral nitrogen in the topsoil", "N in the topsoil"},
};

std::string_view base_name(const Variable& v) {
  std::string_view name = v.name;
  if (name.ends_with("_at")) name.remove_suffix(3);
  return name;
}

const WordsRow* row_of(const Variable& v) {
  const auto found = std::find_if(std::begin(words), std::end(words),
                                  [&](const WordsRow& row) { return row.number == base_name(v); });
  return found == std::end(words) ? nullptr : found;
}

Chart begun(const Variable& v, std::string_view end = "") {
  const NumberWords w = words_of_number(v);
  Chart chart;
  chart.name = w.chart + std::string(end);
  chart.title = w.title;
  return chart;
}

/// Texts of rows, and their intervals.
struct Rows {
  std::vector<std::string> site, treatment, when;
  std::vector<RunInterval> intervals;

  void add(const Results& r, std::size_t s, std::size_t t, std::string at, const RunInterval& interval) {
    site.push_back(r.sites[s].name);
    treatment.push_back(r.treatments[t]);
    when.push_back(std::move(at));
    intervals.push_back(interval);
  }
  bool known() const {
    return std::any_of(intervals.begin(), intervals.end(),
                       [](const RunInterval& i) { return !std::isnan(i.middle); });
  }
};

/// "chopped: 28 to 34 %": the middle runs of the lowest and the highest row of each treatment.
std::string said(const Results& r, const RunSpread& spread, const Rows& rows, const Shown& show,
                 std::string_view at) {
  constexpr std::size_t most = 4;
  std::string text;
  for (std::size_t t = 0; t < std::min(r.treatments.size(), most); ++t) {
    RunInterval all{INFINITY, INFINITY, NAN, -INFINITY, -INFINITY};
    for (std::size_t i = 0; i < rows.intervals.size(); ++i) {
      if (rows.treatment[i] != r.treatments[t] || (!at.empty() && rows.when[i] != at)) continue;
      const auto [low, high] = spread.told(rows.intervals[i]);
      all.lowest = std::min(all.lowest, low);
      all.highest = std::max(all.highest, high);
    }
    if (all.lowest > all.highest) continue;
    text += fmt::format(
        "{}{}: {} {}", text.empty() ? "" : "; ", r.treatments[t],
        range_text(show(all.lowest), show(all.highest), show.unit == "%" || show.unit == "d" ? 0 : 1),
        show.unit);
  }
  if (text.empty()) return "";
  const std::string of = spread.range_of();
  if (!of.empty()) text += fmt::format(" ({}{})", of, r.sites.size() > 1 ? ", all sites" : "");
  return text + ".";
}

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

/// A line at zero where numbers lie below it.
bool goes_below_zero(const Rows& rows) {
  return std::any_of(rows.intervals.begin(), rows.intervals.end(),
                     [](const RunInterval& i) { return i.middle < 0.0; });
}

/// Its small charts a site, where there are several.
void by_site(Chart& chart, const Results& r) {
  if (r.sites.size() > 1) chart.facet = "site";
}

}  // namespace

NumberWords words_of_number(const Variable& v) {
  std::string chart(base_name(v));
  std::replace(chart.begin(), chart.end(), '_', '-');
  const WordsRow* row = row_of(v);
  if (row) return {chart, row->title, row->axis, row->turned};
  std::string plain(base_name(v));
  std::replace(plain.begin(), plain.end(), '_', ' ');
  return {chart, v.meaning.empty() ? plain : capital(v.meaning), plain, false};
}

std::string axis_words(const Variable& v, const Results& r) {
  const std::string axis = words_of_number(v).axis;
  const bool differs = v.substance == "P" || v.substance == "K";
  return differs ? fmt::format("{} {}", shown(v, r).substance, axis) : axis;
}

Shown shown_in_words(const Variable& v, const Results& r) {
  Shown show = shown(v, r);
  if (words_of_number(v).turned) show.scale = -show.scale;
  return show;
}

std::vector<std::size_t> told_checkpoints(const Results& r) {
  std::vector<std::size_t> told;
  for (std::size_t c = 0; c < r.checkpoints.size(); ++c) {
    const std::string& name = r.checkpoints[c];
    if (name == "planting 1" || name.starts_with("year ")) told.push_back(c);
  }
  if (told.empty()) {
    for (std::size_t c = 0; c < r.checkpoints.size(); ++c) told.push_back(c);
  }
  if (told.size() > checkpoints_shown) {
    const std::size_t last = told.back();
    told.resize(checkpoints_shown - 1);
    told.push_back(last);
  }
  return told;
}

std::size_t main_checkpoint(const Results& r) {
  const std::size_t year = index_of(r.checkpoints, "year 1");
  if (year < r.checkpoints.size()) return year;
  return r.checkpoints.empty() ? 0 : r.checkpoints.size() - 1;
}

Chart checkpoint_chart(const Results& r, const RunSpread& spread, const Variable& v) {
  Rows rows;
  const std::vector<std::size_t> told = told_checkpoints(r);
  for (const std::size_t c : told) {
    for (std::size_t s = 0; s < r.sites.size(); ++s) {
      for (std::size_t t = 0; t < r.treatments.size(); ++t)
        rows.add(r, s, t, checkpoint_words(r.checkpoints[c]), spread.of(v, s, t, c));
    }
  }
  if (!rows.known()) return {};
  Chart chart = begun(v);
  add_texts(chart, "when", "when") = rows.when;
  add_texts(chart, "site", "site") = rows.site;
  add_texts(chart, "treatment", "treatment") = rows.treatment;
  const Shown show = shown_in_words(v, r);
  add_intervals(chart, axis_words(v, r), show, rows.intervals);
  chart.spec = intervals(chart, {"site", "treatment"});
  if (goes_below_zero(rows)) add_upright_level(chart.spec, 0.0, "");
  if (told.size() > 1) chart.facet = "when";
  const std::string when = checkpoint_words(r.checkpoints[main_checkpoint(r)]);
  chart.says =
      fmt::format("{}: {} {}", capital(when), said(r, spread, rows, show, when), spread.how_to_read());
  return chart;
}

Chart number_chart(const Results& r, const RunSpread& spread, const Variable& v) {
  Rows rows;
  for (std::size_t s = 0; s < r.sites.size(); ++s) {
    for (std::size_t t = 0; t < r.treatments.size(); ++t) rows.add(r, s, t, "", spread.of(v, s, t));
  }
  if (!rows.known()) return {};
  Chart chart = begun(v);
  add_texts(chart, "site", "site") = rows.site;
  add_texts(chart, "treatment", "treatment") = rows.treatment;
  const Shown show = shown_in_words(v, r);
  add_intervals(chart, axis_words(v, r), show, rows.intervals);
  chart.spec = intervals(chart, {"site", "treatment"});
  chart.says = said(r, spread, rows, show, "") + " " + spread.how_to_read() +
               " Where a line has no end, some runs do not get there.";
  return chart;
}

Chart stage_chart(const Results& r, const RunSpread& spread, const Variable& v) {
  Rows rows;
  for (std::size_t s = 0; s < r.sites.size(); ++s) {
    for (std::size_t t = 0; t < r.treatments.size(); ++t) {
      for (std::size_t stage = 0; stage < r.stages.size(); ++stage)
        rows.add(r, s, t, stage_word(r.stages[stage]), spread.of(v, s, t, stage));
    }
  }
  if (!rows.known()) return {};
  Chart chart = begun(v);
  add_texts(chart, "site", "site") = rows.site;
  add_texts(chart, "treatment", "treatment") = rows.treatment;
  add_texts(chart, "stage", "stage of the crop") = rows.when;
  const Shown show = shown_in_words(v, r);
  add_intervals(chart, axis_words(v, r), show, rows.intervals);
  chart.spec = interval_lines(chart, "stage", "treatment");
  for (nlohmann::json& layer : chart.spec["layer"]) layer["encoding"]["x"]["axis"] = {{"labelAngle", 330}};
  if (goes_below_zero(rows)) add_level(chart.spec, 0.0, "");
  by_site(chart, r);
  const std::string when = stage_word(r.stages[r.stages.size() > 1 ? 1 : 0]);
  chart.says = fmt::format("At {}: {}", when, said(r, spread, rows, show, when));
  return chart;
}

Chart course_chart(const Results& r, const RunSpread& spread, const Variable& v) {
  Rows rows;
  std::vector<double> dates;
  const auto times = static_cast<std::size_t>(r.days);
  const std::size_t step = times / times_shown + 1;
  for (std::size_t s = 0; s < r.sites.size(); ++s) {
    for (std::size_t t = 0; t < r.treatments.size(); ++t) {
      for (std::size_t i = 0; i < times; i += step) {
        rows.add(r, s, t, "", spread.of(v, s, t, i));
        dates.push_back(static_cast<double>(r.start.time_since_epoch().count()) +
                        static_cast<double>(i) * r.every_d);
      }
    }
  }
  if (!rows.known()) return {};
  Chart chart = begun(v, "-course");
  add_texts(chart, "site", "site") = rows.site;
  add_texts(chart, "treatment", "treatment") = rows.treatment;
  add_dates(chart, "date", "date") = std::move(dates);
  add_intervals(chart, axis_words(v, r), shown_in_words(v, r), rows.intervals);
  chart.spec = interval_lines(chart, "date", "treatment");
  by_site(chart, r);
  const std::string of = spread.range_of();
  chart.says =
      fmt::format("The line is the middle run of each day{}.", of.empty() ? "" : ", with a band around it");
  return chart;
}

Chart weathers_chart(const Results& r, const RunSpread& spread, const Variable& v) {
  if (r.weather_years.size() < 2 || spread.run_count() == 0) return {};
  const std::size_t at = main_checkpoint(r);
  Rows rows;
  std::vector<double> values;
  for (std::size_t s = 0; s < r.sites.size(); ++s) {
    for (std::size_t t = 0; t < r.treatments.size(); ++t) {
      const std::vector<double> runs = spread.runs(v.name, s, t, at);
      if (runs.empty()) return {};
      for (std::size_t year = 0; year < r.weather_years.size(); ++year) {
        const auto first = runs.begin() + static_cast<std::ptrdiff_t>(year * r.draws);
        std::vector<double> of_year(first, first + static_cast<std::ptrdiff_t>(r.draws));
        rows.add(r, s, t, r.weather_years[year], spread.of_values(std::move(of_year)));
        values.push_back(rows.intervals.back().middle);
      }
    }
  }
  if (!rows.known()) return {};
  Chart chart = begun(v, "-by-weather");
  chart.title += ", weather by weather: " + checkpoint_words(r.checkpoints[at]);
  add_texts(chart, "site", "site") = rows.site;
  add_texts(chart, "treatment", "treatment") = rows.treatment;
  add_texts(chart, "weather", "weather") = rows.when;
  const Shown show = shown_in_words(v, r);
  add_numbers(chart, "value", axis_words(v, r), show) = values;
  nlohmann::json x = on_axis(chart, "weather"), y = on_axis(chart, "value");
  x["axis"] = {{"labelOverlap", true}, {"labelAngle", 270}};
  y["scale"] = {{"zero", false}};
  nlohmann::json encoding = {{"x", std::move(x)}, {"y", std::move(y)}};
  encoding.update(as_points(chart, "treatment"));
  chart.spec = {{"mark", {{"type", "point"}, {"size", 45}, {"opacity", 1}}},
                {"encoding", std::move(encoding)}};
  by_site(chart, r);
  const auto [low, high] = std::minmax_element(values.begin(), values.end(), [](double a, double b) {
    return std::isnan(b) ? !std::isnan(a) : a < b;
  });
  const auto told = [&](auto place) {
    const auto i = static_cast<std::size_t>(place - values.begin());
    return fmt::format("{} {} in weather {}{}",
                       shown_number(show(*place), show.unit == "%" || show.unit == "d" ? 0 : 1), show.unit,
                       rows.when[i], r.sites.size() > 1 ? " at " + rows.site[i] : "");
  };
  chart.says = fmt::format("From {} to {}.", told(low), told(high));
  return chart;
}

Chart map_chart(const Results& r, const RunSpread& spread, const Variable& v) {
  const std::size_t at = main_checkpoint(r);
  const Shown show = shown_in_words(v, r);
  std::vector<std::string> sites, treatments;
  std::vector<double> latitudes, longitudes, values;
  for (std::size_t t = 0; t < r.treatments.size(); ++t) {
    for (std::size_t s = 0; s < r.sites.size(); ++s) {
      const SiteLabel& site = r.sites[s];
      const double value = spread.of(v, s, t, at).middle;
      if (std::isnan(site.latitude_deg) || std::isnan(site.longitude_deg) || std::isnan(value)) continue;
      sites.push_back(site.name);
      treatments.push_back(r.treatments[t]);
      latitudes.push_back(site.latitude_deg);
      longitudes.push_back(site.longitude_deg);
      values.push_back(value);
    }
  }
  if (values.empty()) return {};
  Chart chart = begun(v, "-map");
  chart.title += " at each site, " + checkpoint_words(r.checkpoints[at]);
  add_texts(chart, "site", "site") = std::move(sites);
  add_texts(chart, "treatment", "treatment") = std::move(treatments);
  add_numbers(chart, "latitude", "latitude", {"degrees north", "", 1.0, 0.0}) = std::move(latitudes);
  add_numbers(chart, "longitude", "longitude", {"degrees east", "", 1.0, 0.0}) = std::move(longitudes);
  add_numbers(chart, "value", axis_words(v, r), show) = std::move(values);
  chart.spec = site_map(chart, {"value", "site", show.unit == "%" || show.unit == "d" ? 0 : 1});
  if (r.treatments.size() > 1) chart.facet = "treatment";
  chart.says = "Each point is a site, its number the middle run there. Larger and darker is more.";
  return chart;
}

}  // namespace stoverturn
