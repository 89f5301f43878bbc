#include "scenarios/weather/station_choice.hpp"

#include <algorithm>
#include <vector>

#include <fmt/format.h>
#include <fmt/ranges.h>

namespace stoverturn {

bool StationChoice::is_wanted(std::string_view station) {
  if (last_ != station || seen_.empty()) {
    last_ = station;
    seen_.emplace(station);
  }
  return wanted_.empty() ? seen_.size() == 1 : station == wanted_;
}

void StationChoice::check(const std::string& name, Mistakes& mistakes) const {
  constexpr std::size_t shown = 12;
  const std::vector<std::string> list(seen_.begin(), seen_.end());
  if (wanted_.empty() && list.size() > 1) {
    mistakes.add(
        {name},
        fmt::format("the file holds {} stations ({}{}); choose one with --station, or with `station` under "
                    "[weather]",
                    list.size(), fmt::join(list.begin(), list.begin() + std::min(list.size(), shown), ", "),
                    list.size() > shown ? ", ..." : ""));
  } else if (!wanted_.empty() && seen_.count(wanted_) == 0) {
    mistakes.add({name},
                 fmt::format("the file holds no station '{}'{}", wanted_, did_you_mean(wanted_, list)));
  }
}

void refuse_station(const std::string& wanted, const std::string& name, Mistakes& mistakes) {
  if (wanted.empty()) return;
  mistakes.add({name},
               fmt::format("the file names no stations, so '{}' cannot be chosen; leave it out", wanted));
}

}  // namespace stoverturn
