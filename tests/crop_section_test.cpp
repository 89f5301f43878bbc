/// [next_crop] and [cover_crop]: reading, dates, and what they do to a run.
#include <array>

#include <fmt/format.h>

#include "scenarios/plan/crop_seasons.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/weather/weather_reading.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

/// Eight lines that are in order; what a test adds begins on line 9.
const std::string field =
    "units = \"si\"\nduration = \"1 yr\"\n[weather]\nfile = \"weather.csv\"\n"
    "[harvest]\ndate = 2012-09-20\nresidue = \"8 t/ha\"\nplacement = { surface = 1 }\n";

Scenario read(const std::string& text) { return read_scenario(text, "farm.toml", {}); }
std::string mistakes_of(const std::string& text) {
  return mistakes_in([&] { read(text); });
}

Results run(const std::string& text) {
  const auto path = source_dir() / "notebooks-data" / "weather-newyork-2012-2015.csv";
  Climates climates;
  climates.weather = read_weather(slurp(path), "weather.csv").weather;
  return run_scenario(read(text), climates, {});
}
double last(const Results& r, const char* series) { return r.find(series).values.back(); }

const std::string corn = "[next_crop]\nplanting = \"05-08\"\nnitrogen = \"180 kg/ha\"\n";
const std::string rye =
    "[cover_crop]\nplanting = \"09-24\"\ntermination = \"04-22\"\nnitrogen = \"60 kg/ha\"\n";

}  // namespace

TEST_CASE("crops: each is named once, with stages in order and a source for all", "[crops]") {
  for (const CropPointer& crop : builtin_crops()) {
    const CropRow& r = *crop;
    INFO(r.name);
    CHECK(find_crop(r.name) == crop);
    for (const auto& source : {r.degree_day_source, r.stage_source, r.uptake_source, r.basal_source}) {
      CHECK_FALSE(source.empty());
    }
    const CropKind& k = r.kind;
    for (std::size_t s = 1; s < crop_stages; ++s) CHECK(k.stage_Kd[s - 1] < k.stage_Kd[s]);
    CHECK(k.basal_Kd[0] < k.basal_Kd[1]);
    CHECK(k.basal_Kd[1] < k.basal_Kd[2]);
    CHECK(k.basal_Kd[2] < k.stage_Kd.back());
    CHECK(nitrogen_share(k, 0.5 * k.uptake_midpoint_Kd) < 0.5);
  }
  CHECK(find_crop("Corn") == find_crop("corn"));
  CHECK_FALSE(find_crop("cotton"));
}

TEST_CASE("crops: published degree days of stages", "[crops]") {
  // corn: emergence in 100 to 120 degF d, V8 at 785 (Nielsen, Purdue University); R6 at 2400 to 2600 of
  // hybrids of 95 to 105 days (Wisconsin), about 2700 in general
  const auto& c = find_crop("corn")->kind.stage_Kd;
  CHECK(1.8 * c[0] >= 100.0);
  CHECK(1.8 * c[0] <= 120.0);
  CHECK(1.8 * (c[1] - c[0]) / 82.0 == Approx(6.0));
  CHECK(1.8 * c[4] == Approx(2700.0));
  // wheat: Kansas State University: heading from 1400 to 1800, mature above 3000
  const auto& w = find_crop("wheat")->kind.stage_Kd;
  CHECK(1.8 * w[3] >= 1400.0);
  CHECK(1.8 * w[3] <= 1800.0);
  CHECK(1.8 * w[4] == Approx(3000.0));
  // soybean of groups 0.5 and 1.1: 1890 and 2058 (North Dakota State University 2016)
  CHECK(1.8 * find_crop("soybean")->kind.stage_Kd[4] > 1890.0);
  CHECK(1.8 * find_crop("soybean")->kind.stage_Kd[4] < 2058.0);
}

TEST_CASE("next_crop: crop, planting and stages of a file", "[crops][scenario]") {
  const CropPlan plain = read(field + corn).treatments[0].crop;
  CHECK(plain.crop == find_crop("corn"));
  CHECK(plain.grows);
  CHECK(plain.seen.empty());
  const CropPlan wheat =
      read(field + "[next_crop]\ncrop = \"wheat\"\nplanting = \"04-05\"\n").treatments[0].crop;
  CHECK(wheat.crop == find_crop("wheat"));
  CHECK_FALSE(wheat.grows);
  const CropPlan seen =
      read(field + corn + "stages = { silking = \"07-16\", V6 = \"06-14\" }\n").treatments[0].crop;
  REQUIRE(seen.seen.size() == 2);
  CHECK(seen.seen[0].stage == 1);
  CHECK(seen.seen[1].date == std::chrono::month_day{std::chrono::July, std::chrono::day{16}});
}

