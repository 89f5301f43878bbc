#include "scenarios/trial/trial_numbers.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "scenarios/trial/measure_names.hpp"

namespace stoverturn {
namespace {

constexpr std::string_view placement_names[placements] = {"standing", "surface", "buried"};
constexpr double longest_d = 100.0 * 365.25;  // beyond every run: residue is never merged

struct ContentRow {
  Measure measure;
  TrialFieldIndex content, left;
  double Parameters<double>::*at_start;
};
constexpr ContentRow content_rows[] = {
    {Measure::carbon, trial_carbon, trial_carbon_left, &Parameters<double>::carbon},
    {Measure::nitrogen_left, trial_nitrogen, trial_nitrogen_left, &Parameters<double>::nitrogen},
    {Measure::phosphorus_left, trial_phosphorus, trial_phosphorus_left, &Parameters<double>::phosphorus},
    {Measure::potassium_left, trial_potassium, trial_potassium_left, &Parameters<double>::potassium},
    {Measure::sulfur_left, trial_sulfur, trial_sulfur_left, &Parameters<double>::sulfur},
};

struct OfField {
  Measure measure;
  TrialFieldIndex field;
};
constexpr OfField of_field[] = {{Measure::respired, trial_respired_carbon},
                                {Measure::mineral_nitrogen, trial_mineral_nitrogen},
                                {Measure::cover, trial_cover}};

bool there(double x) { return !std::isnan(x); }

struct Mean {
  int n = 0;
  double sum = 0.0, squares = 0.0;
  void add(double x, int count) {
    n += count;
    sum += count * x;
    squares += count * x * x;
  }
  double mean() const { return sum / n; }
  double sd() const {
    return n > 1 ? std::sqrt(std::max(0.0, squares - sum * sum / n) / (n - 1)) : not_weighed;
  }
};

/// A row with its names resolved.
struct Bag {
  std::size_t row;
  std::size_t treatment;
  int component, placement, day, pull;
  double mass = not_weighed;       ///< share left, ash included
  double corrected = not_weighed;  ///< as the trial wants it
  double factor = 1.0;             ///< of the sd of the share, from that of the mass
};

class Numbers {
 public:
  Numbers(const LoadedTrial& trial, Mistakes& mistakes)
      : trial_(trial), mistakes_(mistakes), span_(run_span(trial.scenario)) {
    for (const Treatment& t : trial.scenario.treatments) layouts_.push_back(lay_out(t, span_, longest_d));
  }

  TrialNumbers all() {
    std::vector<Bag> bags;
    for (std::size_t r = 0; r < trial_.data.rows.size(); ++r) {
      if (std::optional<Bag> bag = resolved(r)) bags.push_back(*bag);
    }
    correct_for_ash(bags);
    read_handling(bags);
    for (const Bag& bag : bags) {
      add_masses(bag);
      for (const OfField& f : of_field) {
        const double value = row(bag).values[f.field];
        if (there(value)) add(bag, f.measure, value, row(bag).sd[f.field]);
      }
    }
    if (!content_without_mass_.empty()) {
      out_.warnings.push_back(fmt::format(
          "{}: a content without a mass says nothing of what is left ({}); give the mass of those bags",
          trial_.data.name, lines_text(content_without_mass_)));
    }
    warn_of_contents(bags);
    warn_of_moves(bags);
    return std::move(out_);
  }

 private:
  const TrialRow& row(const Bag& bag) const { return trial_.data.rows[bag.row]; }
  Position at(const TrialRow& r) const { return {trial_.data.name, r.line, 1}; }
  const Treatment& treatment(const Bag& bag) const { return trial_.scenario.treatments[bag.treatment]; }

  std::optional<std::size_t> treatment_of(const TrialRow& r) {
    const std::vector<Treatment>& all = trial_.scenario.treatments;
    if (all.size() == 1 && r.treatment.empty()) return 0;
    std::vector<std::string> names;
    for (std::size_t t = 0; t < all.size(); ++t) {
      if (all[t].name == r.treatment || all[t].label == r.treatment) return t;
      names.push_back(all[t].name);
    }
    mistakes_.add(at(r), fmt::format("the scenario has no treatment '{}'{}", r.treatment,
                                     did_you_mean(r.treatment, names)));
    return std::nullopt;
  }

