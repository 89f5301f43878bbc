#include <fstream>
#include <iterator>
#include <map>
#include <utility>

#include "scenarios/plan/lab_contents.hpp"
#include "scenarios/plan/scenario.hpp"
#include "scenarios/text/csv_text.hpp"
#include "tests/catch.hpp"
#include "tests/mistakes_in.hpp"

using namespace stoverturn;

namespace {

struct Told {
  std::map<std::string, double> values;
  std::vector<std::string> warnings;
};

Told contents(const LabSheet& sheet, Mistakes& mistakes) {
  Told told;
  for (const LabContent& c : lab_contents(sheet, default_parameters(), "stalk", mistakes, told.warnings)) {
    told.values[std::string(c.row->name)] = c.value;
  }
  return told;
}

Told of_table(const std::string& keys) {
  Mistakes mistakes;
  const Table table = read_toml(keys, "lab.toml");
  const Told told = contents(read_lab_table(table, "[lab]", {"lab.toml", 1, 1}, mistakes), mistakes);
  mistakes.throw_if_any();
  return told;
}

std::string mistakes_of_table(const std::string& keys) {
  return mistakes_in([&] { of_table(keys); });
}

std::vector<LabSample> of_csv(const std::string& text) {
  Mistakes mistakes;
  std::vector<LabSample> samples = read_lab_csv(text, "sheet.csv", mistakes);
  mistakes.throw_if_any();
  return samples;
}

std::string mistakes_of_csv(const std::string& text) {
  return mistakes_in([&] { of_csv(text); });
}

double dry(const LabSheet& sheet, Analyte analyte) { return sheet.of(analyte).value().share; }

}  // namespace

TEST_CASE("lab sheet: pools by hand", "[lab]") {
  const Told t = of_table(
      "basis = \"dry\"\nNDF = \"74 %\"\nADF = \"450 g/kg\"\nADL = \"6.5 g/100 g\"\nC = \"44 %\"\n"
      "N = \"6.8 g/kg\"\nP = \"800 mg/kg\"\nK = \"1.1 %\"\nS = \"500 ppm\"\n");
  // Eq. 1a by hand: lignin C 0.62 x 0.065 = 0.0403; holocellulose C 0.444 x 0.675 = 0.2997; both 0.34 of 0.44
  CHECK(t.values.at("carbon") == Approx(0.44));
  CHECK(t.values.at("lignin") == Approx(0.0403 / 0.44));
  CHECK(t.values.at("soluble") == Approx(0.10 / 0.44));
  CHECK(t.values.at("nitrogen") == Approx(0.0068));
  CHECK(t.values.at("phosphorus") == Approx(0.0008));
  CHECK(t.values.at("potassium") == Approx(0.011));
  CHECK(t.values.at("sulfur") == Approx(0.0005));
  CHECK(t.values.size() == 7);
  CHECK(t.warnings.empty());
}

TEST_CASE("lab sheet: elements by their oxides and protein", "[lab]") {
  const Told t =
      of_table("basis = \"dry\"\ncrude_protein = \"5 %\"\nP2O5 = \"0.2 %\"\nK2O = \"24 lb/short ton\"\n");
  CHECK(t.values.at("nitrogen") == Approx(0.008));  // 5/6.25, by definition of the method
  // IUPAC masses: P 30.974, K 39.098, O 15.999; 0.4364 and 0.8301 are rounded to four digits
  CHECK(t.values.at("phosphorus") == Approx(0.002 * 61.948 / 141.943).epsilon(2e-4));
  CHECK(t.values.at("potassium") == Approx(0.012 * 78.196 / 94.195).epsilon(2e-4));
  CHECK(t.values.size() == 3);
}

TEST_CASE("lab sheet: carbon from ash", "[lab]") {
  // parameter table: 0.47 of ash-free matter, "0.44 of whole mass with 6 % ash"
  const Told by_ash = of_table("basis = \"dry\"\nash = \"6 %\"\n");
  CHECK(by_ash.values.at("carbon") == Approx(0.44).epsilon(0.005));  // that source rounds to two digits
  CHECK(by_ash.values.at("carbon") == Approx(0.47 * 0.94));
  CHECK(by_ash.values.size() == 1);
  const Told both = of_table("basis = \"dry\"\nash = \"8 %\"\ncarbon = \"42 %\"\n");
  CHECK(both.values.at("carbon") == Approx(0.42));
  CHECK(both.values.at("carbon_ash_free") == Approx(0.42 / 0.92));
  // more ash, less carbon, and so a larger share of it in the same fibre
  const Told clean = of_table("basis = \"dry\"\nash = \"4 %\"\nNDF = \"70 %\"\nADL = \"6 %\"\n");
  const Told dirty = of_table("basis = \"dry\"\nash = \"12 %\"\nNDF = \"70 %\"\nADL = \"6 %\"\n");
  CHECK(dirty.values.at("soluble") < clean.values.at("soluble"));
}