TEST_CASE("next_crop: stages of every year, and N at each", "[crops][run]") {
  const Results r = run("duration = \"2 years\"\n" + field.substr(field.find("[weather]")) + corn);
  REQUIRE(r.stages.size() == 10);
  CHECK(r.stages[1] == "V6 1");
  CHECK(r.stages[9] == "maturity 2");
  const std::vector<double>& day = r.find("stage_day").values;
  const std::vector<double>& planted = r.find("stage_planting_day").values;
  CHECK(planted[0] == 230.0);  // from 2012-09-20 to 2013-05-08 (calendar)
  CHECK(planted[5] == 595.0);
  // two dozen extension offices would say: up in 10 to 15 days, V6 in early to mid June, silks in mid July,
  // black layer in September (common practice, no source)
  CHECK(day[0] - planted[0] == Approx(12.0).margin(4.0));
  CHECK(day[3] - planted[3] == Approx(70.0).margin(8.0));
  CHECK(day[4] - planted[4] == Approx(122.0).margin(12.0));
  const auto at = [&](const char* series, double when) {
    return r.find(series).values[static_cast<std::size_t>(when)];
  };
  CHECK(r.find("stage_nitrogen_released").values[8] ==
        Approx(at("nitrogen_released", day[8]) - at("nitrogen_released", planted[8])));
  CHECK(r.find("stage_nitrogen_to_crop").values[8] ==
        Approx(at("nitrogen_to_crop", day[8]) - at("nitrogen_to_crop", planted[8])));
  CHECK(r.find("stage_mineral_nitrogen").values[2] ==
        Approx(at("ammonium", day[2]) + at("nitrate", day[2]) + at("subsoil_nitrate", day[2])));
  CHECK(last(r, "balance_residual") < 1e-9);
}

TEST_CASE("next_crop: stages that were seen come on their day", "[crops][run]") {
  const Results r = run(field + corn + "stages = { V6 = \"06-14\", silking = \"07-16\" }\n");
  CHECK(r.find("stage_day").values[1] == 230.0 + 37.0);
  CHECK(r.find("stage_day").values[3] == 230.0 + 69.0);
}

TEST_CASE("next_crop: in a jar stages follow its temperature, and no crop grows", "[crops][run]") {
  const auto jar = [](const char* temperature) {
    return run_scenario(read_scenario(fmt::format("duration = \"1 yr\"\n[conditions]\ntemperature = \"{}\"\n"
                                                  "[harvest]\ndate = 2012-09-20\nresidue = \"8 t/ha\"\n{}",
                                                  temperature, corn),
                                      "jar.toml", {}),
                        {}, {});
  };
  const Results warm = jar("20 C"), cold = jar("8 C");
  // 10 K d a day, 63.9 to emergence
  CHECK(warm.find("stage_day").values[0] == 230.0 + 7.0);
  CHECK(std::isnan(cold.find("stage_day").values[0]));
  CHECK(last(warm, "nitrogen_to_crop") == 0.0);
}

TEST_CASE("cover_crop: holds nitrate over winter and gives it back", "[crops][run]") {
  const std::string nitrate = "[soil]\nnitrate = \"40 kg/ha\"\nsubsoil_nitrate = \"40 kg/ha\"\n";
  const Results bare = run(field + nitrate + corn), covered = run(field + nitrate + corn + rye);
  const double taken = last(covered, "nitrogen_to_cover_crop");
  // sown in fall and ended in April: 38 kg/ha in North Carolina by March (read, ci.lib.ncsu.edu 82692), 66 to
  // 69 in Maryland sown early (jeq2.20342): of a plant of 60 between a third and all
  CHECK(taken > 2.0);
  CHECK(taken < 6.0);
  CHECK(last(covered, "nitrogen_in_cover_crop") == 0.0);  // planted again after the run
  CHECK(last(covered, "nitrogen_leached") < 0.8 * last(bare, "nitrogen_leached"));
  // Maryland: porewater nitrate 2.7 to 4.7 mg/L against 17.1 bare, where sown in time
  CHECK(covered.components.back() == "cereal rye shoot");
  // dry matter is the N over its content of 11.5 g/kg, on the day it ends
  const std::size_t end = 214;  // 2012-09-20 to 2013-04-22
  const std::size_t days = covered.extent(Dimension::time);
  const auto& by_component = covered.find("dry_matter_by_component").values;
  CHECK(by_component[4 * days + end - 1] == 0.0);
  CHECK(by_component[4 * days + end] == Approx(taken / 0.0115).epsilon(1e-9));
  CHECK(covered.find("mass_left_by_component").values[4 * days + end] == Approx(1.0).epsilon(1e-9));
  CHECK(covered.find("mass_left").values[end] < 1.0);  // of the harvest alone
  for (const double residual : covered.find("balance_residual").values) CHECK(std::abs(residual) < 1e-9);
}

