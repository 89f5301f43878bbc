#include "scenarios/trial/fit_estimates.hpp"

#include <algorithm>

#include <fmt/format.h>

#include "scenarios/plan/parameter_settings.hpp"

namespace stoverturn {
namespace {

constexpr std::string_view contents[] = {"carbon", "nitrogen", "phosphorus", "potassium", "sulfur"};

std::vector<std::string> estimable_names() {
  std::vector<std::string> names;
  for (const ParameterRow& row : parameter_table()) {
    if (why_not_estimated(row).empty()) names.emplace_back(row.name);
  }
  return names;
}

bool finite_on_scale(Fit scale, double value) {
  return scale == Fit::linear || (value > 0.0 && (scale == Fit::log || value < 1.0));
}

/// Reads one `address = { ... }`.
class EstimateReader {
 public:
  EstimateReader(const Entry& entry, const ParameterRow& row, Mistakes& mistakes)
      : row_(row),
        mistakes_(mistakes),
        in_(*entry.value.front().table(), entry.key, entry.key_at, mistakes) {}

  EstimatePlan read(bool several_trials) {
    EstimatePlan e;
    e.target.parameter = row_.name;
    Unknown& u = e.unknown;
    u.unit = row_.unit;
    u.meaning = row_.meaning;
    u.scale = row_.fit;
    const EstimateBounds widest = widest_bounds(row_);
    u.lower = bound("lower").value_or(widest.lower);
    u.upper = bound("upper").value_or(widest.upper);
    if (!(u.lower < u.upper)) {
      in_.mistake("lower",
                  fmt::format("found bounds {} to {}; wanted the lower one first", u.lower, u.upper));
      u.lower = widest.lower;
      u.upper = widest.upper;
    }
    read_prior(u);
    read_start(e);
    read_variation(e, several_trials);
    in_.finish();
    return e;
  }

 private:
  /// A number that is possible and finite on the fit scale.
  std::optional<double> bound(const std::string& key) {
    const Value* v = in_.value(key);
    if (!v) return std::nullopt;
    return checked(*v, key);
  }

  std::optional<double> checked(const Value& v, const std::string& key) {
    const std::optional<double> number = read_parameter_value(row_, v, mistakes_);
    if (!number || finite_on_scale(row_.fit, *number)) return number;
    const EstimateBounds widest = widest_bounds(row_);
    mistakes_.add(
        v.at,
        fmt::format("{}: found {}; {} is estimated on the scale of its {}, so wanted {} to {}", key, *number,
                    row_.name, row_.fit == Fit::log ? "logarithm" : "logit", widest.lower, widest.upper));
    return std::nullopt;
  }

  void read_prior(Unknown& u) {
    const Table* table = in_.table("prior");
    if (!table) return;
    TableReader prior(*table, "prior", in_.at("prior"), mistakes_);
    prior.require("low", "prior = { low = ..., high = ... }, which nine of ten such values lie between");
    prior.require("high", "prior = { low = ..., high = ... }, which nine of ten such values lie between");
    const Value* low_value = prior.value("low");
    const Value* high_value = prior.value("high");
    prior.finish();
    if (!low_value || !high_value) return;
    const std::optional<double> low = checked(*low_value, "low");
    const std::optional<double> high = checked(*high_value, "high");
    if (!low || !high) return;
    if (!(*low < *high)) {
      in_.mistake("prior", fmt::format("found low {} and high {}; wanted low below high", *low, *high));
    } else if (*low < u.lower || *high > u.upper) {
      in_.mistake("prior",
                  fmt::format("{} to {} reaches beyond the bounds {} to {}", *low, *high, u.lower, u.upper));
    } else {
      u.prior = prior_between(u.scale, *low, *high);
    }
  }

  void read_start(EstimatePlan& e) {
    Unknown& u = e.unknown;
    const std::optional<double> start = bound("start");
    e.start_given = start.has_value() || u.prior.shape == Prior::Shape::normal;
    u.start = row_.value;
    if (start) {
      u.start = *start;
    } else if (e.start_given) {
      u.start = from_fit_scale(u.scale, u.prior.mean);
    }
    if (start && !(*start >= u.lower && *start <= u.upper)) {
      in_.mistake("start",
                  fmt::format("found {}; wanted it within the bounds {} to {}", *start, u.lower, u.upper));
    }
  }

