#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "scenarios/plan/later_harvests.hpp"
#include "scenarios/plan/scenario_jobs.hpp"

namespace stoverturn {
namespace {

std::string name_of(const Pieces& p, const std::string& before) {
  const std::string opened =
      p.opening > 0.0 && std::isfinite(p.spacing_mm)
          ? fmt::format(", {:.4g} % open every {:.4g} mm", 100.0 * p.opening, p.spacing_mm)
          : "";
  return fmt::format("{:.4g} mm{} (was {})", p.length_mm, opened, before);
}

/// A cut only makes shorter, an opening only adds to what is open.
Pieces recut(const Pieces& before, const TillagePlan::Recut& cut) {
  Pieces after = before;
  if (before.shape == Shape::sheet) return after;
  after.length_mm = std::min(before.length_mm, cut.cut_length_mm.value_or(before.length_mm));
  after.spacing_mm = std::min(before.spacing_mm, cut.entry_spacing_mm.value_or(before.spacing_mm));
  const double opening = cut.opening.value_or(cut.entry_spacing_mm ? 1.0 : before.opening);
  after.opening = std::max(before.opening, opening);
  return after;
}

class Builder {
 public:
  Builder(const Treatment& treatment, const RunSpan& span, double merge_after_d,
          std::span<const CoverSeason> covers)
      : treatment_(treatment), span_(span), merge_after_d_(merge_after_d), covers_(covers) {
    out_.layout = std::make_shared<Layout>();
  }

  TreatmentLayout build() {
    if (treatment_.cover_crop) add_cover_crop(*treatment_.cover_crop);
    std::size_t next = 0;
    const auto harvest_until = [&](std::chrono::sys_days date) {
      const std::vector<HarvestPlan>& all = treatment_.harvests;
      for (; next < all.size() && all[next].date <= date; ++next) add_harvest(all[next]);
    };
    for (const EventPlan& event : treatment_.events) {
      harvest_until(std::visit([](const auto& plan) { return plan.date; }, event));
      std::visit([&](const auto& plan) { add(plan); }, event);
    }
    harvest_until(std::chrono::sys_days::max());
    sort_events(out_.events);
    std::stable_sort(out_.mulch.begin(), out_.mulch.end(),
                     [](const MulchEvent& a, const MulchEvent& b) { return a.day < b.day; });
    return std::move(out_);
  }

 private:
  int day_of(std::chrono::sys_days date) const { return static_cast<int>((date - span_.start).count()); }

  int piece_index(int component, const Pieces& geometry, const std::string& name) {
    for (std::size_t i = 0; i < out_.pieces.size(); ++i) {
      if (out_.pieces[i].component == component && out_.pieces[i].geometry == geometry &&
          (name.empty() || out_.pieces[i].name == name)) {
        return static_cast<int>(i);
      }
    }
    out_.pieces.push_back({component, geometry, name});
    return static_cast<int>(out_.pieces.size()) - 1;
  }

  int cohort_index(int component, int pieces, Placement placement, int harvest) {
    std::vector<Cohort>& cohorts = out_.layout->cohorts;
    for (std::size_t i = 0; i < cohorts.size(); ++i) {
      if (cohorts[i].component == component && cohorts[i].pieces == pieces &&
          cohorts[i].placement == placement && cohorts[i].harvest == harvest) {
        return static_cast<int>(i);
      }
    }
    cohorts.push_back({component, pieces, placement, harvest, -1});
    const int index = static_cast<int>(cohorts.size()) - 1;
    if (placement == Placement::standing) {
      const int fallen = cohort_index(component, pieces, Placement::surface, harvest);
      cohorts[static_cast<std::size_t>(index)].falls_to = fallen;
    }
    return index;
  }

