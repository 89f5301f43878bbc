#include "scenarios/report/fit_says.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/report/fit_curve_names.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_text.hpp"
#include "scenarios/trial/fit_words.hpp"
#include "scenarios/trial/model_comparison.hpp"

namespace stoverturn {
namespace {

using Chosen = std::vector<const DerivedQuantity*>;

/// Those of a name that have a number, ascending.
Chosen derived_of(const FitResult& fit, std::string_view group) {
  Chosen chosen;
  for (const DerivedQuantity& d : fit.derived) {
    if (derived_group(d) == group && std::isfinite(d.estimate)) chosen.push_back(&d);
  }
  std::stable_sort(chosen.begin(), chosen.end(), [](auto* a, auto* b) { return a->estimate < b->estimate; });
  return chosen;
}

bool has_interval(const Between& b) { return std::isfinite(b.lower) && std::isfinite(b.upper); }

std::string half_lives(const FitResult& fit) {
  const Chosen half = derived_of(fit, half_life);
  if (half.empty()) return "";
  double last_bag = 0.0;
  for (const FitResidual& r : fit.residuals) last_bag = std::max(last_bag, r.day);
  const auto words = [&](const DerivedQuantity& d) {
    const bool forecast = last_bag > 0.0 && d.estimate > last_bag;
    return fmt::format("{} in {}{}", quantity_words(d), in_sentence(d.treatment),
                       forecast ? fmt::format(" (a forecast: the last bag is of day {:.4g})", last_bag) : "");
  };
  if (half.size() == 1) return fmt::format("Half was gone after {}.", words(*half.front()));
  const auto unreached = std::count_if(fit.derived.begin(), fit.derived.end(), [](const auto& d) {
    return d.name == half_life && std::isinf(d.estimate);
  });
  std::string text =
      fmt::format("Half was gone after {}, and after {}", words(*half.front()), words(*half.back()));
  if (unreached > 0) return text + fmt::format("; {} did not come so far within the run.", unreached);
  return text + (half.size() > 2 ? fmt::format(": the fastest and the slowest of {}.", half.size()) : ".");
}

/// How fast, in the first quantity that every fit of this kind has; else the first estimate.
std::string how_fast(const FitResult& fit) {
  if (std::string text = half_lives(fit); !text.empty()) return text;
  for (const char* group : {decay_rate, "left after 1 year"}) {
    const Chosen all = derived_of(fit, group);
    if (all.empty()) continue;
    std::string text = fmt::format("The {} was {} in {}", group, quantity_words(*all.front()),
                                   in_sentence(all.front()->treatment));
    if (all.size() > 1)
      text += fmt::format(" and {} in {}", quantity_words(*all.back()), in_sentence(all.back()->treatment));
    const bool unreached = std::any_of(fit.derived.begin(), fit.derived.end(), [](const auto& d) {
      return d.name == half_life && std::isinf(d.estimate);
    });
    return text + (unreached ? "; half was not yet gone within the run." : ".");
  }
  if (fit.unknowns.empty()) return "";
  const FittedUnknown& u = fit.unknowns.front();
  const IntervalMethod* best = best_interval(u);
  return fmt::format("{} is {}{}{}.", u.unknown.name, fit_number(u.estimate, 3),
                     unit_words_of(u.unknown.unit).empty() ? "" : " " + u.unknown.unit,
                     best ? fmt::format(" ({})", between_words(u.*best->between)) : "");
}

/// The largest ratio of two treatments, up or down, and whether its interval leaves out 1.
std::string what_differs(const FitResult& fit) {
  const Chosen ratios = derived_of(fit, rate_ratio);
  if (ratios.empty()) return fit.treatments.size() > 1 ? "No two treatments were compared." : "";
  const auto size = [](const DerivedQuantity* d) {
    return d->estimate > 0.0 ? std::abs(std::log(d->estimate)) : 0.0;
  };
  const DerivedQuantity& most = **std::max_element(
      ratios.begin(), ratios.end(), [&](const auto* a, const auto* b) { return size(a) < size(b); });
  std::string text =
      fmt::format("{} decayed {} times as fast as {}", in_sentence(most.treatment), quantity_words(most),
                  in_sentence(most.name.substr(std::string_view(rate_ratio_to).size())));
  text += ratios.size() > 1 ? ", the largest difference. " : ". ";
  const auto told = std::count_if(ratios.begin(), ratios.end(), [](const DerivedQuantity* d) {
    return has_interval(d->between) && (d->between.lower > 1.0 || d->between.upper < 1.0);
  });
  const auto with = std::count_if(ratios.begin(), ratios.end(),
                                  [](const DerivedQuantity* d) { return has_interval(d->between); });
  if (with == 0) return text + "Without intervals it cannot be said whether that is more than chance.";
  if (ratios.size() == 1)
    return text + (told == 1 ? "The interval leaves out 1: the difference is told by these bags."
                             : "The interval holds 1: these bags do not show a difference.");
  const std::string how_many = told == 0      ? fmt::format("None of the {} differences", with)
                               : told == with ? fmt::format("All {} differences", with)
                                              : fmt::format("{} of the {} differences", told, with);
  return text + how_many + (told == 1 ? " is" : " are") + " more than chance.";
}

std::string how_sure(const FitResult& fit) {
  const bool intervals = std::any_of(fit.unknowns.begin(), fit.unknowns.end(),
                                     [](const FittedUnknown& u) { return best_interval(u) != nullptr; });
  if (!intervals && std::none_of(fit.derived.begin(), fit.derived.end(),
                                 [](const DerivedQuantity& d) { return has_interval(d.between); }))
    return "How sure these numbers are is not known: no intervals were computed.";
  std::string text = fmt::format(
      "Ranges in brackets hold the truth in {} of 100 such trials, if the model and its weather are right",
      fmt::format("{:.4g}", 100.0 * fit.level));
  std::vector<std::string> bound;
  for (const FittedUnknown& u : fit.unknowns) {
    if (!u.on_bound.empty()) bound.push_back(u.unknown.name);
  }
  if (!bound.empty())
    text += fmt::format("; {} ended on a bound, and the ranges of the others hold only if that is the truth",
                        fmt::join(bound, ", "));
  return text + ".";
}

}  // namespace

std::vector<std::string> fit_says(const FitResult& fit) {
  if (!fit.converged) {
    std::vector<std::string> says = {not_converged_words};
    says.emplace_back(
        "The search ended before it was sure of the best place, so no number of this page should be quoted.");
    if (!fit.stages.empty()) says.push_back(fmt::format("It ended so: {}.", search_words(fit, false).back()));
    return says;
  }
  std::vector<std::string> says = {how_fast(fit), what_differs(fit), how_sure(fit)};
  std::erase(says, "");
  return says;
}

std::vector<std::string> about_fit(const FitResult& fit) {
  std::vector<std::string> measured;
  for (const FitMeasure& m : measures_of(fit)) measured.push_back(m.name);
  std::vector<std::string> about;
  about.push_back(fmt::format("A model of decay was fitted to {} measured number{}{} of {} treatment{}.",
                              fit.observations, fit.observations == 1 ? "" : "s",
                              measured.empty() ? "" : fmt::format(" ({})", fmt::join(measured, ", ")),
                              fit.treatments.size(), fit.treatments.size() == 1 ? "" : "s"));
  std::vector<std::string> names;
  for (const FittedUnknown& u : fit.unknowns) names.push_back(u.unknown.name);
  if (!names.empty())
    about.push_back(
        fmt::format("Estimated: {}. Intervals hold {}.", fmt::join(names, ", "), level_words(fit)));
  if (!fit.curves.empty())
    about.push_back(fmt::format("Day 0 of charts and tables is {}.", format_date(fit.start)));
  return about;
}

std::vector<std::string> says_of_models(const FitResult& fit) {
  const ComparedModel* ours = nullptr;
  const ComparedModel* simple = nullptr;    // the best of the others
  const ComparedModel* predicts = nullptr;  // of the others that predict a treatment left out
  for (const ComparedModel& m : fit.models) {
    if (m.name == this_model_name) {
      ours = &m;
      continue;
    }
    if (std::isfinite(m.aicc) && (!simple || m.aicc < simple->aicc)) simple = &m;
    if (std::isfinite(m.left_out_treatment) &&
        (!predicts || m.left_out_treatment < predicts->left_out_treatment))
      predicts = &m;
  }
  std::vector<std::string> words;
  if (!ours || !simple || !std::isfinite(ours->aicc)) return words;
  const double better = simple->aicc - ours->aicc;
  const std::string_view verdict = better > 10.0   ? "The model describes the masses much better"
                                   : better > 2.0  ? "The model describes the masses better"
                                   : better > -2.0 ? "The model describes the masses about as well"
                                                   : "A simple curve describes the masses better";
  words.push_back(fmt::format(
      "{}: its AICc is {} {} than that of the best simple curve, {}. Below 2 means "
      "little, above 10 much.",
      verdict, fixed_number(std::abs(better), 1), better >= 0.0 ? "lower" : "higher", simple->name));
  if (predicts && std::isfinite(ours->left_out_treatment)) {
    words.push_back(fmt::format(
        "Of a treatment that was left out it predicts masses with an error of {}, the best simple curve, {}, "
        "with {} (RMSE, shares of the start).",
        fit_number(ours->left_out_treatment, 3), predicts->name,
        fit_number(predicts->left_out_treatment, 3)));
  }
  return words;
}

std::vector<std::string> fit_cautions(const FitResult& fit) {
  std::vector<std::string> cautions = {
      "An interval holds what follows if the model, the weather used and the errors are as assumed. It does "
      "not "
      "hold what the model leaves out.",
      "These are rates of these materials in these plots and years. Another field or year differs by more "
      "than "
      "the intervals here; draw new places when you run forward.",
      "Curves beyond the last bag are a forecast by the model, not a measurement.",
      "Bags keep larger soil animals out and hold pieces still; open residue may go at another pace."};
  if (fit.draws.cols() == 0 && !fit.curves.empty())
    cautions.emplace_back(
        "This fit has no draws, so its curves have no bands. That they look sharp means nothing.");
  cautions.emplace_back(
      "Nothing here is advice on fertiliser, manure or machinery: local rules and a licensed adviser go "
      "before "
      "it.");
  return cautions;
}

}  // namespace stoverturn
