#include "scenarios/trial/fit_unknowns.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

namespace stoverturn {
namespace {

/// Searches start inside: this share of the range away from a bound that the start would stand on.
constexpr double from_bound = 0.05;

using Place = std::tuple<std::size_t, int, const ParameterRow*>;  ///< treatment of the model, component, row

/// An estimate for one group: what it varies by holds one value.
struct Part {
  const EstimatePlan* plan;
  const ParameterRow* row;
  std::string component, treatment, site;  ///< "" for all
  bool of_site = false;
  std::string name;
};

void add_once(std::vector<std::string>& list, const std::string& word) {
  if (std::find(list.begin(), list.end(), word) == list.end()) list.push_back(word);
}

bool holds(const std::vector<std::string>& list, const std::string& word) {
  return std::find(list.begin(), list.end(), word) != list.end();
}

class Expansion {
 public:
  Expansion(const FitPlan& plan, const std::vector<LoadedTrial>& trials,
            const std::vector<FitTreatment>& treatments, Mistakes& mistakes,
            std::vector<std::string>& warnings)
      : plan_(plan), trials_(trials), treatments_(treatments), mistakes_(mistakes), warnings_(warnings) {
    for (const FitTreatment& t : treatments) {
      add_once(with_data_, of(t).name);
      add_once(sites_, trials[t.trial].source.site);
      for (const std::string& c : of(t).parameters.component_names) add_once(components_, c);
      for (const int c : t.seen) {
        for (std::size_t i = 0; i < of(t).components.size(); ++i) {
          if (c < 0 ? grown_first(t, i) : static_cast<int>(i) == c) add_once(seen_, component(t, i));
        }
      }
    }
    for (const LoadedTrial& trial : trials) {
      for (const Treatment& t : trial.scenario.treatments) add_once(all_treatments_, t.name);
    }
  }

  FitUnknowns all() {
    std::vector<Part> parts;
    for (const EstimatePlan& e : plan_.estimates) add_parts(e, parts);
    if (refuse_twice(parts)) return {};
    std::stable_sort(parts.begin(), parts.end(),
                     [](const Part& a, const Part& b) { return rank(a) < rank(b); });
    std::map<Place, std::size_t> owner;
    for (std::size_t p = 0; p < parts.size(); ++p) claim(parts[p], p, owner);
    std::vector<std::vector<Place>> places(parts.size());
    for (const auto& [place, p] : owner) places[p].push_back(place);
    std::vector<std::size_t> order(parts.size());
    for (std::size_t p = 0; p < order.size(); ++p) order[p] = p;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return parts[a].plan < parts[b].plan; });
    for (const std::size_t p : order) make(parts[p], places[p]);
    return std::move(out_);
  }

 private:
  const Treatment& of(const FitTreatment& t) const {
    return trials_[t.trial].scenario.treatments[t.treatment];
  }
  const std::string& component(const FitTreatment& t, std::size_t i) const {
    return of(t).parameters.component_names[i];
  }
  bool grown_first(const FitTreatment& t, std::size_t component) const {
    return of(t).share_of(of(t).first(), component) > 0.0;
  }

  static std::pair<bool, bool> rank(const Part& p) {
    return {!p.component.empty(), !p.treatment.empty() || p.of_site};
  }

  /// Sorts the words after an @ into component and treatment; false and a mistake where that fails.
  bool resolve(const EstimatePlan& e, Part& part) {
    for (const std::string& word : e.whose) {
      std::vector<std::string> known = components_;
      known.insert(known.end(), all_treatments_.begin(), all_treatments_.end());
      if (holds(components_, word)) {
        part.component = word;
        if (part.row->scope != Scope::component) {
          mistakes_.add(e.at, fmt::format("{}: {} is one value for the whole field; drop @{}", e.unknown.name,
                                          part.row->name, word));
          return false;
        }
        if (holds(seen_, word)) continue;
        mistakes_.add(e.at, fmt::format("{}: no bag holds {}; leave this estimate out, or give data of it",
                                        e.unknown.name, word));
        return false;
      }
      if (!holds(all_treatments_, word)) {
        mistakes_.add(e.at, fmt::format("{}: no component or treatment is called `{}`{}", e.unknown.name,
                                        word, did_you_mean(word, known)));
        return false;
      }
      part.treatment = word;
      if (holds(with_data_, word)) continue;
      mistakes_.add(e.at,
                    fmt::format("{}: treatment `{}` has no data; leave this estimate out, or give data of "
                                "it",
                                e.unknown.name, word));
      return false;
    }
    return true;
  }