  /// The lowest number that no harvest on the field has, once those of some age have gone to the older ones.
  void take_number(const HarvestPlan& harvest) {
    const int day = day_of(harvest.date);
    Merge merge;
    std::vector<bool> taken(out_.stays.size() + 1, false);
    for (std::size_t h = 0; h < out_.stays.size(); ++h) {
      TreatmentLayout::Stay& stay = out_.stays[h];
      if (stay.to <= day) continue;
      if (date_after(treatment_.harvests[h].date, merge_after_d_) > harvest.date) {
        taken[static_cast<std::size_t>(stay.number)] = true;
        continue;
      }
      stay.to = day;
      const std::size_t present = out_.layout->cohorts.size();
      for (std::size_t i = 0; i < present; ++i) {
        const Cohort c = out_.layout->cohorts[i];
        if (c.harvest != stay.number) continue;
        merge.cohorts.push_back(
            {static_cast<int>(i), cohort_index(c.component, c.pieces, c.placement, older_harvests)});
      }
    }
    if (!merge.cohorts.empty()) out_.events.push_back({day, merge});
    const int number = static_cast<int>(std::find(taken.begin(), taken.end(), false) - taken.begin());
    out_.stays.push_back({number, day, std::numeric_limits<int>::max()});
  }

  void add_fresh(std::size_t component, int piece, Placement placement, double mass_g_m2) {
    if (mass_g_m2 <= 0.0) return;
    const TreatmentLayout::Stay& stay = out_.stays.back();
    const int cohort = cohort_index(static_cast<int>(component), piece, placement, stay.number);
    out_.events.push_back({stay.from, Harvest<double>{cohort, mass_g_m2}});
    MulchEvent& mulch = out_.mulch.back();
    if (placement == Placement::standing) mulch.standing_added += mass_g_m2;
    if (placement == Placement::surface) mulch.surface_added += mass_g_m2;
  }

  void add_harvest(const HarvestPlan& harvest) {
    take_number(harvest);
    out_.mulch.push_back({});
    out_.mulch.back().day = day_of(harvest.date);
    for (std::size_t c = 0; c < treatment_.components.size(); ++c) {
      double mass = harvest.dry_matter_g_m2 * treatment_.share_of(harvest, c);
      if (mass <= 0.0) continue;
      if (harvest.stubble && harvest.stubble->component == c) {
        Pieces left = harvest.pieces[c].front().geometry;
        left.length_mm = harvest.stubble->height_mm;
        left.spacing_mm = std::numeric_limits<double>::infinity();
        left.opening = 0.0;
        const int piece =
            piece_index(static_cast<int>(c), left, fmt::format("stubble, {:.4g} mm", left.length_mm));
        add_fresh(c, piece, Placement::standing, mass * harvest.stubble->share);
        mass *= 1.0 - harvest.stubble->share;
      }
      for (const PieceClass& pieces : harvest.pieces[c]) {
        const int piece = piece_index(static_cast<int>(c), pieces.geometry, pieces.name);
        for (std::size_t p = 0; p < placements; ++p) {
          add_fresh(c, piece, static_cast<Placement>(p), mass * pieces.share * harvest.placement_shares[p]);
        }
      }
    }
  }

  /// Every year's residue of a cover crop comes to the same cohorts. How much that is depends on the run; the
  /// mulch takes the N it would like.
  void add_cover_crop(const CoverCropPlan& cover) {
    Termination<double> end;
    for (std::size_t c = 0; c < treatment_.components.size(); ++c) {
      if (!treatment_.of_cover_crop(c)) continue;
      const Parameters<double>& p = treatment_.parameters.components[c];
      for (const PieceClass& pieces : treatment_.components[c].pieces) {
        const int piece = piece_index(static_cast<int>(c), pieces.geometry, pieces.name);
        const auto part = [&](Placement placement, double share) {
          if (share <= 0.0) return;
          end.parts.push_back({cohort_index(static_cast<int>(c), piece, placement, cover_crops),
                               p.mass_share * pieces.share * share});
        };
        part(Placement::standing, cover.standing);
        part(Placement::surface, 1.0 - cover.standing);
      }
    }
    for (const CoverSeason& season : covers_) {
      if (season.termination > span_.days) continue;
      out_.events.push_back({season.termination, end});
      double N_g_m2 = 0.0;
      for (const CropDay& day : season.course.days) N_g_m2 += day.nitrogen_g_m2_d;
      const double mass_g_m2 = N_g_m2 / treatment_.cover_nitrogen();
      MulchEvent mulch;
      mulch.day = season.termination;
      mulch.standing_added = mass_g_m2 * cover.standing;
      mulch.surface_added = mass_g_m2 * (1.0 - cover.standing);
      out_.mulch.push_back(mulch);
    }
  }

