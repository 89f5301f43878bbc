#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

using std::chrono::month_day;

std::vector<std::string> crop_names(const CropLibrary& crops, bool cover) {
  std::vector<std::string> names;
  for (const CropPointer& crop : crops) {
    if (!cover || !crop->cover_material.empty()) names.push_back(crop->name);
  }
  return names;
}

/// Days from one date to the next other, over the turn of the year.
int days_between(month_day from, month_day to) {
  constexpr std::chrono::year any{2026};
  const int days =
      static_cast<int>((std::chrono::sys_days{any / to} - std::chrono::sys_days{any / from}).count());
  return days > 0 ? days : days + 365;
}

/// stages = { V6 = "06-10", silking = "07-14" }
void read_stages(const Table& table, Position at, CropPlan& crop, Mistakes& mistakes) {
  TableReader in(table, "stages", at, mistakes);
  for (std::size_t s = 0; s < crop_stages; ++s) {
    const std::string& name = crop.crop->stages[s];
    const std::optional<month_day> md = read_month_day(in, name);
    if (!md) continue;
    if (!crop.seen.empty() &&
        days_between(crop.planting, *md) <= days_between(crop.planting, crop.seen.back().date)) {
      in.mistake(name, fmt::format("{} does not come before {}; write the stages in the order of the season",
                                   crop.crop->stages[crop.seen.back().stage], name));
      continue;
    }
    crop.seen.push_back({s, *md});
  }
  in.finish();
}

}  // namespace

std::optional<std::chrono::month_day> read_month_day(TableReader& in, const std::string& key,
                                                     const char* example) {
  const std::optional<std::string> text = in.text(key);
  if (!text) return std::nullopt;
  const std::optional<month_day> md = parse_month_day(*text);
  if (!md) in.mistake(key, fmt::format("found '{}'; wanted month-day, such as \"{}\"", *text, example));
  return md;
}

CropPointer read_crop(TableReader& in, const CropPointer& otherwise, bool cover, const CropLibrary& crops) {
  const std::optional<std::string> name = in.text("crop");
  if (!name) return otherwise;
  CropPointer crop = find_crop(*name, crops);
  if (crop && (!cover || !crop->cover_material.empty())) return crop;
  if (crop && !find_crop(*name)) {
    in.mistake("crop", fmt::format("found '{0}', which leaves no residue; write its `material` in [crop.{0}]",
                                   crop->name));
  } else {
    in.mistake("crop", fmt::format("found '{}'{}", *name, suggestion(*name, crop_names(crops, cover))));
  }
  return otherwise;
}

void read_demand(TableReader& in, CropPlan& crop) {
  const std::optional<double> N = in.amount("nitrogen", Kind::mass_per_area, 0.0, 60.0);
  if (!N) return;
  crop.nitrogen_g_m2 = *N;
  crop.grows = true;
}

void read_next_crop(const Table* table, Position at, const CropLibrary& crops, Treatment& treatment,
                    Mistakes& mistakes) {
  if (!table) return;
  TableReader in(*table, "[next_crop]", at, mistakes);
  CropPlan& crop = treatment.crop;
  crop.given = true;
  in.require("planting", "planting = \"05-05\" (month-day)");
  if (const auto md = read_month_day(in, "planting")) crop.planting = *md;
  crop.crop = read_crop(in, crop.crop, false, crops);
  read_demand(in, crop);
  if (const Table* stages = in.table("stages")) read_stages(*stages, in.at("stages"), crop, mistakes);
  in.finish();
}

void read_cover_crop(const Table* table, Position at, const CropLibrary& crops, Treatment& treatment,
                     Mistakes& mistakes) {
  if (!table) return;
  TableReader in(*table, "[cover_crop]", at, mistakes);
  CoverCropPlan cover;
  cover.crop = read_crop(in, find_crop(usual_cover_crop), true, crops);
  in.require("planting", "planting = \"09-20\" (month-day)");
  in.require("termination", "termination = \"04-20\" (month-day)");
  in.require("nitrogen", "nitrogen = \"60 kg/ha\", the most it would take up until maturity");
  cover.planting = read_month_day(in, "planting").value_or(cover.planting);
  cover.termination = read_month_day(in, "termination").value_or(cover.termination);
  cover.nitrogen_g_m2 = in.amount("nitrogen", Kind::mass_per_area, 0.0, 30.0).value_or(0.0);
  cover.standing = in.amount("standing", Kind::fraction, 0.0, 1.0).value_or(0.0);
  if (treatment.conditions) {
    mistakes.add(at, "[cover_crop] needs weather; it does not grow under [conditions]");
  }
  const auto material =
      std::find(treatment.materials.begin(), treatment.materials.end(), cover.crop->cover_material);
  cover.material = static_cast<std::size_t>(material - treatment.materials.begin());
  const bool harvested =
      std::any_of(treatment.harvests.begin(), treatment.harvests.end(), [&](const HarvestPlan& harvest) {
        return cover.material < harvest.material_shares.size() &&
               harvest.material_shares[cover.material] > 0.0;
      });
  if (harvested) {
    const CropRow& crop = *cover.crop;
    const std::string which =
        crop.name == crop.cover_material ? "which" : fmt::format("whose residue '{}'", crop.cover_material);
    in.mistake("crop", fmt::format("found '{}', {} is also a material of [harvest]; its residue could not be "
                                   "told apart",
                                   crop.name, which));
  }
  in.finish();
  treatment.cover_crop = cover;
}

}  // namespace stoverturn
