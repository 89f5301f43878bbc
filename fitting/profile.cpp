#include "fitting/profile.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/tools/roots.hpp>

#include "fitting/held_search.hpp"

namespace stoverturn {
namespace {

constexpr double same_cost = 1e-3;  ///< as in multi_start.hpp

/// A point of the profile.
struct Point {
  Place place;
  double z = 0.0, slope = 0.0;
  bool sure = true;
};

/// One side, from the optimum outwards.
struct Side {
  std::vector<Point> points;
  bool at_bound = false, wall = false;
};

struct Walk {
  MeteredCost cost;
  Picture picture;
  std::size_t unknown;
  double threshold;
  int most_points;
  Point optimum;

  Eigen::Index k() const { return static_cast<Eigen::Index>(unknown); }
  double base() const { return std::min(optimum.place.cost, cost.least); }
  bool passed(const Point& point) const { return point.place.cost - base() >= threshold; }
  bool much_better() const { return cost.least < optimum.place.cost - 0.05 * threshold; }
  bool stopped() const { return cost.cancelled || much_better(); }

  Point point_of(const Place& place, bool sure) const {
    // by the picture, the slope at the very end of a search that was cut short
    const HeldStep left = held_step(cost.cost, picture, place.x, place.gradient, unknown);
    return {place, place.x[k()], place.gradient[k()] + picture.curvature.row(k()).dot(left.step), sure};
  }

  /// Where the others go when the unknown moves by h, by the picture at a point.
  Eigen::VectorXd along_picture(const Point& from, double h) const {
    Eigen::VectorXd x = from.place.x;
    x[k()] += h;
    const Eigen::VectorXd gradient = from.place.gradient + h * picture.curvature.col(k());
    return x + held_step(cost.cost, picture, from.place.x, gradient, unknown).step;
  }

  /// d2 cost/dz2 of the profile at the optimum, by the picture.
  double bend_at_optimum(double h) const {
    const Eigen::VectorXd s = along_picture(optimum, h) - optimum.place.x;
    const double rise = optimum.place.gradient.dot(s) + 0.5 * s.dot(picture.curvature * s);
    return 2.0 * (rise - optimum.slope * h) / (h * h);
  }

