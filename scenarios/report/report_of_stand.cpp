#include "scenarios/report/report_of_stand.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "scenarios/report/stand_charts.hpp"
#include "scenarios/report/stand_words.hpp"
#include "scenarios/stand/stand_print.hpp"
#include "scenarios/stand/stand_tables.hpp"

namespace stoverturn {
namespace {

class Page {
 public:
  Page(const TidyFile& file, std::string_view units)
      : stand_(stand_of_tables(file)), shown_(stand_shown(stand_, units)) {
    out_.title = file.title;
    out_.kind = "counts of plants and ears in strips";
    out_.program = file.program;
    out_.units = "us";
    out_.texts = file.texts;
  }

  Report report() {
    about();
    says();
    counts();
    differences();
    asked_difference();
    worth();
    sure();
    limits();
    handout();
    cautions();
    return std::move(out_);
  }

 private:
  std::string percent_interval() const { return fmt::format("{:.0f} % interval", 100.0 * stand_.level); }
  void about() {
    std::set<std::string> strips;
    double length_mm = 0.0;
    int rows = 0;
    for (const StandPlot& p : stand_.plots) strips.insert(p.strip);
    for (const std::string& t : stand_.treatments) {
      const auto most = [&](auto member) {
        double found = 0.0;
        for (const StandRate& r : stand_.rates)
          if (r.treatment == t) found = std::max(found, static_cast<double>(r.*member));
        return found;
      };
      length_mm += most(&StandRate::length_mm);
      rows += static_cast<int>(most(&StandRate::rows));
    }
    out_.about.push_back(
        fmt::format("Counted by hand: {} treatment{} in {} strip{}, {} lengths of row, {} in all.",
                    stand_.treatments.size(), stand_.treatments.size() == 1 ? "" : "s", strips.size(),
                    strips.size() == 1 ? "" : "s", rows, length(length_mm)));
    if (std::isfinite(stand_.width_mm)) {
      out_.about.push_back(
          shown_.us ? fmt::format("Rows are {:.4g} in apart: {} of row is a thousandth of an acre.",
                                  in_unit(stand_.width_mm, "in", Kind::length),
                                  feet_and_inches(thousandth_acre_row_mm(stand_.width_mm)))
                    : fmt::format("Rows are {:.3g} cm apart: {:.1f} m of row is a thousandth of a hectare.",
                                  stand_.width_mm / 10.0, hectare_m2 / stand_.width_mm));
    }
    if (std::isfinite(stand_.prices.price_per_bu)) {
      const Shown per{stand_.prices.currency + (shown_.us ? "/bu" : "/t"), "", 1.0, 0.0};
      const double in_t = 1e6 / (unit_factor("bu/acre", Kind::grain_yield) * acre_m2);
      const double price = stand_.prices.price_per_bu * (shown_.us ? 1.0 : in_t);
      out_.about.push_back(fmt::format("Grain is reckoned at {} {}.", shown_number(price, 2), per.unit));
    }
  }

  /// "139 ft", "42 m"; `up`: not less than that.
  std::string length(double mm, bool up = false) const {
    const double value = shown_.us ? in_unit(mm, "ft", Kind::length) : mm / 1000.0;
    return fmt::format("{} {}", shown_number(up ? std::ceil(value) : value, 0), shown_.us ? "ft" : "m");
  }

  /// The largest difference of a kind; nullptr without any.
  const StandDifference* largest(std::size_t count) const {
    const StandDifference* found = nullptr;
    for (const StandDifference& d : stand_.differences) {
      if (d.count != count) continue;
      if (!found || std::abs(d.difference) > std::abs(found->difference)) found = &d;
    }
    return found;
  }

  const StandEffect* effect(StandEffectBy by, const std::string& treatment,
                            const std::string& against) const {
    for (const StandEffect& e : stand_.effects) {
      if (e.by == by && e.treatment == treatment && e.against == against) return &e;
    }
    return nullptr;
  }

  void says() {
    for (const std::size_t count : {stand_plants, stand_ears}) {
      if (const StandDifference* d = largest(count)) out_.says.push_back(verdict_words(shown_, *d));
    }
    if (stand_.differences.empty()) {
      for (const StandRate& r : stand_.rates) out_.says.push_back(rate_words(shown_, r));
    }
    const std::string money = worth_words();
    if (!money.empty()) out_.says.push_back(money);
  }