  std::optional<int> component_of(const TrialRow& r, const Treatment& t) {
    if (r.component.empty()) return -1;
    const std::vector<std::string>& names = t.parameters.component_names;
    const auto found = std::find(names.begin(), names.end(), r.component);
    if (found != names.end()) return static_cast<int>(found - names.begin());
    mistakes_.add(at(r), fmt::format("treatment '{}' has no component '{}'{}", t.name, r.component,
                                     did_you_mean(r.component, names)));
    return std::nullopt;
  }

  std::optional<Bag> resolved(std::size_t index) {
    const TrialRow& r = trial_.data.rows[index];
    const std::optional<std::size_t> t = treatment_of(r);
    if (!t) return std::nullopt;
    const Treatment& treatment = trial_.scenario.treatments[*t];
    const std::optional<int> component = component_of(r, treatment);
    if (!component) return std::nullopt;
    const auto place = std::find(std::begin(placement_names), std::end(placement_names), r.placement);
    const int placement = r.placement.empty() ? -1 : static_cast<int>(place - std::begin(placement_names));
    Bag bag{index, *t, *component, placement, 0, 0};
    const int laid_out = static_cast<int>((treatment.first().date - span_.start).count());
    bag.pull = r.date ? static_cast<int>((*r.date - treatment.first().date).count())
                      : static_cast<int>(std::lround(r.days));
    bag.day = laid_out + bag.pull;
    if (bag.pull < 0) {
      mistakes_.add(at(r), "this bag was pulled before the harvest of its treatment");
      return std::nullopt;
    }
    if (bag.day > span_.days) {
      mistakes_.add(at(r), fmt::format("pulled on day {} of a run of {} days; raise `duration` in {}",
                                       bag.day, span_.days, trial_.source.scenario_file));
      return std::nullopt;
    }
    if (laid_in(bag, nullptr) <= 0.0) {
      mistakes_.add(at(r),
                    fmt::format("the first harvest of the scenario lays out nothing for a bag '{}'; see "
                                "placement under [harvest]",
                                place_text(treatment.label, r.component, placement)));
      return std::nullopt;
    }
    if (there(r.values[trial_mass])) {
      bag.mass = r.values[trial_mass] / r.values[trial_initial_mass];
      bag.factor = 1.0 / r.values[trial_initial_mass];
      if (!there(r.values[trial_initial_mass]))
        mistakes_.add(at(r), "this bag has a mass but no initial mass");
    } else {
      bag.mass = r.values[trial_mass_left];
    }
    bag.corrected = bag.mass;
    return bag;
  }

  /// Dry matter that the first harvest lays where the bag lies, g m-2; with a content: grams of that.
  double laid_in(const Bag& bag, double Parameters<double>::*content) const {
    const TreatmentLayout& layout = layouts_[bag.treatment];
    double sum = 0.0;
    for (const Event<double>& event : layout.events) {
      const auto* harvest = std::get_if<Harvest<double>>(&event.what);
      if (!harvest) continue;
      const Cohort& c = layout.layout->cohorts[static_cast<std::size_t>(harvest->cohort)];
      if (c.harvest != 0 || (bag.component >= 0 && bag.component != c.component)) continue;
      if (bag.placement >= 0 && bag.placement != static_cast<int>(c.placement)) continue;
      const Parameters<double>& p =
          treatment(bag).parameters.components[static_cast<std::size_t>(c.component)];
      sum += harvest->dry_matter_g_m2 * (content ? p.*content : 1.0);
    }
    return sum;
  }

  void correct_for_ash(std::vector<Bag>& bags) {
    if (!trial_.source.ash_free) return;
    double initial = trial_.source.initial_ash;
    if (!there(initial)) {
      Mean fresh;
      for (const Bag& bag : bags) {
        const double ash = row(bag).values[trial_ash];
        if (bag.pull == 0 && there(ash)) fresh.add(ash, row(bag).n);
      }
      if (fresh.n == 0) {
        mistakes_.add(trial_.source.at,
                      "ash_free = true needs initial_ash, the ash of what was put in, or the "
                      "ash of bags of day 0");
        return;
      }
      initial = fresh.mean();
    }
    std::vector<int> without;
    for (Bag& bag : bags) {
      const double ash = row(bag).values[trial_ash];
      if (!there(bag.mass)) continue;
      if (!there(ash)) {
        without.push_back(row(bag).line);
        continue;
      }
      const double kept = (1.0 - ash) / (1.0 - initial);
      bag.corrected = bag.mass * kept;
      bag.factor *= kept;
    }
    if (!without.empty()) {
      mistakes_.add(
          {trial_.data.name, without.front(), 1},
          fmt::format("ash_free = true, but bags have a mass and no ash ({}); masses with and without "
                      "ash do not go together",
                      lines_text(without)));
      return;
    }
    out_.warnings.push_back(fmt::format("{}: masses are free of ash; what was put in held {:.3g} % of it",
                                        trial_.data.name, 100.0 * initial));
  }

