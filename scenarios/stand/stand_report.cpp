#include "scenarios/stand/stand_report.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fitting/power.hpp"
#include "scenarios/stand/stand_notes.hpp"
#include "scenarios/stand/stand_units.hpp"
#include "scenarios/stand/stand_value.hpp"

namespace stoverturn {
namespace {

StandRate raw_rate(const StandData& data, std::size_t count, int treatment) {
  StandRate rate;
  rate.treatment = data.treatments[static_cast<std::size_t>(treatment)];
  rate.count = count;
  rate.between = {not_counted, not_counted};
  for (const StandUnitCount& u : stand_units(data, count, true)) {
    if (u.treatment != treatment) continue;
    ++rate.strips;
    rate.rows += u.rows;
    rate.counted += u.count;
    rate.length_mm += u.length_mm;
    rate.area_m2 += u.area_m2;
  }
  rate.rate = rate.area_m2 > 0.0 ? rate.counted / rate.area_m2 : not_counted;
  return rate;
}

/// The rate that a treatment would have over all strips, by their areas; and its derivatives by coefficient,
/// of its logarithm.
struct ModelRate {
  double rate = 0.0;
  Eigen::VectorXd of_log;
};
ModelRate model_rate(const StandLayout& layout, const CountModel& model, Eigen::Index column) {
  const auto t = static_cast<Eigen::Index>(layout.treatments.size());
  ModelRate out{0.0, Eigen::VectorXd::Zero(model.coefficients.size())};
  double area = 0.0;
  for (Eigen::Index i = 0; i < layout.counts.size(); ++i) {
    Eigen::VectorXd x = layout.design.row(i);
    x.head(t).setZero();
    x(column) = 1.0;
    const double rate = layout.areas(i) * std::exp(x.dot(model.coefficients));
    out.rate += rate;
    out.of_log += rate * x;
    area += layout.areas(i);
  }
  out.of_log /= out.rate;
  out.rate /= area;
  return out;
}

class CountOfOneKind {
 public:
  CountOfOneKind(const StandData& data, const StandSettings& settings, std::size_t count, StandReport& report)
      : data_(data), settings_(settings), count_(count), report_(report) {
    layout_ = stand_layout(data, count, settings.unit);
    if (layout_.counts.size() > 0) fit();
    describe();
  }

  void rates() {
    for (int t = 0; t < static_cast<int>(data_.treatments.size()); ++t) {
      StandRate rate = raw_rate(data_, count_, t);
      if (rate.area_m2 == 0.0) continue;
      const Eigen::Index column = column_of(t);
      if (column >= 0 && model_.ok) {
        const ModelRate by_model = model_rate(layout_, model_, column);
        const double se = std::sqrt(used_ * by_model.of_log.dot(model_.unscaled * by_model.of_log));
        rate.rate = by_model.rate;
        rate.between = log_t_interval(rate.rate, rate.rate * se, model_.freedom, settings_.level);
      } else if (rate.counted == 0.0) {
        rate.between = {0.0, -std::log((1.0 - settings_.level) / 2.0) / rate.area_m2};
      }
      report_.rates.push_back(rate);
    }
  }

  void difference(int treatment, int against) {
    const Eigen::Index a = column_of(treatment), b = column_of(against);
    StandDifference d;
    d.treatment = name(treatment);
    d.against = name(against);
    d.count = count_;
    d.between = d.ratio_between = {not_counted, not_counted};
    d.length_needed_mm = not_counted;
    const StandRate raw_a = raw_rate(data_, count_, treatment), raw_b = raw_rate(data_, count_, against);
    if (raw_a.area_m2 == 0.0 || raw_b.area_m2 == 0.0) return;
    d.difference = raw_a.rate - raw_b.rate;
    d.ratio = raw_b.rate > 0.0 ? raw_a.rate / raw_b.rate : not_counted;
    if (a >= 0 && b >= 0 && model_.ok) by_model(a, b, d);
    report_.differences.push_back(d);
  }

 private:
  const std::string& name(int treatment) const {
    return data_.treatments[static_cast<std::size_t>(treatment)];
  }
  Eigen::Index column_of(int treatment) const {
    const auto at = std::find(layout_.treatments.begin(), layout_.treatments.end(), treatment);
    return at == layout_.treatments.end() ? -1 : at - layout_.treatments.begin();
  }

  void fit() {
    model_ = fit_counts(layout_.counts, layout_.areas, layout_.design);
    if (!model_.ok && layout_.strip_effect) {
      layout_.strip_effect = false;
      layout_.design = layout_.design.leftCols(static_cast<Eigen::Index>(layout_.treatments.size())).eval();
      model_ = fit_counts(layout_.counts, layout_.areas, layout_.design);
    }
    used_ = std::isfinite(model_.dispersion) ? model_.dispersion : 1.0;
  }

  void describe() {
    StandModel m;
    m.count = count_;
    m.by_plots = layout_.by_plots;
    m.strip_effect = layout_.strip_effect;
    m.units = static_cast<int>(layout_.counts.size());
    m.freedom = model_.freedom;
    m.dispersion = used_;
    if (m.units > 0) {
      m.unit_area_m2 = layout_.areas.mean();
      for (const StandUnitCount& u : layout_.units) m.unit_length_mm += u.length_mm / m.units;
      m.treatments = compare_counts(without_treatments(), model_);
    }
    unit_area_m2_ = m.unit_area_m2;
    unit_length_mm_ = m.unit_length_mm;
    report_.models.push_back(m);
  }