  /// Of the pair that differs most, told from the side that gains.
  std::string worth_words() const {
    const StandDifference* d = largest(stand_ears) ? largest(stand_ears) : largest(stand_plants);
    if (!d) return "";
    const StandEffect* ears = effect(StandEffectBy::ears, d->treatment, d->against);
    const StandEffect* table = effect(StandEffectBy::stand, d->treatment, d->against);
    const StandEffect* first = ears ? ears : table;
    const bool turned = first && first->yield_bu_acre < 0.0;
    const std::string by_ears = effect_amount(shown_, ears, turned),
                      by_table = effect_amount(shown_, table, turned);
    if (by_ears.empty() && by_table.empty()) return "";
    const auto& [gains, other] =
        turned ? std::pair(d->against, d->treatment) : std::pair(d->treatment, d->against);
    std::string text =
        fmt::format("{} over {} is worth ", capitalised(shown_treatment(gains)), shown_treatment(other));
    if (!by_ears.empty()) text += by_ears + " if every ear is as good as another";
    if (!by_table.empty()) {
      text += (by_ears.empty() ? "" : ", and ") + by_table +
              " by published stands, where neighbours make up for gaps";
    }
    return text + (stand_.usual_ear && !by_ears.empty() ? "; the ear is the trade's rule, not yours." : ".");
  }

  ReportSection& section(std::string name, std::string heading) {
    ReportSection s;
    s.name = std::move(name);
    s.heading = std::move(heading);
    out_.sections.push_back(std::move(s));
    return out_.sections.back();
  }

  void counts() {
    ReportSection& s = section("counts", "What was counted");
    s.words.emplace_back(
        "Small marks are single strips, lines join those of one strip; the large mark with its bar is the "
        "mean "
        "over all strips and what the counts leave open.");
    ReportTable table{
        "Counts, and the interval of each",
        {"treatment", "counted", "number", "row", "strips", shown_.per_area.unit, percent_interval()},
        {}};
    if (shown_.us) table.caption += "; a thousandth of an acre is the figure over 1,000";
    for (const StandRate& r : stand_.rates) {
      table.rows.push_back({shown_treatment(r.treatment), std::string(stand_counts[r.count].name),
                            shown_number(r.counted, 0), length(r.length_mm), fmt::format("{}", r.strips),
                            shown_count(shown_, r.rate),
                            shown_range(shown_.per_area, r.between.lower, r.between.upper)});
    }
    for (std::size_t count = 0; count < stand_counts.size(); ++count) {
      const bool has = std::any_of(stand_.rates.begin(), stand_.rates.end(),
                                   [&](const StandRate& r) { return r.count == count; });
      if (has) s.charts.push_back(stand_counts_chart(stand_, count, shown_));
    }
    s.tables.push_back(std::move(table));
  }

  std::string needed(const StandDifference& d) const {
    if (d.units_needed == 0) return std::isfinite(d.between.lower) ? "too many" : "-";
    const bool plots = std::any_of(stand_.models.begin(), stand_.models.end(),
                                   [&](const StandModel& m) { return m.count == d.count && m.by_plots; });
    return fmt::format("{} ({} {})", length(d.length_needed_mm, true), d.units_needed,
                       plots ? "strips" : "rows");
  }

  void differences() {
    if (stand_.differences.empty()) return;
    ReportSection& s = section("differences", "What differs");
    for (const StandDifference& d : stand_.differences) {
      if (stand_.differences.size() <= 6) s.words.push_back(verdict_words(shown_, d));
    }
    s.words.emplace_back(
        "A bar that reaches the line at zero does not show that there is no difference: it shows that these "
        "counts cannot tell.");
    s.charts.push_back(stand_differences_chart(stand_, shown_));
    ReportTable table{
        fmt::format("Differences. Last column: the row to count in each treatment, so that a true difference "
                    "of this size shows in {:.0f} of 100 such counts",
                    100.0 * stand_.power),
        {"treatment less other", "counted", shown_.per_area.unit, percent_interval(), "beyond chance?",
         "to tell it"},
        {}};
    for (const StandDifference& d : stand_.differences) {
      table.rows.push_back({pair_name(d.treatment, d.against), std::string(stand_counts[d.count].name),
                            shown_count(shown_, d.difference),
                            shown_range(shown_.per_area, d.between.lower, d.between.upper),
                            std::string(to_string(verdict_of(d.between))), needed(d)});
    }
    s.tables.push_back(std::move(table));
  }

