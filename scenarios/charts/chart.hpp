#pragma once
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "scenarios/results/shown.hpp"

/// Charts as data and Vega-Lite specifications; report page, figures and live page show the same ones.
namespace stoverturn {

enum class FieldType { number, text, date };

/// One column of a chart's data; numbers in the canonical unit, `shown` says how people see them. Dates are
/// days since 1970-01-01.
struct ChartField {
  std::string name;   ///< letters, digits and '_': head of the column when it is saved as CSV
  std::string title;  ///< words of axis and legend: "residue left"
  FieldType type = FieldType::number;
  Shown shown;
  std::vector<double> numbers;  ///< of numbers and dates; NaN: empty
  std::vector<std::string> texts;
};

/// One chart in one system of units.
struct Chart {
  std::string name;                ///< letters, digits and '-': "mass-left"
  std::string title;               ///< what it shows, in plain words
  std::string says;                ///< one to three sentences written from the numbers
  std::vector<ChartField> fields;  ///< all equally long
  /// Vega-Lite of one view (mark or layer, with encoding): no data, size or colours. Or {"concat": [view,
  /// ...]}: small charts of different axes side by side, as many as the width holds; then no facet.
  nlohmann::json spec;
  std::string facet;                    ///< a text field: a small chart for each of its values; "": one chart
  int height_px = 260;                  ///< of the view, or of each small one
  nlohmann::json small_spec = nullptr;  ///< one view for handouts where a facet's small charts are too many

  std::size_t rows() const;
  /// Throws std::out_of_range naming the field.
  const ChartField& field(std::string_view name) const;
};

/// A new empty column; fill what is given back. Good until the next is added.
std::vector<double>& add_numbers(Chart& chart, std::string name, std::string title, Shown shown);
std::vector<double>& add_dates(Chart& chart, std::string name, std::string title);
std::vector<std::string>& add_texts(Chart& chart, std::string name, std::string title);

/// "N released [kg/ha]", with substance where the title does not name it; "date".
std::string axis_title(const ChartField& field);

/// Encoding of a field on an axis: {"field", "type", "title", ...}.
nlohmann::json on_axis(const Chart& chart, std::string_view field);

/// Encoding by colour and dash at once, so that lines are told apart in grey print too. Members "color" and
/// "strokeDash" of an "encoding", in the order of first appearance.
nlohmann::json as_lines(const Chart& chart, std::string_view field);
/// The same for points: "color" and "shape".
nlohmann::json as_points(const Chart& chart, std::string_view field);

/// A line for each value of `series`; a band between `low` and `high` where these are named.
struct LinesForm {
  std::string_view x, y, series, low, high;  ///< fields; `series`, `low`, `high` may be ""
};
nlohmann::json lines(const Chart& chart, const LinesForm& form);

/// Adds to a layered spec a thin line across the chart at a shown value of the y axis, with a word.
void add_level(nlohmann::json& spec, double shown_value, std::string_view word);
/// The same upright, at dates (days since 1970-01-01).
struct KeyDate {
  double date;
  std::string word;
};
void add_key_dates(nlohmann::json& spec, const std::vector<KeyDate>& dates);

/// A chart in both systems, as page and figures read it: names, columns with canonical numbers (six digits),
/// and for "si" and "us" each the words, specification and how fields are shown. The two must be alike but
/// for their units; throws std::invalid_argument otherwise.
nlohmann::json chart_json(const Chart& si, const Chart& us);

}  // namespace stoverturn
