#include "scenarios/files/csv_write.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include <fmt/format.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

constexpr std::string_view middle_columns = "variable,component,pieces,placement,harvest,element,substance";

bool runs_over(const Variable& variable, Dimension d) {
  return std::find(variable.dimensions.begin(), variable.dimensions.end(), d) != variable.dimensions.end();
}

/// Days that get rows, as positions along time.
std::vector<std::size_t> chosen_days(const Results& results, bool daily) {
  std::vector<std::size_t> chosen;
  for (int day = 0; day < results.days; ++day) {
    const std::chrono::year_month_day date(results.start + std::chrono::days(day));
    const bool ends = day == 0 || day == results.days - 1;
    if (daily || ends || date.day() == std::chrono::day(1)) chosen.push_back(static_cast<std::size_t>(day));
  }
  return chosen;
}

std::vector<std::string> cells(std::vector<std::string> labels) {
  for (std::string& label : labels) label = csv_cell(label);
  return labels;
}

/// Cells of one row that follow from where the value stands in its array.
struct Place {
  std::string_view treatment, component, pieces, placement, harvest, element, when;
};

struct CohortCells {
  std::string component, pieces, placement, harvest;
};

/// Writes the rows of one variable. `when` are the cells along time, checkpoint or stage, `chosen` their
/// positions.
class Rows {
 public:
  Rows(TextFile& file, const Results& results, Dimension when_dimension, const std::vector<std::string>& when,
       const std::vector<std::size_t>& chosen)
      : file_(file),
        results_(results),
        when_dimension_(when_dimension),
        when_(cells(when)),
        chosen_(chosen),
        treatments_(cells(results.treatments)),
        components_(cells(results.components)),
        placements_(cells(results.placements)),
        elements_(cells(results.elements)),
        harvests_(cells(results.harvests)) {
    cohorts_.reserve(results.cohorts.size());
    for (const CohortLabel& label : results.cohorts) {
      cohorts_.push_back({csv_cell(label.component), csv_cell(label.pieces), csv_cell(label.placement),
                          csv_cell(label.harvest)});
    }
  }

  void write(const Variable& variable) {
    shown_ = shown(variable, results_);
    shown_.unit = csv_cell(shown_.unit);
    shown_.substance = csv_cell(shown_.substance);
    descend(variable, 0, 0, {});
  }

 private:
  void descend(const Variable& variable, std::size_t axis, std::size_t offset, Place place) {
    if (axis == variable.dimensions.size()) return row(variable, offset, place);
    const Dimension d = variable.dimensions[axis];
    const std::size_t begin = offset * results_.extent(d);
    if (d == when_dimension_) {
      for (const std::size_t i : chosen_) {
        place.when = when_[i];
        descend(variable, axis + 1, begin + i, place);
      }
      return;
    }
    for (std::size_t i = 0; i < results_.extent(d); ++i) {
      set(place, d, i, variable);
      descend(variable, axis + 1, begin + i, place);
    }
  }

  void set(Place& place, Dimension d, std::size_t i, const Variable& variable) const {
    switch (d) {
      case Dimension::treatment:
        place.treatment = treatments_[i];
        return;
      case Dimension::component:
        place.component = components_[i];
        return;
      case Dimension::placement:
        place.placement = placements_[i];
        return;
      case Dimension::element:
        place.element = elements_[i];
        return;
      case Dimension::harvest:
        place.harvest = harvests_[i];
        return;
      case Dimension::cohort: {
        const CohortCells& cohort = cohorts_[i];
        place.component = cohort.component;
        place.pieces = cohort.pieces;
        place.placement = cohort.placement;
        place.harvest = cohort.harvest;
        return;
      }
      default:
        break;
    }
    throw std::invalid_argument(fmt::format("result '{}' runs over {}, which this table has no column for",
                                            variable.name, to_string(d)));
  }

  void row(const Variable& variable, std::size_t offset, const Place& place) {
    const double value = shown_(variable.values.at(offset)) + 0.0;  // no -0
    line_.clear();
    const auto out = std::back_inserter(line_);
    fmt::format_to(out, "{},{},{},{},{},{},{},{},{},", place.treatment, place.when, variable.name,
                   place.component, place.pieces, place.placement, place.harvest, place.element,
                   shown_.substance);
    if (!std::isnan(value)) fmt::format_to(out, "{:.10g}", value);
    fmt::format_to(out, ",{}\n", shown_.unit);
    file_.write({line_.data(), line_.size()});
  }

  TextFile& file_;
  const Results& results_;
  Dimension when_dimension_;
  std::vector<std::string> when_;
  const std::vector<std::size_t>& chosen_;
  std::vector<std::string> treatments_, components_, placements_, elements_, harvests_;
  std::vector<CohortCells> cohorts_;
  Shown shown_;
  fmt::memory_buffer line_;
};

}  // namespace

void write_key_numbers_csv(const std::filesystem::path& path, const Results& results) {
  std::vector<std::size_t> all(results.checkpoints.size()), all_stages(results.stages.size());
  std::iota(all.begin(), all.end(), 0);
  std::iota(all_stages.begin(), all_stages.end(), 0);
  write_atomically(path, [&](const std::filesystem::path& part) {
    TextFile file(part);
    file.write(fmt::format("treatment,checkpoint,{},value,unit\n", middle_columns));
    Rows rows(file, results, Dimension::checkpoint, results.checkpoints, all);
    Rows by_stage(file, results, Dimension::stage, results.stages, all_stages);
    for (const Variable& variable : results.key_numbers) {
      (runs_over(variable, Dimension::stage) ? by_stage : rows).write(variable);
    }
    file.close();
  });
}

void write_series_csv(const std::filesystem::path& path, const Results& results, bool daily) {
  const std::vector<std::size_t> chosen = chosen_days(results, daily);
  std::vector<std::string> dates;
  dates.reserve(static_cast<std::size_t>(results.days));
  for (int day = 0; day < results.days; ++day) {
    dates.push_back(format_date(results.start + std::chrono::days(day)));
  }
  write_atomically(path, [&](const std::filesystem::path& part) {
    TextFile file(part);
    file.write(fmt::format("treatment,date,{},value,unit\n", middle_columns));
    Rows rows(file, results, Dimension::time, dates, chosen);
    for (const Variable& variable : results.series) {
      if (!runs_over(variable, Dimension::cohort)) rows.write(variable);
    }
    file.close();
  });
}

}  // namespace stoverturn
