#include "scenarios/plan/own_crops.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/event_readers.hpp"
#include "scenarios/text/table_reader.hpp"

namespace stoverturn {
namespace {

constexpr double most_Kd = 10000.0;

/// A key of [crop.NAME] that is one number.
struct NumberKey {
  const char* name;
  Kind kind;
  double lowest, highest;
  double& (*of)(CropKind&);
};

constexpr NumberKey number_keys[] = {
    {"base", Kind::temperature, -20.0, 30.0, [](CropKind& k) -> double& { return k.base_C; }},
    {"cap", Kind::temperature, 0.0, 60.0, [](CropKind& k) -> double& { return k.cap_C; }},
    {"uptake_midpoint", Kind::degree_days, 1.0, most_Kd,
     [](CropKind& k) -> double& { return k.uptake_midpoint_Kd; }},
    {"uptake_width", Kind::degree_days, 1.0, most_Kd,
     [](CropKind& k) -> double& { return k.uptake_width_Kd; }},
    {"K_cb_initial", Kind::fraction, 0.0, 1.6, [](CropKind& k) -> double& { return k.basal_early; }},
    {"K_cb_mid", Kind::fraction, 0.0, 1.6, [](CropKind& k) -> double& { return k.basal_mid; }},
    {"K_cb_end", Kind::fraction, 0.0, 1.6, [](CropKind& k) -> double& { return k.basal_late; }},
    {"initial_until", Kind::degree_days, 0.0, most_Kd, [](CropKind& k) -> double& { return k.basal_Kd[0]; }},
    {"mid_from", Kind::degree_days, 0.0, most_Kd, [](CropKind& k) -> double& { return k.basal_Kd[1]; }},
    {"mid_until", Kind::degree_days, 0.0, most_Kd, [](CropKind& k) -> double& { return k.basal_Kd[2]; }},
};

std::vector<std::string> names_of(const CropLibrary& crops) {
  std::vector<std::string> names;
  for (const CropPointer& crop : crops) names.push_back(crop->name);
  return names;
}

/// One definition; what it says of degree days, and what it lacks, is noted on the way.
class Definition {
 public:
  Definition(const Entry& entry, const MaterialLibrary& materials, Mistakes& mistakes)
      : name_(entry.key),
        at_(entry.key_at),
        materials_(materials),
        mistakes_(mistakes),
        in_(*entry.value.front().table(), fmt::format("[crop.{}]", entry.key), entry.key_at, mistakes) {}

  CropRow read(std::vector<std::string>& warnings) {
    CropRow crop = *find_crop("corn");  // whatever is wrong, a crop that can be
    crop.degree_day_source = crop.stage_source = crop.uptake_source = crop.basal_source = "";
    const bool alike = in_.has("like");
    CropPointer like;
    if (const std::optional<std::string> text = in_.text("like")) like = read_like(*text);
    if (like) crop = *like;
    crop.name = name_;
    for (const NumberKey& key : number_keys) read_number(key, crop.kind);
    read_stages(like.get(), crop);
    read_killed(crop.kind);
    read_material(crop);
    in_.text("note");
    in_.finish();
    if (!alike && !missing_.empty()) {
      mistakes_.add(at_, fmt::format("[crop.{}] lacks {}; write them, or like = \"corn\" to take them from "
                                     "that crop",
                                     name_, fmt::join(missing_, ", ")));
    } else if (!alike || like) {
      check_order(crop);
      if (like) warn_of_base(*like, crop, warnings);
    }
    return crop;
  }

 private:
  CropPointer read_like(const std::string& name) {
    CropPointer crop = find_crop(name);
    if (!crop) {
      in_.mistake("like", fmt::format("no built-in crop is called `{}`{}", name,
                                      did_you_mean(name, names_of(builtin_crops()))));
    }
    return crop;
  }

  void read_number(const NumberKey& key, CropKind& kind) {
    if (!in_.has(key.name)) {
      missing_.emplace_back(key.name);
      if (key.kind == Kind::degree_days) taken_over_.emplace_back(key.name);
    }
    if (const auto value = in_.amount(key.name, key.kind, key.lowest, key.highest)) {
      key.of(kind) = *value;
    } else {
      wrong_ = wrong_ || in_.has(key.name);
    }
  }

  /// All five by names of the crop's own, or some of those of the crop that it is like.
  void read_stages(const CropRow* like, CropRow& crop) {
    if (!in_.has("stages")) {
      missing_.emplace_back("stages");
      taken_over_.emplace_back("stages");
      return;
    }
    const Table* stages = in_.table("stages");
    wrong_ = wrong_ || !stages;
    if (!stages) return;
    const std::vector<std::string> known =
        like ? std::vector<std::string>(like->stages.begin(), like->stages.end())
             : std::vector<std::string>{};
    const auto is_known = [&](const Entry& e) {
      return std::find(known.begin(), known.end(), e.key) != known.end();
    };
    if (!std::all_of(stages->begin(), stages->end(), is_known)) {
      if (stages->size() != crop_stages) {
        const auto odd = std::find_if_not(stages->begin(), stages->end(), is_known);
        wrong_ = true;
        mistakes_.add(like ? odd->key_at : in_.at("stages"),
                      like ? fmt::format("unknown stage `{}`{} (or write all {} by names of your own)",
                                         odd->key, did_you_mean(odd->key, known), crop_stages)
                           : fmt::format("stages: found {}; wanted {}, each with its degree days from "
                                         "planting, the last maturity",
                                         stages->size(), crop_stages));
        return;
      }
      for (std::size_t s = 0; s < crop_stages; ++s) crop.stages[s] = (*stages)[s].key;
    }
    TableReader in(*stages, "stages", in_.at("stages"), mistakes_);
    for (std::size_t s = 0; s < crop_stages; ++s) {
      const std::string& stage = crop.stages[s];
      if (!in.has(stage)) taken_over_.push_back(fmt::format("stages.{}", stage));
      const std::optional<double> G = in.amount(stage, Kind::degree_days, 1.0, most_Kd);
      wrong_ = wrong_ || (in.has(stage) && !G);
      crop.kind.stage_Kd[s] = G.value_or(crop.kind.stage_Kd[s]);
    }
  }

