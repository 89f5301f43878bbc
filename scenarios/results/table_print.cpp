#include "scenarios/results/table_print.hpp"

#include <algorithm>
#include <cmath>
#include <span>

#include <fmt/format.h>

#include "scenarios/results/forward_bands.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/wrapped.hpp"

namespace stoverturn {
namespace {

constexpr int label_width = 30, column_width = 7, most_columns = 10;
constexpr int band_width = 17, most_band_columns = 4;  // of columns with a range below the number
constexpr int money_width = 11;
constexpr int percents_width = 13, days_width = 15, tie_up_width = 16;  // of ranges alone

struct RowSpec {
  std::string_view variable, label;
  int decimals;
  std::string_view not_as[2] = {};  ///< left out where all treatments have the numbers of one of these
};
// each row is one key number at the checkpoints; a middle dimension becomes one line a member
constexpr RowSpec row_specs[] = {
    {"mass_left_at", "residue left", 1},
    {"mass_left_by_component_at", "", 1},
    {"mass_left_by_placement_at", "", 1},
    {"soil_cover_at", "soil cover", 0},
    {"nitrogen_in_residue_at", "in residue", 1},
    {"nitrogen_released_at", "released", 1},
    {"phosphorus_released_at", "released", 1},
    {"potassium_released_at", "released", 1},
    {"sulfur_released_at", "released", 1},
    {"value_released_at", "value released", 1},
    {"nitrogen_applied_at", "applied", 1},
    {"nitrogen_leached_at", "leached below 1 m", 1},
    {"nitrogen_volatilised_at", "lost as ammonia", 1},
    {"nitrogen_denitrified_at", "denitrified", 1},
    {"nitrogen_to_cover_crop_at", "in cover crops", 1},
    {"nitrogen_to_crop_at", "taken by crops", 1},
    {"residue_removed_at", "taken off", 0},
    {"nitrogen_removed_at", "taken off", 1},
    {"phosphorus_removed_at", "taken off", 1},
    {"potassium_removed_at", "taken off", 1},
    {"sulfur_removed_at", "taken off", 1},
    {"value_removed_at", "value taken off", 1},
    {"bales_sold_at", "bales sold", 1},
    {"cost_spent_at", "costs", 1},
    {"net_value_at", "net value", 1, {"value_released_at"}},
    {"value_released_discounted_at", "discounted release", 1, {"value_released_at"}},
    {"net_value_discounted_at", "discounted net value", 1, {"net_value_at", "value_released_discounted_at"}},
    {"irrigation_at", "irrigation", 1},
    {"carbon_respired_at", "CO2-C given off", 0},
};

class TablePrinter {
 public:
  explicit TablePrinter(const Results& results) : r_(results) {}

  std::string print() {
    heading();
    if (r_.treatments.size() > 1) {
      comparison();
      money();
    }
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) treatment_block(t);
    for (const std::string& note : r_.notes) text_ += wrapped("Note: ", note);
    return std::move(text_);
  }