  void read_variation(EstimatePlan& e, bool several_trials) {
    static const std::vector<std::string> choices = {"nothing", "treatment", "component", "site"};
    if (const auto by = in_.one_of("vary_by", choices)) {
      e.vary_by = static_cast<VaryBy>(std::find(choices.begin(), choices.end(), *by) - choices.begin());
    }
    if (e.vary_by == VaryBy::component && row_.scope != Scope::component) {
      in_.mistake("vary_by",
                  fmt::format("{} is one value for the whole field and has no components", row_.name));
    }
    if (e.vary_by == VaryBy::site && !several_trials) {
      in_.mistake("vary_by", "there is one trial only; sites are several [[trial]] blocks");
    }
    e.pooled = in_.flag("pooled").value_or(false);
    if (e.pooled && e.vary_by != VaryBy::site) {
      in_.mistake("pooled", "draws sites together and needs vary_by = \"site\"");
    }
  }

  const ParameterRow& row_;
  Mistakes& mistakes_;
  TableReader in_;
};

std::vector<std::string> split_at(const std::string& address) {
  std::vector<std::string> words;
  for (std::size_t from = 0; from != std::string::npos;) {
    const std::size_t to = address.find('@', from);
    words.push_back(address.substr(from, to == std::string::npos ? to : to - from));
    from = to == std::string::npos ? to : to + 1;
  }
  return words;
}

}  // namespace

std::string why_not_estimated(const ParameterRow& row) {
  if (row.scope == Scope::driver) {
    return "it is used before the simulation, in the weather's water and temperature or in what is laid out";
  }
  if (row.fit == Fit::fixed) return fmt::format("it is taken as known ({})", row.meaning);
  if (std::find(std::begin(contents), std::end(contents), row.name) != std::end(contents)) {
    return "what is left in bags is a share of it";
  }
  return "";
}

EstimateBounds widest_bounds(const ParameterRow& row) {
  EstimateBounds b{row.lower, row.upper};
  if (row.fit == Fit::log && b.lower <= 0.0) b.lower = 1e-3 * row.value;
  if (row.fit == Fit::logit) {
    b.lower = std::max(b.lower, 1e-3);
    b.upper = std::min(b.upper, 1.0 - 1e-3);
  }
  return b;
}

void read_estimates(const Table& table, bool several_trials, FitPlan& plan, Mistakes& mistakes) {
  for (const Entry& entry : table) {
    const std::vector<std::string> words = split_at(entry.key);
    const ParameterRow* row = find_parameter(words[0]);
    if (!row) {
      const std::vector<std::string> names = estimable_names();
      mistakes.add(entry.key_at, fmt::format("unknown parameter `{}`{} (`stoverturn parameters` lists them)",
                                             words[0], did_you_mean(words[0], names)));
      continue;
    }
    if (const std::string reason = why_not_estimated(*row); !reason.empty()) {
      mistakes.add(entry.key_at,
                   fmt::format("{} cannot be estimated: {}; set it in the scenario. Often estimated are "
                               "k_sol, k_hol, k_lig, p_lig, tissue, tau_d, v_mm_d, rind, contact and N_bg",
                               row->name, reason));
      continue;
    }
    if (!entry.value.front().table()) {
      mistakes.add(
          entry.value.front().at,
          fmt::format("{}: found {}; wanted a table, such as {{ }} or {{ start = {}, prior = {{ low = "
                      "..., high = ... }} }}",
                      entry.key, kind_name(entry.value.front()), row->value));
      continue;
    }
    if (words.size() > 3) {
      mistakes.add(entry.key_at,
                   fmt::format("{}: wanted at most one component and one treatment after @", entry.key));
      continue;
    }
    EstimatePlan e = EstimateReader(entry, *row, mistakes).read(several_trials);
    e.whose.assign(words.begin() + 1, words.end());
    e.unknown.name = entry.key;
    e.at = entry.key_at;
    plan.estimates.push_back(std::move(e));
  }
}

}  // namespace stoverturn