TEST_CASE("lab sheet: what it lacks is the material's, and a note says so", "[lab]") {
  // lignin 0.12 of 0.44 g C per g: 0.0528/0.62 = 8.516 % of dry matter
  const Told no_lignin = of_table("basis = \"dry\"\nNDF = \"70 %\"\n");
  CHECK(no_lignin.values.at("lignin") == Approx(0.12));
  CHECK(no_lignin.values.at("soluble") == Approx(1.0 - (0.444 * (0.70 - 0.0528 / 0.62) + 0.0528) / 0.44));
  CHECK(no_lignin.warnings ==
        std::vector<std::string>{"stalk: the lab sheet lacks ADL; lignin is that of the "
                                 "material, 8.52 % of dry matter."});
  const Told no_fibre = of_table("basis = \"dry\"\nlignin = \"7 %\"\n");
  CHECK(no_fibre.values.size() == 1);
  CHECK(no_fibre.warnings ==
        std::vector<std::string>{"stalk: the lab sheet lacks NDF; soluble is that of the material."});
  const Told crude = of_table("basis = \"dry\"\ncrude_fibre = \"41 %\"\nN = \"0.6 %\"\n");
  CHECK(crude.values.size() == 1);
  CHECK(crude.warnings ==
        std::vector<std::string>{
            "stalk: crude fibre leaves out hemicellulose and part of the lignin and is not used; soluble and "
            "lignin are those of the material. Ask the laboratory for NDF, ADF and ADL."});
}

TEST_CASE("lab sheet: as fed to dry, against a published table of both", "[lab]") {
  // Wheat straw, tables of feed composition of INRAE, CIRAD and AFZ (feedtables.com/node/12477), read in the
  // source: as fed and on dry matter
  const LabSheet s =
      of_csv(
          "parameter,as fed,unit\nDry matter,90.3,%\nCrude protein,3.5,%\nCrude fibre,37.5,%\n"
          "Crude fat,1.3,%\nAsh,6,%\nInsoluble ash,2.7,%\nNDF,70.4,%\nADF,45.1,%\nLignin,6.8,%\n"
          "Starch,0.8,%\nTotal sugars,1.2,%\nCalcium,4,g/kg\nPhosphorus,0.6,g/kg\n"
          "Magnesium,1,g/kg\nPotassium,10.9,g/kg\nSulfur,1,g/kg\n")
          .at(0)
          .sheet;
  const auto is = [&](Analyte analyte, double printed, double last_digit) {
    INFO(to_string(analyte));
    // half of the last digit of both printed figures
    CHECK(dry(s, analyte) == Approx(printed).epsilon(0).margin(0.5 * last_digit * (1.0 + 1.0 / 0.903)));
  };
  is(Analyte::crude_protein, 0.039, 0.001);
  is(Analyte::ash, 0.066, 0.001);
  is(Analyte::NDF, 0.780, 0.001);
  is(Analyte::ADF, 0.500, 0.001);
  is(Analyte::ADL, 0.075, 0.001);
  is(Analyte::phosphorus, 0.0007, 0.0001);
  is(Analyte::potassium, 0.0120, 0.0001);
  is(Analyte::sulfur, 0.0011, 0.0001);
  Mistakes mistakes;
  const Told t = contents(s, mistakes);
  mistakes.throw_if_any();
  CHECK(t.warnings.empty());  // crude fibre matters where NDF lacks
  // carbon lies in the range of stover and straws, 0.431 to 0.454 (Karlen et al. 2015, read in the source)
  CHECK(t.values.at("carbon") > 0.431);
  CHECK(t.values.at("carbon") < 0.454);
}

