#include "scenarios/plan/forward_fit.hpp"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "scenarios/trial/fit_json.hpp"

namespace stoverturn {
namespace {

constexpr const char* file_key = "file";
constexpr const char* draws_key = "draws";

Entry* entry(Table& table, std::string_view key) {
  const auto found = std::find_if(table.begin(), table.end(), [&](const Entry& e) { return e.key == key; });
  return found == table.end() ? nullptr : &*found;
}

/// `parameters = "FILE"` as a table.
void name_file(Table& table) {
  Entry* parameters = entry(table, "parameters");
  if (!parameters || !parameters->value.front().text()) return;
  const Value file = parameters->value.front();
  parameters->value.front() = Value{file.at, Table{{file_key, parameters->key_at, {file}}}};
}

/// A key of the gathered [parameters].
const Value* of_parameters(const Table& table, std::string_view key) {
  const Value* parameters = find(table, "parameters");
  return parameters && parameters->table() ? find(*parameters->table(), key) : nullptr;
}

std::string value_text(double value, const ParameterRow& row) {
  return fmt::format("{:.6g}{}", value, row.unit == "1" ? "" : fmt::format(" {}", row.unit));
}

/// A treatment of the trial: its key and what people call it, behind "SITE: " where there are several sites.
struct TrialTreatmentName {
  std::string key, label;
  bool is(const std::string& word) const { return word == key || word == label; }
  /// Also where the word leaves the site unsaid.
  bool may_be(const std::string& word) const {
    return is(word) || (!word.empty() && (key.ends_with(": " + word) || label.ends_with(": " + word)));
  }
};

std::vector<TrialTreatmentName> treatments_of(const FitResult& fit) {
  std::vector<TrialTreatmentName> list;
  for (std::size_t t = 0; t < fit.treatments.size(); ++t) {
    const std::string& label = fit.treatments[t];
    list.push_back({t < fit.treatment_keys.size() ? fit.treatment_keys[t] : label, label});
  }
  for (const FittedUnknown& u : fit.unknowns) {
    for (const FitTarget& target : u.targets) {
      const auto is_it = [&](const TrialTreatmentName& t) { return t.may_be(target.treatment); };
      if (!target.treatment.empty() && std::none_of(list.begin(), list.end(), is_it)) {
        list.push_back({target.treatment, target.treatment});
      }
    }
  }
  return list;
}

bool tells_treatments_apart(const FitResult& fit) {
  return std::any_of(fit.unknowns.begin(), fit.unknowns.end(), [](const FittedUnknown& u) {
    return std::any_of(u.targets.begin(), u.targets.end(),
                       [](const FitTarget& t) { return !t.treatment.empty(); });
  });
}

std::optional<std::size_t> number_of_draws(const Value& value, Mistakes& mistakes) {
  const double* number = value.number();
  const bool whole = number && *number == std::floor(*number);
  if (whole && *number >= 2 && *number <= most_forward_draws) return static_cast<std::size_t>(*number);
  mistakes.add(value.at, fmt::format("draws: found {}; wanted a whole number from 2 to {}",
                                     number ? fmt::format("{}", *number) : std::string(kind_name(value)),
                                     most_forward_draws));
  return std::nullopt;
}

void choose_draws(ForwardFit& forward, const Value& value, Mistakes& mistakes) {
  const std::optional<std::size_t> wanted = number_of_draws(value, mistakes);
  if (!wanted) return;
  const auto there = static_cast<std::size_t>(forward.fit.draws.cols());
  if (*wanted > there) {
    const std::string& why = forward.fit.draws_refused;
    mistakes.add(value.at, fmt::format("draws: {} holds {}{}; {}", forward.file,
                                       there == 0 ? "none" : fmt::format("{}", there),
                                       why.empty() ? "" : fmt::format(" ({})", why),
                                       there < 2 ? "leave draws out" : "wanted at most that many"));
    return;
  }
  forward.draws = thinned(there, *wanted);
}

/// The bounds of the parameter, for the estimate and the draws that are run.
void check_values(const ForwardFit& forward, std::size_t unknown, const ParameterRow& row,
                  Mistakes& mistakes) {
  const FittedUnknown& u = forward.fit.unknowns[unknown];
  const auto inside = [&](double x) { return x >= row.lower && x <= row.upper; };
  const auto refuse = [&](const std::string& what, double value) {
    mistakes.add(forward.at,
                 fmt::format("{}: {} of {} is {}; wanted {} to {} ({})", forward.file, what, u.unknown.name,
                             value_text(value, row), row.lower, row.upper, row.meaning));
  };
  if (!inside(u.estimate)) return refuse("the estimate", u.estimate);
  for (const std::size_t draw : forward.draws) {
    const double value =
        forward.fit.draws(static_cast<Eigen::Index>(unknown), static_cast<Eigen::Index>(draw));
    if (!inside(value)) return refuse("a draw", value);
  }
}

/// Treatments of the trial that a word may mean: the one that it names whole, else those of any site.
std::vector<std::size_t> meant(const std::vector<TrialTreatmentName>& trial, const std::string& word) {
  std::vector<std::size_t> list;
  for (std::size_t t = 0; t < trial.size(); ++t) {
    if (trial[t].is(word)) return {t};
    if (trial[t].may_be(word)) list.push_back(t);
  }
  return list;
}

/// Whether the estimates of two treatments of the trial differ.
bool differ(const FitResult& fit, const TrialTreatmentName& a, const TrialTreatmentName& b) {
  return std::any_of(fit.unknowns.begin(), fit.unknowns.end(), [&](const FittedUnknown& u) {
    return std::any_of(u.targets.begin(), u.targets.end(), [&](const FitTarget& t) {
      return !t.treatment.empty() && a.may_be(t.treatment) != b.may_be(t.treatment);
    });
  });
}

/// Which treatment of the trial a treatment of the scenario is; none where it is none, with a mistake where
/// it ought to be one.
std::optional<std::size_t> role_of(const ForwardFit& forward, const std::vector<TrialTreatmentName>& trial,
                                   const TrialRole& treatment, Mistakes& mistakes) {
  std::vector<std::string> keys;
  for (const TrialTreatmentName& t : trial) keys.push_back(t.key);
  const std::string& said = treatment.as_in_trial;
  std::vector<std::size_t> found = meant(trial, said.empty() ? treatment.name : said);
  if (found.empty() && said.empty()) found = meant(trial, treatment.label);
  const std::string name = treatment.name.empty() ? treatment.label : treatment.name;
  const std::string where =
      treatment.name.empty() ? "at the top of the file" : fmt::format("under [treatment.{}]", treatment.name);
  for (const std::size_t other : found) {
    if (!differ(forward.fit, trial[found.front()], trial[other])) continue;
    mistakes.add(treatment.at,
                 fmt::format("{}: its sites have estimates of their own, and '{}' may be '{}' or "
                             "'{}'; write as_in_trial = \"{}\", or another, {}",
                             forward.file, said.empty() ? name : said, keys[found.front()], keys[other],
                             keys[found.front()], where));
    return std::nullopt;
  }
  if (!found.empty()) return found.front();
  if (!said.empty()) {
    mistakes.add(treatment.at, fmt::format("as_in_trial: {} has no treatment '{}'{}", forward.file, said,
                                           did_you_mean(said, keys)));
  } else if (tells_treatments_apart(forward.fit)) {
    mistakes.add(treatment.at,
                 fmt::format("{}: it has estimates of their own for the treatments '{}', and '{}' is none "
                             "of them; write as_in_trial = \"{}\", or another, {}",
                             forward.file, fmt::join(keys, "', '"), name, keys.front(), where));
  }
  return std::nullopt;
}

}  // namespace

bool is_fit_key(const std::string& key) { return key == file_key || key == draws_key; }

void gather_fit_keys(Table& top, Mistakes& mistakes) {
  name_file(top);
  if (Entry* treatments = entry(top, "treatment")) {
    if (Table* all = std::get_if<Table>(&treatments->value.front().data)) {
      for (Entry& one : *all) {
        if (Table* own = std::get_if<Table>(&one.value.front().data)) name_file(*own);
      }
    }
  }
  const Entry* parameters = entry(top, "parameters");
  const Entry* draws = entry(top, draws_key);
  if (!draws) return;
  if (parameters && parameters->value.front().table() &&
      find(*parameters->value.front().table(), draws_key)) {
    mistakes.add(draws->key_at, "draws: stands twice, here and under [parameters]; keep one");
    return;
  }
  const Entry own = *draws;
  set_path(top, fmt::format("parameters.{}", draws_key), own.value.front());
  top.erase(std::find_if(top.begin(), top.end(), [](const Entry& e) { return e.key == draws_key; }));
}

bool names_fit(const Table& table) { return of_parameters(table, file_key) != nullptr; }

bool asks_for_draws(const Table& table) { return of_parameters(table, draws_key) != nullptr; }

std::size_t read_place_draws(const Table& top, Mistakes& mistakes) {
  const Value* draws = of_parameters(top, draws_key);
  return draws && !names_fit(top) ? number_of_draws(*draws, mistakes).value_or(0) : 0;
}

std::shared_ptr<const ForwardFit> read_forward_fit(const Table& top, const TextOf& text_of,
                                                   Mistakes& mistakes) {
  const Value* file = of_parameters(top, file_key);
  const Value* draws = of_parameters(top, draws_key);
  if (!file) return nullptr;
  if (!file->text()) {
    mistakes.add(file->at, fmt::format("parameters: found {}; wanted the file of a fit, such as \"fit.h5\"",
                                       kind_name(*file)));
    return nullptr;
  }
  const auto forward = std::make_shared<ForwardFit>();
  forward->file = *file->text();
  forward->at = file->at;
  const std::optional<std::string> text = text_of ? text_of(forward->file) : std::nullopt;
  if (!text) {
    mistakes.add(file->at, fmt::format("parameters: there is no file {}", forward->file));
    return nullptr;
  }
  try {
    forward->fit = read_fit_json(*text, forward->file);
  } catch (const InputError& error) {
    for (const Mistake& m : error.mistakes) {
      mistakes.add(file->at, fmt::format("parameters: {} {}", forward->file, m.message));
    }
    return nullptr;
  }
  if (draws) choose_draws(*forward, *draws, mistakes);
  return forward;
}

void check_forward_fit(const ForwardFit& forward, const std::vector<std::string>& components,
                       Mistakes& mistakes) {
  std::vector<std::string> names;
  for (const ParameterRow& row : parameter_table()) names.emplace_back(row.name);
  for (std::size_t i = 0; i < forward.fit.unknowns.size(); ++i) {
    const FittedUnknown& u = forward.fit.unknowns[i];
    bool taken = u.targets.empty();
    for (const FitTarget& target : u.targets) {
      const ParameterRow* row = find_parameter(target.parameter);
      if (!row) {
        mistakes.add(forward.at,
                     fmt::format("{}: it estimates `{}`, which this program does not have{}", forward.file,
                                 target.parameter, did_you_mean(target.parameter, names)));
        taken = true;
        break;
      }
      check_values(forward, i, *row, mistakes);
      taken = taken || target.component.empty() ||
              std::find(components.begin(), components.end(), target.component) != components.end();
    }
    if (taken) continue;
    const std::string& component = u.targets.front().component;
    mistakes.add(forward.at,
                 fmt::format("{}: {} is of component `{}`, which this scenario does not have{}", forward.file,
                             u.unknown.name, component, did_you_mean(component, components)));
  }
}

std::vector<ParameterSetting> fit_settings(const ForwardFit& forward, std::optional<std::size_t> draw,
                                           const TrialRole& treatment, Mistakes& mistakes) {
  const std::vector<TrialTreatmentName> trial = treatments_of(forward.fit);
  const std::optional<std::size_t> role = role_of(forward, trial, treatment, mistakes);
  if (!role && (!treatment.as_in_trial.empty() || tells_treatments_apart(forward.fit))) return {};
  std::vector<ParameterSetting> settings;
  for (std::size_t i = 0; i < forward.fit.unknowns.size(); ++i) {
    const FittedUnknown& u = forward.fit.unknowns[i];
    const double value = draw ? forward.fit.draws(static_cast<Eigen::Index>(i),
                                                  static_cast<Eigen::Index>(forward.draws.at(*draw)))
                              : u.estimate;
    for (const FitTarget& target : u.targets) {
      const ParameterRow* row = find_parameter(target.parameter);
      const bool own = target.treatment.empty() || (role && trial[*role].may_be(target.treatment));
      if (row && own) settings.push_back({row, target.component, target.treatment, value, Layer::fit});
    }
  }
  // what is estimated of one treatment goes before what is estimated of all
  std::stable_partition(settings.begin(), settings.end(),
                        [](const ParameterSetting& s) { return s.treatment.empty(); });
  for (ParameterSetting& s : settings) s.treatment = treatment.name;
  return settings;
}

void note_own_values(const ForwardFit& forward, const std::vector<ParameterSetting>& settings,
                     const TreatmentParameters& in_force, const std::string& treatment_label,
                     std::vector<std::string>& warnings) {
  for (const ParameterSetting& s : settings) {
    std::vector<std::string> addresses;
    if (s.row->scope != Scope::component) {
      addresses.emplace_back(s.row->name);
    } else {
      for (const std::string& component : in_force.component_names) {
        if (s.component.empty() || s.component == component) {
          addresses.push_back(fmt::format("{}@{}", s.row->name, component));
        }
      }
    }
    for (const std::string& address : addresses) {
      const auto origin = in_force.origins.find(address);
      if (origin == in_force.origins.end() || origin->second <= Layer::fit) continue;
      warnings.push_back(
          fmt::format("'{}': {} is that of the {}, not of {}; to use the fit, take it out there.",
                      treatment_label, address, to_string(origin->second), forward.file));
    }
  }
}

}  // namespace stoverturn
