#include <algorithm>
#include <cmath>
#include <iterator>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/trial/trial_look.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t width = 100, label_width = 24, cell_width = 12;
constexpr std::size_t columns = (width - label_width) / cell_width;

/// As many characters wide, longer text cut off with a dot.
std::string fitted(const std::string& text, std::size_t wide) {
  const auto starts_character = [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; };
  std::size_t characters = 0, bytes = 0;
  for (; bytes < text.size() && (characters < wide || !starts_character(text[bytes])); ++bytes) {
    characters += starts_character(text[bytes]);
  }
  if (bytes < text.size()) {
    do --bytes;
    while (!starts_character(text[bytes]));
    return text.substr(0, bytes) + ".";
  }
  return text + std::string(wide - characters, ' ');
}

/// Words of `text` in lines of at most `width`, behind `first` blanks, later lines behind `then`.
void add_wrapped(std::string& out, const std::string& text, std::size_t first, std::size_t then) {
  std::string line(first, ' ');
  bool begun = false;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t to = std::min(text.find(' ', from), text.size());
    const std::string word = text.substr(from, to - from);
    if (begun && line.size() + 1 + word.size() > width) {
      out += line + "\n";
      line = std::string(then, ' ') + word;
    } else {
      line += (begun ? " " : "") + word;
    }
    begun = true;
    from = to + 1;
  }
  out += line + "\n";
}

struct Shown {
  double factor = 100.0;
  std::string unit = "%", unit_of_difference = "percentage points";
};
Shown shown(const std::string& unit, const std::string& units) {
  if (unit == "1") return {};
  const std::string wanted = units == "us" ? "lb/acre" : "kg/ha";
  return {in_unit(1.0, wanted, Kind::mass_per_area), wanted, wanted};
}

std::string number(double x) { return std::isnan(x) ? "-" : fmt::format("{:.1f}", x); }

using TableKey =
    std::tuple<std::string, std::string, std::string, std::string>;  ///< site, measure, component, place
template <class Entry>
TableKey key_of(const Entry& e) {
  return {e.site, e.measure, e.component, e.placement};
}
std::string heading(const TableKey& key) {
  const auto& [site, measure, component, placement] = key;
  std::string text = site.empty() ? "" : site + ": ";
  text += measure;
  for (const std::string& word : {component, placement}) {
    if (!word.empty()) text += ", " + word;
  }
  return text;
}

template <class Entry>
std::vector<TableKey> tables_of(const std::vector<Entry>& entries) {
  std::vector<TableKey> keys;
  for (const Entry& e : entries) {
    if (std::find(keys.begin(), keys.end(), key_of(e)) == keys.end()) keys.push_back(key_of(e));
  }
  return keys;
}

class Printer {
 public:
  Printer(const TrialLook& look, const std::string& units) : look_(look), units_(units) {
    for (const LookGroup& g : look.groups) {
      std::vector<std::string>& names = treatments_[g.site];
      if (std::find(names.begin(), names.end(), g.treatment) == names.end()) names.push_back(g.treatment);
    }
  }

  std::string all() {
    add_treatments();
    for (const TableKey& key : tables_of(look_.groups)) add_means(key);
    for (const TableKey& key : tables_of(look_.differences)) add_differences(key);
    add_handling();
    add_odd();
    out_ += "\n";
    for (const std::string& sentence : look_.assumes) add_wrapped(out_, sentence, 0, 0);
    for (const std::string& warning : look_.warnings) add_wrapped(out_, "Note: " + warning, 0, 6);
    return std::move(out_);
  }

 private:
  std::string letter(const std::string& site, const std::string& treatment) const {
    const std::vector<std::string>& names = treatments_.at(site);
    const auto index = std::find(names.begin(), names.end(), treatment) - names.begin();
    return index < 26 ? std::string(1, static_cast<char>('A' + index)) : fmt::format("T{}", index + 1);
  }

  void add_treatments() {
    out_ += "Treatments\n";
    for (const auto& [site, names] : treatments_) {
      for (const std::string& name : names) {
        out_ += fmt::format("  {:<4}{}{}\n", letter(site, name), site.empty() ? "" : site + ": ",
                            fitted(name, std::min<std::size_t>(name.size(), 70)));
      }
    }
  }

  /// Rows of cells under days, in blocks of as many columns as fit. `days` -1: the whole course.
  void add_table(const std::vector<int>& days, const std::map<int, std::string>& dates,
                 const std::vector<std::pair<std::string, std::map<int, std::string>>>& rows) {
    for (std::size_t first = 0; first < days.size(); first += columns) {
      const std::size_t end = std::min(first + columns, days.size());
      std::string head = std::string(label_width, ' '), below = head;
      for (std::size_t c = first; c < end; ++c) {
        head += fmt::format("{:>{}}", days[c] < 0 ? "course" : fmt::format("day {}", days[c]), cell_width);
        below += fmt::format("{:>{}}", days[c] < 0 ? "" : dates.at(days[c]), cell_width);
      }
      out_ += head + "\n";
      if (!dates.empty() && below.find_first_not_of(' ') != std::string::npos) out_ += below + "\n";
      for (const auto& [label, cells] : rows) {
        std::string line = fitted("  " + label, label_width);
        for (std::size_t c = first; c < end; ++c) {
          const auto cell = cells.find(days[c]);
          line += fmt::format("{:>{}}", cell == cells.end() ? "" : cell->second, cell_width);
        }
        line.erase(line.find_last_not_of(' ') + 1);
        out_ += line + "\n";
      }
    }
  }

