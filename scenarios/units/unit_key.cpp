#include "scenarios/units/unit_key.hpp"

#include <algorithm>
#include <cctype>
#include <iterator>
#include <vector>

#include "scenarios/units/unit_table.hpp"

namespace stoverturn {
namespace {

struct Word {
  std::string text;
  std::string power;
  bool below = false;  // after a "/"
};

bool is_digit(char c) { return c >= '0' && c <= '9'; }
bool is_space(char c) { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }
char lower(char c) { return static_cast<char>(std::tolower(static_cast<unsigned char>(c))); }

std::string plain(std::string_view text) {
  static constexpr UnitWord marks[] = {
      {"²", "2"},    {"³", "3"}, {"¹", "1"}, {"⁻", "-"},      {"−", "-"},
      {"·", " "},    {"⋅", " "}, {"µ", "u"}, {"μ", "u"},      {"°", "deg "},
      {"º", "deg "}, {"^", ""},  {"*", " "}, {"\u00a0", " "}, {"\u202f", " "},
  };
  std::string result;
  while (!text.empty()) {
    const auto mark = std::find_if(std::begin(marks), std::end(marks),
                                   [&](const UnitWord& m) { return text.starts_with(m.written); });
    if (mark != std::end(marks)) {
      result += mark->symbol;
      text.remove_prefix(mark->written.size());
    } else {
      result += text.front();
      text.remove_prefix(1);
    }
  }
  return result;
}

std::vector<Word> split(std::string_view text) {
  std::vector<Word> words;
  bool below = false;
  std::size_t i = 0;
  const auto digits = [&] {
    const std::size_t start = i;
    while (i < text.size() && is_digit(text[i])) ++i;
    return std::string(text.substr(start, i - start));
  };
  const auto in_word = [](char c) {
    return !is_digit(c) && !is_space(c) && c != '/' && c != '-' && c != '.';
  };
  while (i < text.size()) {
    const char c = text[i];
    if (is_space(c) || c == '.') {
      ++i;
    } else if (c == '/') {
      if (below) words.push_back({"/", "", true});
      below = true;
      ++i;
    } else if (is_digit(c)) {
      words.push_back({digits(), "", below});
      below = false;
    } else if (!in_word(c)) {
      words.push_back({std::string(1, c), "", below});
      below = false;
      ++i;
    } else {
      const std::size_t start = i;
      while (i < text.size() && in_word(text[i])) ++i;
      Word word{std::string(text.substr(start, i - start)), "", below};
      if (word.text == "per" || word.text == "PER" || word.text == "Per") {
        if (below) words.push_back({"/", "", true});
        below = true;
        continue;
      }
      if (i + 1 < text.size() && text[i] == '-' && is_digit(text[i + 1])) {
        ++i;
        if (word.below) words.push_back({"/", "", true});
        word.below = true;
        word.power = digits();
      } else {
        word.power = digits();
      }
      if (word.power == "1") word.power.clear();
      words.push_back(word);
      below = false;
    }
  }
  if (below) words.push_back({"/", "", true});
  return words;
}

bool same_word(std::string_view a, std::string_view b) {
  if (a.size() != b.size() || a.empty()) return false;
  const bool long_word = a.size() > 3;
  const char first = lower(a.front());
  if (a.front() != b.front() && !long_word && (first == 'm' || first == 't')) return false;
  return std::equal(a.begin(), a.end(), b.begin(), [](char x, char y) { return lower(x) == lower(y); });
}

/// The symbols of the table, as split from its spellings.
const std::vector<std::string>& symbols() {
  static const std::vector<std::string> list = [] {
    std::vector<std::string> found;
    for (const UnitRow& row : unit_rows) {
      for (const Word& word : split(row.spelling)) found.push_back(word.text);
    }
    for (const UnitWord& word : unit_words) found.emplace_back(word.symbol);
    for (const RefusedUnit& unit : refused_units) found.emplace_back(unit.key);
    return found;
  }();
  return list;
}

std::string symbol_of(const std::string& word) {
  for (const UnitWord& row : unit_words) {
    if (word == row.written) return std::string(row.symbol);
  }
  if (std::find(symbols().begin(), symbols().end(), word) != symbols().end()) return word;
  for (const UnitWord& row : unit_words) {
    if (same_word(word, row.written)) return std::string(row.symbol);
  }
  for (const std::string& symbol : symbols()) {
    if (same_word(word, symbol)) return symbol;
  }
  return word;
}

bool is_weighed(const Word& word, Kind kind) {
  const bool kind_weighs = kind == Kind::content || kind == Kind::mass || kind == Kind::mass_per_area ||
                           kind == Kind::mass_per_area_per_time;
  return kind_weighs && word.power.empty() && !word.below &&
         std::find(std::begin(weighed_words), std::end(weighed_words), word.text) != std::end(weighed_words);
}

bool is_degree_scale(const Word& word) {
  const std::string symbol = symbol_of(word.text);
  return word.power.empty() && !word.below &&
         (symbol == "degC" || symbol == "degF" || symbol == "N" || symbol == "S" || symbol == "E" ||
          symbol == "W");
}

}  // namespace

std::string unit_key(std::string_view text, Kind kind) {
  const std::vector<Word> words = split(plain(text));
  std::string key;
  bool weighed = false;
  for (std::size_t i = 0; i < words.size(); ++i) {
    Word word = words[i];
    const bool has_next = i + 1 < words.size();
    if (i == 0 && word.text == "1" && has_next && words[1].below) continue;
    if (i > 0 && word.text == "of" && has_next) continue;
    if (i > 0 && !weighed && is_weighed(word, kind)) {
      weighed = true;
      continue;
    }
    const std::string pair = has_next && word.power.empty() && !words[i + 1].below
                                 ? word.text + ' ' + words[i + 1].text
                                 : std::string();
    std::string symbol;
    for (const UnitWord& row : unit_words) {
      if (same_word(pair, row.written)) symbol = row.symbol;
    }
    if (!symbol.empty()) {
      word.power = words[++i].power;
    } else {
      symbol = symbol_of(word.text);
      if (symbol == "deg" && !pair.empty() && is_degree_scale(words[i + 1])) continue;
    }
    if (word.below) {
      key += '/';
    } else if (!key.empty()) {
      key += '.';
    }
    key += symbol + word.power;
  }
  return key;
}

}  // namespace stoverturn
