#include "scenarios/design/bag_labels.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <boost/random/uniform_int_distribution.hpp>

#include "engine/random_stream.hpp"
#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"

namespace stoverturn {
namespace {

void shuffle(std::vector<BagLabel>& labels, std::uint64_t seed, int replicate) {
  RandomStream stream = random_stream(seed, "bag labels", static_cast<std::uint64_t>(replicate));
  for (std::size_t i = labels.size(); i > 1; --i) {
    boost::random::uniform_int_distribution<std::size_t> any(0, i - 1);
    std::swap(labels[i - 1], labels[any(stream)]);
  }
}

}  // namespace

std::vector<BagLabel> bag_labels(const DesignPlan& plan, const DesignModel& model,
                                 const std::vector<int>& days, int replicates) {
  std::vector<BagLabel> all;
  for (int replicate = 1; replicate <= std::max(replicates, plan.handling); ++replicate) {
    std::vector<BagLabel> block;
    for (const DesignCell& cell : model.cells) {
      const Treatment& t = model.scenario.treatments[cell.treatment];
      const auto add = [&](int day) {
        block.push_back({0, t.name, cell.component, cell.placement, replicate, day,
                         t.first().date + std::chrono::days(day)});
      };
      if (replicate <= plan.handling) add(0);
      for (std::size_t i = 0; replicate <= replicates && i < days.size(); ++i) add(days[i]);
    }
    shuffle(block, plan.seed, replicate);
    for (BagLabel& label : block) {
      label.number = static_cast<int>(all.size()) + 1;
      all.push_back(std::move(label));
    }
  }
  return all;
}

std::string label_sheet(const std::vector<BagLabel>& labels) {
  std::string text = "bag,treatment,component,placement,replicate,date,initial mass [g],mass [g],note\n";
  for (const BagLabel& l : labels) {
    text += fmt::format("{},{},{},{},{},{},,,\n", l.number, csv_cell(l.treatment), csv_cell(l.component),
                        l.placement, l.replicate, format_date(l.date));
  }
  return text;
}

}  // namespace stoverturn