TEST_CASE("lab sheet: shoots of rye and vetch, and roots with soil", "[lab]") {
  NEEDS_SHARED("sievers-cook2018-illinois");
  std::ifstream file(std::string(STOVERTURN_SHARED_DIR) +
                     "/data/sievers-cook2018-illinois/initial_quality_table3.csv");
  const CsvText csv = read_csv(std::string(std::istreambuf_iterator<char>(file), {}), "table3");
  // crop,part,total_C,total_N,CN,lignin,ADF,NDF,cellulose,hemicellulose; g/kg
  std::string sheet = "sample,basis,C [g/kg],N [g/kg],ADL [g/kg],ADF [g/kg],NDF [g/kg]\n";
  for (std::size_t r = 1; r < csv.rows.size(); ++r) {
    const CsvRow& row = csv.rows[r];
    sheet += row[0].text + " " + row[1].text + ",dry";
    for (const std::size_t column : {2U, 3U, 5U, 6U, 7U}) sheet += "," + row[column].text;
    sheet += "\n";
  }
  const std::vector<LabSample> samples = of_csv(sheet);
  REQUIRE(samples.size() == 6);
  for (std::size_t i = 0; i < samples.size(); ++i) {
    const CsvRow& row = csv.rows[i + 1];
    const LabSheet& s = samples[i].sheet;
    INFO(samples[i].name);
    // the table's cellulose is ADF less lignin, its hemicellulose NDF less ADF; printed to 0.1 g/kg
    CHECK(1000.0 * (dry(s, Analyte::ADF) - dry(s, Analyte::ADL)) ==
          Approx(*number(row[8].text)).epsilon(0).margin(0.11));
    CHECK(1000.0 * (dry(s, Analyte::NDF) - dry(s, Analyte::ADF)) ==
          Approx(*number(row[9].text)).epsilon(0).margin(0.11));
  }
  const auto told = [&](std::size_t i) {
    Mistakes mistakes;
    const Told t = contents(samples[i].sheet, mistakes);
    mistakes.throw_if_any();
    return t.values;
  };
  CHECK(samples[0].name == "cereal_rye shoots");
  CHECK(told(0).at("carbon") / told(0).at("nitrogen") == Approx(34.7).epsilon(0).margin(0.1));  // as printed
  CHECK(told(2).at("carbon") / told(2).at("nitrogen") == Approx(9.5).epsilon(0).margin(0.1));
  // the built-in materials come from the same shoots
  for (const auto& [place, material] : {std::pair(0U, "cereal rye"), std::pair(2U, "hairy vetch")}) {
    const Parameters<double> p = find_material(builtin_materials(), material)->parameters_of("shoot");
    CHECK(told(place).at("soluble") == Approx(p.soluble));
    CHECK(told(place).at("lignin") == Approx(p.lignin));
    CHECK(told(place).at("nitrogen") == Approx(p.nitrogen));
  }
  // cores of rye roots: 0.444 x 0.8008 + 0.62 x 0.0573 = 0.3911 g C in the fibre, 0.3346 in all
  try {
    told(1);
    FAIL("wanted a mistake");
  } catch (const InputError& error) {
    CHECK(std::string(error.what()) ==
          "sheet.csv:3:43: stalk: NDF and ADL hold 39.11 % of dry matter as carbon, and all carbon is 33.46 "
          "%; wanted "
          "less in the fibre (is soil or ash in the NDF?)");
  }
}

TEST_CASE("lab sheet: one result, one sample, semicolons and names in many forms", "[lab]") {
  const char* const sheets[] = {
      "sample,analyte,value,unit,basis\nA,moisture,20,%,\nA,NDF,60,%,as received\nA,N,8,g/kg,dry\n",
      "Sample ID;Test;Result;Units;Basis\nA;Dry matter;80,0;%;\nA;aNDFom;60,0;%;As Fed\nA;Total N;0,8;% "
      "DM;\n",
      "sample\tanalyte\tunit\tas received\tdry basis\nA\tWater\t%\t20\t\nA\tNeutral Detergent "
      "Fiber\t%\t60\t\n"
      "A\tNitrogen (N)\tmg/kg\t\t8000\n",
      "Component,As Fed,DM,Unit\nMoisture,20,,%\nNeutral Detergent Fibre (aNDF),60,75,%\nCrude "
      "protein,4,5,%\n",
      "component,basis,moisture [%],NDF [g/kg],N [%],RFV\nA,as received,20,600,0.64,88\n",
      "# from the laboratory\n\"sample\",\"basis\",\"DM [%]\",\"NDF [%]\",\"kjeldahl nitrogen "
      "[g/kg]\"\nA,dry,80,75,8\n",
  };
  for (const char* sheet : sheets) {
    INFO(sheet);
    const std::vector<LabSample> samples = of_csv(sheet);
    REQUIRE(samples.size() == 1);
    const LabSheet& s = samples.at(0).sheet;
    CHECK(dry(s, Analyte::moisture) == Approx(0.2));
    CHECK(dry(s, Analyte::NDF) == Approx(0.75));
    CHECK((s.of(Analyte::nitrogen) ? dry(s, Analyte::nitrogen) : dry(s, Analyte::crude_protein) / 6.25) ==
          Approx(0.008));
  }
  CHECK(of_csv(sheets[0]).at(0).name == "A");
  CHECK(of_csv(sheets[3]).at(0).name.empty());
}

