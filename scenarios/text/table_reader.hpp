#pragma once
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "scenarios/text/document.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {

/// Reads the keys of one table, adding every mistake to a list. A key that is read is known; finish() reports
/// the others as unknown, with "did you mean". A key that is absent or wrong reads as nothing, so that
/// reading goes on and the user sees all mistakes at once.
class TableReader {
 public:
  /// `what` names the table in messages ("[harvest]").
  TableReader(const Table& table, std::string what, Position at, Mistakes& mistakes);
  TableReader(const TableReader&) = delete;
  TableReader& operator=(const TableReader&) = delete;

  bool has(const std::string& key);
  const Value* value(const std::string& key);
  std::optional<std::string> text(const std::string& key);
  std::optional<std::string> one_of(const std::string& key, const std::vector<std::string>& choices);
  std::optional<double> number(const std::string& key, double lowest, double highest);
  std::optional<bool> flag(const std::string& key);
  std::optional<std::chrono::sys_days> date(const std::string& key);
  std::optional<Quantity> quantity(const std::string& key, Kind kind);
  /// As quantity(), within bounds in the canonical unit.
  std::optional<double> amount(const std::string& key, Kind kind, double lowest, double highest);
  const Table* table(const std::string& key);
  const List* list(const std::string& key);

  Position at(const std::string& key) const;  ///< of the value, else of the table
  void mistake(const std::string& key, const std::string& message);
  void require(const std::string& key, const std::string& example);
  void finish();

 private:
  const Table& table_;
  std::string what_;
  Position at_;
  Mistakes& mistakes_;
  std::vector<std::string> known_;
};

/// Reads a value as a quantity of that kind; nothing and a mistake when it is not one.
std::optional<Quantity> read_quantity(const Value& value, Kind kind, const std::string& key,
                                      Mistakes& mistakes);

}  // namespace stoverturn
