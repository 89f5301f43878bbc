#include "scenarios/trial/fit_print.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/wrapped.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_text.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t page = 100;
constexpr std::size_t most_suspicious = 12;

std::size_t characters(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

/// At most `width` characters, whole UTF-8 ones.
std::string cut(std::string text, std::size_t width) {
  if (characters(text) <= width) return text;
  while (characters(text) > width - 3) {
    while ((static_cast<unsigned char>(text.back()) & 0xC0) == 0x80) text.pop_back();
    text.pop_back();
  }
  return text + "...";
}

/// Rows of text under heads, columns as wide as they need. The first gives way where the page is too narrow.
class Grid {
 public:
  explicit Grid(FitTable table) : columns_(std::move(table.columns)), rows_(std::move(table.rows)) {}
  void row(std::vector<std::string> cells) { rows_.push_back(std::move(cells)); }
  bool empty() const { return rows_.empty(); }

  std::string print() const {
    std::vector<std::size_t> widths;
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      widths.push_back(characters(columns_[c].head));
      for (const auto& cells : rows_) widths[c] = std::max(widths[c], characters(cells[c]));
    }
    std::size_t whole = 2 * (columns_.size() - 1);
    for (const std::size_t w : widths) whole += w;
    // the widest columns of words give way
    while (whole > page) {
      std::size_t widest = 0, w = 0;
      for (std::size_t c = 0; c < columns_.size(); ++c) {
        if (!columns_[c].number && widths[c] > w) w = widths[widest = c];
      }
      if (w <= 8) break;
      --widths[widest];
      --whole;
    }
    std::vector<std::string> heads;
    for (const FitColumn& c : columns_) heads.push_back(c.head);
    std::string text = line(heads, widths) + std::string(std::min(whole, page), '-') + "\n";
    for (const auto& cells : rows_) text += line(cells, widths);
    return text;
  }

 private:
  std::string line(const std::vector<std::string>& cells, const std::vector<std::size_t>& widths) const {
    std::string text;
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      const std::string cell = cut(cells[c], widths[c]);
      const std::string pad(widths[c] - std::min(widths[c], characters(cell)), ' ');
      text += (c ? "  " : "") + (columns_[c].number ? pad + cell : cell + pad);
    }
    text.erase(text.find_last_not_of(' ') + 1);
    return text + "\n";
  }

  std::vector<FitColumn> columns_;
  std::vector<std::vector<std::string>> rows_;
};

/// A table and what stands below it.
std::string printed(const FitTable& table, const std::vector<std::string>& remarks = {},
                    const char* lead = "  ") {
  const Grid grid(table);
  if (grid.empty()) return "";
  std::string text = grid.print();
  for (const std::string& remark : remarks) text += wrapped("  ", remark);
  for (const std::string& note : table.notes) text += wrapped(lead, note);
  return text;
}

std::string listed(const std::vector<std::string>& sentences) {
  std::string text;
  for (const std::string& sentence : sentences) text += wrapped("  ", sentence);
  return text;
}

/// Quantity by quantity, so that treatments can be compared.
std::string derived(const FitResult& fit) {
  Grid grid({{{"quantity"}, {"value", true}, {level_words(fit) + " interval", true}}, {}, {}});
  std::vector<std::string> names;
  for (const DerivedQuantity& d : fit.derived) {
    if (std::find(names.begin(), names.end(), d.name) == names.end()) names.push_back(d.name);
  }
  const auto beyond = [](const DerivedQuantity& d) {
    return std::isinf(d.estimate) && !std::isfinite(d.between.lower);
  };
  bool unreached = false;
  for (const std::string& name : names) {
    std::vector<const DerivedQuantity*> of;
    for (const DerivedQuantity& d : fit.derived) {
      if (d.name == name) of.push_back(&d);
    }
    const bool none = std::all_of(of.begin(), of.end(), [&](const auto* d) { return beyond(*d); });
    grid.row({with_unit(name, of.front()->unit), none ? fit_number(of.front()->estimate) : "", ""});
    unreached = unreached || none;
    for (const DerivedQuantity* d : of) {
      if (none) break;
      unreached = unreached || std::isinf(d->estimate) || std::isinf(d->between.upper);
      grid.row({"  " + d->treatment, fit_number(d->estimate, 3), between_words(d->between)});
    }
  }
  if (grid.empty()) return "";
  std::string notes;
  if (std::find(names.begin(), names.end(), decay_rate) != names.end())
    notes += wrapped("  ", "decay rate: -ln(what is left at the last bag) / time until then");
  if (unreached)
    notes +=
        wrapped("  ",
                "> run, from: not reached in the days that the scenario runs over; a longer `duration` in "
                "it tells more");
  return grid.print() + notes;
}

std::string suspicious(const FitResult& fit) {
  std::string text;
  std::size_t count = 0;
  for (const FitResidual& r : fit.residuals) {
    if (!r.suspicious || ++count > most_suspicious) continue;
    text += wrapped("  ", odd_residual_words(r));
  }
  if (count > most_suspicious) text += fmt::format("  ... and {} more\n", count - most_suspicious);
  return text;
}

}  // namespace

std::string printed_fit(const FitResult& fit, bool details) {
  std::string text = wrapped("", fit.title);
  text += fmt::format("{}; {} measured numbers, {} estimated\n", fit.program, fit.observations,
                      fit.unknowns.size());
  if (!fit.converged) text += fmt::format("{}\n", not_converged_words);
  const auto section = [&](const char* head, const std::string& content) {
    if (!content.empty()) text += fmt::format("\n{}\n{}", head, content);
  };
  section("Warnings", listed(fit.warnings));
  section("Estimates", printed(estimates_table(fit, details), {}, ""));
  if (details) section("Diagnostics", printed(checks_table(fit)));
  section("What the data can tell", listed(what_data_tell(fit)));
  section("Fit by treatment", printed(quality_table(fit)));
  section("Look at these bags: beyond 3.5 standard deviations", suspicious(fit));
  section("Models compared, by mass left", printed(models_table(fit), model_remarks(fit)));
  section("Derived", derived(fit));
  section("Search", listed(search_words(fit, details)));
  const std::string no_draws = no_draws_words(fit);
  section("No draws", no_draws.empty() ? "" : wrapped("  ", no_draws));
  section("Methods", fit.methods.empty() ? "" : wrapped("", fmt::format("{}", fmt::join(fit.methods, " "))));
  return text;
}

}  // namespace stoverturn