  void add_parts(const EstimatePlan& e, std::vector<Part>& parts) {
    Part part{&e, find_parameter(e.target.parameter), "", "", "", false, ""};
    if (!resolve(e, part)) return;
    const auto refuse_both = [&](const std::string& named, const char* by) {
      if (named.empty()) return false;
      mistakes_.add(
          e.at, fmt::format("{}: names {} and varies by {}; do one of the two", e.unknown.name, named, by));
      return true;
    };
    const auto spread = [&](const std::vector<std::string>& words, std::string Part::*member) {
      for (const std::string& word : words) {
        parts.push_back(part);
        parts.back().*member = word;
        parts.back().of_site = member == &Part::site;
      }
    };
    switch (e.vary_by) {
      case VaryBy::nothing:
        parts.push_back(part);
        break;
      case VaryBy::treatment:
        if (!refuse_both(part.treatment, "treatment")) spread(with_data_, &Part::treatment);
        break;
      case VaryBy::component:
        if (!refuse_both(part.component, "component")) spread(seen_, &Part::component);
        break;
      case VaryBy::site:
        spread(sites_, &Part::site);
        break;
    }
    for (Part& p : parts) {
      if (p.plan == &e) p.name = name_of_part(p);
    }
  }

  static std::string name_of_part(const Part& p) {
    std::string name(p.row->name);
    if (!p.component.empty()) name += "@" + p.component;
    if (!p.treatment.empty()) name += fmt::format(" [{}]", p.treatment);
    if (p.of_site) name += fmt::format(" [{}]", p.site);
    return name;
  }

  bool refuse_twice(const std::vector<Part>& parts) {
    bool any = false;
    for (std::size_t a = 0; a < parts.size(); ++a) {
      for (std::size_t b = 0; b < a; ++b) {
        if (parts[a].name != parts[b].name || parts[a].plan == parts[b].plan) continue;
        any = true;
        mistakes_.add(parts[a].plan->at, fmt::format("{}: estimated twice, also by `{}`", parts[a].name,
                                                     parts[b].plan->unknown.name));
      }
    }
    return any;
  }

  void claim(const Part& part, std::size_t index, std::map<Place, std::size_t>& owner) {
    for (std::size_t t = 0; t < treatments_.size(); ++t) {
      const FitTreatment& used = treatments_[t];
      if (!part.treatment.empty() && of(used).name != part.treatment) continue;
      if (part.of_site && trials_[used.trial].source.site != part.site) continue;
      if (part.row->scope != Scope::component) {
        owner[{t, -1, part.row}] = index;
        continue;
      }
      // dissolved organic matter decays by the field's own copy of the component parameters
      if (part.component.empty()) owner[{t, -1, part.row}] = index;
      for (std::size_t i = 0; i < of(used).components.size(); ++i) {
        if (part.component.empty() || component(used, i) == part.component) {
          owner[{t, static_cast<int>(i), part.row}] = index;
        }
      }
    }
  }

  void make(const Part& part, const std::vector<Place>& places) {
    const bool reaches_residue = std::any_of(places.begin(), places.end(), [&](const Place& place) {
      return part.row->scope != Scope::component || std::get<int>(place) >= 0;
    });
    if (!reaches_residue) {
      mistakes_.add(part.plan->at, fmt::format("{}: other estimates leave nothing for it", part.name));
      return;
    }
    const std::size_t parameter = out_.values.size();
    for (const auto& [t, c, row] : places) out_.slots.push_back({t, c, row, parameter});
    out_.value_names.push_back(part.name);
    out_.value_at.push_back(part.plan->at);
    ModelValue value{part.row->fit, 0, std::nullopt, std::nullopt};
    if (part.plan->pooled) {
      pool(part, places, value);
    } else {
      value.base = add(unknown_of(part, places), targets_of(part));
    }
    out_.values.push_back(value);
    warn_of_scenario_value(part, places);
  }

  std::size_t add(Unknown unknown, std::vector<FitTarget> targets) {
    out_.unknowns.push_back(std::move(unknown));
    out_.targets.push_back(std::move(targets));
    return out_.unknowns.size() - 1;
  }