  using Group = std::tuple<std::size_t, int, int>;  ///< treatment, component, placement
  static Group group(const Bag& bag) { return {bag.treatment, bag.component, bag.placement}; }

  void read_handling(const std::vector<Bag>& bags) {
    for (const Bag& bag : bags) {
      if (bag.pull != 0) continue;
      if (there(bag.corrected)) {
        corrected_at_start_[group(bag)].add(bag.corrected, row(bag).n);
        mass_at_start_[group(bag)].add(bag.mass, row(bag).n);
      }
      for (const ContentRow& c : content_rows) {
        const double content = row(bag).values[c.content];
        if (there(content)) content_at_start_[{c.measure, bag.component}].add(content, row(bag).n);
      }
    }
    for (const auto& [key, mean] : corrected_at_start_) {
      const auto [t, component, placement] = key;
      out_.handling.push_back({t, component, placement, mean.n, 1.0 - mean.mean(), mean.sd()});
    }
    if (!trial_.source.start_from_handling) return;
    std::map<Group, const TrialRow*> missing;
    for (const Bag& bag : bags) {
      if (there(bag.mass) && !corrected_at_start_.count(group(bag))) missing.emplace(group(bag), &row(bag));
    }
    for (const auto& [key, first] : missing) {
      const auto [t, component, placement] = key;
      mistakes_.add(
          at(*first),
          fmt::format("handling = true, but '{}' has no bag of day 0 (days 0, or the date of "
                      "its harvest)",
                      place_text(trial_.scenario.treatments[t].label, first->component, placement)));
    }
  }

  /// 1, or the mean of the bags of day 0.
  double at_start(const std::map<Group, Mean>& means, const Bag& bag) const {
    if (!trial_.source.start_from_handling) return 1.0;
    const auto found = means.find(group(bag));
    return found == means.end() ? 1.0 : found->second.mean();
  }

  double start_content(const Bag& bag, const ContentRow& c) const {
    const auto found = content_at_start_.find({c.measure, bag.component});
    if (trial_.source.start_from_handling && found != content_at_start_.end()) return found->second.mean();
    return laid_in(bag, c.at_start) / laid_in(bag, nullptr);
  }

  void add_masses(const Bag& bag) {
    const TrialRow& r = row(bag);
    if (there(bag.corrected)) {
      const double start = at_start(corrected_at_start_, bag);
      const double sd = there(r.values[trial_mass]) ? r.sd[trial_mass] : r.sd[trial_mass_left];
      add(bag, Measure::mass, bag.corrected / start, sd * bag.factor / start);
    }
    for (const ContentRow& c : content_rows) {
      if (there(r.values[c.left])) {
        add(bag, c.measure, r.values[c.left], r.sd[c.left]);
      } else if (there(r.values[c.content]) && !there(bag.mass)) {
        content_without_mass_.push_back(r.line);
      } else if (there(r.values[c.content])) {
        const double mass = bag.mass / at_start(mass_at_start_, bag);
        add(bag, c.measure, mass * r.values[c.content] / start_content(bag, c), not_weighed);
      }
    }
  }

  void add(const Bag& bag, Measure measure, double value, double sd) {
    TrialNumber number{bag.row, bag.treatment, bag.component, bag.placement,
                       bag.day, bag.pull,      measure,       value,
                       sd,      row(bag).n,    false};
    if (!is_share_left(measure)) number.component = number.placement = -1;
    number.sets_start = is_share_left(measure) && trial_.source.start_from_handling && bag.pull == 0;
    out_.numbers.push_back(number);
  }

