#include <stdexcept>

#include <nlohmann/json.hpp>

#include "scenarios/fit/run_fit.hpp"

namespace stoverturn {
namespace {

using nlohmann::json;

constexpr int format = 2;
constexpr const char* damaged = "not the state of a fit, or cut off";

/// CBOR keeps every bit of a double, infinities included.
json of(const Eigen::MatrixXd& m) {
  return {{"rows", m.rows()}, {"values", std::vector<double>(m.data(), m.data() + m.size())}};
}

Eigen::MatrixXd matrix(const json& j) {
  const std::vector<double> values = j.at("values");
  const Eigen::Index rows = j.at("rows");
  const Eigen::Index size = static_cast<Eigen::Index>(values.size());
  if (rows < 0 || (rows == 0 ? size > 0 : size % rows != 0)) throw std::runtime_error(damaged);
  if (rows == 0) return {};
  return Eigen::Map<const Eigen::MatrixXd>(values.data(), rows, size / rows);
}

Eigen::VectorXd vector(const json& j) {
  const Eigen::MatrixXd m = matrix(j);
  if (m.size() > 0 && m.cols() != 1) throw std::runtime_error(damaged);
  return m.size() > 0 ? m.col(0).eval() : Eigen::VectorXd();
}

template <class Enum>
Enum one_of(const json& j, Enum last) {
  const int number = j;
  if (number < 0 || number > static_cast<int>(last)) throw std::runtime_error(damaged);
  return static_cast<Enum>(number);
}

json of(const Optimum& o) {
  std::vector<int> bounds;
  for (const Bound b : o.on_bound) bounds.push_back(static_cast<int>(b));
  return {{"x", of(o.x)},
          {"cost", o.cost},
          {"stop", static_cast<int>(o.stop)},
          {"distance_se", o.distance_se},
          {"on_bound", bounds},
          {"evaluations", o.evaluations},
          {"derivatives", o.derivatives},
          {"iterations", o.iterations}};
}

Optimum optimum(const json& j) {
  Optimum o;
  o.x = vector(j.at("x"));
  o.cost = j.at("cost");
  o.stop = one_of(j.at("stop"), Stop::bad_start);
  o.why = words(o.stop);
  o.distance_se = j.at("distance_se");
  for (const json& b : j.at("on_bound")) o.on_bound.push_back(one_of(b, Bound::upper));
  o.evaluations = j.at("evaluations");
  o.derivatives = j.at("derivatives");
  o.iterations = j.at("iterations");
  return o;
}

json of(const Profile& p) {
  return {{"unknown", p.unknown},
          {"z", p.z},
          {"cost", p.cost},
          {"slope", p.slope},
          {"others", of(p.others)},
          {"lower", p.interval.lower},
          {"upper", p.interval.upper},
          {"identifiable", static_cast<int>(p.identifiable)},
          {"wall_below", p.wall_below},
          {"wall_above", p.wall_above},
          {"unsure", p.unsure},
          {"better_cost", p.better_cost},
          {"better", of(p.better)},
          {"evaluations", p.evaluations},
          {"finished", p.finished}};
}

Profile profile(const json& j) {
  Profile p;
  p.unknown = j.at("unknown");
  p.z = j.at("z").get<std::vector<double>>();
  p.cost = j.at("cost").get<std::vector<double>>();
  p.slope = j.at("slope").get<std::vector<double>>();
  p.others = matrix(j.at("others"));
  p.interval = {j.at("lower"), j.at("upper")};
  p.identifiable = one_of(j.at("identifiable"), Identifiable::unknown);
  p.wall_below = j.at("wall_below");
  p.wall_above = j.at("wall_above");
  p.unsure = j.at("unsure");
  p.better_cost = j.at("better_cost");
  p.better = vector(j.at("better"));
  p.evaluations = j.at("evaluations");
  p.finished = j.at("finished");
  return p;
}

json of(const SamplerState& s) {
  return {{"walkers", of(s.walkers)},
          {"density", of(s.density)},
          {"step", s.step},
          {"offered", s.offered},
          {"accepted", s.accepted},
          {"kept", of(s.kept)},
          {"kept_density", of(s.kept_density)}};
}

SamplerState sampler(const json& j) {
  SamplerState s;
  s.walkers = matrix(j.at("walkers"));
  s.density = vector(j.at("density"));
  s.step = j.at("step");
  s.offered = j.at("offered");
  s.accepted = j.at("accepted");
  s.kept = matrix(j.at("kept"));
  s.kept_density = vector(j.at("kept_density"));
  return s;
}

template <class T>
json list_of(const std::vector<T>& items) {
  json list = json::array();
  for (const T& item : items) list.push_back(of(item));
  return list;
}

}  // namespace

std::string to_bytes(const FitState& state) {
  json j = {{"stoverturn_fit_state", format},      {"inputs", state.inputs},
            {"starts", list_of(state.starts)},     {"population", state.population},
            {"profiles", list_of(state.profiles)}, {"better", of(state.better)}};
  if (state.sampler) j["sampler"] = of(*state.sampler);
  std::string bytes;
  json::to_cbor(j, bytes);
  return bytes;
}

FitState state_from_bytes(const std::string& bytes) {
  try {
    const json j = json::from_cbor(bytes);
    if (j.at("stoverturn_fit_state") != format) throw std::runtime_error("of another version");
    FitState state;
    state.inputs = j.at("inputs");
    for (const json& o : j.at("starts")) state.starts.push_back(optimum(o));
    state.population = j.at("population").get<std::vector<double>>();
    for (const json& p : j.at("profiles")) state.profiles.push_back(profile(p));
    state.better = vector(j.at("better"));
    if (j.contains("sampler")) state.sampler = sampler(j.at("sampler"));
    return state;
  } catch (const json::exception&) {
    throw std::runtime_error(damaged);
  }
}

}  // namespace stoverturn
