#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "scenarios/page/live_engine.hpp"
#include "scenarios/page/live_numbers.hpp"
#include "scenarios/plan/forward_fit.hpp"
#include "scenarios/plan/products.hpp"
#include "scenarios/plan/treatment_tables.hpp"
#include "scenarios/results/read_with_files.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr double grain_moisture = 0.155;  ///< of a bushel

/// What controls express of a file: keys of its top and of a treatment, `*` for any one name.
constexpr std::string_view top_keys[] = {
    "title",           "units",           "duration",         "treatment",
    "weather.file",    "weather.climate", "weather.latitude", "parameters.file",
    "parameters.draws"};
constexpr std::string_view treatment_keys[] = {"label",
                                               "like",
                                               "as_in_trial",
                                               "add_event",
                                               "event",
                                               "harvest.date",
                                               "harvest.residue",
                                               "harvest.material",
                                               "harvest.grain_yield",
                                               "harvest.placement",
                                               "soil.texture",
                                               "soil.burial_depth",
                                               "next_crop.planting",
                                               "next_crop.nitrogen",
                                               "component.*.cut_length",
                                               "component.*.entry_spacing",
                                               "component.*.opening",
                                               "component.*.nitrogen"};

/// Whether dotted names are alike, part by part.
bool alike(std::string_view pattern, std::string_view path) {
  while (true) {
    const std::size_t a = pattern.find('.'), b = path.find('.');
    const std::string_view wanted = pattern.substr(0, a);
    if (wanted != "*" && wanted != path.substr(0, b)) return false;
    if (a == std::string_view::npos || b == std::string_view::npos) return a == b;
    pattern.remove_prefix(a + 1);
    path.remove_prefix(b + 1);
  }
}

template <class Keys>
void add_kept(const Table& table, const std::string& prefix, const Keys& keys, const std::string& treatment,
              Json& kept) {
  for (const Entry& entry : table) {
    const std::string path = prefix + entry.key;
    const bool known =
        std::any_of(std::begin(keys), std::end(keys), [&](std::string_view key) { return alike(key, path); });
    if (known) continue;
    const Value& value = entry.value.front();
    if (value.table()) {
      add_kept(*value.table(), path + ".", keys, treatment, kept);
    } else {
      kept.push_back({{"treatment", treatment}, {"key", path}, {"line", entry.key_at.line}});
    }
  }
}

/// The product that a fertiliser is, by what it holds; "" for none.
std::string_view product_of(const Fertiliser<double>& f) {
  const double N = f.urea_N + f.ammonium_N + f.nitrate_N + f.lost_N;
  if (N <= 0.0 || f.urea_in_soil_N > 0.0 || f.organic_N > 0.0) return "";
  const auto near = [&](double amount, double share) { return std::abs(amount - share * N) < 1e-6 * N; };
  for (const ProductRow& p : product_table()) {
    const double in_place = 1.0 - p.lost;
    if (near(f.urea_N, p.urea * in_place) && near(f.ammonium_N, p.ammonium * in_place) &&
        near(f.nitrate_N, p.nitrate * in_place) && near(f.lost_N, p.lost) &&
        near(f.sulfur, p.sulfur / p.nitrogen) && f.on_surface != p.in_soil_only) {
      return p.name;
    }
  }
  return "";
}

int days_after(const Treatment& t, std::chrono::sys_days date) {
  return static_cast<int>((date - t.first().date).count());
}

/// An event as controls have it; what they have not is told in `kept`.
void add_event(const Treatment& t, const EventPlan& event, Json& out, Json& kept) {
  const auto keep = [&](const char* kind, std::chrono::sys_days date) {
    kept.push_back({{"treatment", t.name},
                    {"key", fmt::format("event: {} on {}", kind, format_date(date))},
                    {"line", 0}});
  };
  if (const auto* f = std::get_if<FertiliserPlan>(&event)) {
    const std::string_view product = product_of(f->amounts);
    if (product.empty() || f->soil_below_C) return keep("fertiliser", f->date);
    const Fertiliser<double>& a = f->amounts;
    out["fertiliser"].push_back({{"days_after_harvest", days_after(t, f->date)},
                                 {"product", product},
                                 {"nitrogen_g_m2", a.urea_N + a.ammonium_N + a.nitrate_N + a.lost_N}});
  } else if (const auto* p = std::get_if<TillagePlan>(&event)) {
    if (p->knock_down > 0.0 || p->bring_up > 0.0 || !p->recuts.empty()) return keep("tillage", p->date);
    out["tillage"].push_back({{"days_after_harvest", days_after(t, p->date)}, {"bury", p->bury}});
  } else if (const auto* r = std::get_if<RemovalPlan>(&event)) {
    keep("removal", r->date);
  } else if (const auto* i = std::get_if<IrrigationPlan>(&event)) {
    keep("irrigation", i->date);
  }
}