 private:
  const Variable& key(std::string_view name) const { return r_.find(name); }
  double scalar(std::string_view name, std::size_t t) const { return key(name).values[t]; }
  double at(std::string_view name, std::size_t t, std::size_t checkpoint) const {
    return key(name).values[t * r_.checkpoints.size() + checkpoint];
  }
  bool with_bands() const { return find_variable(r_, "mass_left_at" + std::string(band_low)) != nullptr; }
  std::string range(std::string_view name, std::size_t i, const Shown& unit, int decimals) const {
    return shown_range(r_, name, i, unit, decimals);
  }
  /// A line of ranges under a line of numbers, where there is any.
  void range_line(const std::vector<std::string>& ranges, int width) {
    if (std::all_of(ranges.begin(), ranges.end(), [](const std::string& r) { return r.empty(); })) return;
    std::string cells = fmt::format("{:<{}}", "    range", label_width);
    for (const std::string& r : ranges) cells += fmt::format("{:>{}}", r, width);
    cells.erase(cells.find_last_not_of(' ') + 1);
    line(cells);
  }
  std::string days_range(std::string_view name, std::size_t t) const {
    const std::string words = range(name, t, shown(key(name), r_), 0);
    return words.empty() ? "" : fmt::format(" ({} d)", words);
  }
  std::string date_after(std::size_t t, double days_after_harvest) const {
    const double day = scalar("harvest_day", t) + days_after_harvest;
    return format_date(r_.start + std::chrono::days{static_cast<int>(std::lround(day))});
  }
  std::string run_length() const {
    const int years = static_cast<int>(std::lround((r_.days - 1) / 365.25));
    if (std::abs(r_.days - 1 - years * 365.25) > 2.0 || years == 0)
      return fmt::format("{} days", r_.days - 1);
    return fmt::format("{} year{}", years, years == 1 ? "" : "s");
  }
  /// Harvests of a treatment; the axis may be longer.
  std::size_t harvests_of(std::size_t t) const {
    const std::vector<double>& days = key("each_harvest_day").values;
    const auto first = days.begin() + static_cast<std::ptrdiff_t>(t * r_.harvests.size());
    return static_cast<std::size_t>(std::count_if(first,
                                                  first + static_cast<std::ptrdiff_t>(r_.harvests.size()),
                                                  [](double d) { return !std::isnan(d); }));
  }
  /// How long the residue of the first harvest was followed, where that is less than the run.
  std::string days_or_longer(std::size_t t, double days) const {
    if (!std::isnan(days)) return shown_number(days, 0) + " d";
    const std::size_t extent = r_.extent(Dimension::time);
    const auto left = r_.find("mass_left_by_harvest").values.begin() +
                      static_cast<std::ptrdiff_t>(t * r_.harvests.size() * extent);
    const auto from = left + std::lround(scalar("harvest_day", t));
    const auto merged = std::find_if(from, left + r_.days, [](double x) { return std::isnan(x); });
    if (merged == left + r_.days) return "> " + run_length();
    return fmt::format("> {} d", shown_number(static_cast<double>(merged - from), 0));
  }

  void line(const std::string& content) { text_ += content + "\n"; }

  void heading() {
    line(r_.title);
    line(fmt::format("{}; {} from {}", r_.program, run_length(), format_date(r_.start)));
    line("");
  }

  /// First checkpoint, the next, and the last, where they differ.
  std::vector<std::size_t> compared_checkpoints() const {
    const std::size_t last = r_.checkpoints.size() - 1;
    std::vector<std::size_t> list = {0};
    if (last > 1) list.push_back(1);
    if (last > 0) list.push_back(last);
    return list;
  }

  void comparison() {
    const std::vector<std::size_t> chosen = compared_checkpoints();
    const Shown N = shown(key("tie_up_deepest"), r_);
    std::string heads;
    for (const std::size_t c : chosen) heads += fmt::format("{:>{}}", short_name(c), column_width);
    const std::string over = fmt::format("{:>{}}", chosen.size() > 2 ? "residue left, %" : "left, %",
                                         column_width * static_cast<int>(chosen.size()));
    line(fmt::format("{:<{}}{} {:>11} {:>11}  {}", "Treatment", label_width, over, "half", "95 %",
                     "deepest N tie-up"));
    line(fmt::format("{:<{}}{} {:>11} {:>11}  {}", "", label_width, heads, "lost", "lost",
                     N.unit + " and date"));
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      const double deepest = scalar("tie_up_deepest", t);
      const std::string tie_up = deepest < 0.0 ? fmt::format("{:>6} on {}", shown_number(N(-deepest), 1),
                                                             date_after(t, scalar("tie_up_deepest_day", t)))
                                               : "  none";
      std::string left;
      for (const std::size_t c : chosen)
        left += fmt::format("{:>{}}", percent(at("mass_left_at", t, c)), column_width);
      line(fmt::format("{:<{}}{} {:>11} {:>11}  {}", cut(r_.treatments[t], label_width - 1), label_width,
                       left, days_or_longer(t, scalar("days_to_half", t)),
                       days_or_longer(t, scalar("days_to_95_lost", t)), tie_up));
    }
    if (with_bands()) comparison_of_ranges(chosen);
    line("");
  }