  void read_killed(CropKind& kind) {
    if (!in_.has("killed_below")) {
      missing_.emplace_back("killed_below");
    } else if (const Value* value = in_.value("killed_below"); value->text() && *value->text() == "never") {
      kind.killed_C = -std::numeric_limits<double>::infinity();
    } else {
      kind.killed_C = in_.amount("killed_below", Kind::temperature, -60.0, 20.0).value_or(kind.killed_C);
    }
  }

  void read_material(CropRow& crop) {
    const std::optional<std::string> material = in_.text("material");
    if (!material) return;
    crop.cover_material = *material;
    if (!find_material(materials_, *material)) {
      in_.mistake("material",
                  fmt::format("found '{}'{}", *material, suggestion(*material, material_names(materials_))));
    }
  }

  /// Needs values that could all be read: a mistake is told once.
  void check_order(const CropRow& crop) {
    if (wrong_) return;
    const CropKind& k = crop.kind;
    if (k.cap_C <= k.base_C) {
      in_.mistake("cap", fmt::format("{:.4g} C is not above base, {:.4g} C", k.cap_C, k.base_C));
    }
    const Value* stages = in_.value("stages");
    const auto place = [&](const std::string& stage) {
      const Value* own = stages ? find(*stages->table(), stage) : nullptr;
      return own ? own->at : in_.at("stages");
    };
    for (std::size_t s = 1; s < crop_stages; ++s) {
      if (k.stage_Kd[s] > k.stage_Kd[s - 1]) continue;
      mistakes_.add(place(crop.stages[s]),
                    fmt::format("{}: {:.4g} K d is not after {}, {:.4g} K d; write the stages in the order "
                                "of the season",
                                crop.stages[s], k.stage_Kd[s], crop.stages[s - 1], k.stage_Kd[s - 1]));
    }
    if (!(k.basal_Kd[0] < k.basal_Kd[1] && k.basal_Kd[1] < k.basal_Kd[2] &&
          k.basal_Kd[2] < k.stage_Kd.back())) {
      const char* at = in_.has("mid_from")    ? "mid_from"
                       : in_.has("mid_until") ? "mid_until"
                                              : "initial_until";
      in_.mistake(
          at,
          fmt::format("wanted initial_until < mid_from < mid_until < {}; they are {:.4g}, {:.4g}, "
                      "{:.4g} and {:.4g} K d",
                      crop.stages.back(), k.basal_Kd[0], k.basal_Kd[1], k.basal_Kd[2], k.stage_Kd.back()));
    }
  }

  void warn_of_base(const CropRow& like, const CropRow& crop, std::vector<std::string>& warnings) const {
    const bool same = like.kind.base_C == crop.kind.base_C && like.kind.cap_C == crop.kind.cap_C;
    if (same || taken_over_.empty()) return;
    warnings.push_back(
        fmt::format("crop `{}`: its degree days have another base or cap than those of `{}`, "
                    "from which it takes {}; write them for its own",
                    name_, like.name, fmt::join(taken_over_, ", ")));
  }

  std::string name_;
  Position at_;
  const MaterialLibrary& materials_;
  Mistakes& mistakes_;
  TableReader in_;
  std::vector<std::string> missing_;     ///< keys that are not there
  std::vector<std::string> taken_over_;  ///< those of degree days, stages one by one
  bool wrong_ = false;                   ///< something could not be read
};

}  // namespace

CropLibrary read_crops(const Table* tables, const MaterialLibrary& materials, Mistakes& mistakes,
                       std::vector<std::string>& warnings) {
  CropLibrary library = builtin_crops();
  if (!tables) return library;
  for (const Entry& entry : *tables) {
    const CropPointer same = find_crop(entry.key, library);
    if (!entry.value.front().table()) {
      mistakes.add(entry.key_at, fmt::format("crop `{0}`: wanted a table [crop.{0}]", entry.key));
    } else if (same && find_crop(entry.key)) {
      mistakes.add(entry.key_at,
                   fmt::format("crop `{}` is built in; give yours another name (with like = \"{}\")",
                               entry.key, same->name));
    } else if (same) {
      mistakes.add(entry.key_at, fmt::format("crop `{}` is called like `{}`; give each its own name",
                                             entry.key, same->name));
    } else {
      library.push_back(std::make_shared<CropRow>(Definition(entry, materials, mistakes).read(warnings)));
    }
  }
  return library;
}

}  // namespace stoverturn
