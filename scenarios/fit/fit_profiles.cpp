#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/fit/fit_work.hpp"

namespace stoverturn {
namespace {

constexpr double worth_going = 0.01;  ///< a fit that is better by less is the same

std::vector<std::size_t> left_to_do(const FitWork& work) {
  std::vector<std::size_t> list;
  for (std::size_t u = 0; u < work.unknowns(); ++u) {
    const auto done = [&](const Profile& p) { return p.unknown == u; };
    if (work.plan.profiles != ProfilesOf::all && !work.is_of_model(u)) continue;
    if (std::none_of(work.state.profiles.begin(), work.state.profiles.end(), done)) list.push_back(u);
  }
  return list;
}

/// Kept are those that came to their end, or met a better fit.
void profile_all(FitWork& work) {
  const Cost cost = cost_of(work.posterior().informed());
  const std::vector<std::size_t> unknowns = left_to_do(work);
  std::vector<double> fractions(unknowns.size(), 0.0);
  const auto profile_one = [&](std::size_t i) {
    ProfileOptions options;
    options.level = work.plan.level;
    options.curvature = work.best.hessian;
    options.progress = [&](const Progress& p) {
      const std::lock_guard lock(work.one_at_a_time);
      fractions[i] = p.fraction;
      double sum = 0.0;
      for (const double f : fractions) sum += f;
      return work.tell("profiles", sum / static_cast<double>(fractions.size()));
    };
    Profile profile = profile_of(cost, work.best.optimum, unknowns[i], options);
    const std::lock_guard lock(work.one_at_a_time);
    fractions[i] = 1.0;
    const bool ended_there = !work.stopped && profile.better.size() > 0;
    if (!profile.finished && !ended_there) return;
    std::vector<Profile>& all = work.state.profiles;
    const auto after =
        std::find_if(all.begin(), all.end(), [&](const Profile& p) { return p.unknown > profile.unknown; });
    all.insert(after, std::move(profile));
    work.keep();
  };
  work.options.for_each(unknowns.size(), profile_one);
}

/// Where a profile met a fit that is better than the best; empty when none did.
Eigen::VectorXd better_place(const FitWork& work) {
  const Profile* best = nullptr;
  for (const Profile& p : work.state.profiles) {
    if (p.better.size() > 0 && (!best || p.better_cost < best->better_cost)) best = &p;
  }
  if (!best || best->better_cost > work.best.optimum.cost - worth_going) return {};
  return best->better;
}

/// The search anew from a better place; false where that leads to nothing better.
bool go_to(FitWork& work, const Eigen::VectorXd& place) {
  const Optimum again = refit(work.posterior(), {}, place);
  if (!(again.cost < work.best.optimum.cost)) return false;
  BestFitOptions there;
  there.starts = 1;
  there.population = false;
  there.seed = work.plan.seed;
  there.done = {again};
  BestFit found = best_fit(work.posterior(), {}, there);
  SearchStage& first = found.stages.front();
  first.name = "again";
  first.words = "from a better fit that a profile met";
  found.stages.insert(found.stages.begin(), work.best.stages.begin(), work.best.stages.end());
  found.starts = work.best.starts;
  found.population = work.best.population;
  work.best = std::move(found);
  return true;
}

std::string listed(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

void make_profiles(FitWork& work) {
  const bool went_before = work.state.better.size() > 0;
  if (went_before) go_to(work, work.state.better);
  profile_all(work);
  if (went_before || work.stopped) return;
  const Eigen::VectorXd place = better_place(work);
  if (place.size() == 0 || !go_to(work, place)) return;
  work.state.better = place;
  work.state.profiles.clear();
  work.keep();
  profile_all(work);
}

void tell_of_profiles(FitWork& work) {
  std::map<std::string_view, std::vector<std::string>> open;
  std::vector<std::string> unfinished;
  for (const Profile& p : work.state.profiles) {
    FittedUnknown& f = work.result.unknowns[p.unknown];
    if (!p.finished) {
      unfinished.push_back(f.unknown.name);
      continue;
    }
    f.profile = work.in_unit(p.unknown, p.interval);
    f.identifiable = std::string(words(p.identifiable));
    FitProfile kept;
    kept.unknown = p.unknown;
    for (std::size_t i = 0; i < p.z.size(); ++i) {
      kept.value.push_back(work.in_unit(p.unknown, p.z[i]));
      kept.cost_above_best.push_back(p.cost[i] - work.best.optimum.cost);
    }
    work.result.profiles.push_back(std::move(kept));
    const bool closed = p.identifiable == Identifiable::yes || p.identifiable == Identifiable::unknown;
    if (!closed && work.is_of_model(p.unknown) && f.on_bound.empty()) {
      open[words(p.identifiable)].push_back(f.unknown.name);
    }
  }
  for (const auto& [how, names] : open) {
    work.result.warnings.push_back(fmt::format(
        "{}: {}. Hold {}, give a prior from elsewhere, or measure what tells {}.", listed(names), how,
        names.size() > 1 ? "all but one of them" : "it", names.size() > 1 ? "them apart" : "it"));
  }
  if (!unfinished.empty() && !work.stopped) {
    work.result.warnings.push_back(
        fmt::format("The profile of {} met a better fit than the best that was found: raise `starts`.",
                    listed(unfinished)));
  }
}

}  // namespace stoverturn
