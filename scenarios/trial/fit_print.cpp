#include "scenarios/trial/fit_print.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/text/wrapped.hpp"
#include "scenarios/trial/derived_quantities.hpp"
#include "scenarios/trial/fit_words.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t page = 100;
constexpr std::size_t most_suspicious = 12;

constexpr const char* later = "> run";  // a time that the run does not reach

/// So many digits, zeros at the end among them.
std::string number(double x, int digits = 4) {
  if (std::isinf(x)) return later;
  if (!std::isfinite(x)) return "-";
  // whole digits enough: libraries differ in what they then write behind the point
  if (std::abs(x) >= std::pow(10.0, digits - 1)) return fmt::format("{:.{}g}", x, digits);
  return fmt::format("{:#.{}g}", x + 0.0, digits);
}

/// A number that someone has stated.
std::string stated(double x) { return fmt::format("{:.3g}", x + 0.0); }

/// Numbers without a unit have none in print.
std::string unit_of(const std::string& unit) { return unit == "1" ? "" : unit; }

std::string fixed(double x, int decimals) {
  return std::isfinite(x) ? fmt::format("{:.{}f}", x + 0.0, decimals) : "-";
}

/// An end that is missing or endless is left open.
std::string between(const Between& b) {
  if (std::isinf(b.lower)) return later;
  if (!std::isfinite(b.lower)) return std::isfinite(b.upper) ? "up to " + number(b.upper, 3) : "-";
  if (!std::isfinite(b.upper)) return "from " + number(b.lower, 3);
  return fmt::format("{} to {}", number(b.lower, 3), number(b.upper, 3));
}

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

struct Column {
  std::string head;
  bool number = false;  ///< stands to the right
};

/// Rows of text under heads, columns as wide as they need. The first gives way where the page is too narrow.
class Grid {
 public:
  explicit Grid(std::vector<Column> columns) : columns_(std::move(columns)) {}
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
    for (const Column& c : columns_) heads.push_back(c.head);
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

  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
};

std::string prior_of(const Unknown& u, double level) {
  if (u.prior.shape == Prior::Shape::flat) {
    return fmt::format("{} to {}, flat", stated(u.lower), stated(u.upper));
  }
  // the central interval of a normal distribution, for the common levels; else one standard deviation
  const bool central = std::abs(level - 0.9) < 1e-9;
  const auto [low, high] =
      central ? central_range(u.prior) : std::pair(u.prior.mean - u.prior.sd, u.prior.mean + u.prior.sd);
  return fmt::format("{} to {}, normal{}", stated(from_fit_scale(u.scale, low)),
                     stated(from_fit_scale(u.scale, high)), central ? "" : ", +-1 sd");
}

std::string parameters(const FitResult& fit, bool details) {
  Grid grid({{"parameter"},
             {"unit"},
             {"estimate", true},
             {fmt::format("{:.4g} % interval", 100.0 * fit.level), true},
             {"by"},
             {"prior"}});
  for (const FittedUnknown& u : fit.unknowns) {
    const IntervalMethod* best = best_interval(u);
    const std::string bound = u.on_bound.empty() ? "" : "*";
    grid.row({u.unknown.name, unit_of(u.unknown.unit), number(u.estimate) + bound,
              best ? between(u.*best->between) : "-", std::string(best ? best->name : ""),
              prior_of(u.unknown, fit.level)});
    for (const IntervalMethod& m : interval_methods) {
      if (details && best != &m && is_there(u.*m.between)) {
        grid.row({"", "", "", between(u.*m.between), std::string(m.name), ""});
      }
    }
  }
  std::string text = grid.print();
  const bool on_bound = std::any_of(fit.unknowns.begin(), fit.unknowns.end(),
                                    [](const FittedUnknown& u) { return !u.on_bound.empty(); });
  if (on_bound) text += "* ended on a bound\n";
  return text;
}

