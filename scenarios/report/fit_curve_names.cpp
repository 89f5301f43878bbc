#include "scenarios/report/fit_curve_names.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>

#include <fmt/format.h>
#include <boost/math/distributions/chi_squared.hpp>

#include "scenarios/text/index_of.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_text.hpp"

namespace stoverturn {
namespace {

/// "a, b" of what is not empty.
std::string joined(const std::string& a, const std::string& b) {
  return a.empty() ? b : b.empty() ? a : fmt::format("{}, {}", a, b);
}

/// Names by which a bag's curve may be called, the most particular first.
std::vector<std::string> labels_of(const FitResidual& r) {
  return {joined(joined(r.treatment, r.placement), r.component), joined(r.treatment, r.placement),
          joined(r.treatment, r.component), r.treatment};
}

}  // namespace

CurvePlace place_of(const FitResult& fit, const FitCurve& curve) {
  std::string treatment, rest;
  for (const std::string& label : fit.treatments) {
    const bool same = curve.treatment == label, begins = curve.treatment.starts_with(label + ", ");
    if ((!same && !begins) || label.size() < treatment.size()) continue;
    treatment = label;
    rest = same ? "" : curve.treatment.substr(label.size() + 2);
  }
  if (treatment.empty()) treatment = curve.treatment;
  const std::string told = joined(curve.placement, curve.component);
  return {treatment, told.empty() ? rest : told};
}

const FitCurve* curve_of(const FitResult& fit, const FitResidual& r) {
  for (const std::string& label : labels_of(r)) {
    for (const FitCurve& c : fit.curves) {
      if (c.measure == r.measure && c.treatment == label &&
          (c.placement.empty() || c.placement == r.placement) &&
          (c.component.empty() || c.component == r.component))
        return &c;
    }
  }
  return nullptr;
}

std::vector<FitMeasure> measures_of(const FitResult& fit) {
  std::vector<FitMeasure> all;
  const auto add = [&](const auto& row) {
    const bool there =
        std::any_of(all.begin(), all.end(), [&](const FitMeasure& m) { return m.name == row.measure; });
    if (!there) all.push_back({row.measure, row.unit});
  };
  for (const FitResidual& r : fit.residuals) add(r);
  for (const FitCurve& c : fit.curves) add(c);
  return all;
}

Shown shown_measure(const FitMeasure& measure, std::string_view units) {
  Variable v;
  Results as;
  as.units = units;
  if (measure.unit == "1") return shown(v, as);
  if (measure.unit != "g/m2") return {measure.unit, "", 1.0, 0.0};
  v.kind = Kind::mass_per_area;
  v.substance = "N";
  return shown(v, as);
}

std::string derived_group(const DerivedQuantity& d) {
  return d.name.starts_with(rate_ratio_to) ? rate_ratio : d.name;
}

std::vector<std::string> derived_groups(const FitResult& fit) {
  std::vector<std::string> groups;
  for (const DerivedQuantity& d : fit.derived) {
    const std::string group = derived_group(d);
    if (index_of(groups, group) == groups.size()) groups.push_back(group);
  }
  return groups;
}

std::string derived_label(const DerivedQuantity& d) {
  if (!d.name.starts_with(rate_ratio_to)) return d.treatment;
  return fmt::format("{} against {}", in_sentence(d.treatment),
                     in_sentence(d.name.substr(std::string_view(rate_ratio_to).size())));
}

std::string in_sentence(const std::string& label) {
  return label.find(',') == std::string::npos ? label : fmt::format("\"{}\"", label);
}

bool never_reached(const DerivedQuantity& d) {
  return std::isinf(d.estimate) && !std::isfinite(d.between.lower);
}

std::string quantity_words(const DerivedQuantity& d) {
  const std::string unit = d.unit == "d"     ? " days"
                           : d.unit == "1/d" ? " per day"
                                             : " " + unit_words_of(d.unit);
  std::string words = fit_number(d.estimate, 3) + (unit == " " ? "" : unit);
  if (std::isfinite(d.between.lower) || std::isfinite(d.between.upper))
    words += fmt::format(" ({})", between_words(d.between));
  return words;
}

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string plain_name(std::string_view text, char gap) {
  std::string name;
  for (const char c : text) {
    if (std::isalnum(static_cast<unsigned char>(c)) && static_cast<unsigned char>(c) < 128) {
      name += static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
    } else if (!name.empty() && name.back() != gap) {
      name += gap;
    }
  }
  while (!name.empty() && name.back() == gap) name.pop_back();
  return name;
}

double cost_at_interval(double level) {
  return 0.5 * boost::math::quantile(boost::math::chi_squared(1.0), level);
}

}  // namespace stoverturn