  /// Half the widest interval of a difference of that kind, per m2; NaN where none has one.
  double least_seen(std::size_t count) const {
    double widest = not_counted;
    for (const StandDifference& d : stand_.differences) {
      const double half = (d.between.upper - d.between.lower) / 2.0;
      if (d.count == count && std::isfinite(half)) widest = std::fmax(widest, half);
    }
    return widest;
  }

  /// The difference growers ask for: is it real, and its worth.
  void asked_difference() {
    if (stand_.differences.empty()) return;
    const double asked = shown_.us ? 2.0 / thousandth_acre_m2 : 5000.0 / hectare_m2;
    const std::string words =
        shown_.us ? "two in a thousandth of an acre (2,000 per acre)" : "5,000 per ha (one in 2 m2)";
    ReportSection& s =
        section("two", fmt::format("Is a difference of {} real?",
                                   shown_.us ? "two in a thousandth of an acre" : "5,000 per ha"));
    for (const std::size_t count : {stand_plants, stand_ears}) {
      const double least = least_seen(count);
      if (!std::isfinite(least)) continue;
      s.words.push_back(fmt::format(
          "{}: with these counts a difference has to be {} {}{} or more to stand out from chance. A "
          "difference "
          "of {} {}.",
          capitalised(std::string(stand_counts[count].name)), shown_count(shown_, least),
          shown_.per_area.unit, in_thousandth(shown_, least), words,
          least < asked ? "would be beyond chance" : "may be chance"));
    }
    if (s.words.empty()) {
      s.words.emplace_back(
          "That cannot be told from these counts: they have no spread to tell chance by. Count at least "
          "three "
          "strips of each treatment.");
    }
    ReportTable table = worth_of(asked);
    table.caption = fmt::format("What {} more are worth", words);
    if (!table.rows.empty()) s.tables.push_back(std::move(table));
  }

  /// Of so many more per m2.
  ReportTable worth_of(double more_m2) const {
    ReportTable table{"", {"reckoned by", "of full yield, %", shown_.yield.unit, shown_.money.unit}, {}};
    const StandPrices& p = stand_.prices;
    const auto add = [&](const std::string& name, double share, double bu) {
      table.rows.push_back({name, shown_number(100.0 * share, 1),
                            shown_number(shown_.yield(yield_g_m2(bu)), shown_.us ? 1 : 2),
                            shown_number(shown_.money(money_m2(bu * p.price_per_bu)), 2)});
    };
    if (std::isfinite(p.bu_per_ear) && largest(stand_ears))
      add("ears, each as good as another", not_counted, more_m2 * acre_m2 * p.bu_per_ear);
    if (!largest(stand_plants)) return table;
    double sum = 0.0, n = 0.0;
    for (const StandRate& r : stand_.rates) {
      if (r.count != stand_plants) continue;
      sum += r.rate * acre_m2;
      ++n;
    }
    const double middle = sum / n, half = more_m2 * acre_m2 / 2.0;
    const auto more = yield_share_of_stand(middle + half), fewer = yield_share_of_stand(middle - half);
    if (more && fewer)
      add(fmt::format("published stands, around {} {}", shown_count(shown_, middle / acre_m2),
                      shown_.per_area.unit),
          *more - *fewer, (*more - *fewer) * p.full_yield_bu_acre);
    return table;
  }

  void worth() {
    if (stand_.effects.empty()) return;
    ReportSection& s = section("worth", "What it is worth");
    if (const std::string words = worth_words(); !words.empty()) s.words.push_back(words);
    s.words.emplace_back(
        "Ears: every ear as good as another. Stand table: what published stands yielded, where neighbours "
        "make "
        "up for gaps. Late plants: published losses by leaf stages behind. Do not add them up: ears already "
        "hold what stand and late plants did.");
    Chart chart = stand_worth_chart(stand_, shown_);
    if (chart.rows() > 0) s.charts.push_back(std::move(chart));
    ReportTable table{"What differences are worth",
                      {"treatment less other", "by", "of full yield, %", shown_.yield.unit, "interval",
                       shown_.money.unit, "interval"},
                      {}};
    for (const StandEffect& e : stand_.effects) {
      table.rows.push_back(
          {pair_name(e.treatment, e.against), std::string(to_string(e.by)), shown_number(100.0 * e.share, 1),
           shown_number(shown_.yield(yield_g_m2(e.yield_bu_acre)), shown_.us ? 1 : 2),
           shown_range(shown_.yield, yield_g_m2(e.yield_between.lower), yield_g_m2(e.yield_between.upper)),
           shown_number(shown_.money(money_m2(e.value_acre)), 2),
           shown_range(shown_.money, money_m2(e.value_between.lower), money_m2(e.value_between.upper))});
    }
    s.tables.push_back(std::move(table));
    ReportTable shares{
        "By published tables", {"treatment", "stand good for, % of full yield", "late plants cost, %"}, {}};
    for (std::size_t t = 0; t < stand_.treatments.size(); ++t) {
      shares.rows.push_back({shown_treatment(stand_.treatments[t]),
                             shown_number(100.0 * stand_.yield_share[t], 0),
                             shown_number(100.0 * stand_.late_loss[t], 1)});
    }
    if (!shares.rows.empty()) s.tables.push_back(std::move(shares));
  }

