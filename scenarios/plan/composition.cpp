#include "scenarios/plan/composition.hpp"

#include <algorithm>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/plan/parameter_settings.hpp"

namespace stoverturn {
namespace {

const LabSample* find_sample(const std::vector<LabSample>& samples, const std::string& name) {
  const std::string word = plain_word(name);
  for (const LabSample& sample : samples) {
    if (sample.name == name || (!word.empty() && plain_word(sample.name) == word)) return &sample;
  }
  return nullptr;
}

std::optional<LabSheet> read_file(TableReader& in, const std::vector<std::string>& names,
                                  const std::string& folder, const TextOf& text_of, Mistakes& mistakes) {
  const std::optional<std::string> sample = in.text("sample");
  const std::optional<std::string> file = in.text("lab_sheet");
  if (sample && !in.has("lab_sheet")) in.mistake("sample", "of which file? write lab_sheet = \"sheet.csv\"");
  if (!file) return std::nullopt;
  const std::string path = folder + *file;
  const std::optional<std::string> text = text_of ? text_of(path) : std::nullopt;
  if (!text) {
    in.mistake("lab_sheet", fmt::format("there is no file {}", path));
    return std::nullopt;
  }
  const std::vector<LabSample> samples = read_lab_csv(*text, path, mistakes);
  if (samples.empty()) return std::nullopt;
  const LabSample* found = sample ? find_sample(samples, *sample) : nullptr;
  for (const std::string& name : names) {
    if (!found && !sample) found = find_sample(samples, name);
  }
  if (!found && !sample && samples.size() == 1 && samples.front().name.empty()) found = &samples.front();
  if (found) return found->sheet;
  std::vector<std::string> known;
  for (const LabSample& s : samples) known.push_back(s.name);
  const std::string wanted = sample.value_or(names.front());
  in.mistake(
      sample ? "sample" : "lab_sheet",
      fmt::format("no sample in {} is called `{}`{}{}", path, wanted, did_you_mean(wanted, known),
                  sample ? "" : fmt::format(" (sample = \"{}\" takes one of another name)", known.front())));
  return std::nullopt;
}

}  // namespace

Composition read_composition(TableReader& in, const std::string& what, const std::vector<std::string>& names,
                             const std::string& folder, const TextOf& text_of, Mistakes& mistakes) {
  Composition composition;
  composition.lab = read_file(in, names, folder, text_of, mistakes);
  if (const Table* table = in.table("lab")) {
    const LabSheet own = read_lab_table(*table, what + " lab", in.at("lab"), mistakes);
    if (composition.lab) {
      lay_over(*composition.lab, own);
    } else {
      composition.lab = own;
    }
  }
  for (const ParameterRow& row : parameter_table()) {
    if (row.scope != Scope::component) continue;
    const Value* value = in.value(std::string(row.name));
    if (!value) continue;
    if (const auto number = read_parameter_value(row, *value, mistakes)) {
      composition.given.push_back({&row, *number});
    }
  }
  return composition;
}

}  // namespace stoverturn
