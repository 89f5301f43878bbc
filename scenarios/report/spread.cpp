#include "scenarios/report/spread.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "fitting/quantile.hpp"
#include "scenarios/ensemble/ensemble_results.hpp"

namespace stoverturn {
namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

/// Place of the kept quantile, from `first` to before `end`, that is nearest to a share.
std::size_t nearest(const std::vector<double>& quantiles, std::size_t first, std::size_t end, double share) {
  std::size_t best = first;
  for (std::size_t q = first; q < end; ++q) {
    if (std::abs(quantiles[q] - share) < std::abs(quantiles[best] - share)) best = q;
  }
  return best;
}

const Variable* named(const Results& r, std::string_view name) {
  for (const std::vector<Variable>* list : {&r.key_numbers, &r.series}) {
    for (const Variable& v : *list) {
      if (v.name == name) return &v;
    }
  }
  return nullptr;
}

bool warns(const std::string& note) {
  constexpr std::string_view begins[] = {"Nitrogen:", "Nitrogen tied up", "Nitrate:", "Ammonia", "Machinery"};
  return std::any_of(std::begin(begins), std::end(begins),
                     [&](std::string_view begin) { return note.starts_with(begin); });
}

std::vector<std::string> notes_that(const std::vector<std::string>& notes, bool warn) {
  std::vector<std::string> chosen;
  for (const std::string& note : notes) {
    if (warns(note) == warn) chosen.push_back(note);
  }
  return chosen;
}

}  // namespace

RunSpread::RunSpread(const Results& results) : r_(results) {
  if (r_.quantiles.empty()) return;
  middle_ = middle_quantile(r_);
  last_ = r_.quantiles.size() - 1;
  inner_low_ = inner_high_ = middle_;
  if (middle_ > 1 && middle_ + 1 < last_) {
    inner_low_ = nearest(r_.quantiles, 1, middle_, 0.25);
    inner_high_ = nearest(r_.quantiles, middle_ + 1, last_, 0.75);
  }
  told_inner_ = has_inner() && (r_.quantiles.front() <= 0.0 || r_.quantiles.back() >= 1.0);
}

const Variable* RunSpread::find(std::string_view name) const {
  const Variable* v = named(r_, name);
  const bool spreads = v && v->dimensions.size() > 2 && v->dimensions[2] == Dimension::quantile;
  return spreads && !r_.quantiles.empty() ? v : nullptr;
}

const Variable* RunSpread::any(std::string_view name) const { return named(r_, name); }

std::size_t RunSpread::inner_size(const Variable& v) const {
  return v.dimensions.size() > 3 ? r_.extent(v.dimensions.back()) : 1;
}

template <class AtQuantile>
RunInterval RunSpread::told_by(AtQuantile at) const {
  RunInterval found{none, none, at(middle_), none, none};
  if (last_ > 0) found = {at(0), none, at(middle_), none, at(last_)};
  if (has_inner()) {
    found.low = at(inner_low_);
    found.high = at(inner_high_);
  }
  return found;
}

RunInterval RunSpread::of(const Variable& v, std::size_t site, std::size_t treatment,
                          std::size_t inner) const {
  const std::size_t size = inner_size(v);
  if (inner >= size) return {none, none, none, none, none};
  const auto at = [&](std::size_t q) {
    return v.values[((site * r_.treatments.size() + treatment) * r_.quantiles.size() + q) * size + inner];
  };
  return told_by(at);
}

double RunSpread::share(std::string_view name, std::size_t site, std::size_t treatment) const {
  const Variable* v = any(name);
  return v ? v->values.at(site * r_.treatments.size() + treatment) : none;
}

RunInterval RunSpread::of_values(std::vector<double> values) const {
  std::sort(values.begin(), values.end(), comes_before);
  const auto at = [&](std::size_t q) {
    return values.empty() || r_.quantiles.empty() ? none : quantile_of_sorted(values, r_.quantiles[q]);
  };
  return told_by(at);
}

std::vector<double> RunSpread::runs(std::string_view name, std::size_t site, std::size_t treatment,
                                    std::size_t inner) const {
  const Variable* v = any(std::string(name) + "_of_run");
  const std::size_t count = run_count();
  if (!v || count == 0) return {};
  const std::size_t size = v->dimensions.size() > 4 ? r_.extent(v->dimensions[4]) : 1;
  std::vector<double> values(count, none);
  for (std::size_t run = 0; run < count && inner < size; ++run) {
    values[run] = v->values[((site * r_.treatments.size() + treatment) * count + run) * size + inner];
  }
  return values;
}

std::size_t RunSpread::run_count() const { return r_.weather_years.size() * r_.draws; }

