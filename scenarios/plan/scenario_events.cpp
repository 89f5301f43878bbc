#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/plan/implements.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

std::optional<std::chrono::sys_days> event_date(TableReader& in, std::chrono::sys_days harvest) {
  const std::optional<double> after_d = in.amount("after_harvest", Kind::time, 0.0, 36525.0);
  const std::optional<std::chrono::sys_days> date = in.date("date");
  if (in.has("date") && in.has("after_harvest")) {
    in.mistake("after_harvest", "found with `date`; keep one of the two");
    return std::nullopt;
  }
  if (!in.has("after_harvest")) in.require("date", "date = 2026-11-05, or after_harvest = \"16 d\"");
  if (after_d) return harvest + std::chrono::days{static_cast<int>(std::lround(*after_d))};
  if (date && *date < harvest) {
    in.mistake("date",
               fmt::format("{} is before the harvest of {}", format_date(*date), format_date(harvest)));
  }
  return date;
}

std::chrono::sys_days date_of(const EventPlan& event) {
  return std::visit([](const auto& plan) { return plan.date; }, event);
}

/// Passes after one that buried in the same year after harvest bury less, where the table says how much.
void weigh_later_passes(std::vector<ReadEvent>& events, std::chrono::sys_days harvest) {
  int disturbed = -1;  // latest year after harvest with a pass that buried
  for (ReadEvent& event : events) {
    TillagePlan* pass = std::get_if<TillagePlan>(&event.plan);
    if (!pass) continue;
    const int year = static_cast<int>(static_cast<double>((pass->date - harvest).count()) / 365.25);
    const double buried = pass->bury;
    if (event.bury_from_table && year == disturbed) pass->bury *= later_pass;
    if (buried > 0.0) disturbed = year;
  }
}

}  // namespace

void read_events(const List* list, Treatment& treatment, Mistakes& mistakes) {
  if (!list) return;
  std::vector<ReadEvent> events;
  for (const Value& item : *list) {
    if (!item.table()) {
      mistakes.add(item.at, "found " + std::string(kind_name(item)) + "; wanted an event as [[event]]");
      continue;
    }
    TableReader in(*item.table(), "[[event]]", item.at, mistakes);
    in.require("kind", "kind = \"tillage\", \"fertiliser\", \"removal\" or \"irrigation\"");
    const std::optional<std::string> kind =
        in.one_of("kind", {"tillage", "fertiliser", "fertilizer", "removal", "irrigation"});
    const std::chrono::sys_days date = event_date(in, treatment.harvest).value_or(treatment.harvest);
    in.text("note");
    if (!kind) continue;  // which keys belong here is not known
    events.push_back(*kind == "tillage"      ? read_tillage(in, date, treatment, mistakes)
                     : *kind == "removal"    ? read_removal(in, date, treatment, mistakes)
                     : *kind == "irrigation" ? read_irrigation(in, date)
                                             : read_fertiliser(in, date));
    in.finish();
  }
  std::stable_sort(events.begin(), events.end(),
                   [](const ReadEvent& a, const ReadEvent& b) { return date_of(a.plan) < date_of(b.plan); });
  weigh_later_passes(events, treatment.harvest);
  for (ReadEvent& event : events) treatment.events.push_back(std::move(event.plan));
}

}  // namespace stoverturn
