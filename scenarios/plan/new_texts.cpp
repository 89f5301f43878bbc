#include "scenarios/plan/new_texts.hpp"

#include <tuple>

#include <fmt/format.h>

#include "scenarios/text/calendar.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {
namespace {

/// `key = "value"`, or the example as a comment where there is no value.
std::string line(const std::string& key, const std::string& value, const std::string& example,
                 const std::string& note) {
  const std::string text = value.empty() ? fmt::format("# {} = {}", key, quoted(example))
                                         : fmt::format("{} = {}", key, quoted(value));
  return fmt::format("{:<34}# {}\n", text, note);
}

}  // namespace

std::string new_scenario_text(const NewScenario& a) {
  const bool us = a.units == "us";
  const bool corn = a.material == "corn";
  std::string text = fmt::format(
      "# {}. Change what is yours; `stoverturn check FILE` lists every mistake, `stoverturn run FILE` runs "
      "it.\n"
      "# Quantities stand in quotes with their unit: lb/acre or kg/ha, in or mm, degF or degC all work.\n\n"
      "title = {}\nunits = {:<26}# how results are shown: \"us\" or \"si\"\nduration = {}\n\n",
      a.title, quoted(a.title), quoted(a.units), quoted(a.duration));

  text += "[weather]\n";
  text +=
      line("file", a.weather_file, "weather.csv", "daily weather; `stoverturn new weather` shows the form");
  if (!a.climate.empty() || a.weather_file.empty()) {
    text += line("climate", a.climate, "central Iowa", "or a built-in climate, while there is no file");
  }
  text += line("latitude", a.latitude, us ? "42.0 N" : "45.4 N", "where the weather file does not say it");
  if (!a.weather_file.empty()) {
    text += line("columns_in", "", us ? "us" : "metric", "where its header states no units; or \"tenths\"");
  }

  text += "\n[soil]\n" + line("texture", a.texture, "silt loam", "of the topsoil");
  text += line("nitrate", us ? "15 lb/acre" : "15 kg/ha", "", "mineral N of the topsoil at harvest");

  text += fmt::format("\n[harvest]\ndate = {}\n", a.harvest);
  if (!corn) text += line("material", a.material, "", "whose residue it is");
  if (!a.residue.empty()) {
    text += line("residue", a.residue, "", "dry matter left on the field");
  } else {
    text += line("grain_yield", a.grain_yield, "", "residue follows from it");
  }
  text += line("grain_moisture", "", "15 %", "of a yield in t/ha or lb/acre; a bushel has its own");
  text += "placement = { surface = \"100 %\" } # shares standing, surface, buried\n";

  text +=
      line("cutting_height", "", us ? "16 in" : "40 cm", "or this: that share of the plant stays standing");
  if (corn) {
    text += "\n[component.stalk]\n";
    text += line("cut_length", a.cut_length, us ? "20 in" : "50 cm", "length of the pieces");
  }
  text += "\n[next_crop]\n" + line("planting", a.planting, "05-05", "month-day");
  text +=
      line("nitrogen", us ? "160 lb/acre" : "180 kg/ha", "", "mineral N that crop would take in a season");

  text += fmt::format(
      "\n[prices]                          # invented: write your own\ncurrency = \"$\"\n"
      "nitrogen = \"{0} $/{1}\"\nphosphate = \"{2} $/{1}\"          # P2O5\n"
      "potash = \"{3} $/{1}\"             # K2O\nsulfur = \"{4} $/{1}\"\n",
      us ? "0.60" : "1.30", us ? "lb" : "kg", us ? "0.65" : "1.40", us ? "0.45" : "1.00",
      us ? "0.50" : "1.10");
  text += line("bales", "", us ? "45 $/short ton" : "50 $/t", "of dry matter, where some is baled and sold");
  text += line("interest", "", "6 %", "a year: later money is worth less");
  text += "\n[costs]                           # of a pass; what is not written counts as 0\n";
  for (const auto& [key, us_cost, si_cost] :
       {std::tuple("tillage", "18 $/acre", "45 $/ha"), std::tuple("spreading", "7 $/acre", "17 $/ha"),
        std::tuple("baling", "24 $/short ton", "26 $/t")}) {
    text += line(key, "", us ? us_cost : si_cost, "invented");
  }

  text += fmt::format(
      "\n# Nitrogen on the residue this fall, in spring or not: `stoverturn timing FILE` "
      "(docs/deciding.md).\n"
      "# [timing]\n# dates = [\"10 d\", \"soil below {}\", \"04-10\"]\n# rates = [\"{}\"]\n# products = "
      "[\"UAN 28\"]\n",
      us ? "50 degF" : "10 degC", us ? "30 lb N/acre" : "30 kg N/ha");

  if (!a.compare) return text;
  text += "\n# Treatments take over everything above and change what they say.\n";
  text += "\n[treatment.left]\nlabel = \"as it is\"\n";
  if (corn) {
    text += fmt::format(
        "\n[treatment.opened]\nlabel = \"cut short and opened\"\n"
        "component.stalk = {{ cut_length = \"{0}\", entry_spacing = \"{1}\", opening = \"60 %\" }}\n",
        us ? "6 in" : "15 cm", us ? "2 in" : "5 cm");
  }
  text += fmt::format(
      "\n[treatment.worked_in]\nlabel = \"worked in after harvest\"\n"
      "\n[[treatment.worked_in.add_event]]\nkind = \"tillage\"\nafter_harvest = \"14 d\"\n"
      "knock_down = \"100 %\"\nbury = \"45 %\"                     # or implement = \"chisel, twisted "
      "points\"\n"
      "\n# Nitrogen on residue in fall: local rules and a licensed adviser come first; ammonia injures eyes, "
      "skin\n"
      "# and lungs.\n# [[treatment.worked_in.add_event]]\n# kind = \"fertiliser\"\n# after_harvest = \"10 "
      "d\"\n"
      "# product = \"UAN 28\"\n# nitrogen = \"{}\"\n",
      us ? "40 lb/acre" : "45 kg/ha");
  return text;
}

