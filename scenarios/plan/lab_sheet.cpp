#include "scenarios/plan/lab_sheet.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/lab_results.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

enum class Role { sample, analyte, value, unit, basis, passed_over };

struct Column {
  Role role = Role::passed_over;
  std::string name;            ///< the header without its unit
  std::string unit;            ///< in brackets behind it
  std::optional<Basis> basis;  ///< of a value column
  Position at;
};

std::optional<Role> role_of(const std::string& word) {
  static constexpr std::pair<std::string_view, Role> words[] = {
      {"sample", Role::sample},         {"sampleid", Role::sample},    {"samplename", Role::sample},
      {"component", Role::sample},      {"part", Role::sample},        {"plantpart", Role::sample},
      {"fraction", Role::sample},       {"analyte", Role::analyte},    {"test", Role::analyte},
      {"parameter", Role::analyte},     {"analysis", Role::analyte},   {"constituent", Role::analyte},
      {"determination", Role::analyte}, {"value", Role::value},        {"result", Role::value},
      {"content", Role::value},         {"unit", Role::unit},          {"units", Role::unit},
      {"basis", Role::basis},           {"method", Role::passed_over}, {"note", Role::passed_over},
      {"notes", Role::passed_over},     {"remark", Role::passed_over}, {"date", Role::passed_over},
      {"labnumber", Role::passed_over}, {"labid", Role::passed_over},
  };
  for (const auto& [known, role] : words) {
    if (known == word) return role;
  }
  return std::nullopt;
}

Column read_column(const CsvCell& cell, const std::string& file) {
  Column c;
  c.at = {file, cell.line, cell.column};
  const std::size_t open = cell.text.find('['), close = cell.text.find(']', open);
  c.name = std::string(trimmed(std::string_view(cell.text).substr(0, open)));
  if (open != std::string::npos && close != std::string::npos) {
    c.unit = cell.text.substr(open + 1, close - open - 1);
  }
  if (const std::optional<Role> role = role_of(plain_word(c.name))) c.role = *role;
  return c;
}

/// The header, told apart by whether it has a column of analytes.
struct Header {
  std::vector<Column> columns;
  bool one_result_a_row = false;

  std::size_t first(Role role) const {
    const auto found =
        std::find_if(columns.begin(), columns.end(), [&](const Column& c) { return c.role == role; });
    return static_cast<std::size_t>(found - columns.begin());
  }
  bool has(Role role) const { return first(role) < columns.size(); }
};

Header read_header(const CsvRow& row, const std::string& file, Mistakes& mistakes) {
  static const std::vector<std::string> known = {"sample", "component", "analyte",     "value",
                                                 "unit",   "basis",     "as received", "dry matter"};
  Header header;
  for (const CsvCell& cell : row) header.columns.push_back(read_column(cell, file));
  const bool has_values = std::any_of(header.columns.begin(), header.columns.end(), [](const Column& c) {
    return c.role == Role::value || read_basis(c.name);
  });
  if (has_values && !header.has(Role::analyte)) {
    for (Column& c : header.columns) {  // what feed laboratories call a component is an analyte
      if (plain_word(c.name) == "component") c.role = Role::analyte;
    }
  }
  header.one_result_a_row = header.has(Role::analyte);
  for (Column& c : header.columns) {
    if (role_of(plain_word(c.name))) continue;
    if (header.one_result_a_row) {
      c.basis = read_basis(c.name);
      if (c.basis) {
        c.role = Role::value;
      } else if (!c.name.empty()) {
        mistakes.add(c.at, fmt::format("unknown column `{}`{}", c.name, did_you_mean(c.name, known)));
      }
    } else if (find_analyte(c.name)) {
      c.role = Role::value;
      if (c.unit.empty()) {
        mistakes.add(c.at, fmt::format("{} needs a unit: write {} [%]", c.name, c.name));
      }
    } else if (!c.name.empty() && !is_unused_analyte(c.name)) {
      mistakes.add(c.at, fmt::format("unknown column `{}`{}", c.name, did_you_mean(c.name, analyte_names())));
    }
  }
  if (!header.has(Role::value)) {
    mistakes.add(
        {file, row.front().line, row.front().column},
        "wanted a header such as sample,analyte,value,unit,basis, or sample,basis,NDF [%],ADF [%],N [%]");
  }
  return header;
}

