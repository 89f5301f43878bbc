#include <cmath>

#include <fmt/format.h>

#include "engine/soil.hpp"
#include "scenarios/page/live_engine.hpp"
#include "scenarios/plan/crops.hpp"
#include "scenarios/plan/implements.hpp"
#include "scenarios/plan/materials.hpp"
#include "scenarios/plan/products.hpp"
#include "scenarios/plan/scenario_sections.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/weather/climates.hpp"
#include "scenarios/weather/weather_normals.hpp"

namespace stoverturn {
namespace {

std::string degrees(double latitude) {
  return fmt::format("{:.1f} {}", std::abs(latitude), latitude < 0.0 ? "S" : "N");
}

Json climates() {
  Json list = Json::array();
  for (const ClimateRow& c : climate_table()) {
    double rain = 0.0, temperature = 0.0;
    for (std::size_t m = 0; m < 12; ++m) {
      rain += c.normals.rain_mm[m];
      temperature += 0.5 * (c.normals.tmax_C[m] + c.normals.tmin_C[m]) * month_days[m];
    }
    list.push_back({{"name", c.name},
                    {"description", fmt::format("{}, {}; {}", c.station, degrees(c.latitude_deg), c.source)},
                    {"latitude_deg", c.latitude_deg},
                    {"mean_temperature_C", temperature / 365.2425},
                    {"rain_mm_a", rain}});
  }
  return list;
}

Json materials() {
  Json list = Json::array();
  for (const Material& m : builtin_materials()) {
    Json parts = Json::array();
    for (const std::string& part : m.parts) {
      const Parameters<double> p = m.parameters_of(part);
      parts.push_back({{"name", part},
                       {"shape", usual_shape(part) == Shape::sheet ? "sheet" : "stalk"},
                       {"mass_share", p.mass_share},
                       {"carbon", p.carbon},
                       {"nitrogen", p.nitrogen},
                       {"diameter_mm", p.diameter_mm},
                       {"rind", p.rind}});
    }
    list.push_back({{"name", m.name},
                    {"description", m.fragile ? "fragile: a pass buries more of it" : ""},
                    {"components", std::move(parts)}});
  }
  return list;
}

Json products() {
  Json list = Json::array();
  for (const ProductRow& p : product_table()) {
    std::string words =
        fmt::format("{}{:.0f} % N", p.grade.empty() ? "" : fmt::format("{}, ", p.grade), 100.0 * p.nitrogen);
    for (const auto& [share, form] :
         {std::pair(p.urea, "urea"), std::pair(p.ammonium, "ammonium"), std::pair(p.nitrate, "nitrate")}) {
      if (share > 0.0) words += fmt::format(", {:.0f} % of it {}", 100.0 * share, form);
    }
    list.push_back({{"name", p.name},
                    {"description", words},
                    {"in_soil_only", p.in_soil_only},
                    {"needs_urea_loss", p.name == "urea with inhibitor"}});
  }
  return list;
}

Json implements() {
  Json list = Json::array();
  for (const ImplementRow& i : implement_table()) {
    list.push_back({{"name", i.name},
                    {"description", fmt::format("leaves {:.0f} % of what lies there, knocks {:.0f} % down",
                                                100.0 * i.left, 100.0 * i.knock_down)},
                    {"knock_down", i.knock_down},
                    {"left", i.left},
                    {"cuts", i.cuts}});
  }
  return list;
}

Json crops() {
  Json list = Json::array();
  for (const CropPointer& c : builtin_crops())
    list.push_back(
        {{"name", c->name}, {"description", c->cover_material.empty() ? "" : "may be a cover crop"}});
  return list;
}

Json textures() {
  Json list = Json::array();
  for (const TextureRow& t : texture_table()) list.push_back({{"name", t.name}, {"description", ""}});
  return list;
}

}  // namespace

Json live_lists() {
  return {{"program", program_name()},
          {"climates", climates()},
          {"materials", materials()},
          {"products", products()},
          {"implements", implements()},
          {"crops", crops()},
          {"textures", textures()},
          {"placements",
           Json::array({{{"name", "standing"}, {"description", "still upright, as the combine left it"}},
                        {{"name", "surface"}, {"description", "lying on the soil"}},
                        {{"name", "buried"}, {"description", "mixed into the soil"}}})}};
}

}  // namespace stoverturn
