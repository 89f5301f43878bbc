#pragma once
#include "scenarios/decide/timing_words.hpp"
#include "scenarios/report/spread.hpp"

/// Charts of timing: what each choice changed against the same treatment without it in the same weather. A
/// small chart a treatment, in it a heading a date, below it a mark for each product and rate.
namespace stoverturn {

/// "10 d after harvest", "once the soil stays below 50 degF", "on 04-10"
std::string date_words(const TimingChoice& choice);
/// "30 lb N/acre UAN 28"
std::string product_words(const TimingChoice& choice);

/// "30 lb N/acre UAN 28, on 04-10"
std::string choice_words(const PlacedChoice& choice);

/// Shown with the opposite sign: what is left less is gone more.
Shown turned_round(Shown shown);

/// Results of timing with its choices and what is read of them. The results must outlive it.
struct TimingLook {
  explicit TimingLook(const Results& results);
  const Results& r;
  RunSpread spread;
  std::vector<PlacedChoice> choices;
  std::size_t planting, end;  ///< checkpoints
  std::size_t V6 = 1;         ///< stage
  std::string V6_word, end_words;

  /// A number with quantiles, canonical; NaN where it is not kept.
  RunInterval of(const char* number, std::size_t treatment, std::size_t inner = 0) const;
  /// Throws std::out_of_range where it is not kept.
  Shown as(const char* number) const { return shown(r.find(number), r); }
  /// "3 of 30": runs in which a choice pays.
  std::string paying(std::size_t treatment) const;
  bool has_draws() const { return r.draws > 1; }
  std::string runs_word() const { return has_draws() ? "runs" : "years"; }
};

/// Net N that residue has tied up from harvest to V6, canonical: of a treatment's runs.
RunInterval tied_up_at_V6(const TimingLook& look, std::size_t treatment);

Chart stalks_gone_chart(const TimingLook& look);      ///< by planting
Chart stalks_gone_end_chart(const TimingLook& look);  ///< by the end of the runs
Chart nitrogen_at_V6_chart(const TimingLook& look);
Chart tie_up_V6_chart(const TimingLook& look);  ///< with "nothing spread"
Chart leached_chart(const TimingLook& look);
Chart to_air_chart(const TimingLook& look);
Chart gain_chart(const TimingLook& look);
Chart pays_chart(const TimingLook& look);
Chart warm_soil_chart(const TimingLook& look);

}  // namespace stoverturn