class SheetReader {
 public:
  SheetReader(const Header& header, std::string file, bool decimal_commas, Mistakes& mistakes)
      : header_(header), file_(std::move(file)), decimal_commas_(decimal_commas), mistakes_(mistakes) {}

  void read(const CsvRow& row) {
    if (row.size() > header_.columns.size()) {
      mistakes_.add(at(row[header_.columns.size()]), "this row has more cells than the header");
    }
    const CsvCell* name = cell(row, Role::sample);
    Sample& sample = sample_of(name ? name->text : "", row.front());
    const std::optional<Basis> basis = basis_of(row);
    if (header_.one_result_a_row) {
      read_result(row, basis, sample);
    } else {
      for (std::size_t i = 0; i < row.size() && i < header_.columns.size(); ++i) {
        const Column& c = header_.columns[i];
        if (c.role != Role::value || row[i].text.empty()) continue;
        sample.written.push_back({c.name, c.at, number_text(row[i].text), c.unit, at(row[i]), c.at, basis});
      }
    }
  }

  std::vector<LabSample> samples() {
    std::vector<LabSample> made;
    for (const Sample& s : samples_) {
      made.push_back(
          {s.name, make_sheet(s.written, s.at, "dry or as received in a column basis", mistakes_)});
    }
    return made;
  }

 private:
  struct Sample {
    std::string name;
    Position at;
    std::vector<WrittenResult> written;
  };

  Position at(const CsvCell& c) const { return {file_, c.line, c.column}; }

  /// The row's cell of that role; nullptr where the sheet has no such column or the cell is empty.
  const CsvCell* cell(const CsvRow& row, Role role) const {
    const std::size_t i = header_.first(role);
    return i < header_.columns.size() && i < row.size() && !row[i].text.empty() ? &row[i] : nullptr;
  }

  std::string number_text(std::string text) const {
    if (decimal_commas_) std::replace(text.begin(), text.end(), ',', '.');
    return text;
  }

  Sample& sample_of(const std::string& name, const CsvCell& first) {
    const auto same =
        std::find_if(samples_.begin(), samples_.end(), [&](const Sample& s) { return s.name == name; });
    if (same != samples_.end()) return *same;
    samples_.push_back({name, at(first), {}});
    return samples_.back();
  }

  std::optional<Basis> basis_of(const CsvRow& row) {
    const CsvCell* word = cell(row, Role::basis);
    if (!word) return std::nullopt;
    const std::optional<Basis> basis = read_basis(word->text);
    if (!basis) {
      mistakes_.add(at(*word), fmt::format("basis: found '{}'; wanted dry or as received", word->text));
    }
    return basis.value_or(Basis::dry);
  }

  /// Of two columns of values the dry one is taken; of water the one as received.
  void read_result(const CsvRow& row, std::optional<Basis> row_basis, Sample& sample) {
    const CsvCell *name = cell(row, Role::analyte), *unit = cell(row, Role::unit);
    if (!name) {
      mistakes_.add(at(row.front()), "this row names no analyte");
      return;
    }
    const std::optional<Analyte> analyte = find_analyte(name->text);
    const bool water = analyte == Analyte::moisture || analyte == Analyte::dry_matter;
    const Column* chosen = nullptr;
    const CsvCell* value = nullptr;
    for (std::size_t i = 0; i < row.size() && i < header_.columns.size(); ++i) {
      const Column& c = header_.columns[i];
      if (c.role != Role::value || row[i].text.empty()) continue;
      const bool better = c.basis == (water ? Basis::as_received : Basis::dry);
      if (!value || better) {
        chosen = &c;
        value = &row[i];
      }
    }
    if (!value) return;
    sample.written.push_back({name->text, at(*name), number_text(value->text),
                              unit ? unit->text : chosen->unit, at(*value), unit ? at(*unit) : chosen->at,
                              chosen->basis ? chosen->basis : row_basis});
  }

