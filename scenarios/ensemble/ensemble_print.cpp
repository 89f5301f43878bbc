#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "fitting/quantile.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/wrapped.hpp"

namespace stoverturn {
namespace {

constexpr int label_width = 30, column_width = 17;
constexpr std::size_t columns_a_line = 4;

/// "nitrogen_released_at" -> "nitrogen released, lb N/acre"
std::string label_of(const Variable& v, const Shown& unit) {
  std::string words = v.name;
  if (words.ends_with("_at")) words.resize(words.size() - 3);
  std::replace(words.begin(), words.end(), '_', ' ');
  if (words.starts_with("phosphorus") && unit.substance == "P2O5") words = "P2O5" + words.substr(10);
  if (words.starts_with("potassium") && unit.substance == "K2O") words = "K2O" + words.substr(9);
  return fmt::format("{}, {}", words, unit.unit);
}

class EnsemblePrinter {
 public:
  explicit EnsemblePrinter(const Results& r) : r_(r) {}

  std::string print() {
    text_ += fmt::format("{}\n{}; an ensemble\n", r_.title, r_.program);
    middle_ = middle_quantile(r_);
    const std::size_t last = r_.quantiles.size() - 1;
    const std::string what = r_.quantiles[middle_] == 0.5 ? "median" : share(middle_) + " quantile";
    if (r_.sites.size() == 1) {
      text_ += fmt::format("Each number is the {} of the runs; below it stands the range from {} to {}.\n",
                           what, share(0), share(last));
    } else {
      text_ += fmt::format(
          "Each number is that of the middle one of {} sites, each told by the {} of its runs; below it "
          "stand\nthe lowest and the highest site.\n",
          r_.sites.size(), what);
    }
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) block(t);
    for (const std::string& note : r_.notes) text_ += wrapped("Note: ", note);
    return std::move(text_);
  }

 private:
  struct Three {
    double low, middle, high;
  };

  std::string share(std::size_t q) const { return fmt::format("{:.4g} %", 100.0 * r_.quantiles[q]); }

  /// Of a key number that runs over site, treatment, quantile and perhaps checkpoint.
  Three three(const Variable& v, std::size_t t, std::size_t inner, std::size_t inner_size) const {
    const std::size_t shares = r_.quantiles.size();
    const auto at = [&](std::size_t site, std::size_t q) {
      return v.values[((site * r_.treatments.size() + t) * shares + q) * inner_size + inner];
    };
    if (r_.sites.size() == 1) return {at(0, 0), at(0, middle_), at(0, shares - 1)};
    std::vector<double> of_sites;
    for (std::size_t s = 0; s < r_.sites.size(); ++s) of_sites.push_back(at(s, middle_));
    std::sort(of_sites.begin(), of_sites.end(), comes_before);
    return {of_sites.front(), quantile_of_sorted(of_sites, 0.5), of_sites.back()};
  }

  static std::string number(const Shown& unit, double value, int decimals) {
    return std::isnan(value) ? "not reached" : shown_number(unit(value), decimals);
  }

  void block(std::size_t t) {
    text_ += fmt::format("\n=== {} {}\n", r_.treatments[t],
                         std::string(92 - std::min<std::size_t>(91, r_.treatments[t].size()), '='));
    for (const Variable& v : r_.key_numbers) {
      if (v.dimensions.size() != 3 || v.dimensions[2] != Dimension::quantile || v.name == "balance_error")
        continue;
      const Shown unit = shown(v, r_);
      Three x = three(v, t, 0, 1);
      if (unit.scale < 0.0) std::swap(x.low, x.high);
      const std::string low = number(unit, x.low, 0), high = number(unit, x.high, 0);
      text_ += fmt::format("{:<{}}{}{}\n", label_of(v, unit), label_width, number(unit, x.middle, 0),
                           low == high ? "" : fmt::format(" ({} to {})", low, high));
    }
    rows(t, Dimension::checkpoint, r_.checkpoints);
    rows(t, Dimension::stage, r_.stages);
  }

  void rows(std::size_t t, Dimension along, const std::vector<std::string>& labels) {
    for (std::size_t first = 0; first < labels.size(); first += columns_a_line) {
      const std::size_t last = std::min(first + columns_a_line, labels.size());
      text_ += std::string(label_width, ' ');
      for (std::size_t c = first; c < last; ++c) text_ += fmt::format("{:>{}}", labels[c], column_width);
      text_ += '\n';
      for (const Variable& v : r_.key_numbers) {
        if (v.dimensions.size() == 4 && v.dimensions[2] == Dimension::quantile && v.dimensions[3] == along) {
          row(v, t, first, last, labels.size());
        }
      }
    }
  }

  void row(const Variable& v, std::size_t t, std::size_t first, std::size_t last, std::size_t size) {
    const Shown unit = shown(v, r_);
    const int decimals = v.kind == Kind::time ? 0 : 1;
    std::string middles = fmt::format("{:<{}}", label_of(v, unit), label_width);
    std::string ranges(label_width, ' ');
    for (std::size_t c = first; c < last; ++c) {
      Three x = three(v, t, c, size);
      if (unit.scale < 0.0) std::swap(x.low, x.high);
      middles += fmt::format("{:>{}}", shown_number(unit(x.middle), decimals), column_width);
      const std::string range =
          fmt::format("{} to {}", shown_number(unit(x.low), decimals), shown_number(unit(x.high), decimals));
      ranges += fmt::format("{:>{}}", std::isnan(x.middle) ? "" : range, column_width);
    }
    text_ += middles + '\n' + ranges + '\n';
  }

  const Results& r_;
  std::size_t middle_ = 0;
  std::string text_;
};

}  // namespace

std::string printed_ensemble(const Results& results) { return EnsemblePrinter(results).print(); }

}  // namespace stoverturn