  /// The same counts, strips alone.
  CountModel without_treatments() const {
    const auto t = static_cast<Eigen::Index>(layout_.treatments.size());
    Eigen::MatrixXd design(layout_.design.rows(), 1 + layout_.design.cols() - t);
    design << Eigen::VectorXd::Ones(layout_.design.rows()),
        layout_.design.rightCols(layout_.design.cols() - t);
    return fit_counts(layout_.counts, layout_.areas, design);
  }

  void by_model(Eigen::Index a, Eigen::Index b, StandDifference& d) {
    const ModelRate of_a = model_rate(layout_, model_, a), of_b = model_rate(layout_, model_, b);
    const Eigen::VectorXd slope = of_a.rate * of_a.of_log - of_b.rate * of_b.of_log;
    d.difference = of_a.rate - of_b.rate;
    d.between = t_interval(d.difference, std::sqrt(used_ * slope.dot(model_.unscaled * slope)),
                           model_.freedom, settings_.level);
    Eigen::VectorXd contrast = Eigen::VectorXd::Zero(model_.coefficients.size());
    contrast(a) = 1.0;
    contrast(b) = -1.0;
    const double log_ratio = contrast.dot(model_.coefficients);
    d.ratio = std::exp(log_ratio);
    d.ratio_between =
        log_t_interval(d.ratio, d.ratio * std::sqrt(used_ * contrast.dot(model_.unscaled * contrast)),
                       model_.freedom, settings_.level);
    const double variance = used_ * (1.0 / of_a.rate + 1.0 / of_b.rate) / 2.0 / unit_area_m2_;
    d.units_needed = units_needed(log_ratio, variance, layout_.strip_effect && layout_.by_plots,
                                  settings_.level, settings_.power, StandDifference::most_units);
    if (d.units_needed > 0) d.length_needed_mm = d.units_needed * unit_length_mm_;
  }

  const StandData& data_;
  const StandSettings& settings_;
  std::size_t count_;
  StandReport& report_;
  StandLayout layout_;
  CountModel model_;
  double used_ = 1.0, unit_area_m2_ = 0.0, unit_length_mm_ = 0.0;
};

void add_plots(const StandData& data, std::size_t count, std::vector<StandPlot>& plots) {
  const std::vector<std::string> strips = strip_names(data);
  for (const StandUnitCount& u : stand_units(data, count, true)) {
    plots.push_back({data.treatments[static_cast<std::size_t>(u.treatment)],
                     strips[static_cast<std::size_t>(u.strip)], count, u.rows, u.count, u.length_mm,
                     u.count / u.area_m2});
  }
}

double common_width(const StandData& data) {
  const double width = data.rows.front().width_mm;
  const bool same = std::all_of(data.rows.begin(), data.rows.end(),
                                [&](const StandRow& r) { return std::abs(r.width_mm - width) < 0.5; });
  return same ? width : not_counted;
}

bool counted_at_all(const StandRow& row) {
  return std::any_of(row.counts.begin(), row.counts.end(), [](double count) { return !std::isnan(count); });
}

/// Pairs to compare, by index.
std::vector<std::pair<int, int>> pairs_of(const StandData& data, const std::string& against) {
  const auto n = static_cast<int>(data.treatments.size());
  std::vector<std::pair<int, int>> pairs;
  if (against.empty()) {
    for (int b = 0; b < n; ++b) {
      for (int a = b + 1; a < n; ++a) pairs.emplace_back(a, b);
    }
    return pairs;
  }
  const auto at = std::find(data.treatments.begin(), data.treatments.end(), against);
  if (at == data.treatments.end()) {
    throw InputError({{{"command line", 0, 0},
                       fmt::format("--against: {} has no treatment '{}'{}", data.name, against,
                                   did_you_mean(against, data.treatments))}});
  }
  const auto b = static_cast<int>(at - data.treatments.begin());
  for (int a = 0; a < n; ++a) {
    if (a != b) pairs.emplace_back(a, b);
  }
  return pairs;
}

}  // namespace

StandReport stand_report(const StandData& data, const StandSettings& settings) {
  StandReport report;
  report.name = data.name;
  report.level = settings.level;
  report.power = settings.power;
  report.treatments = data.treatments;
  report.prices = data.prices;
  override_prices(report.prices, settings.prices);
  report.width_mm = common_width(data);
  const auto pairs = pairs_of(data, settings.against);
  if (std::none_of(data.rows.begin(), data.rows.end(), counted_at_all)) {
    throw InputError({{{data.name, 0, 0}, "no row has a count yet; fill in plants or ears"}});
  }
  for (std::size_t count = 0; count < stand_counts.size(); ++count) {
    if (!data.has(count)) continue;
    add_plots(data, count, report.plots);
    CountOfOneKind kind(data, settings, count, report);
    kind.rates();
    for (const auto& [a, b] : pairs) kind.difference(a, b);
  }
  add_stand_value(data, report);
  add_stand_notes(data, settings, report);
  return report;
}

}  // namespace stoverturn