  const Header& header_;
  std::string file_;
  bool decimal_commas_;
  Mistakes& mistakes_;
  std::vector<Sample> samples_;
};

char separator_of(std::string_view text) {
  while (!text.empty()) {
    const std::string_view line = text.substr(0, text.find_first_of("\r\n"));
    if (!trimmed(line).empty() && trimmed(line).front() != '#') {
      for (const char c : {';', '\t'}) {
        if (line.find(c) != std::string_view::npos) return c;
      }
      return ',';
    }
    text.remove_prefix(std::min(line.size() + 1, text.size()));
  }
  return ',';
}

}  // namespace

LabSheet read_lab_table(const Table& table, const std::string& what, Position at, Mistakes& mistakes) {
  std::optional<Basis> basis;
  if (const Value* value = find(table, "basis")) {
    const std::string* text = value->text();
    if (text) basis = read_basis(*text);
    if (!basis) {
      mistakes.add(value->at,
                   fmt::format("basis: found {}; wanted \"dry\" or \"as received\"",
                               text ? fmt::format("'{}'", *text) : std::string(kind_name(*value))));
      basis = Basis::dry;
    }
  }
  std::vector<WrittenResult> written;
  bool refused = false, misspelt_basis = false;
  for (const Entry& entry : table) {
    if (entry.key == "basis") continue;
    const Value& value = entry.value.front();
    if (!find_analyte(entry.key) && !is_unused_analyte(entry.key)) {
      std::vector<std::string> known = analyte_names();
      known.insert(known.begin(), "basis");
      refused = true;
      misspelt_basis = misspelt_basis || closest(entry.key, known) == "basis";
      mistakes.add(entry.key_at,
                   fmt::format("unknown key `{}` in {}{}", entry.key, what, did_you_mean(entry.key, known)));
      continue;
    }
    const std::string* text = value.text();
    if (!text) {
      refused = true;
      mistakes.add(value.at,
                   fmt::format("{}: found {}; wanted a content in quotes, such as \"6.8 g/kg\" or \"0.68 %\"",
                               entry.key, kind_name(value)));
      continue;
    }
    Position inside = value.at;
    if (inside.line > 0) ++inside.column;  // behind the quote
    written.push_back({entry.key, entry.key_at, *text, "", inside, inside, basis});
  }
  if (misspelt_basis && !basis) {  // told once
    for (WrittenResult& result : written) result.basis = Basis::dry;
  }
  LabSheet sheet =
      make_sheet(written, std::move(at), "basis = \"dry\" or \"as received\" in " + what, mistakes);
  sheet.of_use |= refused;
  return sheet;
}

std::vector<LabSample> read_lab_csv(std::string_view text, const std::string& name, Mistakes& mistakes) {
  const char separator = separator_of(without_byte_order_mark(text));
  CsvText csv;
  try {
    csv = read_csv(text, name, separator);
  } catch (const InputError& error) {
    mistakes.add(error);
    return {};
  }
  if (csv.rows.size() < 2) {
    mistakes.add({name, 1, 1},
                 "the lab sheet has no rows; wanted a header such as "
                 "sample,analyte,value,unit,basis and a row for each result");
    return {};
  }
  const Header header = read_header(csv.rows.front(), name, mistakes);
  SheetReader reader(header, name, separator != ',', mistakes);
  for (std::size_t r = 1; r < csv.rows.size(); ++r) reader.read(csv.rows[r]);
  return reader.samples();
}

}  // namespace stoverturn
