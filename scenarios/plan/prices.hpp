#pragma once
#include <chrono>
#include <optional>
#include <string>
#include <vector>

#include "scenarios/text/document.hpp"

namespace stoverturn {

/// [costs]: money m-2 of a pass unless the name says otherwise. What is absent counts as 0, and a note says
/// so.
struct Costs {
  struct Pass {
    std::string name;  ///< of an implement, or one that events give as `pass`
    double m2;
    Position at;
  };
  std::vector<Pass> passes;
  std::optional<double> tillage;     ///< of an implement without a cost of its own
  std::optional<double> spreading;   ///< of fertiliser or manure
  std::optional<double> baling_m2;   ///< by area,
  std::optional<double> baling_g;    ///< or per gram of dry matter
  std::optional<double> irrigation;  ///< of one watering by an event
};

/// [prices] and [costs], one of each for the whole file.
struct Prices {
  double nitrogen, phosphate, potash, sulfur;  ///< money per gram of N, P2O5, K2O, S
  std::optional<double> bales;                 ///< per gram of dry matter
  std::optional<double> grain;                 ///< per gram as sold (a bushel: 56 lb)
  std::optional<double> bale_g;                ///< dry matter of one bale
  double interest = 0.0;                       ///< a year, by which later money is worth less
  std::vector<std::string> placeholders;       ///< keys of prices that the file does not give
  Costs costs;
};

/// Money on one day: of an event.
struct Payment {
  std::chrono::sys_days date;
  double cost_m2 = 0.0;                ///< pass and product, money m-2
  double cost_g = 0.0, price_g = 0.0;  ///< of dry matter taken off that day: baling, and what it is sold for
  bool takes_off = false;
  std::string pass;                   ///< the row of [costs] that it takes, "" for none
  std::vector<std::string> unpriced;  ///< what it has and nothing is written for: "baling", "manure"
};

}  // namespace stoverturn
