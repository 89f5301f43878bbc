#pragma once
#include <chrono>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "scenarios/weather/weather_columns.hpp"

namespace stoverturn {

/// The date of each row of a table: from a column `date`, or from year, month and day, or from year and day
/// of the year. Follows their order.
///
/// A date is written yyyy-mm-dd, yyyy/mm/dd or yyyymmdd, or with slashes and the year last, 5/31/2012 or
/// 31/5/2012, when the rows tell day from month. A time after the date is not read.
class RowDates {
 public:
  /// `rows` with their header; only those of `wanted` are looked at.
  RowDates(const std::vector<WeatherColumn>& columns, const std::vector<const CsvRow*>& rows,
           const std::string& name, Mistakes& mistakes);

  /// Nothing, and a mistake, when the row has no date, or one that was there before. A date before the last
  /// one is a mistake.
  std::optional<std::chrono::sys_days> read(const CsvRow& row);

 private:
  enum class Order { none, day_first, month_first };

  std::chrono::sys_days date_of_row(const CsvRow& row) const;
  std::chrono::sys_days date_in(const std::string& text) const;
  int whole(const CsvRow& row, std::size_t column, const char* what) const;
  const CsvCell& cell_of(const CsvRow& row) const;

  std::size_t date_, year_, month_, day_, day_of_year_;
  Order slashed_ = Order::none;
  const std::string& name_;
  Mistakes& mistakes_;
  std::map<std::chrono::sys_days, int> lines_;
  std::optional<std::chrono::sys_days> previous_;
};

/// Hands over each cell of a weather field, row by row, with its column and day. Rows whose date cannot be
/// read are left out.
void each_value(const std::vector<WeatherColumn>& columns, const std::vector<const CsvRow*>& rows,
                const std::string& name, Mistakes& mistakes,
                const std::function<void(const CsvCell&, const WeatherColumn&, std::chrono::sys_days)>& read);

}  // namespace stoverturn