Json pieces_of(const ComponentPlan& component) {
  Json list = Json::array();
  for (const PieceClass& piece : component.pieces) {
    list.push_back({{"share", piece.share},
                    {"cut_length_mm", piece.geometry.length_mm},
                    {"entry_spacing_mm", number_or_null(piece.geometry.spacing_mm)},
                    {"opening", piece.geometry.opening}});
  }
  return list;
}

std::string text_at(const Table& table, const char* section, const char* key) {
  const Value* part = find(table, section);
  const Value* value = part && part->table() ? find(*part->table(), key) : nullptr;
  return value && value->text() ? *value->text() : "";
}

Json treatment_of(const Treatment& t, const Table& table, const std::string& cut, Json& kept) {
  const HarvestPlan& harvest = t.first();
  double carbon = 0.0, nitrogen = 0.0;
  Json components = Json::array();
  for (std::size_t c = 0; c < t.components.size(); ++c) {
    const Parameters<double>& p = t.parameters.components[c];
    carbon += t.share_of(harvest, c) * p.carbon;
    nitrogen += t.share_of(harvest, c) * p.nitrogen;
    components.push_back({{"name", t.components[c].name},
                          {"mass_share", p.mass_share},
                          {"nitrogen", p.nitrogen},
                          {"pieces", pieces_of(t.components[c])}});
  }
  const double index = t.parameters.of_material[0].harvest_index;
  const bool from_grain = !text_at(table, "harvest", "grain_yield").empty();
  Json out = {{"name", t.name},
              {"label", t.label},
              {"material", t.materials.front()},
              {"harvest", format_date(harvest.date)},
              {"residue_g_m2", harvest.dry_matter_g_m2},
              {"grain_yield_g_m2",
               from_grain ? Json(harvest.dry_matter_g_m2 * index / (1.0 - index) / (1.0 - grain_moisture))
                          : Json(nullptr)},
              {"C_to_N", number_or_null(carbon / nitrogen)},
              {"placement",
               {{"standing", harvest.placement_shares[0]},
                {"surface", harvest.placement_shares[1]},
                {"buried", harvest.placement_shares[2]}}},
              {"stubble_mm", harvest.stubble ? Json(harvest.stubble->height_mm) : Json(nullptr)},
              {"burial_depth_mm", t.burial_depth_mm},
              {"texture", text_at(table, "soil", "texture")},
              {"next_crop", t.crop.given ? t.crop.crop->name : ""},
              {"planting", fmt::format("{:02}-{:02}", static_cast<unsigned>(t.crop.planting.month()),
                                       static_cast<unsigned>(t.crop.planting.day()))},
              {"crop_nitrogen_g_m2", t.crop.nitrogen_g_m2},
              {"cut", cut},
              {"components", std::move(components)},
              {"fertiliser", Json::array()},
              {"tillage", Json::array()}};
  for (const EventPlan& event : t.events) add_event(t, event, out, kept);
  add_kept(table, "", treatment_keys, t.name, kept);
  return out;
}

}  // namespace

Json live_read(const Json& request) {
  const std::string text = wanted_text(request, "scenario"),
                    name = optional_text(request, "name", "scenario");
  FilesBeside files;
  files.text_of = [&](const std::string& file) { return file_of(request, file); };
  const LoadedScenario loaded = read_with_files(text, name, {}, files);
  const Scenario& scenario = loaded.scenario;
  Table top = read_toml(text, name);
  Mistakes ignored;
  gather_fit_keys(top, ignored);
  Json kept = Json::array(), treatments = Json::array();
  Table whole_file;
  for (const Entry& entry : top) {
    if (find(treatment_tables(top, ""), entry.key) == nullptr) whole_file.push_back(entry);
  }
  add_kept(whole_file, "", top_keys, "", kept);
  const std::vector<std::string> cut = cut_components(scenario);
  for (std::size_t t = 0; t < scenario.treatments.size(); ++t) {
    const Treatment& treatment = scenario.treatments[t];
    treatments.push_back(treatment_of(treatment, treatment_tables(top, treatment.name), cut[t], kept));
  }
  return {{"title", scenario.title},
          {"units", scenario.units},
          {"duration_d", scenario.duration_d},
          {"climate", text_at(top, "weather", "climate")},
          {"weather_file", text_at(top, "weather", "file")},
          {"fit", scenario.draws ? scenario.draws->fit : text_at(top, "parameters", "file")},
          {"draws", scenario.draws ? scenario.draws->count : 0},
          {"treatments", std::move(treatments)},
          {"kept", std::move(kept)},
          {"warnings", scenario.warnings}};
}

}  // namespace stoverturn
