#include <algorithm>
#include <cmath>
#include <utility>

#include <fmt/format.h>

#include "scenarios/decide/planting.hpp"
#include "scenarios/results/shown.hpp"
#include "scenarios/text/wrapped.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t low = 1, middle = 2, high = 3;  // of the quantiles asked for
constexpr std::size_t label_width = 22;

/// "58-66", where no number is negative.
std::string narrow(std::string text) {
  const std::size_t to = text.find(" to ");
  if (to != std::string::npos && text.find('-') == std::string::npos) text.replace(to, 4, "-");
  return text;
}

class PlantingPrinter {
 public:
  explicit PlantingPrinter(const Results& r) : r_(r), runs_(r.weather_years.size() * r.draws) {
    const auto found = std::find(r.checkpoints.begin(), r.checkpoints.end(), "planting 1");
    planting_ = static_cast<std::size_t>(found - r.checkpoints.begin());
  }

  std::string print() {
    text_ += fmt::format("{}\n{}; planting day in {} weather{} ({} to {}){}\n", r_.title, r_.program,
                         r_.weather_years.size(), r_.weather_years.size() == 1 ? "" : "s",
                         r_.weather_years.front(), r_.weather_years.back(),
                         r_.draws > 1 ? fmt::format(" with {} draws each", r_.draws) : "");
    text_ += "Medians; below them 8 of 10 runs.\n";
    lying_table();
    pieces_table();
    seedbed_table();
    nitrogen_table();
    build_up_table();
    text_ += '\n';
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      text_ += wrapped("", r_.treatments[t] + ":") + wrapped("  ", in_words(t));
    }
    text_ += '\n';
    for (const std::string& note : r_.notes) text_ += wrapped("Note: ", note);
    return std::move(text_);
  }

 private:
  struct Column {
    std::string head, below, name;
    int decimals = 0;
    std::size_t inner = 0;
    bool ranged = true;
  };

  double of(const std::string& name, std::size_t t, std::size_t q, std::size_t inner = 0) const {
    const Variable& v = r_.find(name);
    const std::size_t size = v.dimensions.size() > 3 ? r_.extent(v.dimensions[3]) : 1;
    if (inner >= size) return not_measured;
    return shown(v, r_)(v.values[(t * r_.quantiles.size() + q) * size + inner]);
  }
  double alone(const std::string& name, std::size_t t) const {
    const Variable& v = r_.find(name);
    return shown(v, r_)(v.values[t]);
  }
  std::string unit(const std::string& name) const { return shown(r_.find(name), r_).unit; }
  std::string between(const std::string& name, std::size_t t, int decimals, std::size_t inner = 0) const {
    return range_text(of(name, t, low, inner), of(name, t, high, inner), decimals);
  }

  /// A row of medians and one of ranges a treatment.
  void table(const std::string& title, const std::vector<Column>& columns, std::size_t width) {
    text_ += fmt::format("\n=== {} {}\n", title, std::string(95 - title.size(), '='));
    for (const std::string Column::*line : {&Column::head, &Column::below}) {
      text_ += std::string(label_width, ' ');
      for (const Column& c : columns) text_ += fmt::format("{:>{}}", c.*line, width);
      text_ += '\n';
    }
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      const std::string& label = r_.treatments[t];
      const bool fits = label.size() < label_width;
      if (!fits) text_ += wrapped("", label);
      text_ += fmt::format("{:<{}}", fits ? label : "", label_width);
      for (const Column& c : columns) {
        text_ += fmt::format("{:>{}}", shown_number(of(c.name, t, middle, c.inner) + 0.0, c.decimals), width);
      }
      text_ += '\n' + std::string(label_width, ' ');
      for (const Column& c : columns) {
        text_ += fmt::format("{:>{}}", narrow(between(c.name, t, c.decimals, c.inner)), width);
      }
      text_ += '\n';
    }
  }

  void lying_table() {
    const std::string mass = unit("surface_mass_at");
    table("On planting day",
          {{"soil cover", "%", "soil_cover_at", 0, planting_},
           {"flat residue", mass, "surface_mass_at", 0, planting_},
           {"short pieces", mass, "short_pieces_mass_at", 0, planting_},
           {"share of it", "%", "short_pieces_share", 0},
           {"standing", mass, "standing_mass_at", 0, planting_}},
          15);
    for (std::size_t t = 0; t < r_.treatments.size(); ++t) {
      text_ += wrapped("", fmt::format("{}: {:.0f} % of the soil or more is covered in {}.", r_.treatments[t],
                                       100.0 * conservation_cover, covered(t)));
    }
  }

  void pieces_table() {
    std::vector<Column> columns;
    const bool us = r_.units == "us";
    for (std::size_t i = 0; i < length_classes; ++i) {
      const auto edge = [&](std::size_t e) {
        return us ? fmt::format("{:.0f} in", length_edges_in[e])
                  : fmt::format("{:.0f} mm", 25.4 * length_edges_in[e]);
      };
      const bool last = i == length_edges_in.size();
      columns.push_back({last ? "over" : "up to", edge(last ? i - 1 : i),
                         fmt::format("{}_at", length_class_series(i)), 0, planting_});
    }
    table(fmt::format("Flat residue by length of pieces, {}", unit("surface_mass_at")), columns, 13);
  }

  void seedbed_table() {
    const std::string C = unit("seed_temperature");
    table("Seedbed, two weeks around planting",
          {{"soil at seed", C, "seed_temperature", 1},
           {"less bare", C, "seed_temperature_difference", 1},
           {"warm soil", "d later", "soil_lag", 0},
           {"soil water", "points more", "seedbed_moisture_difference", 1},
           {"wet residue", "% of full", "residue_wetness_at_planting", 0}},
          15);
  }

  void nitrogen_table() {
    if (r_.stages.empty()) return;
    const std::string stage = stage_name();
    table(fmt::format("Net N tied up by residue, {} (negative: given)", unit("nitrogen_tied_at_planting")),
          {{"harvest to", "planting", "nitrogen_tied_at_planting", 0},
           {"planting to", stage, "nitrogen_tied_from_planting", 0},
           {"harvest to", stage, "nitrogen_tied_at_stage", 0}},
          15);
  }

  void build_up_table() {
    const std::size_t count = r_.harvests.size();
    std::vector<std::size_t> some = {0, 1, 2, (count + 2) / 2, count - 1};
    if (count < 5) some.erase(some.begin() + static_cast<std::ptrdiff_t>(count) - 1, some.end() - 1);
    std::vector<Column> columns;
    for (const std::size_t i : some) {
      columns.push_back({"planting", std::to_string(i + 1), "residue_before_planting", 0, i});
    }
    table(fmt::format("All residue before each planting, {}", unit("residue_before_planting")), columns, 15);
  }

  std::string stage_name() const {
    const std::string& label = r_.stages.at(1);
    return label.substr(0, label.find_last_of(' '));
  }

  std::string covered(std::size_t t) const {
    const double share = r_.find("conservation_cover_mean").values[t];
    if (std::isnan(share)) return "no run that gets there";
    return fmt::format("{:.0f} of {} {}", std::round(share * static_cast<double>(runs_)), runs_,
                       r_.draws > 1 ? "runs" : "weathers");
  }

  /// "ties up 3 to 9 lb/acre of N", "gives ...", "between giving 2 and tying up 5 ..."
  std::string tied(const std::string& name, std::size_t t) const {
    double a = of(name, t, low), b = of(name, t, high);
    if (a > b) std::swap(a, b);
    if (std::isnan(a)) return "is not known";
    const std::string N = unit(name) + " of N";
    if (b < 0.0) return fmt::format("gives {} {}", range_text(-b, -a, 0), N);
    if (a >= 0.0) return fmt::format("ties up {} {}", range_text(a, b, 0), N);
    return fmt::format("is between giving {} and tying up {} {}", shown_number(-a, 0), shown_number(b, 0), N);
  }

  std::string in_words(std::size_t t) const {
    std::string text =
        fmt::format("On planting day {} % of the soil is covered, at least {:.0f} % of it in {}.",
                    between("soil_cover_at", t, 0, planting_), 100.0 * conservation_cover, covered(t));
    text +=
        fmt::format(" {} % of the flat residue lies in short pieces.", between("short_pieces_share", t, 0));
    text += seedbed_words(t) + nitrogen_words(t) + build_up_words(t);
    return text;
  }

  std::string seedbed_words(std::size_t t) const {
    const double a = of("seed_temperature_difference", t, low),
                 b = of("seed_temperature_difference", t, high);
    if (std::isnan(a)) return "";
    const std::string C = unit("seed_temperature_difference");
    std::string text;
    if (std::max(std::abs(a), std::abs(b)) < 0.05) {
      text = " The seedbed is as warm as bare soil";
    } else if (b <= 0.0) {
      text = fmt::format(" The seedbed is {} {} colder than bare soil", range_text(-b, -a, 1), C);
    } else if (a >= 0.0) {
      text = fmt::format(" The seedbed is {} {} warmer than bare soil", range_text(a, b, 1), C);
    } else {
      text = fmt::format(" The seedbed is between {} {} colder and {} warmer than bare soil",
                         shown_number(-a, 1), C, shown_number(b, 1));
    }
    const double least = of("soil_lag", t, low), most = of("soil_lag", t, high);
    if (std::isnan(most)) return text + "; in some runs it is not warm within 60 days of planting.";
    if (least == 0.0 && most == 0.0) return text + ", and warm on the same day.";
    return text + fmt::format(", and warm {} d later{}.", range_text(least, most, 0),
                              least < 0.0 ? " (negative: earlier)" : "");
  }

  std::string nitrogen_words(std::size_t t) const {
    if (r_.stages.empty()) return "";
    return fmt::format(
        " Until planting residue {}, from planting to {} it {}: what that takes from or adds to "
        "next spring's N in these years, not a rate.",
        tied("nitrogen_tied_at_planting", t), stage_name(), tied("nitrogen_tied_from_planting", t));
  }

  std::string build_up_words(std::size_t t) const {
    const Variable& mean = r_.find("residue_before_planting_mean");
    const std::size_t count = r_.harvests.size();
    std::span<const double> stocks(mean.values.data() + t * count, count);
    while (!stocks.empty() && std::isnan(stocks.back())) stocks = stocks.first(stocks.size() - 1);
    const double change = alone("build_up_change", t);
    if (std::isnan(change)) return " After different crops residue swings; compare plantings after the same.";
    const Shown show = shown(mean, r_);
    const StockTrend trend = stock_trend(stocks);
    if (trend.levels_off) {
      return fmt::format(
          " Year after year residue before planting levels off near {} {}, from planting {} on "
          "({:+.1f} % in the last three years).",
          shown_number(show(trend.level), 0), show.unit, trend.from + 1, change);
    }
    return fmt::format(
        " Year after year residue before planting is still {} at planting {}: {} {}, {:+.1f} % in the "
        "last three years.",
        change > 0.0 ? "rising" : "falling", stocks.size(), shown_number(show(stocks.back()), 0), show.unit,
        change);
  }

  const Results& r_;
  std::size_t runs_, planting_ = 0;
  std::string text_;
};

}  // namespace

std::string printed_planting(const Results& results) { return PlantingPrinter(results).print(); }

}  // namespace stoverturn