  void sure() {
    ReportSection& s = section("sure", "How sure");
    s.words.push_back(fmt::format(
        "Each bar is a {} of a count model: chance counts, whose scatter is measured between strips and "
        "taken "
        "to grow in proportion to the count, alike in all treatments. It assumes strips chosen before "
        "looking, and tells nothing of other fields and years.",
        percent_interval()));
    for (const StandModel& m : stand_.models) {
      if (m.units > 0) s.words.push_back(model_words(m));
    }
  }

  void limits() {
    if (stand_.notes.empty()) return;
    section("limits", "What limits these numbers").words = stand_.notes;
  }

  /// A line a treatment and a line a difference, a column a kind of count.
  void handout() {
    ReportTable& table = out_.handout.table;
    table.caption = fmt::format("Counted {}, with the {}", shown_.per_area.unit, percent_interval());
    table.heads = {"treatment"};
    std::vector<std::size_t> kinds;
    for (std::size_t count = 0; count < stand_counts.size(); ++count) {
      if (std::none_of(stand_.rates.begin(), stand_.rates.end(),
                       [&](const StandRate& r) { return r.count == count; }))
        continue;
      kinds.push_back(count);
      table.heads.emplace_back(stand_counts[count].name);
    }
    const auto line = [&](const std::string& head, const auto& rows, const auto& fits, const auto& value) {
      table.rows.push_back({head});
      for (const std::size_t count : kinds) {
        std::string cell = "-";
        for (const auto& r : rows) {
          if (r.count != count || !fits(r)) continue;
          cell = shown_count(shown_, value(r));
          if (std::isfinite(r.between.lower))
            cell += fmt::format(" ({})", shown_range(shown_.per_area, r.between.lower, r.between.upper));
        }
        table.rows.back().push_back(cell);
      }
    };
    for (const std::string& t : stand_.treatments) {
      line(
          shown_treatment(t), stand_.rates, [&](const StandRate& r) { return r.treatment == t; },
          [](const StandRate& r) { return r.rate; });
    }
    std::set<std::string> done;
    for (const StandDifference& d : stand_.differences) {
      const std::string pair = pair_name(d.treatment, d.against);
      if (!done.insert(pair).second) continue;
      line(
          pair, stand_.differences,
          [&](const StandDifference& o) { return pair_name(o.treatment, o.against) == pair; },
          [](const StandDifference& o) { return o.difference; });
    }
    if (table.rows.empty()) return;
    out_.handout.words = {"One field, one year. A range that holds zero shows no difference."};
    for (const ReportSection& s : out_.sections) {
      for (const Chart& c : s.charts) {
        if (c.name == "plants" || c.name == "ears" || c.name == "differences")
          out_.handout.charts.push_back(c.name);
      }
    }
  }

  void cautions() {
    out_.cautions = {
        "One field, one year: another spring may turn the order around. Strips that differ in soil, old "
        "wheel "
        "tracks, fence rows or manure differ in stand without any treatment.",
        "Replanting has costs and dates of its own, and seed and herbicide labels have rules: ask your "
        "adviser "
        "before you decide.",
        "In the field: wear eye protection among dry leaves, keep out of rows while machines work, and stay "
        "out "
        "after spraying until the label lets you in."};
  }

  StandReport stand_;
  StandShown shown_;
  Report out_;
};

}  // namespace

Report report_of_stand(const TidyFile& file, std::string_view units) { return Page(file, units).report(); }

}  // namespace stoverturn
