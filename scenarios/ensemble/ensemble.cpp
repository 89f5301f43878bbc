#include "scenarios/ensemble/ensemble.hpp"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

namespace stoverturn {
namespace {

constexpr std::size_t jobs_at_once = 256;  ///< laid out in memory, besides the runs going on

/// Whether a row may change the parameters that are drawn.
bool changes_parameters(const SiteRow& site) {
  return std::any_of(site.overrides.begin(), site.overrides.end(), [](const std::string& o) {
    return o.starts_with("weather.seed=") ||
           (!o.starts_with("weather.") && !o.starts_with("soil.") && !o.starts_with("harvest.grain_yield="));
  });
}

std::vector<std::string> names(const std::vector<Future>& futures) {
  std::vector<std::string> list;
  for (const Future& f : futures) list.push_back(f.name);
  return list;
}

}  // namespace

/// What the runs of one site share.
struct Ensemble::AtSite {
  std::size_t number = 0;
  Scenario scenario;
  Climates climates;
  std::vector<Future> futures;
  RunNumbers numbers;
  std::vector<KnownDrivers> known;  ///< by future; empty where they are too many
  std::vector<std::vector<DrawnParameters>> draws;
};

Ensemble::Ensemble(std::vector<SiteRow> sites, LoadSite load, ForEach for_each,
                   std::span<const TreatmentSeries> own)
    : sites_(std::move(sites)), load_(std::move(load)), for_each_(std::move(for_each)), own_(own) {
  go_to(0);
  first_ = at_->scenario;
  futures_ = at_->futures;
  numbers_ = at_->numbers;
  shape_ = {sites_.size(), first_.treatments.size(), futures_.size(), at_->draws[0].size()};
}

template <class Work>
auto Ensemble::at_site(std::size_t site, const Work& work) const {
  try {
    return work();
  } catch (const InputError& error) {
    tell_of_site(sites_[site], error);
  }
}

void Ensemble::go_to(std::size_t site) {
  if (at_ && at_->number == site) return;
  const std::shared_ptr<AtSite> before = std::exchange(at_, nullptr);
  if (before) before->known.clear();
  at_ = at_site(site, [&] { return loaded(site, before.get()); });
}

/// All sites fill the same tables.
void Ensemble::require_as_first(const AtSite& site) const {
  if (names(site.futures) != names(futures_)) {
    throw InputError(
        {{site.scenario.ensemble.weather_years_at,
          fmt::format(
              "weather_years: its weather offers {} ({} to {}), that of the first site {} ({} to {}); "
              "write the years that all sites have",
              site.futures.size(), site.futures.front().name, site.futures.back().name, futures_.size(),
              futures_.front().name, futures_.back().name)}});
  }
  if (site.numbers.checkpoints.names != numbers_.checkpoints.names ||
      site.numbers.stages != numbers_.stages || site.numbers.columns != numbers_.columns) {
    throw InputError(
        {{sites_[site.number].at,
          fmt::format("its plantings, years or stages ({} dates) are not those of the first site ({}); "
                      "give all sites as many",
                      site.numbers.checkpoints.names.size(), numbers_.checkpoints.names.size())}});
  }
}

std::shared_ptr<Ensemble::AtSite> Ensemble::loaded(std::size_t site, AtSite* before) {
  auto next = std::make_shared<AtSite>();
  next->number = site;
  SiteScenario found = load_(site);
  next->scenario = std::move(found.scenario);
  next->climates = std::move(found.climates);
  next->futures = futures_of(next->scenario, next->climates);
  next->numbers = run_numbers(next->scenario, own_);
  if (site > 0) require_as_first(*next);
  if (next->futures.size() <= jobs_at_once) next->known.resize(next->futures.size());
  const bool same_draws =
      before && !changes_parameters(sites_[site]) && !changes_parameters(sites_[before->number]);
  next->draws = same_draws ? std::move(before->draws) : drawn_parameters(next->scenario, for_each_);
  return next;
}

std::size_t Ensemble::first_run_of_group(std::size_t group) const {
  const std::size_t block = group / shape_.groups_in_block(), inside = group % shape_.groups_in_block();
  return block * shape_.runs_in_block() + inside * lane_count;
}

std::pair<std::size_t, std::size_t> Ensemble::runs_of_part(std::size_t part) const {
  const std::size_t first = part * groups_in_part, last = std::min(first + groups_in_part, shape_.groups());
  const std::size_t begin = first_run_of_group(first);
  return {begin, first_run_of_group(last) - begin};
}

/// Groups of the site that is gone to, so few that what they need is laid out at once: whole blocks, or a
/// piece of one.
struct Ensemble::Wave {
  std::size_t first, last;  ///< groups
  std::size_t first_block, blocks;
  std::size_t first_future, futures;
};

Ensemble::Wave Ensemble::wave_from(std::size_t group, std::size_t end) const {
  const std::size_t in_block = shape_.groups_in_block(), block = group / in_block;
  if (shape_.futures <= jobs_at_once) {
    const std::size_t end_of_site = (block / shape_.treatments + 1) * shape_.treatments;
    const std::size_t blocks_end = std::min(block + jobs_at_once / shape_.futures, end_of_site);
    const std::size_t last = std::min(blocks_end * in_block, end);
    return {group, last, block, (last - 1) / in_block + 1 - block, 0, shape_.futures};
  }
  const std::size_t runs_at_once = jobs_at_once * shape_.draws;
  const std::size_t last = std::min({group + runs_at_once / lane_count, (block + 1) * in_block, end});
  const std::size_t first_run = group % in_block * lane_count;
  const std::size_t last_run =
      std::min((last - 1) % in_block * lane_count + lane_count, shape_.runs_in_block()) - 1;
  const std::size_t first_future = first_run / shape_.draws;
  return {group, last, block, 1, first_future, last_run / shape_.draws + 1 - first_future};
}

std::vector<TreatmentRuns> Ensemble::runs_of(const Wave& wave) {
  std::vector<std::vector<TreatmentJob>> jobs(wave.blocks, std::vector<TreatmentJob>(wave.futures));
  const auto treatment_of = [&](std::size_t b) { return (wave.first_block + b) % shape_.treatments; };
  for_each_(wave.futures, [&](std::size_t i) {
    const std::size_t f = wave.first_future + i;
    const Climates climates = climates_in(at_->scenario, at_->climates, at_->futures[f]);
    KnownDrivers passing;
    KnownDrivers& known = at_->known.empty() ? passing : at_->known[f];
    for (std::size_t b = 0; b < wave.blocks; ++b) {
      const Treatment& t = at_->scenario.treatments[treatment_of(b)];
      jobs[b][i] = treatment_job(at_->scenario, t, climates, &known);
    }
    known.keep_last(jobs_at_once / shape_.futures);
  });
  std::vector<TreatmentRuns> runs;
  for (std::size_t b = 0; b < wave.blocks; ++b) {
    const std::size_t t = treatment_of(b);
    runs.emplace_back(at_->scenario, t, wave.first_future, std::move(jobs[b]), at_->draws[t], at_->numbers);
  }
  return runs;
}

PartRows Ensemble::run_part(std::size_t part, const PartProgress& progress) {
  const std::size_t first_run = runs_of_part(part).first, count = runs_of_part(part).second;
  PartRows rows{first_run, count, std::vector<double>(count * numbers_.columns, not_measured), {}};
  const std::size_t in_block = shape_.groups_in_block();
  const std::size_t end = std::min((part + 1) * groups_in_part, shape_.groups());
  for (std::size_t next = part * groups_in_part; next < end;) {
    const std::size_t site = next / in_block / shape_.treatments;
    go_to(site);
    const Wave wave = wave_from(next, end);
    const std::vector<TreatmentRuns> blocks = at_site(site, [&] { return runs_of(wave); });
    std::vector<std::vector<RunFailure>> failures(wave.last - wave.first);
    for_each_(wave.last - wave.first, [&](std::size_t i) {
      const std::size_t group = wave.first + i, begin = first_run_of_group(group);
      const std::size_t size = first_run_of_group(group + 1) - begin;
      const std::size_t first_of_block = group / in_block * shape_.runs_in_block();
      failures[i] = blocks[group / in_block - wave.first_block].run(
          begin - first_of_block, size,
          std::span(rows.values).subspan((begin - first_run) * numbers_.columns, size * numbers_.columns));
      for (RunFailure& failure : failures[i]) failure.run += first_of_block;
    });
    for (const std::vector<RunFailure>& f : failures) {
      rows.failures.insert(rows.failures.end(), f.begin(), f.end());
    }
    next = wave.last;
    if (progress) progress(first_run_of_group(next) - first_run);
  }
  return rows;
}

}  // namespace stoverturn
