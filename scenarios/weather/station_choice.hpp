#pragma once
#include <set>
#include <string>
#include <string_view>

#include "scenarios/text/mistakes.hpp"

namespace stoverturn {

/// Which of the stations of a file is read. Sees every station; says once, at the end, when the choice is not
/// clear.
class StationChoice {
 public:
  /// "" when the user named none: right when the file holds one.
  explicit StationChoice(std::string wanted) : wanted_(std::move(wanted)) {}

  bool is_wanted(std::string_view station);

  /// A mistake for several stations of which none was chosen, and for one that is not there.
  void check(const std::string& name, Mistakes& mistakes) const;

 private:
  std::string wanted_;
  std::string last_;
  std::set<std::string, std::less<>> seen_;
};

/// The mistake of naming a station where the file names none.
void refuse_station(const std::string& wanted, const std::string& name, Mistakes& mistakes);

}  // namespace stoverturn