std::string diagnostics(const FitResult& fit) {
  Grid grid({{"parameter"}, {"se on scale", true}, {"scale"}, {"R-hat", true}, {"effective draws", true}});
  for (const FittedUnknown& u : fit.unknowns) {
    grid.row({u.unknown.name, number(u.se_on_scale, 3), std::string(word_of(u.unknown.scale)),
              fixed(u.rhat, 3), fixed(u.ess, 0)});
  }
  return grid.print();
}

std::string quality(const FitResult& fit) {
  Grid grid({{"treatment"},
             {"measured"},
             {"unit"},
             {"n", true},
             {"RMSE", true},
             {"bias", true},
             {"efficiency", true}});
  for (const FitQuality& q : fit.quality) {
    grid.row({q.treatment, q.measure, unit_of(q.unit), fmt::format("{}", q.n), number(q.rmse, 3),
              number(q.bias, 2), fixed(q.efficiency, 2)});
  }
  if (grid.empty()) return "";
  const bool shares =
      std::any_of(fit.quality.begin(), fit.quality.end(), [](const FitQuality& q) { return q.unit == "1"; });
  return grid.print() + (shares ? "  without a unit: shares of what was there at the start\n" : "");
}

/// Each remark once, with the models that it is on.
std::string remarks_on(const std::vector<ComparedModel>& models) {
  std::vector<std::pair<std::string, std::vector<std::string>>> remarks;
  for (const ComparedModel& m : models) {
    if (m.remark.empty()) continue;
    auto same =
        std::find_if(remarks.begin(), remarks.end(), [&](const auto& r) { return r.first == m.remark; });
    if (same == remarks.end()) same = remarks.insert(remarks.end(), {m.remark, {}});
    same->second.push_back(m.name);
  }
  std::string text;
  for (const auto& [remark, names] : remarks) {
    text += wrapped("  ", fmt::format("{}: {}", fmt::join(names, "; "), remark));
  }
  return text;
}

std::string models(const FitResult& fit) {
  const auto any = [&](double ComparedModel::*left_out) {
    return std::any_of(fit.models.begin(), fit.models.end(),
                       [&](const ComparedModel& m) { return std::isfinite(m.*left_out); });
  };
  std::vector<std::pair<const char*, double ComparedModel::*>> left_out;
  if (any(&ComparedModel::left_out_treatment))
    left_out.emplace_back("new treatment", &ComparedModel::left_out_treatment);
  if (any(&ComparedModel::left_out_site)) left_out.emplace_back("new site", &ComparedModel::left_out_site);
  std::vector<Column> columns = {{"model"},      {"numbers", true}, {"RMSE", true},
                                 {"AICc", true}, {"BIC", true},     {"weight", true}};
  for (const auto& [head, member] : left_out) columns.push_back({head, true});
  Grid grid(columns);
  bool missing = false;
  for (const ComparedModel& m : fit.models) {
    std::vector<std::string> cells = {m.name,
                                      fmt::format("{}", m.parameters),
                                      number(m.rmse, 3),
                                      fixed(m.aicc, 1),
                                      fixed(m.bic, 1),
                                      fixed(m.weight, 2)};
    for (const auto& [head, member] : left_out) {
      cells.push_back(number(m.*member, 3));
      missing = missing || !std::isfinite(m.*member);
    }
    grid.row(cells);
  }
  if (grid.empty()) return "";
  std::string notes = "numbers: estimated, the size of the error among them";
  for (const auto& [head, member] : left_out) notes += fmt::format("; {}: RMSE where it was left out", head);
  if (missing) notes += "; -: has numbers of its own for each, and cannot predict another";
  return grid.print() + remarks_on(fit.models) + wrapped("  ", notes);
}