TEST_CASE("lab sheet: a later sheet goes over results and their twins", "[lab]") {
  Mistakes mistakes;
  LabSheet below = read_lab_table(
      read_toml("basis = \"dry\"\nCP = \"5 %\"\nK2O = \"1.2 %\"\nNDF = \"70 %\"\n", "a"), "a", {}, mistakes);
  lay_over(below, read_lab_table(read_toml("basis = \"dry\"\nN = \"0.9 %\"\nK = \"0.7 %\"\n", "b"), "b", {},
                                 mistakes));
  const std::map<std::string, double> told = contents(below, mistakes).values;
  mistakes.throw_if_any();
  CHECK(told.at("nitrogen") == Approx(0.009));
  CHECK(told.at("potassium") == Approx(0.007));
  CHECK(told.count("soluble") == 1);
}

TEST_CASE("lab sheet: mistakes of a table", "[lab][mistakes]") {
  const std::pair<std::string, std::string> cases[] = {
      {"basis = \"dry\"\nNDF = \"45 %\"\nADF = \"50 %\"\n",
       "lab.toml:3:8: stalk: ADF is 50 % of dry matter and NDF 45 %; wanted ADF at most NDF (are they "
       "swapped, or on "
       "different bases?)"},
      {"basis = \"dry\"\nADF = \"45 %\"\nADL = \"50 %\"\n",
       "lab.toml:3:8: stalk: ADL is 50 % of dry matter and ADF 45 %; wanted ADL at most ADF (are they "
       "swapped, or on "
       "different bases?)"},
      {"basis = \"dry\"\nNDF = \"80 %\"\nADL = \"7 %\"\nN = \"1.6 %\"\nash = \"12 %\"\n",
       "lab.toml:2:8: stalk: NDF 80 %, crude protein 10 % and ash 12 % are 102 % of dry matter together; "
       "wanted at "
       "most 100 %"},
      {"NDF = \"45 %\"\nADL = \"5 %\"\n",
       "lab.toml:1:8: NDF: no basis is given; write basis = \"dry\" or \"as received\" in [lab]"},
      {"basis = \"wett\"\nN = \"0.7 %\"\n",
       "lab.toml:1:9: basis: found 'wett'; wanted \"dry\" or \"as received\""},
      {"basis = \"as received\"\nN = \"0.7 %\"\n",
       "lab.toml:2:6: nitrogen: is as received, and the sample lacks its moisture; add moisture or dry "
       "matter"},
      {"basis = \"dry\"\nN = \"0.7 % as fed\"\n",
       "lab.toml:2:6: nitrogen: the unit says as received, the basis dry; wanted one of the two"},
      {"basis = \"dry\"\nmoisture = \"97 %\"\nN = \"0.7 %\"\n",
       "lab.toml:2:13: moisture: makes a moisture of 97 %; wanted at most 95 %"},
      {"basis = \"dry\"\nmoisture = \"12 %\"\ndry_matter = \"90 %\"\nN = \"0.7 %\"\n",
       "lab.toml:3:15: dry matter: makes a moisture of 10 %, but 12 % stands in line 2"},
      {"basis = \"dry\"\nN = 0.7\n",
       "lab.toml:2:5: N: found a number; wanted a content in quotes, such as \"6.8 g/kg\" or \"0.68 %\""},
      {"basis = \"dry\"\nN = \"0.7\"\n",
       "lab.toml:2:9: nitrogen: 0.7: wanted a content with its unit, such as 6.8 g/kg or 0.68 %"},
      {"basis = \"dry\"\nN = \"<0.1 %\"\n",
       "lab.toml:2:6: nitrogen: found '<0.1 %', below the limit of detection; write a number, or leave this "
       "result "
       "out"},
      {"basis = \"dry\"\nK = \"7 g/kg\"\nligning = \"7 %\"\n",
       "lab.toml:3:1: unknown key `ligning` in [lab]; did you mean 'lignin'?"},
      {"basis = \"dry\"\nNDFF = \"70 %\"\n",
       "lab.toml:2:1: unknown key `NDFF` in [lab]; did you mean 'NDF'?"},
      {"N = \"1 %\"\nbasi = \"dry\"\n", "lab.toml:2:1: unknown key `basi` in [lab]; did you mean 'basis'?"},
      {"basis = \"dry\"\nN = \"1 %\"\ncrude_protein = \"5 %\"\n",
       "lab.toml:3:18: stalk: crude protein makes nitrogen 0.8 % of dry matter, and nitrogen is 1 %; keep "
       "one of the "
       "two"},
      {"basis = \"dry\"\nN = \"12 %\"\n",
       "lab.toml:2:6: stalk: nitrogen comes to 0.12 g/g; wanted 0.001 to 0.06 (nitrogen of dry matter)"},
      {"basis = \"dry\"\nash = \"40 %\"\nNDF = \"50 %\"\nADL = \"5 %\"\n",
       "lab.toml:2:8: stalk: carbon comes to 0.282 g/g; wanted 0.3 to 0.55 (carbon of dry matter)"},
      {"basis = \"dry\"\nCa = \"4 g/kg\"\n",
       "lab.toml:1:1: stalk: holds nothing that is used here; wanted any of NDF, ADL, ash, carbon, nitrogen, "
       "crude "
       "protein, phosphorus, potassium, sulfur"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of_table(text) == wanted);
  }
}