  int piece_after(const TillagePlan& plan, int piece) {
    const TreatmentLayout::PieceEntry before = out_.pieces[static_cast<std::size_t>(piece)];
    for (const TillagePlan::Recut& cut : plan.recuts) {
      if (static_cast<int>(cut.component) != before.component) continue;
      const Pieces after = recut(before.geometry, cut);
      if (after == before.geometry) return piece;
      return piece_index(before.component, after, name_of(after, before.name));
    }
    return piece;
  }

  void add(const TillagePlan& plan) {
    Tillage<double> tillage;
    const std::size_t present = out_.layout->cohorts.size();  // what the pass itself makes is not moved by it
    for (std::size_t i = 0; i < present; ++i) {
      const Cohort from = out_.layout->cohorts[i];
      if (from.placement == Placement::buried) {
        if (plan.bring_up <= 0.0) continue;
        const int target = cohort_index(from.component, from.pieces, Placement::surface, from.harvest);
        tillage.moves.push_back({static_cast<int>(i), target, plan.bring_up});
        continue;
      }
      const int piece = piece_after(plan, from.pieces);
      const double lifted = from.placement == Placement::standing ? plan.knock_down : 1.0;
      const auto move = [&](Placement to, double share) {
        if (share <= 0.0) return;
        const int target = cohort_index(from.component, piece, to, from.harvest);
        if (target != static_cast<int>(i)) tillage.moves.push_back({static_cast<int>(i), target, share});
      };
      move(Placement::buried, lifted * plan.bury);
      move(Placement::surface, lifted * (1.0 - plan.bury));
    }
    out_.events.push_back({day_of(plan.date), tillage});
    MulchEvent mulch;  // knows nothing of buried residue, so not of what comes back up
    mulch.day = day_of(plan.date);
    mulch.standing_kept = 1.0 - plan.knock_down;
    mulch.standing_flattened = plan.knock_down * (1.0 - plan.bury);
    mulch.surface_kept = 1.0 - plan.bury;
    out_.mulch.push_back(mulch);
  }

  void add(const RemovalPlan& plan) {
    MulchEvent mulch;
    mulch.day = day_of(plan.date);
    mulch.from_standing = plan.from_standing;
    mulch.from_surface = plan.from_surface;
    double kept = 1.0;
    for (const RemovalPlan::Take& take : plan.takes) {
      Removal<double> removal{{}, take.amount, plan.returned, take.by_mass};
      for (std::size_t j = 0; j < out_.layout->cohorts.size(); ++j) {
        const Cohort& c = out_.layout->cohorts[j];
        const bool here = (plan.from_standing && c.placement == Placement::standing) ||
                          (plan.from_surface && c.placement == Placement::surface);
        if (here && (take.component < 0 || take.component == c.component)) {
          removal.cohorts.push_back(static_cast<int>(j));
        }
      }
      out_.events.push_back({mulch.day, removal});
      if (take.by_mass) {
        mulch.removed_g_m2 += take.amount;
      } else {  // the mulch knows its composition as it was at harvest
        const double part =
            take.component < 0
                ? 1.0
                : treatment_.share_of(treatment_.first(), static_cast<std::size_t>(take.component));
        kept -= part * take.amount;
      }
    }
    if (plan.from_standing) mulch.standing_kept = kept;
    if (plan.from_surface) mulch.surface_kept = kept;
    out_.mulch.push_back(mulch);
  }

  void add(const IrrigationPlan& plan) { out_.irrigations.push_back({day_of(plan.date), plan.water_mm}); }

  void add(const FertiliserPlan& plan) {
    if (!plan.soil_below_C) out_.events.push_back({day_of(plan.date), plan.amounts});
  }

  const Treatment& treatment_;
  const RunSpan& span_;
  double merge_after_d_;
  std::span<const CoverSeason> covers_;
  TreatmentLayout out_;
};

}  // namespace

TreatmentLayout lay_out(const Treatment& treatment, const RunSpan& span, double merge_after_d,
                        std::span<const CoverSeason> covers) {
  return Builder(treatment, span, merge_after_d, covers).build();
}

}  // namespace stoverturn
