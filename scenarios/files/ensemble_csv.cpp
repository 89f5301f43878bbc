#include "scenarios/files/ensemble_csv.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include <fmt/format.h>

#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/files/atomic_file.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

std::string cell(double value) { return std::isnan(value) ? "" : fmt::format("{:.10g}", value + 0.0); }

std::string place(const SiteLabel& site) {
  return fmt::format("{},{},{}", csv_cell(site.name), cell(site.longitude_deg), cell(site.latitude_deg));
}

bool has_quantiles(const Variable& v) {
  return v.dimensions.size() > 2 && v.dimensions[2] == Dimension::quantile;
}

/// What stands along a variable's last dimension.
std::vector<std::string> labels_of(const Variable& v, const Results& r) {
  if (v.dimensions.size() < 4) return {""};
  if (v.dimensions[3] == Dimension::checkpoint) return r.checkpoints;
  if (v.dimensions[3] == Dimension::stage) return r.stages;
  if (v.dimensions[3] == Dimension::harvest) return r.harvests;
  std::vector<std::string> dates;
  for (int i = 0; i < r.days; ++i) dates.push_back(format_date(r.start + std::chrono::days(i * r.every_d)));
  return dates;
}

const Variable& mean_of(const Variable& v, const std::vector<Variable>& list) {
  return *std::find_if(list.begin(), list.end(),
                       [&](const Variable& m) { return m.name == v.name + "_mean"; });
}

/// A number of a site and treatment that has no quantiles: "in how many of the runs".
bool is_share(const Variable& v) { return v.dimensions.size() == 2 && !v.name.ends_with("_mean"); }

void write_share(TextFile& file, const Results& r, const Variable& v) {
  const Shown unit = shown(v, r);
  for (std::size_t block = 0; block < v.values.size(); ++block) {
    if (std::isnan(v.values[block])) continue;
    file.write(fmt::format("{},{},,{},{},{}{},{}\n", place(r.sites[block / r.treatments.size()]),
                           csv_cell(r.treatments[block % r.treatments.size()]), v.name,
                           csv_cell(unit.substance), cell(unit(v.values[block])),
                           std::string(r.quantiles.size(), ','), csv_cell(unit.unit)));
  }
}

void write_rows(const std::filesystem::path& path, const Results& r, const std::vector<Variable>& list,
                std::string_view when) {
  write_atomically(path, [&](const std::filesystem::path& part) {
    TextFile file(part);
    std::string head = fmt::format("site,longitude,latitude,treatment,{},variable,substance,mean", when);
    for (const double q : r.quantiles) head += fmt::format(",q{:.6g}", q);
    file.write(head + ",unit\n");
    for (const Variable& v : list) {
      if (is_share(v)) write_share(file, r, v);
      if (!has_quantiles(v)) continue;
      const Variable& mean = mean_of(v, list);
      const Shown unit = shown(v, r);
      const std::vector<std::string> labels = labels_of(v, r);
      const std::size_t inner = labels.size();
      for (std::size_t block = 0; block < r.sites.size() * r.treatments.size(); ++block) {
        for (std::size_t i = 0; i < inner; ++i) {
          std::string line =
              fmt::format("{},{},{},{},{},{}", place(r.sites[block / r.treatments.size()]),
                          csv_cell(r.treatments[block % r.treatments.size()]), csv_cell(labels[i]), v.name,
                          csv_cell(unit.substance), cell(unit(mean.values[block * inner + i])));
          for (std::size_t q = 0; q < r.quantiles.size(); ++q) {
            line += "," + cell(unit(v.values[(block * r.quantiles.size() + q) * inner + i]));
          }
          file.write(line + "," + csv_cell(unit.unit) + "\n");
        }
      }
    }
    file.close();
  });
}

}  // namespace

void write_ensemble_csv(const std::filesystem::path& path, const Results& r) {
  write_rows(path, r, r.key_numbers, "checkpoint");
}

void write_ensemble_series_csv(const std::filesystem::path& path, const Results& r) {
  write_rows(path, r, r.series, "date");
}

void write_sites_csv(const std::filesystem::path& path, const Results& r) {
  const std::size_t middle = middle_quantile(r);
  write_atomically(path, [&](const std::filesystem::path& part) {
    TextFile file(part);
    std::string head = "site,longitude,latitude,treatment";
    for (const Variable& v : r.key_numbers) {
      if (!has_quantiles(v)) continue;
      const std::string name = fmt::format("{} [{}]", v.name, shown(v, r).unit);
      for (const std::string& label : labels_of(v, r)) {
        head += "," + csv_cell(label.empty() ? name : fmt::format("{} {}", label, name));
      }
    }
    file.write(head + "\n");
    for (std::size_t block = 0; block < r.sites.size() * r.treatments.size(); ++block) {
      std::string line = fmt::format("{},{}", place(r.sites[block / r.treatments.size()]),
                                     csv_cell(r.treatments[block % r.treatments.size()]));
      for (const Variable& v : r.key_numbers) {
        if (!has_quantiles(v)) continue;
        const Shown unit = shown(v, r);
        const std::size_t inner = labels_of(v, r).size();
        for (std::size_t i = 0; i < inner; ++i) {
          line += "," + cell(unit(v.values[(block * r.quantiles.size() + middle) * inner + i]));
        }
      }
      file.write(line + "\n");
    }
    file.close();
  });
}

}  // namespace stoverturn
