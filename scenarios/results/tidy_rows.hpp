#pragma once
#include <cmath>
#include <string>
#include <string_view>
#include <type_traits>
#include <vector>

#include "fitting/covariance.hpp"
#include "scenarios/results/tidy_table.hpp"

namespace stoverturn {

/// One table of a file, read back into structs, one a row. What is empty is NaN, or 0 where whole numbers are
/// wanted.
class TidyRows {
 public:
  TidyRows(const TidyFile& file, std::string_view table) : file_(file), table_(table) {}

  std::size_t rows() const { return rows_in(file_, table_); }
  std::vector<double> numbers(std::string_view column) const { return numbers_in(file_, table_, column); }
  std::vector<std::string> texts(std::string_view column) const { return texts_in(file_, table_, column); }

  template <class Row>
  void set(std::vector<Row>& rows, std::string_view column, std::string Row::*member) const {
    const std::vector<std::string> values = texts(column);
    for (std::size_t i = 0; i < rows.size(); ++i) rows[i].*member = values[i];
  }
  template <class Row, class Number>
  void set(std::vector<Row>& rows, std::string_view column, Number Row::*member, double factor = 1.0) const {
    const std::vector<double> values = numbers(column);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      if (std::is_integral_v<Number> && !std::isfinite(values[i])) continue;
      rows[i].*member = static_cast<Number>(values[i] * factor);
    }
  }
  template <class Row>
  void set(std::vector<Row>& rows, std::string_view lower, std::string_view upper, Interval Row::*member,
           double factor = 1.0) const {
    const std::vector<double> low = numbers(lower), high = numbers(upper);
    for (std::size_t i = 0; i < rows.size(); ++i) rows[i].*member = {low[i] * factor, high[i] * factor};
  }

 private:
  const TidyFile& file_;
  std::string_view table_;
};

}  // namespace stoverturn