std::string RunSpread::middle_and_range(const RunInterval& i, const Shown& shown, int decimals) const {
  if (std::isnan(i.middle)) return "-";
  const std::string middle = shown_number(shown(i.middle) + 0.0, decimals);
  const std::string around = range(i, shown, decimals);
  return around == middle ? middle : fmt::format("{} ({})", middle, around);
}

std::pair<double, double> RunSpread::told(const RunInterval& i) const {
  if (last_ == 0) return {i.middle, i.middle};
  return told_inner_ ? std::pair{i.low, i.high} : std::pair{i.lowest, i.highest};
}

std::string RunSpread::range(const RunInterval& i, const Shown& shown, int decimals) const {
  const auto [low, high] = told(i);
  if (!std::isnan(low) && std::isnan(high))
    return fmt::format("{} to not reached", shown_number(shown(low) + 0.0, decimals));
  return range_text(shown(low), shown(high), decimals);
}

std::string RunSpread::range_of() const {
  if (last_ == 0) return "";
  return told_inner_ ? share_words(inner_low_, inner_high_) : share_words(0, last_);
}

std::string RunSpread::share_words(std::size_t low, std::size_t high) const {
  const double share = r_.quantiles[high] - r_.quantiles[low];
  if (share > 1.0 - 1e-9) return "all runs";
  if (std::abs(share - 0.5) < 1e-9) return "half of the runs";
  const double tenths = 10.0 * share;
  if (std::abs(tenths - std::round(tenths)) < 1e-9) return fmt::format("{:.0f} of 10 runs", tenths);
  return fmt::format("{:.0f} % of the runs", 100.0 * share);
}

std::string RunSpread::how_to_read() const {
  if (last_ == 0) return "";
  std::string text = "The dot is the middle run";
  if (has_inner()) text += fmt::format(", the thick bar holds {}", share_words(inner_low_, inner_high_));
  return text + fmt::format(", the thin line {}.", share_words(0, last_));
}

std::string weathers_in_words(const Results& r) {
  if (r.weather_years.empty()) return "many weathers";
  const std::size_t count = r.weather_years.size();
  std::string text = fmt::format("{} weather{}", count, count == 1 ? "" : "s");
  text += count == 1 ? fmt::format(" ({})", r.weather_years.front())
                     : fmt::format(" ({} to {})", r.weather_years.front(), r.weather_years.back());
  if (r.draws > 1) text += fmt::format(", each with {} draws of what is not known", r.draws);
  return text;
}

std::vector<std::string> cautions_in(const std::vector<std::string>& notes) {
  return notes_that(notes, true);
}
std::vector<std::string> assumptions_in(const std::vector<std::string>& notes) {
  return notes_that(notes, false);
}

void add_chart(ReportSection& section, Chart chart) {
  if (chart.rows() > 0) section.charts.push_back(std::move(chart));
}

void add_section(Report& report, ReportSection section) {
  if (section.words.empty() && section.charts.empty() && section.tables.empty()) return;
  report.sections.push_back(std::move(section));
}

Report report_begun(const Results& r, std::string kind) {
  Report report;
  report.title = r.title;
  report.kind = std::move(kind);
  report.program = r.program;
  report.units = r.units;
  report.texts = r.texts;
  report.cautions = cautions_in(r.notes);
  return report;
}

std::string dates_words(const Results& r, std::pair<double, double> days) {
  constexpr const char* months[] = {"January", "February", "March",     "April",   "May",      "June",
                                    "July",    "August",   "September", "October", "November", "December"};
  if (r.start == std::chrono::sys_days{} || std::isnan(days.first)) return "";
  const auto date = [&](double day) {
    return std::chrono::year_month_day(r.start + std::chrono::days(std::lround(day)));
  };
  const auto words = [&](std::chrono::year_month_day d, bool month) {
    const std::string number = fmt::format("{}", static_cast<unsigned>(d.day()));
    return month ? fmt::format("{} {}", number, months[static_cast<unsigned>(d.month()) - 1]) : number;
  };
  const auto first = date(days.first);
  if (std::isnan(days.second)) return "from " + words(first, true);
  const auto last = date(days.second);
  if (first == last) return words(first, true);
  return fmt::format("{} to {}", words(first, first.month() != last.month()), words(last, true));
}

std::string stage_word(std::string_view label) { return std::string(label.substr(0, label.rfind(' '))); }

std::string checkpoint_words(std::string_view label) {
  const std::size_t blank = label.rfind(' ');
  if (blank == std::string_view::npos) return std::string(label);
  const std::string_view what = label.substr(0, blank), number = label.substr(blank + 1);
  if (what == "year")
    return number == "1" ? "a year after harvest" : fmt::format("{} years after harvest", number);
  if (what == "day") return fmt::format("{} days after harvest", number);
  if (what == "planting") return number == "1" ? "at planting" : fmt::format("at planting {}", number);
  return number == "1" ? std::string(what) : fmt::format("{}, year {}", what, number);
}

}  // namespace stoverturn
