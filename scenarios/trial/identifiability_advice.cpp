#include "scenarios/trial/identifiability_advice.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include <fmt/format.h>

namespace stoverturn {
namespace {

/// A kind of parameter: what has to be measured to see it alone.
enum class Kind {
  wash_out,
  rate,
  entry,
  efficiency,
  protection,
  nitrogen,
  soil_nitrogen,
  phosphorus,
  sulfur,
  temperature
};

struct KindRow {
  std::string_view parameter;
  Kind kind;
};
using enum Kind;

constexpr auto kinds = std::to_array<KindRow>({
    {"soluble", wash_out},
    {"k_sol", wash_out},
    {"k_wash_sol", wash_out},
    {"b_closed", wash_out},
    {"k_hol", rate},
    {"tissue", rate},
    {"k_lig", protection},
    {"lignin", protection},
    {"p_lig", protection},
    {"v_mm_d", entry},
    {"rind", entry},
    {"tau_d", entry},
    {"e_sol", efficiency},
    {"e_hol", efficiency},
    {"e_lig", efficiency},
    {"e_rem", efficiency},
    {"a_rem", efficiency},
    {"a_som", efficiency},
    {"k_dec", efficiency},
    {"k_rem", efficiency},
    {"nitrogen", nitrogen},
    {"N_structure", nitrogen},
    {"CN_mic", nitrogen},
    {"k_upt", nitrogen},
    {"contact", nitrogen},
    {"soak_mm_d", wash_out},
    {"k_som", soil_nitrogen},
    {"N_bg", soil_nitrogen},
    {"k_nit", soil_nitrogen},
    {"k_hyd", soil_nitrogen},
    {"k_vol", soil_nitrogen},
    {"k_in", soil_nitrogen},
    {"k_wash", soil_nitrogen},
    {"k_den", soil_nitrogen},
    {"q10_den", soil_nitrogen},
    {"k_man", soil_nitrogen},
    {"phosphorus", phosphorus},
    {"P_structure", phosphorus},
    {"CP_mic", phosphorus},
    {"phi_P", phosphorus},
    {"potassium", phosphorus},
    {"k_leach", phosphorus},
    {"sulfur", sulfur},
    {"S_structure", sulfur},
    {"CS_mic", sulfur},
    {"q10", temperature},
});

constexpr std::string_view in_bags = "measure N in the bags or mineral N in the soil";
constexpr std::string_view early_bags =
    "lift more bags in the first month, or analyse solubles at the start and in early bags";
constexpr std::string_view cut_lengths = "add a second cut length or entry spacing";
constexpr std::string_view respired_carbon = "measure respired carbon";
constexpr std::string_view late_bags = "lift late bags, or analyse fibre and lignin of some bags";
constexpr std::string_view soil_N =
    "measure ammonium and nitrate in the soil apart, with and without residue";

/// What separates two kinds. The first row that fits stands, so rows go from the particular to the general.
struct SeparationRow {
  Kind one, other;
  std::string_view advice;
};
constexpr auto separations = std::to_array<SeparationRow>({
    {entry, rate, cut_lengths},
    {entry, protection, cut_lengths},
    {entry, entry, "add a second cut length, and pieces with the rind opened beside closed ones"},
    {entry, wash_out, early_bags},
    {wash_out, wash_out, early_bags},
    {wash_out, rate, early_bags},
    {rate, protection, late_bags},
    {protection, protection, late_bags},
    {efficiency, efficiency, respired_carbon},
    {efficiency, rate, respired_carbon},
    {efficiency, protection, respired_carbon},
    {efficiency, wash_out, respired_carbon},
    {efficiency, entry, respired_carbon},
});

/// What lets an unknown be seen at all; for a set with one of the last five kinds it also separates.
struct SightRow {
  Kind kind;
  std::string_view advice;
  bool separates;
};
constexpr auto sights = std::to_array<SightRow>({
    {wash_out, early_bags, false},
    {rate, "lift bags over a longer time", false},
    {entry, "put longer or closed pieces beside opened ones", false},
    {efficiency, respired_carbon, false},
    {protection, late_bags, false},
    {phosphorus, "measure P and K in the bags", true},
    {sulfur, "measure S in the bags", true},
    {soil_nitrogen, soil_N, true},
    {nitrogen, in_bags, true},
    {temperature, "use sites or starting dates of different temperature", true},
});

/// "k_hol@stalk" and "k_hol [opened]" are k_hol.
std::string_view parameter_of(std::string_view unknown) {
  return unknown.substr(0, std::min(unknown.find('@'), unknown.find(" [")));
}

const KindRow* kind_of(std::string_view unknown) {
  const auto* row = std::find_if(kinds.begin(), kinds.end(), [&](const KindRow& candidate) {
    return candidate.parameter == parameter_of(unknown);
  });
  return row == kinds.end() ? nullptr : row;
}

std::string listed(const std::vector<std::string>& names) {
  std::string text = names.front();
  for (std::size_t i = 1; i < names.size(); ++i) text += (i + 1 < names.size() ? ", " : " and ") + names[i];
  return text;
}

std::string index_in_words(double index) {
  return std::isfinite(index) && index < 1e5 ? fmt::format("collinearity index {:.0f}", index)
                                             : "their effects are the same";
}

bool one_parameter(const std::vector<std::string>& unknowns) {
  return std::all_of(unknowns.begin(), unknowns.end(), [&](const std::string& name) {
    return parameter_of(name) == parameter_of(unknowns.front()) && name.find('@') != std::string::npos;
  });
}

}  // namespace

std::string advice_to_separate(const std::vector<std::string>& unknowns) {
  if (unknowns.size() < 2) return "";
  if (one_parameter(unknowns)) return "bag the components apart";
  std::vector<Kind> present;
  for (const std::string& name : unknowns) {
    if (const KindRow* row = kind_of(name)) present.push_back(row->kind);
  }
  for (const SightRow& row : sights) {
    if (row.separates && std::count(present.begin(), present.end(), row.kind) > 0)
      return std::string(row.advice);
  }
  for (const SeparationRow& row : separations) {
    const auto ones = std::count(present.begin(), present.end(), row.one);
    const auto others = std::count(present.begin(), present.end(), row.other);
    if (row.one == row.other ? ones > 1 : ones > 0 && others > 0) return std::string(row.advice);
  }
  return "";
}

std::string advice_to_see(const std::string& unknown) {
  const KindRow* kind = kind_of(unknown);
  if (!kind) return "";
  const auto* row = std::find_if(sights.begin(), sights.end(),
                                 [&](const SightRow& candidate) { return candidate.kind == kind->kind; });
  return row == sights.end() ? "" : std::string(row->advice);
}

std::vector<std::string> identifiability_sentences(const Identifiability& said,
                                                   const std::vector<std::string>& names, std::size_t most) {
  std::vector<std::string> sentences;
  for (const Collinear& set : said.confounded) {
    if (sentences.size() == most) {
      sentences.push_back(
          fmt::format("{} more sets of unknowns cannot be told apart.", said.confounded.size() - most));
      break;
    }
    std::vector<std::string> members;
    for (const std::size_t j : set.unknowns) members.push_back(names.at(j));
    const std::string advice = advice_to_separate(members);
    sentences.push_back(fmt::format(
        "{} cannot be told apart by these data ({}): give one a prior or hold it, or {}.", listed(members),
        index_in_words(set.index), advice.empty() ? "measure what separates them" : advice));
  }
  for (const std::size_t j : said.blind) {
    const std::string advice = advice_to_see(names.at(j));
    sentences.push_back(fmt::format("{} changes nothing that was measured: hold it{}.", names.at(j),
                                    advice.empty() ? "" : ", or " + advice));
  }
  return sentences;
}

}  // namespace stoverturn
