#pragma once
#include "scenarios/charts/chart.hpp"
#include "scenarios/design/design_report.hpp"

/// Charts of the plan of a trial; alike in both systems of units, since all is days, shares and bags.
namespace stoverturn {

/// "opened, buried": what a tag says of a bag.
std::string bag_kind(const std::string& treatment, const std::string& component,
                     const std::string& placement);

/// What is expected to be left in each kind of bag, with the band of the draws and a mark on each pull.
Chart expected_left_chart(const DesignReport& plan);
/// Each parameter before and after the trial, over what is expected.
Chart plan_intervals_chart(const DesignReport& plan);
/// How much wider intervals get with other ways to use the bags.
Chart plan_choices_chart(const DesignReport& plan);
/// The same by number of bags in all, with as many replicates as chosen.
Chart plan_sizes_chart(const DesignReport& plan);
/// Chance to see the difference in mass by bags of one pull.
Chart bag_power_chart(const DesignReport& plan);

}  // namespace stoverturn