  /// The first site of an estimate makes the value of all sites and their spread.
  void pool(const Part& part, const std::vector<Place>& places, ModelValue& value) {
    const auto known = pooled_.find(part.plan);
    if (known == pooled_.end()) {
      Part everywhere = part;
      everywhere.of_site = false;
      everywhere.name = name_of_part(everywhere);
      value.base = add(unknown_of(everywhere, places), targets_of(everywhere));
      const std::string meaning = "standard deviation between sites, on the scale of estimation";
      const std::string name = fmt::format("spread of {} between sites", everywhere.name);
      const double unit =
          part.row->fit == Fit::linear ? part.plan->unknown.upper - part.plan->unknown.lower : 1.0;
      const std::string unit_name(part.row->fit == Fit::linear ? part.row->unit : "1");
      value.spread = add(size_unknown(name, unit_name, meaning, 0.2 * unit, 0.005 * unit, 2.0 * unit), {});
      out_.unknowns.back().prior = prior_between(Fit::log, 0.05 * unit, unit);
      pooled_[part.plan] = {value.base, *value.spread};
    } else {
      value.base = known->second.first;
      value.spread = known->second.second;
    }
    value.effect = add(effect_unknown(fmt::format("effect of {} on {}", part.site, part.row->name),
                                      "deviation of the site, in spreads"),
                       {});
  }

  Unknown unknown_of(const Part& part, const std::vector<Place>& places) const {
    Unknown u = part.plan->unknown;
    u.name = part.name;
    if (!part.plan->start_given) {
      const auto of_residue = std::find_if(places.begin(), places.end(),
                                           [](const Place& place) { return std::get<int>(place) >= 0; });
      const auto& [t, c, row] = of_residue == places.end() ? places.front() : *of_residue;
      const TreatmentParameters& p = of(treatments_[t]).parameters;
      u.start = at(c < 0 ? p.field : p.components[static_cast<std::size_t>(c)], *row);
    }
    const double low = to_fit_scale(u.scale, u.lower), high = to_fit_scale(u.scale, u.upper);
    const double nearest = from_fit_scale(u.scale, low + from_bound * (high - low));
    const double farthest = from_fit_scale(u.scale, high - from_bound * (high - low));
    if (u.start <= u.lower) u.start = nearest;
    if (u.start >= u.upper) u.start = farthest;
    return u;
  }

  std::vector<FitTarget> targets_of(const Part& part) const {
    const std::string parameter(part.row->name);
    if (!part.of_site) return {{parameter, part.component, part.treatment}};
    std::vector<FitTarget> targets;
    for (const FitTreatment& t : treatments_) {
      const std::string& name = of(t).name;
      if (trials_[t.trial].source.site != part.site) continue;
      if (!part.treatment.empty() && part.treatment != name) continue;
      targets.push_back({parameter, part.component, at_site(part.site, name)});
    }
    return targets;
  }

  /// Values that a scenario states go before those of a fit when it is run with one.
  void warn_of_scenario_value(const Part& part, const std::vector<Place>& places) {
    for (const auto& [t, c, row] : places) {
      const TreatmentParameters& p = of(treatments_[t]).parameters;
      const std::string address =
          c < 0 ? std::string(row->name)
                : fmt::format("{}@{}", row->name, p.component_names[static_cast<std::size_t>(c)]);
      const auto origin = p.origins.find(address);
      if (origin == p.origins.end() || origin->second < Layer::file) continue;
      warnings_.push_back(
          fmt::format("{}: the scenario states {} itself, and that would go before this "
                      "estimate when it is run; take it out of the scenario",
                      part.name, address));
      return;
    }
  }

  const FitPlan& plan_;
  const std::vector<LoadedTrial>& trials_;
  const std::vector<FitTreatment>& treatments_;
  Mistakes& mistakes_;
  std::vector<std::string>& warnings_;
  std::vector<std::string> with_data_, all_treatments_, components_, seen_, sites_;
  std::map<const EstimatePlan*, std::pair<std::size_t, std::size_t>> pooled_;
  FitUnknowns out_;
};

}  // namespace

FitUnknowns fit_unknowns(const FitPlan& plan, const std::vector<LoadedTrial>& trials,
                         const std::vector<FitTreatment>& treatments, Mistakes& mistakes,
                         std::vector<std::string>& warnings) {
  return Expansion(plan, trials, treatments, mistakes, warnings).all();
}

std::string at_site(const std::string& site, const std::string& treatment) {
  if (site.empty() || treatment.empty()) return site + treatment;
  return fmt::format("{}: {}", site, treatment);
}

Unknown effect_unknown(std::string name, std::string meaning) {
  return {std::move(name),
          "1",
          std::move(meaning),
          Fit::linear,
          0.0,
          -4.0,
          4.0,
          {Prior::Shape::normal, 0.0, 1.0}};
}

Unknown size_unknown(std::string name, std::string unit, std::string meaning, double start, double lower,
                     double upper) {
  return {std::move(name), std::move(unit), std::move(meaning), Fit::log, start, lower, upper, {}};
}

}  // namespace stoverturn