std::string new_weather_text(const std::string& units) {
  const bool us = units == "us";
  return fmt::format(
      "# Daily weather. The three days are invented: put yours in their place, one row a day, in order.\n"
      "# Needed: date, tmin, tmax, rain (water of snow included). Where measured also radiation [MJ/m2/d],\n"
      "# wind [m/s], humidity [%], snow depth, soil temperature (at 100 mm), soil moisture. Empty: not "
      "measured.\n"
      "# latitude: 42.0 N\n# elevation: {}\n{}",
      us ? "980 ft" : "300 m",
      us ? "date,tmin [degF],tmax [degF],rain "
           "[in]\n2026-10-20,39,61,0\n2026-10-21,43,58,0.31\n2026-10-22,36,52,0.04\n"
         : "date,tmin [degC],tmax [degC],rain "
           "[mm]\n2026-10-20,4,16,0\n2026-10-21,6,14,8\n2026-10-22,2,11,1\n");
}

std::string new_trial_text(const NewTrial& plan) {
  std::string text =
      "# Litterbags, one row a bag. Fill in masses of dry matter; leave empty what was not measured, never "
      "drop a\n"
      "# bag: a lost one keeps its row and a note. Units stand in the head of the column and may be "
      "changed.\n"
      "# Ash is that of the bag as pulled, with the soil that came along.\n"
      "treatment,placement,replicate,date,initial mass [g],mass [g],nitrogen [%],ash [%],note\n";
  for (const std::chrono::sys_days pull : plan.pulls) {
    for (const std::string& treatment : plan.treatments) {
      for (const std::string& placement : plan.placements) {
        for (int r = 1; r <= plan.replicates; ++r) {
          text += fmt::format("{},{},{},{},,,,,\n", csv_cell(treatment), placement, r, format_date(pull));
        }
      }
    }
  }
  return text;
}

std::string new_fit_text(const NewFit& fit) {
  return fmt::format(
      "# What to estimate, from which bags. Look at the bags first:  stoverturn fit FILE --look\n"
      "# then fit:  stoverturn fit FILE   All keys: docs/file-formats.md, Fit files.\n\n"
      "title = {}\nscenario = {}\n\n"
      "[data]\nfile = {}\n"
      "# handling = true                # bags of day 0 were carried out and back: they set what was there\n"
      "# ash_free = true                # mass without ash (and soil); every mass needs its ash\n\n"
      "[estimate]                       # `stoverturn parameters` lists names, meanings and bounds\n"
      "k_hol = {{}}                       # decay of open cellulose\n"
      "# v_mm_d = {{}}                    # how fast decomposers enter: needs two lengths or spacings\n"
      "# k_sol = {{ prior = {{ low = 0.1, high = 0.5 }} }}      # nine of ten such values lie between\n"
      "# tissue = {{ vary_by = \"treatment\" }}              # a value for each treatment\n\n"
      "# [error]\n"
      "# mass = \"both\"                  # errors that grow with the mass; \"absolute\" where not said\n"
      "# outliers = \"robust\"            # single bags that may be grossly wrong\n"
      "# blocks = true                  # blocks that differ as a whole\n\n"
      "# [methods]\n"
      "# draws = 50000                  # of the posterior; more where the fit asks for it, 0 for none\n"
      "# seed = 1\n",
      quoted(fit.title), quoted(fit.scenario), quoted(fit.data));
}

}  // namespace stoverturn
