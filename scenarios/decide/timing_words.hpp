#pragma once
#include "scenarios/decide/timing.hpp"
#include "scenarios/results/shown.hpp"

/// What table and report say of the results of timing.
namespace stoverturn {

/// A choice and the treatments that it concerns, by their places in the results.
struct PlacedChoice {
  std::size_t treatment, base;
  TimingChoice choice;
};

/// The choices that results keep as the text `choices` (choices_csv()); none where they keep none.
std::vector<PlacedChoice> choices_in(const Results& results);

/// Treatments without a choice, in the order of the choices.
std::vector<std::size_t> bases_of(const std::vector<PlacedChoice>& choices);

/// The choices on a base by their median gain.
std::vector<PlacedChoice> best_first(const Results& results, const std::vector<PlacedChoice>& choices,
                                     std::size_t base);

/// Places in the quantiles that ask_for_timing() asks for.
namespace timing_quantile {
inline constexpr std::size_t lowest = 0, low = 1, middle = 2, high = 3;
}

/// Reads quantiles of a treatment as people are shown them.
class TimingQuantiles {
 public:
  explicit TimingQuantiles(const Results& results) : r_(results) {}
  double of(const std::string& name, std::size_t treatment, std::size_t quantile,
            std::size_t inner = 0) const;
  double share(const std::string& name, std::size_t treatment) const;
  std::string unit(const std::string& name) const;

 private:
  const Results& r_;
};

/// What a choice did, in a paragraph: residue, N lost, N that is useful, money, warm soil. `end`: when the
/// run ended, "in 2028-10".
std::string timing_verdict(const Results& results, const PlacedChoice& choice, std::string_view end);

}  // namespace stoverturn
