#include <algorithm>

#include <fmt/format.h>

#include "scenarios/program/commands.hpp"
#include "scenarios/stand/stand_data.hpp"
#include "scenarios/text/document.hpp"

namespace stoverturn {
namespace {

bool is_toml(std::string_view text) {
  try {
    return !read_toml(text, "").empty();
  } catch (const InputError&) {
    return false;
  }
}

struct KindRow {
  InputKind kind;
  std::string_view words, advice;
};
constexpr KindRow kind_rows[] = {
    {InputKind::scenario, "a scenario", "use `stoverturn run`"},
    {InputKind::fit, "a fit file", "use `stoverturn fit`"},
    {InputKind::plan, "the plan of a trial", "use `stoverturn trial`"},
    {InputKind::stand, "a sheet of stand counts", "use `stoverturn stand`"},
    {InputKind::trial_data, "trial data", "a fit file names it (`stoverturn new fit`)"},
};

}  // namespace

InputKind input_kind(std::string_view text) {
  if (is_toml(text)) {
    return is_design_plan(text) ? InputKind::plan : is_fit_plan(text) ? InputKind::fit : InputKind::scenario;
  }
  if (is_stand_data(text)) return InputKind::stand;
  return is_trial_data(text) ? InputKind::trial_data : InputKind::other;
}

void want_input(std::string_view text, const std::string& name, InputKind wanted) {
  const InputKind found = input_kind(text);
  const auto row_of = [](InputKind kind) {
    return std::find_if(std::begin(kind_rows), std::end(kind_rows),
                        [&](const KindRow& row) { return row.kind == kind; });
  };
  if (found == wanted || found == InputKind::other) return;
  throw InputError({{{name, 1, 1},
                     fmt::format("this is {}, not {}; {}", row_of(found)->words, row_of(wanted)->words,
                                 row_of(found)->advice)}});
}

}  // namespace stoverturn