TEST_CASE("lab sheet: mistakes of a file", "[lab][mistakes]") {
  const std::string head = "sample,analyte,value,unit,basis\n";
  const std::pair<std::string, std::string> cases[] = {
      {head,
       "sheet.csv:1:1: the lab sheet has no rows; wanted a header such as sample,analyte,value,unit,basis "
       "and a "
       "row for each result"},
      {head + "A,nitrogn,7,g/kg,dry\n", "sheet.csv:2:3: unknown analyte `nitrogn`; did you mean 'nitrogen'?"},
      {head + "A,N,7,g/kgg,dry\n",
       "sheet.csv:2:7: nitrogen: unknown unit 'g/kgg' of content; did you mean 'g/kg'?"},
      {head + "A,N,seven,g/kg,dry\n",
       "sheet.csv:2:5: nitrogen: 'seven g/kg' does not start with a number: wanted a content with its unit, "
       "such as "
       "6.8 g/kg or 0.68 %"},
      {head + "A,N,7,,dry\n",
       "sheet.csv:2:6: nitrogen: 7: wanted a content with its unit, such as 6.8 g/kg or 0.68 %"},
      {head + "A,N,7,g/kg,\n",
       "sheet.csv:2:5: nitrogen: no basis is given; write dry or as received in a column basis"},
      {head + "A,N,7,g/kg,damp\n", "sheet.csv:2:12: basis: found 'damp'; wanted dry or as received"},
      {head + "A,N,7,g/kg,dry\nB,N,7,g/kg,dry\nA,N,8,g/kg,dry\n",
       "sheet.csv:4:5: nitrogen stands twice in this sample; first in line 2"},
      {head + "A,,7,g/kg,dry\n", "sheet.csv:2:1: this row names no analyte"},
      {head + "A,N,7,g/kg,dry,x\n", "sheet.csv:2:16: this row has more cells than the header"},
      {head + "A,N,-7,g/kg,dry\n", "sheet.csv:2:5: nitrogen: found -7 g/kg; wanted 0 to 100 %"},
      {"sample,analyte,value,unit,bassis\nA,N,7,g/kg,dry\n",
       "sheet.csv:1:27: unknown column `bassis`; did you mean 'basis'?\n"
       "sheet.csv:2:5: nitrogen: no basis is given; write dry or as received in a column basis"},
      {"sample,basis,NDF\nA,dry,70\n",
       "sheet.csv:1:14: NDF needs a unit: write NDF [%]\n"
       "sheet.csv:2:9: NDF: 70: wanted a content with its unit, such as 6.8 g/kg or 0.68 %"},
      {"name,amount\nA,7\n",
       "sheet.csv:1:1: unknown column `name`; known are moisture, dry matter, ash, NDF, ADF, ADL, carbon, "
       "nitrogen, "
       "crude protein, phosphorus, phosphate, potassium, ...\n"
       "sheet.csv:1:1: wanted a header such as sample,analyte,value,unit,basis, or sample,basis,NDF [%],ADF "
       "[%],N "
       "[%]\n"
       "sheet.csv:1:6: unknown column `amount`; known are moisture, dry matter, ash, NDF, ADF, ADL, carbon, "
       "nitrogen, "
       "crude protein, phosphorus, phosphate, potassium, ..."},
      {"sample,analyte,value,unit,basis\n\"A,N,7,g/kg,dry\n", "sheet.csv:2:1: this quote is never closed"},
  };
  for (const auto& [text, wanted] : cases) {
    INFO(text);
    CHECK(mistakes_of_csv(text) == wanted);
  }
}
