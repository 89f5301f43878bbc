#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/prices_section.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

/// When an event happens: on one day, or some time after a harvest.
struct Timing {
  std::optional<std::chrono::sys_days> date;
  std::optional<int> after_d;
  std::optional<std::chrono::month_day> each_year;

  std::chrono::sys_days after(std::chrono::sys_days harvest) const {
    if (date) return *date;
    return each_year ? next_on_or_after(harvest, *each_year)
                     : harvest + std::chrono::days{after_d.value_or(0)};
  }
};

Timing read_timing(TableReader& in, std::chrono::sys_days first_harvest) {
  Timing timing;
  const std::optional<double> after_d = in.amount("after_harvest", Kind::time, 0.0, 36525.0);
  if (after_d) timing.after_d = static_cast<int>(std::lround(*after_d));
  const Value* date = in.value("date");
  if (date && date->text()) timing.each_year = parse_month_day(*date->text());
  if (!timing.each_year) timing.date = in.date("date");
  if (in.has("date") && in.has("after_harvest")) {
    in.mistake("after_harvest", "found with `date`; keep one of the two");
    return {};
  }
  if (!in.has("after_harvest")) in.require("date", "date = 2026-11-05, or after_harvest = \"16 d\"");
  if (timing.date && *timing.date < first_harvest) {
    in.mistake("date", fmt::format("{} is before the harvest of {}", format_date(*timing.date),
                                   format_date(first_harvest)));
  }
  return timing;
}

std::chrono::sys_days date_of(const EventPlan& event) {
  return std::visit([](const auto& plan) { return plan.date; }, event);
}

/// Passes after one that buried in the same year after a harvest bury less, where the table says how much.
void weigh_later_passes(std::vector<ReadEvent>& events, const Treatment& treatment) {
  std::pair<std::size_t, int> disturbed{0, -1};  // last harvest, and year after it, with a pass that buried
  for (ReadEvent& event : events) {
    TillagePlan* pass = std::get_if<TillagePlan>(&event.plan);
    if (!pass) continue;
    const std::size_t last = treatment.harvest_on(pass->date);
    const auto since = (pass->date - treatment.harvests[last].date).count();
    const std::pair now{last, static_cast<int>(static_cast<double>(since) / 365.25)};
    const double buried = pass->bury;
    if (event.bury_from_table && now == disturbed) pass->bury *= later_pass;
    if (buried > 0.0) disturbed = now;
  }
}

/// What is taken off is known by the day: of two prices on one day each would need its own mass.
void refuse_two_prices(const std::vector<ReadEvent>& events, Mistakes& mistakes) {
  const ReadEvent* last = nullptr;
  for (const ReadEvent& event : events) {
    if (!event.payment.takes_off) continue;
    const Payment& now = event.payment;
    if (last && last->payment.date == now.date &&
        (last->payment.price_g != now.price_g || last->payment.cost_g != now.cost_g)) {
      mistakes.add(event.at,
                   fmt::format("two removals on {} have different prices or costs per mass; put them "
                               "on two days",
                               format_date(now.date)));
    }
    last = &event;
  }
}

class EventReader {
 public:
  EventReader(const Prices& prices, Treatment& treatment, Mistakes& mistakes)
      : prices_(prices), treatment_(treatment), mistakes_(mistakes) {}

  /// Those of [[event]]: once, or after the first harvest and after every harvest of `repeats` before `end`.
  void read(const List& list, const std::vector<std::chrono::sys_days>& repeats, std::chrono::sys_days end) {
    for (const Value& item : list) {
      const std::chrono::sys_days first = treatment_.first().date;
      const Timing timing = read_one(item, "[[event]]", first);
      if (timing.date) continue;
      for (const std::chrono::sys_days harvest : repeats) {
        if (timing.after(harvest) <= end) read_one(item, "[[event]]", harvest);
      }
    }
  }

  /// Those of a block of a rotation, after one of its harvests.
  void read_block(const List& list, std::chrono::sys_days harvest, std::chrono::sys_days end) {
    const std::size_t known = events_.size();
    for (const Value& item : list) {
      const Timing timing = read_one(item, "[[rotation.event]]", harvest);
      if (timing.date) {
        mistakes_.add(item.at,
                      "[[rotation.event]] comes round with its block; write date = \"11-05\" "
                      "(month-day), or after_harvest = \"16 d\"");
      }
    }
    events_.erase(std::remove_if(events_.begin() + static_cast<std::ptrdiff_t>(known), events_.end(),
                                 [&](const ReadEvent& e) { return date_of(e.plan) > end; }),
                  events_.end());
  }

  std::vector<ReadEvent>& events() { return events_; }

 private:
  Timing read_one(const Value& item, const char* what, std::chrono::sys_days harvest) {
    if (!item.table()) {
      mistakes_.add(item.at, fmt::format("found {}; wanted an event as {}", kind_name(item), what));
      return {};
    }
    TableReader in(*item.table(), what, item.at, mistakes_);
    in.require("kind", "kind = \"tillage\", \"fertiliser\", \"removal\" or \"irrigation\"");
    const std::optional<std::string> kind =
        in.one_of("kind", {"tillage", "fertiliser", "fertilizer", "removal", "irrigation"});
    const Timing timing = read_timing(in, treatment_.first().date);
    const std::chrono::sys_days date = timing.after(harvest);
    in.text("note");
    if (!kind) return timing;  // which keys belong here is not known
    events_.push_back(*kind == "tillage"      ? read_tillage(in, date, treatment_, mistakes_)
                      : *kind == "removal"    ? read_removal(in, date, treatment_, mistakes_)
                      : *kind == "irrigation" ? read_irrigation(in, date)
                                              : read_fertiliser(in, date));
    events_.back().payment = read_payment(in, *kind, events_.back().plan, prices_);
    events_.back().at = item.at;
    in.finish();
    return timing;
  }

  const Prices& prices_;
  Treatment& treatment_;
  Mistakes& mistakes_;
  std::vector<ReadEvent> events_;
};

}  // namespace

void read_events(const List* list, const std::vector<RotatedHarvest>& rotated, const RunDates& run,
                 const Prices& prices, Treatment& treatment, Mistakes& mistakes) {
  EventReader reader(prices, treatment, mistakes);
  std::vector<std::chrono::sys_days> repeats;
  for (const RotatedHarvest& r : rotated) {
    if (!r.events) repeats.push_back(treatment.harvests[r.harvest].date);
  }
  if (list) reader.read(*list, repeats, run.end);
  for (const RotatedHarvest& r : rotated) {
    if (r.events) reader.read_block(*r.events, treatment.harvests[r.harvest].date, run.end);
  }
  std::vector<ReadEvent>& events = reader.events();
  std::stable_sort(events.begin(), events.end(),
                   [](const ReadEvent& a, const ReadEvent& b) { return date_of(a.plan) < date_of(b.plan); });
  weigh_later_passes(events, treatment);
  refuse_two_prices(events, mistakes);
  for (ReadEvent& event : events) {
    treatment.events.push_back(std::move(event.plan));
    treatment.payments.push_back(std::move(event.payment));
  }
}

}  // namespace stoverturn