  /// Contents of bags of day 0 that the scenario does not have: they are what the shares are of.
  void warn_of_contents(const std::vector<Bag>& bags) {
    if (trial_.source.start_from_handling) return;
    for (const auto& [key, mean] : content_at_start_) {
      const auto& [measure, component] = key;
      const auto bag = std::find_if(bags.begin(), bags.end(), [&, c = component](const Bag& b) {
        return b.pull == 0 && b.component == c;
      });
      for (const ContentRow& c : content_rows) {
        if (c.measure != measure || bag == bags.end()) continue;
        const double wanted = start_content(*bag, c);
        if (std::abs(mean.mean() / wanted - 1.0) <= 0.1) continue;
        out_.warnings.push_back(fmt::format(
            "{}: bags of day 0 hold {:.3g} g/kg of {}, the scenario {:.3g}; set it under [component.NAME], "
            "or "
            "let these bags set the start with handling = true under [data]",
            trial_.data.name, 1000.0 * mean.mean(), trial_fields[c.content].name, 1000.0 * wanted));
      }
    }
  }

  /// What comes to or leaves the bags' place besides decay.
  void warn_of_moves(const std::vector<Bag>& bags) {
    std::map<std::size_t, int> last;
    std::map<std::size_t, bool> on_surface, placed;
    for (const Bag& bag : bags) {
      last[bag.treatment] = std::max(last[bag.treatment], bag.day);
      on_surface[bag.treatment] |= bag.placement == static_cast<int>(Placement::surface);
      placed[bag.treatment] |= bag.placement >= 0;
    }
    for (const auto& [t, day] : last) {
      const TreatmentLayout& layout = layouts_[t];
      const std::string& label = trial_.scenario.treatments[t].label;
      const bool moved = std::any_of(layout.events.begin(), layout.events.end(), [&, d = day](const auto& e) {
        const bool tilled = std::holds_alternative<Tillage<double>>(e.what) && placed[t];
        return e.day <= d && (tilled || std::holds_alternative<Removal<double>>(e.what));
      });
      if (moved) {
        out_.warnings.push_back(
            fmt::format("treatment '{}': the scenario tills or removes residue before the last bag, and with "
                        "it what bags "
                        "hold; leave these events out of the trial's scenario",
                        label));
      }
      const std::vector<Cohort>& cohorts = layout.layout->cohorts;
      const bool falls = std::any_of(cohorts.begin(), cohorts.end(), [](const Cohort& c) {
        return c.harvest == 0 && c.placement == Placement::standing;
      });
      if (falls && on_surface[t]) {
        out_.warnings.push_back(
            fmt::format("treatment '{}': standing residue falls to what lies on the surface, which bags "
                        "there do not get; "
                        "lay it all on the surface in the trial's scenario",
                        label));
      }
    }
  }

  const LoadedTrial& trial_;
  Mistakes& mistakes_;
  RunSpan span_;
  std::vector<TreatmentLayout> layouts_;
  std::map<Group, Mean> corrected_at_start_, mass_at_start_;
  std::map<std::pair<Measure, int>, Mean> content_at_start_;
  std::vector<int> content_without_mass_;
  TrialNumbers out_;
};

}  // namespace

TrialNumbers trial_numbers(const LoadedTrial& trial, Mistakes& mistakes) {
  return Numbers(trial, mistakes).all();
}

std::string_view placement_name(int placement) {
  return placement < 0 ? "" : placement_names[static_cast<std::size_t>(placement)];
}

std::string lines_text(std::vector<int> lines) {
  std::sort(lines.begin(), lines.end());
  lines.erase(std::unique(lines.begin(), lines.end()), lines.end());
  if (lines.size() == 1) return fmt::format("line {}", lines.front());
  constexpr std::size_t most = 12;
  std::string text = "lines";
  const std::size_t shown = lines.size() > most ? most : lines.size() - 1;
  for (std::size_t i = 0; i < shown; ++i) text += fmt::format("{} {}", i > 0 ? "," : "", lines[i]);
  if (lines.size() > most) return text + fmt::format(" and {} more", lines.size() - most);
  return text + fmt::format(" and {}", lines.back());
}

std::string place_text(const std::string& treatment, const std::string& component, int placement) {
  std::string text = treatment;
  if (!component.empty()) text += ", " + component;
  if (placement >= 0) text += fmt::format(", {}", placement_name(placement));
  return text;
}

}  // namespace stoverturn