TEST_CASE("cover_crop: sown late it takes less; left standing it stands", "[crops][run]") {
  const Results early = run(field + rye);
  const Results late = run(field +
                           "[cover_crop]\nplanting = \"11-05\"\ntermination = \"04-22\"\n"
                           "nitrogen = \"60 kg/ha\"\nstanding = \"80 %\"\n");
  CHECK(last(late, "nitrogen_to_cover_crop") < 0.6 * last(early, "nitrogen_to_cover_crop"));
  const std::size_t days = late.extent(Dimension::time), end = 214;
  const double all = late.find("dry_matter_by_component").values[4 * days + end];
  CHECK(all > 1.0);
  CHECK(late.find("dry_matter_by_placement").values[end] == Approx(0.8 * all));
}

TEST_CASE("cover_crop: its mulch is by the N it would have liked, and a harvest's of that day is its own",
          "[crops]") {
  Scenario s = read(field + rye);
  HarvestPlan later = s.treatments[0].first();
  later.date = std::chrono::sys_days{std::chrono::year{2013} / 4 / 22};  // when the rye ends
  s.treatments[0].harvests.push_back(later);
  const RunSpan span = run_span(s);
  CoverSeason season;
  season.termination = static_cast<int>((later.date - span.start).count());
  const auto flat_g_m2 = [&] {
    double sum = 0.0;
    for (const MulchEvent& m :
         lay_out(s.treatments[0], span, s.model.merge_after_d, std::array{season}).mulch) {
      if (m.day == season.termination) sum += m.surface_added;
    }
    return sum;
  };
  CHECK(flat_g_m2() == Approx(800.0));  // the rye never grew
  season.course.days = {{0.15, 2.0}, {0.15, 1.0}};
  CHECK(flat_g_m2() == Approx(800.0 + 3.0 / s.treatments[0].cover_nitrogen()));
}

TEST_CASE("crops: mistakes", "[crops][mistakes]") {
  const std::pair<std::string, std::string> cases[] = {
      {field + "[next_crop]\nplanting = \"05-08\"\ncrop = \"maize\"\n",
       "farm.toml:11:8: crop: found 'maize'; wanted one of 'corn', 'soybean', 'wheat', 'cereal rye'"},
      {field + "[next_crop]\nplanting = \"May 8\"\n",
       "farm.toml:10:12: planting: found 'May 8'; wanted month-day, such as \"05-05\""},
      {field + corn + "stages = { V7 = \"06-14\" }\n",
       "farm.toml:12:12: unknown key `V7` in stages; did you mean 'V6'?"},
      {field + corn + "stages = { V6 = \"07-20\", silking = \"07-16\" }\n",
       "farm.toml:12:36: silking: V6 does not come before silking; write the stages in the order of the "
       "season"},
      {field + "[cover_crop]\nplanting = \"09-24\"\n",
       "farm.toml:9:1: [cover_crop] lacks `termination`; write termination = \"04-20\" (month-day)\n"
       "farm.toml:9:1: [cover_crop] lacks `nitrogen`; write nitrogen = \"60 kg/ha\", the most it would take "
       "up "
       "until maturity"},
      {field + rye + "crop = \"corn\"\n", "farm.toml:13:8: crop: found 'corn'; wanted one of 'cereal rye'"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of(text) == wanted);
  }
  CHECK(mistakes_of(
            "[conditions]\ntemperature = \"20 C\"\n[harvest]\ndate = 2012-09-20\nresidue = \"8 t/ha\"\n" +
            rye) == "farm.toml:6:1: [cover_crop] needs weather; it does not grow under [conditions]");
  std::string of_rye = field;
  of_rye.insert(of_rye.find("placement"), "material = \"cereal rye\"\n");
  CHECK(mistakes_of(of_rye + rye)
            .find("crop: found 'cereal rye', which is also a material of [harvest]; its "
                  "residue could not be told apart") != std::string::npos);
}

TEST_CASE("crops: the tables of the manual are those of the program", "[docs]") {
  const std::string page = slurp(source_dir() / "docs/file-formats.md");
  for (const CropPointer& crop : builtin_crops()) {
    const CropRow& r = *crop;
    std::string stages;
    for (std::size_t s = 0; s < crop_stages; ++s) {
      stages += fmt::format("{}{} {:.0f}", s > 0 ? ", " : "", r.stages[s], r.kind.stage_Kd[s]);
    }
    const std::string row =
        fmt::format("| `{}` | {:.4g} to {:.4g} | {} | {:.0f}, {:.0f} | {}; {}; {}; {} |", r.name,
                    r.kind.base_C, r.kind.cap_C, stages, r.kind.uptake_midpoint_Kd, r.kind.uptake_width_Kd,
                    r.degree_day_source, r.stage_source, r.uptake_source, r.basal_source);
    INFO(row);
    CHECK(page.find(row) != std::string::npos);
  }
}