  /// A point at z, with the others begun on the line through two points; false where it cannot be evaluated.
  bool look(double z, const Point& last, const Point* before, Point& found) {
    Eigen::VectorXd straight = last.place.x;
    if (before) {
      straight += (z - last.z) / (last.z - before->z) * (last.place.x - before->place.x);
    } else {
      straight = along_picture(last, z - last.z);
    }
    Eigen::VectorXd same = last.place.x, first = optimum.place.x;
    straight[k()] = same[k()] = first[k()] = z;
    const HeldOptimum result = search_held(cost, picture, {straight, same, first}, unknown, 2e-3 * threshold);
    if (cost.cancelled || !std::isfinite(result.place.cost)) return false;
    found = point_of(result.place, result.sure);
    return true;
  }
};

/// Step that raises the cost by `aim`, from slope and bend towards the outside; infinite where it falls.
double step_for(double aim, double slope, double bend) {
  slope = std::max(slope, 0.0);
  const double root = slope + std::sqrt(slope * slope + 2.0 * aim * std::max(bend, 0.0));
  return root > 0.0 ? 2.0 * aim / root : std::numeric_limits<double>::infinity();
}

void walk_side(Walk& walk, double direction, Side& side) {
  const double bound = direction > 0.0 ? walk.cost.cost.upper[walk.k()] : walk.cost.cost.lower[walk.k()];
  const double whole = std::abs(bound - walk.optimum.z);
  const double started = walk.cost.fraction;
  double limit = bound, step = 0.25 * whole;
  side.points = {walk.optimum};
  while (true) {
    const Point& last = side.points.back();
    const Point* before = side.points.size() > 1 ? &side.points[side.points.size() - 2] : nullptr;
    const double left = std::abs(limit - last.z);
    side.at_bound = !side.wall && left <= 1e-12 * whole;
    if (side.at_bound || walk.passed(last)) break;
    if (side.wall && left <= 0.01 * std::abs(last.z - walk.optimum.z) + 1e-4 * whole) return;
    const double bend = before ? (last.slope - before->slope) / (last.z - before->z)
                               : walk.bend_at_optimum(direction * 1e-3 * whole);
    double h = std::min(step_for(0.2 * walk.threshold, direction * last.slope, bend), step);
    const int points_left = std::max(1, walk.most_points - static_cast<int>(side.points.size()) + 1);
    if (points_left <= 3) h = std::max(h, left / points_left);
    h = side.wall ? std::min(h, 0.5 * left) : h > 0.8 * left ? left : h;
    const double z = h == left ? limit : last.z + direction * h;
    Point found;
    if (walk.look(z, last, before, found)) {
      step = 3.0 * h;
      side.points.push_back(found);
    } else {
      side.wall = true;
      limit = z;
    }
    if (walk.stopped()) return;
    const Point& now = side.points.back();
    walk.cost.fraction =
        std::max(walk.cost.fraction,
                 started + 0.45 * std::clamp(std::max((now.place.cost - walk.base()) / walk.threshold,
                                                      std::abs(now.z - walk.optimum.z) / whole),
                                             0.0, 1.0));
  }
  if (walk.passed(side.points.back())) side.wall = false;
}

/// Where the cost passes a height between two points: the cubic through values and slopes, these held to what
/// keeps it monotone (Fritsch and Carlson 1980, SIAM J. Numer. Anal. 17, 238-246).
double crossing(const Point& a, const Point& b, double height) {
  const double width = b.z - a.z, rise = b.place.cost - a.place.cost;
  const auto held = [&](double slope) { return std::clamp(slope * width, 0.0, 3.0 * rise); };
  const double from = held(a.slope), to = held(b.slope);
  const auto above = [&](double t) {
    return a.place.cost - height +
           t * (from + t * (3.0 * rise - 2.0 * from - to + t * (from + to - 2.0 * rise)));
  };
  if (above(0.0) >= 0.0) return a.z;
  if (above(1.0) <= 0.0) return b.z;
  std::uintmax_t most = 100;
  const auto root =
      boost::math::tools::toms748_solve(above, 0.0, 1.0, boost::math::tools::eps_tolerance<double>(40), most);
  return a.z + 0.5 * (root.first + root.second) * width;
}

/// The first point outside the threshold; the number of points when there is none.
std::size_t first_passed(const Walk& walk, const Side& side) {
  std::size_t i = 0;
  while (i < side.points.size() && !walk.passed(side.points[i])) ++i;
  return i;
}

/// Puts points between the last inside and the first outside until the cost rises little between them.
void refine(Walk& walk, Side& side) {
  for (int more = 0; more < 5 && !walk.stopped(); ++more) {
    const std::size_t out = first_passed(walk, side);
    if (out == side.points.size() || out == 0) return;
    const Point &a = side.points[out - 1], &b = side.points[out];
    const double from_optimum = std::abs(b.z - walk.optimum.z);
    if (b.place.cost - a.place.cost <= 0.6 * walk.threshold || std::abs(b.z - a.z) <= 0.02 * from_optimum)
      return;
    // a step short of both ends, so that the bracket shrinks
    const double at = crossing(a, b, walk.base() + walk.threshold);
    const double z = a.z + std::clamp((at - a.z) / (b.z - a.z), 0.15, 0.85) * (b.z - a.z);
    Point found;
    if (!walk.look(z, a, &b, found)) return;
    side.points.insert(side.points.begin() + static_cast<std::ptrdiff_t>(out), found);
  }
}

/// The end of the interval on a side, and whether it is closed there.
std::pair<double, bool> end_of(const Walk& walk, const Side& side) {
  const std::size_t out = first_passed(walk, side);
  if (out == side.points.size() || out == 0) return {side.points.back().z, false};
  return {crossing(side.points[out - 1], side.points[out], walk.base() + walk.threshold), true};
}

void gather(const Walk& walk, const Side& below, const Side& above, Profile& profile) {
  std::vector<const Point*> all;
  for (std::size_t i = below.points.size(); i-- > 1;) all.push_back(&below.points[i]);
  all.push_back(&walk.optimum);
  for (std::size_t i = 1; i < above.points.size(); ++i) all.push_back(&above.points[i]);
  profile.others.resize(walk.optimum.place.x.size(), static_cast<Eigen::Index>(all.size()));
  for (const Point* point : all) {
    profile.others.col(static_cast<Eigen::Index>(profile.z.size())) = point->place.x;
    profile.z.push_back(point->z);
    profile.cost.push_back(point->place.cost);
    profile.slope.push_back(point->slope);
    profile.unsure += point->sure ? 0 : 1;
  }
}

void judge(const Walk& walk, const Side& below, const Side& above, double flat, Profile& profile) {
  const auto [lower, closed_below] = end_of(walk, below);
  const auto [upper, closed_above] = end_of(walk, above);
  profile.interval = {lower, upper};
  profile.wall_below = below.wall;
  profile.wall_above = above.wall;
  const auto [least, most] = std::minmax_element(profile.cost.begin(), profile.cost.end());
  const bool flat_all_over = *most - *least < flat && below.at_bound && above.at_bound;
  profile.identifiable = profile.z.size() < 2           ? Identifiable::unknown
                         : closed_below && closed_above ? Identifiable::yes
                         : closed_above                 ? Identifiable::open_below
                         : closed_below                 ? Identifiable::open_above
                         : flat_all_over                ? Identifiable::flat
                                                        : Identifiable::open;
}

void check(const Cost& cost, const Optimum& best, std::size_t unknown, const ProfileOptions& options) {
  const Eigen::Index n = best.x.size();
  if (cost.lower.size() != n || cost.upper.size() != n || unknown >= static_cast<std::size_t>(n))
    throw std::invalid_argument("best point, bounds and unknown do not belong together");
  if (!cost.lower.allFinite() || !cost.upper.allFinite())
    throw std::invalid_argument("a profile needs finite bounds");
  if ((best.x.array() < cost.lower.array()).any() || (best.x.array() > cost.upper.array()).any())
    throw std::invalid_argument("the best point is not within the bounds");
  if (!(options.level > 0.0 && options.level < 1.0)) throw std::invalid_argument("level must be in 0 to 1");
  if (options.curvature.size() && (options.curvature.rows() != n || options.curvature.cols() != n))
    throw std::invalid_argument("second derivatives must be unknowns x unknowns");
}

}  // namespace

std::string_view words(Identifiable class_) {
  switch (class_) {
    case Identifiable::yes:
      return "told by the data, from both sides";
    case Identifiable::open_below:
      return "told from above only: values down to the lower bound fit as well";
    case Identifiable::open_above:
      return "told from below only: values up to the upper bound fit as well";
    case Identifiable::open:
      return "not told: any value between the bounds fits nearly as well";
    case Identifiable::flat:
      return "not told at all: the fit is the same for every value";
    case Identifiable::unknown:
      return "not known: its profile could not be walked";
  }
  return "";
}

Profile profile_of(const Cost& cost, const Optimum& best, std::size_t unknown,
                   const ProfileOptions& options) {
  check(cost, best, unknown, options);
  const double threshold =
      0.5 * boost::math::quantile(boost::math::chi_squared_distribution<double>(1.0), options.level);
  Walk walk{{cost, options.progress}, {}, unknown, threshold, options.most_points, {}};
  Profile profile;
  profile.unknown = unknown;
  Place start{best.x, 0.0, {}};
  start.cost = walk.cost(best.x, &start.gradient);
  if (std::isfinite(start.cost) && !walk.cost.cancelled) {
    walk.picture = options.curvature.size() ? picture_of(options.curvature, cost, 0.01 * options.flat)
                                            : picture_at(walk.cost, start, 0.01 * options.flat);
    walk.optimum = walk.point_of(start, true);
    walk.cost.fraction = 0.1;
    Side below, above;
    below.points = above.points = {walk.optimum};
    for (const bool up : {false, true}) {
      if (walk.stopped()) break;
      Side& side = up ? above : below;
      const Picture picture = walk.picture;  // each side begins with what is known at the optimum
      walk_side(walk, up ? 1.0 : -1.0, side);
      refine(walk, side);
      walk.picture = picture;
    }
    gather(walk, below, above, profile);
    profile.finished = !walk.stopped();
    if (profile.finished) judge(walk, below, above, options.flat, profile);
    if (walk.cost.least < std::min(best.cost, start.cost) - same_cost) {
      profile.better_cost = walk.cost.least;
      profile.better = walk.cost.least_at;
    }
  }
  profile.evaluations = walk.cost.evaluations;
  return profile;
}

}  // namespace stoverturn