  void add_means(const TableKey& key) {
    std::vector<int> days;
    std::map<int, std::string> dates;
    std::vector<std::pair<std::string, std::map<int, std::string>>> rows;
    std::map<std::string, std::map<int, std::string>> counts;
    int least = 1 << 30, most = 0;
    std::string unit;
    for (const LookGroup& g : look_.groups) {
      if (key_of(g) != key) continue;
      const Shown in = shown(g.unit, units_);
      unit = in.unit;
      if (std::find(days.begin(), days.end(), g.pull) == days.end()) days.push_back(g.pull);
      const auto [date, is_new] = dates.emplace(g.pull, format_date(g.date));
      if (!is_new && date->second != format_date(g.date)) date->second = "";
      const std::string label = fmt::format("{} {}", letter(g.site, g.treatment), g.treatment);
      if (rows.empty() || rows.back().first != label) rows.push_back({label, {}});
      rows.back().second[g.pull] =
          g.n == 1 ? number(in.factor * g.mean)
                   : fmt::format("{} ({})", number(in.factor * g.mean), number(in.factor * g.sd));
      counts[label][g.pull] = fmt::format("n {}", g.n);
      least = std::min(least, g.n);
      most = std::max(most, g.n);
    }
    std::sort(days.begin(), days.end());
    if (least < most) {
      for (std::size_t r = rows.size(); r > 0; --r) {
        rows.insert(rows.begin() + static_cast<std::ptrdiff_t>(r), {"", counts[rows[r - 1].first]});
      }
    }
    out_ += "\n";
    out_ += "\n";
    add_wrapped(out_,
                fmt::format("{}, {}: mean (sd between bags){}", heading(key), unit,
                            least == most ? fmt::format(", n = {} each", most) : ""),
                0, 2);
    add_table(days, dates, rows);
  }

  void add_differences(const TableKey& key) {
    std::vector<int> days;
    std::vector<std::pair<std::string, std::map<int, std::string>>> rows;
    std::string unit;
    for (const LookDifference& d : look_.differences) {
      if (key_of(d) != key) continue;
      const Shown in = shown(d.unit, units_);
      unit = in.unit_of_difference;
      if (std::find(days.begin(), days.end(), d.pull) == days.end()) days.push_back(d.pull);
      const std::string label = fmt::format("{} - {}", letter(d.site, d.second), letter(d.site, d.first));
      if (rows.empty() || rows.back().first != label) rows.push_back({label, {}});
      const double half = in.factor * (d.between.upper - d.difference);
      rows.back().second[d.pull] = std::isnan(half)
                                       ? fmt::format("{:+.1f}", in.factor * d.difference)
                                       : fmt::format("{:+.1f} +-{:.1f}", in.factor * d.difference, half);
    }
    std::sort(days.begin(), days.end());
    out_ += "\n";
    add_wrapped(
        out_,
        fmt::format("{}: differences in {} with {:.4g} % intervals", heading(key), unit, 100.0 * look_.level),
        0, 2);
    add_table(days, {}, rows);
  }

  void add_handling() {
    if (look_.handling.empty()) return;
    out_ += fmt::format(
        "\nLost between laying out and lifting on day 0, % of what was put in ({:.4g} % interval)\n",
        100.0 * look_.level);
    for (const LookHandling& h : look_.handling) {
      const std::string where = (h.site.empty() ? "" : h.site + ": ") +
                                place_text(h.treatment, h.component, -1) +
                                (h.placement.empty() ? "" : ", " + h.placement);
      const std::string range =
          std::isnan(h.between.lower)
              ? ""
              : fmt::format("  ({:.1f} to {:.1f})", 100.0 * h.between.lower, 100.0 * h.between.upper);
      out_ += fmt::format("  {} n {:<4}{:>6.1f}{}\n", fitted(where, 60), h.n, 100.0 * h.loss, range);
    }
  }

  void add_odd() {
    if (look_.odd.empty()) {
      out_ += "\nNo odd bags.\n";
      return;
    }
    out_ += "\nOdd bags: nothing is left out, look at them\n";
    for (const LookOddBag& o : look_.odd) {
      std::string who = o.treatment;
      for (const std::string& word : {o.component, o.placement}) {
        if (!word.empty()) who += ", " + word;
      }
      if (!o.block.empty()) who += ", block " + o.block;
      if (!o.replicate.empty()) who += ", replicate " + o.replicate;
      add_wrapped(out_, fmt::format("{}, line {}, day {} ({}): {}", o.data, o.bag.line, o.pull, who, o.why),
                  2, 4);
    }
  }

  const TrialLook& look_;
  const std::string& units_;
  std::map<std::string, std::vector<std::string>> treatments_;  ///< by site
  std::string out_;
};

}  // namespace

std::string print_look(const TrialLook& look, const std::string& units) { return Printer(look, units).all(); }

}  // namespace stoverturn