  void comparison_of_ranges(const std::vector<std::size_t>& chosen) {
    const Shown left = shown(key("mass_left_at"), r_), days = shown(key("days_to_half"), r_);
    std::string heads;
    for (const std::size_t c : chosen) {
      heads += fmt::format("{:>{}}", fmt::format("{}, {}", short_name(c), left.unit), percents_width);
    }
    line("");
    line(fmt::format("{:<{}}{}{:>{}}{:>{}}", "Range", label_width, heads, "half lost, d", days_width,
                     "tie-up, " + held_nitrogen().unit, tie_up_width));
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      std::string cells = fmt::format("{:<{}}", cut(r_.treatments[t], label_width - 1), label_width);
      const auto add = [&](const std::string& words, int width) {
        cells += fmt::format("{:>{}}", words.empty() ? "as above" : words, width);
      };
      for (const std::size_t c : chosen) {
        add(range("mass_left_at", t * r_.checkpoints.size() + c, left, 1), percents_width);
      }
      add(range("days_to_half", t, days, 0), days_width);
      add(range("tie_up_deepest", t, held_nitrogen(), 1), tie_up_width);
      line(cells);
    }
  }

  static bool same_numbers(const Variable& a, const Variable& b) {
    return std::equal(a.values.begin(), a.values.end(), b.values.begin(), b.values.end(),
                      [](double x, double y) { return x == y || (std::isnan(x) && std::isnan(y)); });
  }
  bool says_the_same(const Variable& v, std::span<const std::string_view> others) const {
    return std::any_of(others.begin(), others.end(),
                       [&](std::string_view name) { return !name.empty() && same_numbers(v, key(name)); });
  }

  /// What was released, taken off, sold and spent by the end, where anything was sold or spent.
  void money() {
    if (same_numbers(key("net_value_at"), key("value_released_at"))) return;
    std::vector<std::pair<std::string_view, std::string_view>> columns = {{"value_released_at", "released"},
                                                                          {"value_removed_at", "taken off"},
                                                                          {"bales_sold_at", "bales"},
                                                                          {"cost_spent_at", "costs"},
                                                                          {"net_value_at", "net"}};
    if (!same_numbers(key("net_value_at"), key("net_value_discounted_at"))) {
      columns.emplace_back("net_value_discounted_at", "discounted");
    }
    const Shown unit = shown(key("net_value_at"), r_);
    std::string head = fmt::format("{:<{}}", "Money by the end, " + unit.unit, label_width);
    for (const auto& [name, word] : columns) head += fmt::format("{:>{}}", word, money_width);
    line(head);
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      std::string cells = fmt::format("{:<{}}", cut(r_.treatments[t], label_width - 1), label_width);
      for (const auto& [name, word] : columns) {
        cells +=
            fmt::format("{:>{}}", shown_number(unit(at(name, t, r_.checkpoints.size() - 1)), 1), money_width);
      }
      line(cells);
    }
    line("");
  }

  /// What is tied up, as a positive number.
  Shown held_nitrogen() const {
    const Shown N = shown(key("tie_up_deepest"), r_);
    return {N.unit, N.substance, -N.scale, N.offset};
  }

  /// "plant1", "year1", "end"
  std::string short_name(std::size_t checkpoint) const {
    const std::string& name = r_.checkpoints[checkpoint];
    if (name.starts_with("planting ")) return (name.size() > 10 ? "pl" : "plant") + name.substr(9);
    return name.starts_with("year ") ? "year" + name.substr(5) : name;
  }

  /// "May'13"
  std::string month_of(std::size_t t, std::size_t checkpoint) const {
    return month_on(at("checkpoint_day", t, checkpoint));
  }
  std::string month_on(double day) const {
    static constexpr const char* months[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                             "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    if (std::isnan(day)) return "-";
    const std::chrono::year_month_day date{r_.start + std::chrono::days{static_cast<int>(day)}};
    return fmt::format("{}'{:02}", months[static_cast<unsigned>(date.month()) - 1],
                       static_cast<int>(date.year()) % 100);
  }

  /// None where the numbers of a row would touch each other, as in a small currency.
  static int decimals_that_fit(const double* values, std::size_t count, const Shown& unit, int decimals) {
    const bool fit = std::all_of(values, values + count, [&](double x) {
      return shown_number(unit(x), decimals).size() < static_cast<std::size_t>(column_width);
    });
    return fit ? decimals : 0;
  }

  static std::string percent(double fraction) { return shown_number(100.0 * fraction, 1); }

  /// At most `width` characters, whole UTF-8 ones.
  static std::string cut(const std::string& words, std::size_t width) {
    if (words.size() <= width) return words;
    std::size_t end = width - 3;
    while (end > 0 && (static_cast<unsigned char>(words[end]) & 0xC0) == 0x80) --end;
    return words.substr(0, end) + "...";
  }

  void treatment_block(std::size_t t) {
    const Shown mass = shown(key("residue_dry_matter"), r_);
    const Shown N = shown(key("tie_up_deepest"), r_);
    line(fmt::format("=== {} ", r_.treatments[t]) +
         std::string(std::max<std::size_t>(2, 95 - std::min<std::size_t>(93, r_.treatments[t].size())), '='));
    const auto in_words = [](std::string days) {
      return days[0] == '>' ? "more than" + days.substr(1) : days;
    };
    const std::size_t harvests = harvests_of(t);
    const std::string when = harvests > 1 ? fmt::format("the first of {} harvests", harvests) : "harvest";
    text_ += wrapped("", fmt::format("{} {} of dry matter at {}; half lost after {}, 95 % after {}.",
                                     shown_number(mass(scalar("residue_dry_matter", t)), 0), mass.unit, when,
                                     in_words(days_or_longer(t, scalar("days_to_half", t))) +
                                         days_range("days_to_half", t),
                                     in_words(days_or_longer(t, scalar("days_to_95_lost", t))) +
                                         days_range("days_to_95_lost", t)));
    const double deepest = scalar("tie_up_deepest", t);
    if (deepest < 0.0) {
      const double repaid = scalar("tie_up_repaid_day", t), lowest_day = scalar("tie_up_deepest_day", t);
      const bool still_deepening = scalar("harvest_day", t) + lowest_day >= r_.days - 1;
      const std::string then = still_deepening ? "still deepening at the end of the run"
                               : std::isnan(repaid)
                                   ? "when net release begins; not all given back within the run"
                                   : "when net release begins; all given back by " + date_after(t, repaid);
      const std::string range_text = range("tie_up_deepest", t, held_nitrogen(), 1);
      text_ += wrapped("", fmt::format("N tie-up: deepest {}{} {} on {}, {}.", shown_number(N(-deepest), 1),
                                       range_text.empty() ? "" : fmt::format(" ({})", range_text), N.unit,
                                       date_after(t, lowest_day), then));
    } else {
      line("N tie-up: none.");
    }
    const std::size_t columns = r_.checkpoints.size();
    if (at("residue_removed_at", t, columns - 1) > 0.0) line("What was taken off the field counts as lost.");
    const double grain = scalar("grain_to_pay_costs", t);
    if (grain > 0.0) {
      const Shown yield = shown(key("grain_to_pay_costs"), r_);
      line(fmt::format("Costs by the end are the price of {} {} of grain.", shown_number(yield(grain), 1),
                       yield.unit));
    }
    const std::size_t most = with_bands() ? most_band_columns : most_columns;
    for (std::size_t first = 0; first < columns; first += most) {
      rows(t, first, std::min<std::size_t>(columns, first + most));
    }
    stages(t);
    line("");
    for (std::size_t first = 0; harvests > 1 && first < harvests; first += most_columns) {
      stock(t, first, std::min<std::size_t>(harvests, first + most_columns));
    }
  }

  /// The first season of the following crop.
  void stages(std::size_t t) {
    if (r_.stages.empty()) return;
    const int width = with_bands() ? 14 : 11;
    const auto value = [&](std::string_view name, std::size_t s) {
      return key(name).values[t * r_.stages.size() + s];
    };
    const auto date = [&](double day) {
      if (std::isnan(day)) return std::string("-");
      return format_date(r_.start + std::chrono::days{static_cast<int>(day)});
    };
    std::vector<std::size_t> chosen;
    for (std::size_t s = 0; s < r_.stages.size(); ++s) {
      if (r_.stages[s].ends_with(" 1") && !std::isnan(value("stage_planting_day", s))) chosen.push_back(s);
    }
    if (chosen.empty()) return;
    std::string heads =
        fmt::format("{:<{}}", "planted " + date(value("stage_planting_day", chosen[0])), label_width);
    std::string dates = fmt::format("{:<{}}", "", label_width);
    for (const std::size_t s : chosen) {
      const std::string name = r_.stages[s].substr(0, r_.stages[s].size() - 2);
      heads += fmt::format(" {:>{}.{}}", name, width - 1, width - 1);  // a long name is cut
      dates += fmt::format("{:>{}}", date(value("stage_day", s)), width);
    }
    line("");
    line(heads);
    line(dates);
    static constexpr std::pair<std::string_view, std::string_view> spec[] = {
        {"stage_nitrogen_released", "N released since"},
        {"stage_nitrogen_to_crop", "N taken by the crop"},
        {"stage_mineral_nitrogen", "mineral N to 1 m"},
    };
    for (const auto& [name, label] : spec) {
      const Shown unit = shown(key(name), r_);
      std::string cells = fmt::format("{:<{}}", fmt::format("{}, {}", label, unit.unit), label_width);
      std::vector<std::string> ranges;
      for (const std::size_t s : chosen) {
        cells += fmt::format("{:>{}}", shown_number(unit(value(name, s)), 1), width);
        ranges.push_back(range(name, t * r_.stages.size() + s, unit, 1));
      }
      line(cells);
      range_line(ranges, width);
    }
  }

  void rows(std::size_t t, std::size_t first, std::size_t last) {
    const int width = with_bands() ? band_width : column_width;
    std::string names = fmt::format("{:<{}}", "", label_width), dates = names;
    for (std::size_t c = first; c < last; ++c) {
      names += fmt::format("{:>{}}", short_name(c), width);
      dates += fmt::format("{:>{}}", month_of(t, c), width);
    }
    line(names);
    line(dates);
    for (const RowSpec& spec : row_specs) {
      const Variable& v = key(spec.variable);
      if (says_the_same(v, spec.not_as)) continue;
      const Shown unit = shown(v, r_);
      const bool split = v.dimensions.size() == 3;
      const std::size_t members = split ? r_.extent(v.dimensions[1]) : 1;
      for (std::size_t m = 0; m < members; ++m) {
        const std::size_t row = t * members + m;
        const double* values = v.values.data() + row * r_.checkpoints.size();
        const auto is_zero = [](double x) { return std::isnan(x) || x == 0.0; };
        if (std::all_of(values, values + r_.checkpoints.size(), is_zero) && spec.variable != "mass_left_at")
          continue;
        const std::string name =
            split ? "  " + (v.dimensions[1] == Dimension::component ? r_.components[m] : r_.placements[m])
            : unit.substance.empty() || unit.substance == "C"
                ? std::string(spec.label)
                : unit.substance + " " + std::string(spec.label);
        std::string cells = fmt::format("{:<{}}", cut(name + ", " + unit.unit, label_width - 1), label_width);
        const int decimals = decimals_that_fit(values, r_.checkpoints.size(), unit, spec.decimals);
        std::vector<std::string> ranges;
        for (std::size_t c = first; c < last; ++c) {
          std::string number = shown_number(unit(values[c]), decimals);
          if (number.size() >= static_cast<std::size_t>(column_width))
            number.erase(std::remove(number.begin(), number.end(), ','), number.end());
          cells += fmt::format("{:>{}}", number, width);
          ranges.push_back(range(spec.variable, row * r_.checkpoints.size() + c, unit, decimals));
        }
        line(cells);
        range_line(ranges, width);
      }
    }
  }

  /// What each harvest met and left.
  void stock(std::size_t t, std::size_t first, std::size_t last) {
    std::string names = fmt::format("{:<{}}", "Residue of all harvests", label_width);
    std::string dates = fmt::format("{:<{}}", "", label_width);
    for (std::size_t h = first; h < last; ++h) {
      names += fmt::format("{:>{}}", "harv" + r_.harvests[h], column_width);
      dates += fmt::format("{:>{}}", month_on(key("each_harvest_day").values[t * r_.harvests.size() + h]),
                           column_width);
    }
    line(names);
    line(dates);
    for (const auto& [name, label] : {std::pair("stock_before_planting", "before planting"),
                                      std::pair("stock_before_harvest", "before harvest"),
                                      std::pair("each_harvest_dry_matter", "left by harvest")}) {
      const Variable& v = key(name);
      const Shown unit = shown(v, r_);
      std::string cells = fmt::format("{:<{}}", fmt::format("{}, {}", label, unit.unit), label_width);
      for (std::size_t h = first; h < last; ++h) {
        std::string number = shown_number(unit(v.values[t * r_.harvests.size() + h]), 0);
        if (number.size() >= static_cast<std::size_t>(column_width))
          number.erase(std::remove(number.begin(), number.end(), ','), number.end());
        cells += fmt::format("{:>{}}", number, column_width);
      }
      line(cells);
    }
    line("");
  }

  const Results& r_;
  std::string text_;
};

}  // namespace

std::string printed_table(const Results& results) { return TablePrinter(results).print(); }

}  // namespace stoverturn
