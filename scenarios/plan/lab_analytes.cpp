#include "scenarios/plan/lab_analytes.hpp"

#include <algorithm>
#include <array>
#include <cctype>
#include <utility>

namespace stoverturn {
namespace {

constexpr std::array<std::string_view, analytes> names = {
    "moisture", "dry matter",    "ash",        "NDF",       "ADF",       "ADL",    "carbon",
    "nitrogen", "crude protein", "phosphorus", "phosphate", "potassium", "potash", "sulfur"};

using enum Analyte;

// common spellings on reports of forage, feed and plant laboratories (common practice, no source)
constexpr std::pair<std::string_view, Analyte> spellings[] = {
    {"moisture", moisture},
    {"moisturecontent", moisture},
    {"water", moisture},
    {"watercontent", moisture},
    {"drymatter", dry_matter},
    {"dm", dry_matter},
    {"totalsolids", dry_matter},
    {"ash", ash},
    {"totalash", ash},
    {"crudeash", ash},
    {"rawash", ash},
    {"ashcontent", ash},
    {"ndf", NDF},
    {"andf", NDF},
    {"andfom", NDF},
    {"ndfom", NDF},
    {"neutraldetergentfiber", NDF},
    {"neutraldetergentfibre", NDF},
    {"adf", ADF},
    {"adfom", ADF},
    {"aciddetergentfiber", ADF},
    {"aciddetergentfibre", ADF},
    {"adl", ADL},
    {"adlom", ADL},
    {"lignin", ADL},
    {"ligninsa", ADL},
    {"aciddetergentlignin", ADL},
    {"c", carbon},
    {"carbon", carbon},
    {"totalc", carbon},
    {"totalcarbon", carbon},
    {"organiccarbon", carbon},
    {"totalorganiccarbon", carbon},
    {"n", nitrogen},
    {"nitrogen", nitrogen},
    {"totaln", nitrogen},
    {"totalnitrogen", nitrogen},
    {"kjeldahlnitrogen", nitrogen},
    {"totalkjeldahlnitrogen", nitrogen},
    {"tkn", nitrogen},
    {"cp", crude_protein},
    {"protein", crude_protein},
    {"crudeprotein", crude_protein},
    {"rawprotein", crude_protein},
    {"p", phosphorus},
    {"phosphorus", phosphorus},
    {"totalp", phosphorus},
    {"totalphosphorus", phosphorus},
    {"p2o5", phosphate},
    {"phosphate", phosphate},
    {"phosphorusp2o5", phosphate},
    {"phosphorusasp2o5", phosphate},
    {"phosphoruspentoxide", phosphate},
    {"k", potassium},
    {"potassium", potassium},
    {"totalk", potassium},
    {"totalpotassium", potassium},
    {"k2o", potash},
    {"potash", potash},
    {"potassiumk2o", potash},
    {"potassiumask2o", potash},
    {"potassiumoxide", potash},
    {"s", sulfur},
    {"sulfur", sulfur},
    {"sulphur", sulfur},
    {"totals", sulfur},
    {"totalsulfur", sulfur},
    {"totalsulphur", sulfur},
};

constexpr std::string_view crude_fibre[] = {"crudefiber", "crudefibre", "rawfiber", "rawfibre", "cf"};

constexpr std::string_view unused[] = {
    "adfcp",
    "adfn",
    "adicp",
    "adin",
    "aluminium",
    "aluminum",
    "b",
    "boron",
    "bulkdensity",
    "ca",
    "calcium",
    "carbontonitrogen",
    "cellulose",
    "chloride",
    "chlorine",
    "cl",
    "cn",
    "cnratio",
    "cobalt",
    "copper",
    "crudefat",
    "cu",
    "digestible",
    "etherextract",
    "fat",
    "fe",
    "grossenergy",
    "hemicellulose",
    "insolubleash",
    "iron",
    "ivtd",
    "klasonlignin",
    "lossonignition",
    "magnesium",
    "manganese",
    "mg",
    "mn",
    "mo",
    "molybdenum",
    "na",
    "ndfcp",
    "ndfd",
    "ndicp",
    "ndin",
    "nea",
    "neg",
    "nel",
    "nem",
    "nfc",
    "nitrate",
    "nitratenitrogen",
    "nitraten",
    "no3n",
    "nonfibercarbohydrates",
    "nsc",
    "om",
    "omd",
    "organicmatter",
    "ph",
    "relativefeedquality",
    "relativefeedvalue",
    "rfq",
    "rfv",
    "sand",
    "selenium",
    "si",
    "silica",
    "silicon",
    "sodium",
    "solubleprotein",
    "starch",
    "sugar",
    "sugars",
    "tdn",
    "totaldigestiblenutrients",
    "totalfat",
    "totalsugars",
    "undf240",
    "volatilesolids",
    "watersolublecarbohydrates",
    "wsc",
    "zinc",
    "zn",
};

/// The word as a whole, then outside and inside its brackets.
std::vector<std::string> readings(std::string_view text) {
  std::vector<std::string> words{plain_word(text)};
  const std::size_t open = text.find('('), close = text.find(')', open);
  if (open != std::string_view::npos && close != std::string_view::npos) {
    words.push_back(plain_word(text.substr(0, open)));
    words.push_back(plain_word(text.substr(open + 1, close - open - 1)));
  }
  return words;
}

template <class List>
bool holds(const List& list, const std::string& word) {
  return std::find(std::begin(list), std::end(list), word) != std::end(list);
}

}  // namespace

std::string_view to_string(Analyte analyte) { return names[static_cast<std::size_t>(analyte)]; }

std::optional<Analyte> find_analyte(std::string_view text) {
  for (const std::string& word : readings(text)) {
    for (const auto& [spelling, analyte] : spellings) {
      if (spelling == word) return analyte;
    }
  }
  return std::nullopt;
}

bool is_crude_fibre(std::string_view text) {
  const std::vector<std::string> words = readings(text);
  return std::any_of(words.begin(), words.end(), [](const auto& w) { return holds(crude_fibre, w); });
}

bool is_unused_analyte(std::string_view text) {
  const std::vector<std::string> words = readings(text);
  return is_crude_fibre(text) ||
         std::any_of(words.begin(), words.end(), [](const auto& w) { return holds(unused, w); });
}

const std::vector<std::string>& analyte_names() {
  static const std::vector<std::string> list = [] {
    std::vector<std::string> all(names.begin(), names.end());
    for (const char* other : {"lignin", "crude fibre", "neutral detergent fibre", "acid detergent fibre",
                              "acid detergent lignin", "sulphur", "P2O5", "K2O"}) {
      all.emplace_back(other);
    }
    return all;
  }();
  return list;
}

std::string plain_word(std::string_view text) {
  std::string word;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalnum(byte)) word += static_cast<char>(std::tolower(byte));
  }
  return word;
}

}  // namespace stoverturn
