#include "scenarios/ensemble/ensemble_results.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "fitting/quantile.hpp"
#include "scenarios/results/money.hpp"
#include "scenarios/results/notes.hpp"

namespace stoverturn {
namespace {

using enum Dimension;

constexpr std::size_t values_at_once = std::size_t{8} << 20;  ///< 64 MB
constexpr std::size_t single_runs_up_to = 4000000;
constexpr std::size_t few_weathers = 10;

/// The variables of one number: quantiles, mean, and single runs where they are kept.
struct Reduced {
  Variable quantiles, mean, of_run;
};

std::vector<Reduced> declared(const Ensemble& ensemble, const Results& r, bool single_runs) {
  std::vector<Reduced> all;
  for (const Variable& v : ensemble.numbers().variables) {
    const auto over = [&](std::vector<Dimension> dimensions, std::string name, std::string meaning) {
      Variable made = v;
      made.name = std::move(name);
      made.meaning = std::move(meaning);
      dimensions.insert(dimensions.end(), v.dimensions.begin(), v.dimensions.end());
      made.dimensions = std::move(dimensions);
      std::size_t size = 1;
      for (const Dimension d : made.dimensions) size *= r.extent(d);
      made.values.assign(size, not_measured);
      return made;
    };
    Reduced reduced{over({site, treatment, quantile}, v.name, v.meaning),
                    over({site, treatment}, v.name + "_mean", "mean of the runs: " + v.meaning),
                    {}};
    if (single_runs) {
      reduced.of_run =
          over({site, treatment, weather_year, draw}, v.name + "_of_run", "each run: " + v.meaning);
    }
    all.push_back(std::move(reduced));
  }
  return all;
}

/// One number of all runs of a block becomes its quantiles and mean.
void reduce(std::vector<double>& values, const std::vector<double>& shares, std::size_t block,
            std::size_t inner, std::size_t inner_size, Reduced& into) {
  const double sum = std::accumulate(values.begin(), values.end(), 0.0);
  into.mean.values[block * inner_size + inner] = sum / static_cast<double>(values.size());
  for (std::size_t run = 0; run < values.size() && !into.of_run.values.empty(); ++run) {
    into.of_run.values[(block * values.size() + run) * inner_size + inner] = values[run];
  }
  std::sort(values.begin(), values.end(), comes_before);
  for (std::size_t q = 0; q < shares.size(); ++q) {
    into.quantiles.values[(block * shares.size() + q) * inner_size + inner] =
        quantile_of_sorted(values, shares[q]);
  }
}

/// Reduces columns [first, last), block after block, part after part.
void reduce_columns(const Ensemble& ensemble, const PartColumns& columns, std::size_t first, std::size_t last,
                    const std::vector<double>& shares, std::vector<Reduced>& all) {
  const std::size_t in_block = ensemble.shape().runs_in_block();
  const RunNumbers& numbers = ensemble.numbers();
  std::vector<std::vector<double>> gathered(last - first);
  std::size_t block = 0;
  for (std::size_t part = 0; part < ensemble.parts(); ++part) {
    const std::vector<double> rows = columns(part, first, last);
    for (std::size_t i = 0; i < rows.size(); i += last - first) {
      for (std::size_t c = 0; c < last - first; ++c) gathered[c].push_back(rows[i + c]);
      if (gathered[0].size() < in_block) continue;
      for (std::size_t c = 0; c < last - first; ++c) {
        const auto after = std::upper_bound(numbers.first.begin(), numbers.first.end(), first + c);
        const auto v = static_cast<std::size_t>(after - numbers.first.begin()) - 1;
        const std::size_t end = v + 1 < numbers.first.size() ? numbers.first[v + 1] : numbers.columns;
        reduce(gathered[c], shares, block, first + c - numbers.first[v], end - numbers.first[v], all[v]);
        gathered[c].clear();
      }
      ++block;
    }
  }
}

std::vector<std::string> notes_of(const Ensemble& ensemble, const std::vector<RunFailure>& failures) {
  const Scenario& scenario = ensemble.scenario();
  const EnsembleShape& shape = ensemble.shape();
  std::vector<std::string> notes = scenario.warnings;
  const std::vector<Future>& futures = ensemble.futures();
  if (shape.futures > 1) {
    const bool record = !scenario.weather->normals;
    notes.push_back(fmt::format(
        "Runs begin in {} weathers, {} to {}{}.", shape.futures, futures.front().name, futures.back().name,
        record ? ": each goes on through the years that follow, after the last of the record "
                 "with the first"
               : ""));
  }
  if (shape.futures < few_weathers && scenario.weather) {
    notes.push_back(
        fmt::format("{} weather{} tell little of the years to come: their range is narrower than that of "
                    "30. Look for a longer record, or a built-in climate.",
                    shape.futures, shape.futures == 1 ? "" : "s"));
  }
  if (shape.draws > 1) {
    notes.push_back(
        scenario.draws->fit.empty()
            ? fmt::format("Each weather was met by {} new places: parameters drawn from their spread "
                          "between the trials that the defaults come from.",
                          shape.draws)
            : fmt::format("Each weather was met by {} draws of {}.", shape.draws, scenario.draws->fit));
  } else {
    notes.emplace_back("The range is of weather alone; add draws for what is not known of the residue.");
  }
  if (!failures.empty()) {
    notes.push_back(
        fmt::format("{} of {} runs could not be integrated and count as not reached; the first: {}.",
                    failures.size(), shape.runs(), failures.front().message));
  }
  for (std::string& note : price_notes(scenario)) notes.push_back(std::move(note));
  for (std::string& note : standing_notes(scenario)) notes.push_back(std::move(note));
  return notes;
}

}  // namespace

PartColumns columns_in(const std::vector<PartRows>& parts, const Ensemble& ensemble) {
  const std::size_t columns = ensemble.numbers().columns;
  return [&parts, columns](std::size_t part, std::size_t first, std::size_t last) {
    std::vector<double> chosen;
    chosen.reserve(parts[part].runs * (last - first));
    for (std::size_t r = 0; r < parts[part].runs; ++r) {
      const auto row = parts[part].values.begin() + static_cast<std::ptrdiff_t>(r * columns);
      chosen.insert(chosen.end(), row + static_cast<std::ptrdiff_t>(first),
                    row + static_cast<std::ptrdiff_t>(last));
    }
    return chosen;
  };
}

Results run_in_memory(Ensemble& ensemble, std::vector<KeptText> texts, const PartProgress& progress) {
  std::vector<PartRows> parts;
  std::vector<RunFailure> failures;
  for (std::size_t p = 0; p < ensemble.parts(); ++p) {
    const std::size_t before = ensemble.runs_of_part(p).first;
    parts.push_back(ensemble.run_part(p, [&](std::size_t runs) {
      if (progress) progress(before + runs);
    }));
    failures.insert(failures.end(), parts.back().failures.begin(), parts.back().failures.end());
  }
  refuse_no_runs(ensemble, failures);
  return ensemble_results(ensemble, columns_in(parts, ensemble), true, failures, std::move(texts));
}

void refuse_no_runs(const Ensemble& ensemble, const std::vector<RunFailure>& failures) {
  if (failures.size() < ensemble.shape().runs()) return;
  throw InputError({{{ensemble.scenario().title, 0, 0},
                     fmt::format("no run could be integrated; the first: {}", failures.front().message)}});
}

void add_quantiles(Results& r, Variable of_run, const std::string& name) {
  const std::vector<Dimension> inner(of_run.dimensions.begin() + 4, of_run.dimensions.end());
  std::size_t inner_size = 1;
  for (const Dimension d : inner) inner_size *= r.extent(d);
  Reduced reduced{of_run, of_run, {}};
  reduced.quantiles.name = name;
  reduced.quantiles.dimensions = {site, treatment, quantile};
  reduced.mean.name = name + "_mean";
  reduced.mean.meaning = "mean of the runs: " + of_run.meaning;
  reduced.mean.dimensions = {site, treatment};
  for (Variable* v : {&reduced.quantiles, &reduced.mean}) {
    v->dimensions.insert(v->dimensions.end(), inner.begin(), inner.end());
  }
  const std::size_t blocks = r.sites.size() * r.treatments.size();
  const std::size_t runs = r.weather_years.size() * r.draws;
  reduced.quantiles.values.assign(blocks * r.quantiles.size() * inner_size, not_measured);
  reduced.mean.values.assign(blocks * inner_size, not_measured);
  std::vector<double> values(runs);
  for (std::size_t block = 0; block < blocks; ++block) {
    for (std::size_t i = 0; i < inner_size; ++i) {
      for (std::size_t run = 0; run < runs; ++run) {
        values[run] = of_run.values[(block * runs + run) * inner_size + i];
      }
      reduce(values, r.quantiles, block, i, inner_size, reduced);
    }
  }
  r.key_numbers.push_back(std::move(reduced.quantiles));
  r.key_numbers.push_back(std::move(reduced.mean));
}

std::size_t middle_quantile(const Results& r) {
  const auto closer = [](double a, double b) { return std::abs(a - 0.5) < std::abs(b - 0.5); };
  return static_cast<std::size_t>(std::min_element(r.quantiles.begin(), r.quantiles.end(), closer) -
                                  r.quantiles.begin());
}

bool keeps_single_runs(const Ensemble& ensemble) {
  return ensemble.shape().runs() * ensemble.numbers().columns <= single_runs_up_to;
}

Results ensemble_results(const Ensemble& ensemble, const PartColumns& columns, bool single_runs,
                         const std::vector<RunFailure>& failures, std::vector<KeptText> texts) {
  const Scenario& scenario = ensemble.scenario();
  const EnsembleShape& shape = ensemble.shape();
  const RunNumbers& numbers = ensemble.numbers();
  Results r;
  r.title = scenario.title;
  r.program = program_name();
  r.units = scenario.units;
  r.currency = scenario.currency;
  for (const Treatment& t : scenario.treatments) r.treatments.push_back(t.label);
  for (const SiteRow& s : ensemble.sites()) r.sites.push_back({s.name, s.latitude_deg, s.longitude_deg});
  r.checkpoints = numbers.checkpoints.names;
  r.stages = numbers.stages;
  r.quantiles = scenario.ensemble.quantiles;
  if (single_runs) {
    for (const Future& f : ensemble.futures()) r.weather_years.push_back(f.name);
    r.draws = shape.draws;
  }
  r.start = numbers.start;
  r.days = numbers.times;
  r.every_d = numbers.every_d;
  r.texts = std::move(texts);

  std::vector<Reduced> all = declared(ensemble, r, single_runs);
  const std::size_t step = std::max<std::size_t>(1, values_at_once / shape.runs_in_block());
  for (std::size_t first = 0; first < numbers.columns; first += step) {
    reduce_columns(ensemble, columns, first, std::min(first + step, numbers.columns), r.quantiles, all);
  }
  for (Reduced& reduced : all) {
    const std::vector<Dimension>& over = reduced.quantiles.dimensions;
    std::vector<Variable>& list = over.back() == time ? r.series : r.key_numbers;
    list.push_back(std::move(reduced.quantiles));
    list.push_back(std::move(reduced.mean));
    if (single_runs) list.push_back(std::move(reduced.of_run));
  }
  r.notes = notes_of(ensemble, failures);
  return r;
}

}  // namespace stoverturn