/// Quantity by quantity, so that treatments can be compared.
std::string derived(const FitResult& fit) {
  Grid grid({{"quantity"}, {"value", true}, {fmt::format("{:.4g} % interval", 100.0 * fit.level), true}});
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
    const std::string unit = unit_of(of.front()->unit);
    const bool none = std::all_of(of.begin(), of.end(), [&](const auto* d) { return beyond(*d); });
    grid.row({fmt::format("{}{}{}", name, unit.empty() ? "" : ", ", unit), none ? later : "", ""});
    unreached = unreached || none;
    for (const DerivedQuantity* d : of) {
      if (none) break;
      unreached = unreached || std::isinf(d->estimate) || std::isinf(d->between.upper);
      grid.row({"  " + d->treatment, number(d->estimate, 3), between(d->between)});
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

/// What is said of each, once for all of whom it is said.
std::string identifiability(const FitResult& fit) {
  std::vector<std::pair<std::string, std::vector<std::string>>> said;
  for (const FittedUnknown& u : fit.unknowns) {
    if (u.identifiable.empty()) continue;
    auto same =
        std::find_if(said.begin(), said.end(), [&](const auto& s) { return s.first == u.identifiable; });
    if (same == said.end()) same = said.insert(said.end(), {u.identifiable, {}});
    same->second.push_back(u.unknown.name);
  }
  std::string text;
  for (const auto& [words, names] : said)
    text += wrapped("  ", fmt::format("{}: {}", fmt::join(names, ", "), words));
  return text;
}

std::string search(const FitResult& fit, bool details) {
  std::string text;
  for (const FitStage& s : fit.stages) {
    std::string words = fmt::format("{}: {}", s.name, s.stop);
    if (details) {
      words += fmt::format(" ({} runs of the model", s.evaluations);
      if (s.seconds > 0.0) words += fmt::format(", {:.1f} s", s.seconds);
      words += std::isfinite(s.best_cost) ? fmt::format(", cost {:.6g})", s.best_cost) : ")";
    }
    text += wrapped("  ", words);
  }
  return text;
}

std::string suspicious(const FitResult& fit) {
  std::string text;
  std::size_t count = 0;
  for (const FitResidual& r : fit.residuals) {
    if (!r.suspicious || ++count > most_suspicious) continue;
    text += wrapped(
        "  ", fmt::format("{}:{}: {}, {} on day {:.4g} is {}{}, the fit says {} ({} sd)", r.data, r.line,
                          r.treatment, r.measure, r.day, number(r.observed),
                          r.unit == "1" ? "" : " " + r.unit, number(r.predicted), fixed(r.standardised, 1)));
  }
  if (count > most_suspicious) text += fmt::format("  ... and {} more\n", count - most_suspicious);
  return text;
}

}  // namespace

std::string printed_fit(const FitResult& fit, bool details) {
  std::string text = wrapped("", fit.title);
  text += fmt::format("{}; {} measured numbers, {} estimated\n", fit.program, fit.observations,
                      fit.unknowns.size());
  if (!fit.converged) text += "NOT CONVERGED: do not use these estimates.\n";
  const auto section = [&](const char* head, const std::string& content) {
    if (!content.empty()) text += fmt::format("\n{}\n{}", head, content);
  };
  std::string warnings;
  for (const std::string& w : fit.warnings) warnings += wrapped("  ", w);
  section("Warnings", warnings);
  section("Estimates", parameters(fit, details));
  if (details) section("Diagnostics", diagnostics(fit));
  section("What the data can tell", identifiability(fit));
  section("Fit by treatment", quality(fit));
  section("Look at these bags: beyond 3.5 standard deviations", suspicious(fit));
  section("Models compared, by mass left", models(fit));
  section("Derived", derived(fit));
  section("Search", search(fit, details));
  const bool told = std::any_of(fit.warnings.begin(), fit.warnings.end(), [&](const std::string& w) {
    return w.find(fit.draws_refused) != std::string::npos;
  });
  if (!fit.draws_refused.empty() && !told) section("No draws", wrapped("  ", fit.draws_refused));
  section("Methods", fit.methods.empty() ? "" : wrapped("", fmt::format("{}", fmt::join(fit.methods, " "))));
  return text;
}

}  // namespace stoverturn
