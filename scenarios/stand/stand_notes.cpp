#include "scenarios/stand/stand_notes.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace stoverturn {
namespace {

std::set<std::string> strips_of(const StandData& data, const std::string& treatment) {
  std::set<std::string> strips;
  for (const StandRow& r : data.rows) {
    if (r.treatment == treatment) strips.insert(r.strip);
  }
  return strips;
}

std::string quoted(const std::vector<std::string>& names) {
  return fmt::format("'{}'", fmt::join(names, "', '"));
}

void note_strips(const StandData& data, StandReport& report) {
  std::set<std::string> all;
  std::vector<std::string> single;
  for (const std::string& t : data.treatments) {
    const std::set<std::string> strips = strips_of(data, t);
    if (strips.size() == 1) single.push_back(t);
    all.insert(strips.begin(), strips.end());
  }
  if (all.size() == 1) {
    report.notes.emplace_back(
        "There is one strip only. How strips differ cannot be told, so the intervals are too narrow for any "
        "other "
        "strip: count in at least three strips of each treatment.");
  } else if (!single.empty()) {
    report.notes.push_back(fmt::format(
        "In one strip only: {}. A difference to another treatment may be a difference of the strips.",
        quoted(single)));
  }
}

void note_models(const StandSettings& settings, StandReport& report) {
  for (const StandModel& m : report.models) {
    const std::string_view name = stand_counts[m.count].name;
    if (m.units == 0) continue;
    if (m.freedom == 0) {
      report.notes.push_back(fmt::format(
          "{}: one count for each treatment and strip leaves no spread to tell chance by. The intervals take "
          "the counts "
          "as random (Poisson) and leave out how rows and strips differ: they may be much too narrow.",
          name));
    } else if (!m.by_plots && settings.unit == StandUnit::automatic && m.freedom > 0) {
      report.notes.push_back(
          fmt::format("{}: compared by rows ({} of them), since there are too few strips. Rows of one strip "
                      "share its fate, so the "
                      "intervals may be too narrow.",
                      name, m.units));
    }
  }
}

void note_late(const StandData& data, StandReport& report) {
  double without = 0.0;
  bool beyond = false;
  for (const StandRow& r : data.rows) {
    const double late = r.counts[stand_late];
    if (!(late > 0.0)) continue;
    if (std::isnan(r.late_leaves)) without += late;
    beyond |= r.late_leaves > last_published_leaves;
  }
  if (without > 0.0) {
    report.notes.push_back(
        fmt::format("{:.0f} late plants have no delay (column late by [leaves]); their rows are left out "
                    "where late plants are weighed.",
                    without));
  }
  if (beyond) {
    report.notes.emplace_back(
        "Some plants are more than two leaf stages behind. Nothing is published beyond two here; they count "
        "as two, "
        "so the loss is at least what is said.");
  }
}

void note_value(const StandData& data, StandReport& report) {
  if (report.usual_ear) {
    report.notes.push_back(
        fmt::format("PLACEHOLDER: {} bu an ear (7 bu/acre for one ear in a thousandth of an acre; common "
                    "practice, no source), since "
                    "you gave none. Give your own with --bushels-per-ear.",
                    usual_bu_per_ear));
  }
  if (data.has(stand_plants) && std::isnan(report.prices.full_yield_bu_acre)) {
    report.notes.emplace_back(
        "No full yield is given (--full-yield), so the stand table is shown in percent only.");
  }
  if (std::isnan(report.prices.price_per_bu)) {
    report.notes.emplace_back("No price is given (--price), so nothing is said in money.");
  }
  for (std::size_t t = 0; t < report.treatments.size(); ++t) {
    if (data.has(stand_plants) && std::isnan(report.yield_share[t])) {
      report.notes.push_back(
          fmt::format("'{}' has a stand below 20,000 plants an acre, where the published table ends; ask "
                      "your adviser about "
                      "replanting.",
                      report.treatments[t]));
    }
  }
}

}  // namespace

void add_stand_notes(const StandData& data, const StandSettings& settings, StandReport& report) {
  note_strips(data, report);
  note_models(settings, report);
  for (const StandRate& r : report.rates) {
    if (r.counted > 0.0) continue;
    report.notes.push_back(
        fmt::format("{} of '{}': none found. The upper end is what chance alone (Poisson) leaves open; no "
                    "interval of a difference "
                    "can be told.",
                    stand_counts[r.count].name, r.treatment));
  }
  note_late(data, report);
  if (report.differences.size() > report.models.size() && report.treatments.size() > 2) {
    report.notes.push_back(
        fmt::format("Each interval stands for itself: of many {:.0f} % intervals, {:.0f} in 100 miss the "
                    "truth by chance.",
                    100.0 * report.level, 100.0 * (1.0 - report.level)));
  }
  note_value(data, report);
}

}  // namespace stoverturn
