/// Simple curves that trials' authors printed, fitted again to the trials' own means.
///
/// Lynch, Mulvaney, Hodges, Thompson, Thomason 2016, SpringerPlus 5:973, doi:10.1186/s40064-016-2651-1,
/// tables 3 and 4; CC BY 4.0; means read off their figures, which changes their form. Sievers and Cook 2018,
/// Soil Sci. Soc. Am. J. 82, 147-155, doi:10.2136/sssaj2017.05.0139, table 4; means read off their figure 2
/// and from table 5.
///
/// An error d of reading a mean, against a scatter s about the curve, moves an estimate by about d/s of its
/// standard error. That and half a unit of the last printed digit is what "as printed" allows.
#include <cmath>
#include <map>
#include <optional>

#include <Eigen/QR>
#include "fitting/decay_curves.hpp"
#include "tests/catch.hpp"
#include "tests/table_rows.hpp"

using namespace stoverturn;

namespace {

/// A printed number and half a unit of its last digit.
struct Printed {
  double value = 0.0, half_unit = 0.0;
};

Printed printed(const std::string& text) {
  const std::size_t point = text.find('.');
  const int decimals = point == std::string::npos ? 0 : static_cast<int>(text.size() - point - 1);
  return {std::stod(text), 0.5 * std::pow(10.0, -decimals)};
}

/// How a fit is printed in papers: s with the freedom left over, and R2 about the mean.
struct Goodness {
  double s = 0.0, r2 = 0.0;
};

template <class Curve_of_t>
Goodness goodness(const DecayData& data, int parameters, Curve_of_t curve) {
  double residual = 0.0, total = 0.0, mean = 0.0;
  const double n = static_cast<double>(data.time.size());
  for (double left : data.left) mean += left / n;
  for (std::size_t i = 0; i < data.time.size(); ++i) {
    residual += std::pow(data.left[i] - curve(data.time[i]), 2);
    total += std::pow(data.left[i] - mean, 2);
  }
  return {std::sqrt(residual / (n - parameters)), 1.0 - residual / total};
}

Goodness goodness(const DecayData& data, const CurveFit& fit, const CurveOptions& options = {}) {
  return goodness(data, static_cast<int>(fit.fit.x.size()),
                  [&](double t) { return predicted(fit, options, t); });
}

/// Estimates in the forms of the papers, each with its standard error: by name k, k1 (slow), k2 (fast).
std::map<std::string, Estimate> rates(const CurveFit& fit) {
  const auto at = [&](Eigen::Index j) {
    return Estimate{fit.fit.x[j], fit.covariance.ok ? fit.covariance.se[j] : 0.0};
  };
  switch (fit.curve) {
    case Curve::exponential:
      return {{"k", at(0)}};
    case Curve::double_exponential:
      return {{"k1", at(2)}, {"k2", at(1)}};
    default:
      return {{"k", at(1)}};
  }
}

/// Shares of the start times the start: a1 (slow part, or the level) and a2 (fast part, or what decays).
std::pair<double, double> parts(const CurveFit& fit) {
  const double start = fit.fit.x[fit.fit.x.size() - 1];
  if (fit.curve == Curve::asymptotic) return {start * fit.fit.x[0], start * (1.0 - fit.fit.x[0])};
  return {start * (1.0 - fit.fit.x[0]), start * fit.fit.x[0]};
}

void check_as_printed(const std::string& what, const Estimate& ours, const std::string& text,
                      double read_error) {
  CAPTURE(what, ours.value, ours.se, text);
  const Printed p = printed(text);
  CHECK(std::abs(ours.value - p.value) <= p.half_unit + read_error * ours.se);
}

/// Best level and decaying part for a rate that is given: shares outside 0 to 1 are allowed, as in the
/// papers.
struct Levelled {
  double level = 0.0, decaying = 0.0, r2 = 0.0;
};

Levelled at_rate(const DecayData& data, double k) {
  const auto n = static_cast<Eigen::Index>(data.time.size());
  Eigen::MatrixXd columns(n, 2);
  for (Eigen::Index i = 0; i < n; ++i)
    columns.row(i) << 1.0, std::exp(-k * data.time[static_cast<std::size_t>(i)]);
  const Eigen::Map<const Eigen::VectorXd> left(data.left.data(), n);
  const Eigen::Vector2d best = columns.colPivHouseholderQr().solve(left);
  const auto curve = [&](double t) { return best[0] + best[1] * std::exp(-k * t); };
  return {best[0], best[1], goodness(data, 3, curve).r2};
}

/// Single exponentials of Lynch et al. begin at 100, which they print as the coefficient.
const CurveOptions from_100 = {false, 100.0, Spread::estimated};

CurveFit lynch_fit(const TableRow& row, const DecayData& data) {
  if (row.at("form") == "a1*exp(-k1*x)") return fit_curve(Curve::exponential, data, from_100);
  return fit_curve(row.at("form")[0] == 'c' ? Curve::asymptotic : Curve::double_exponential, data);
}

struct LynchSeries {
  TableRow printed;
  DecayData data;
};

/// By "mass maize buried", "N sunn_hemp surface", ...
std::map<std::string, LynchSeries> lynch() {
  const std::filesystem::path folder = shared_data("lynch2016-haiti-residues");
  std::map<std::string, LynchSeries> series;
  for (const TableRow& row : table_rows(folder / "published_fits_tables3_4.csv")) {
    const std::string what = row.at("variable") == "mass_pct" ? "mass" : "N";
    series[what + " " + row.at("residue") + " " + row.at("placement")].printed = row;
  }
  for (const TableRow& row : table_rows(folder / "litterbag_digitised.csv")) {
    for (const auto& [what, column] :
         {std::pair{"mass", "mass_remaining_pct"}, std::pair{"N", "N_plotted_units_as_axis"}}) {
      if (row.at(column).empty()) continue;
      DecayData& data = series[std::string(what) + " " + row.at("residue") + " " + row.at("placement")].data;
      data.time.push_back(std::stod(row.at("day")));
      data.left.push_back(std::stod(row.at(column)));
    }
  }
  return series;
}

}  // namespace

TEST_CASE("published_fits: corn in Haiti, typed from its source", "[fitting][published]") {
  // Lynch et al. 2016, figures 2 and 3, CC BY 4.0, read off (0.02 points of error); table 3
  const DecayData surface{{0, 3, 7, 14, 28, 56, 112}, {100.03, 85.08, 83.74, 86.84, 85.60, 73.39, 52.74}, {}};
  const DecayData buried{{0, 3, 7, 14, 28, 56, 112}, {100.03, 57.81, 63.76, 56.67, 53.05, 34.74, 11.14}, {}};
  const CurveFit single = fit_curve(Curve::exponential, surface, from_100);
  check_as_printed("k", rates(single).at("k"), "0.006", 0.0);
  const CurveFit two = fit_curve(Curve::double_exponential, buried);
  // scatter 6 points: 0.02/6 of a standard error
  check_as_printed("k1", rates(two).at("k1"), "0.0123", 0.004);
  // table 3: 66.65 and 33.35; in standard errors of 6 points
  CHECK(parts(two).first == Approx(66.65).margin(0.1));
  CHECK(parts(two).second == Approx(33.35).margin(0.1));
  CHECK(goodness(buried, two).s == Approx(6.214).epsilon(0.002));
  CHECK(goodness(buried, two).r2 == Approx(0.974).margin(0.0005));
}

TEST_CASE("published_fits: rates of Lynch et al. 2016 that are found again", "[fitting][published]") {
  NEEDS_SHARED("lynch2016-haiti-residues");
  const auto series = lynch();
  // mass read to 0.02 of a scatter of 5 points; N to 0.0001 of a scatter of 0.0027 at least
  struct Row {
    const char* name;
    double read_error;
    std::vector<std::pair<const char*, const char*>> rates;  ///< ours, column of the table
  };
  const std::vector<Row> rows = {
      {"mass maize buried", 0.004, {{"k1", "p2"}}},
      {"mass maize surface", 0.004, {{"k", "p2"}}},
      {"mass sorghum_sudangrass surface", 0.004, {{"k", "p2"}}},
      {"mass common_bean surface", 0.004, {{"k", "p2"}}},
      {"mass sunn_hemp surface", 0.004, {{"k1", "p2"}, {"k2", "p4"}}},
      {"N maize buried", 0.04, {{"k2", "p4"}}},
      {"N maize surface", 0.04, {{"k1", "p2"}}},
      {"N sorghum_sudangrass surface", 0.04, {{"k1", "p2"}, {"k2", "p4"}}},
      {"N common_bean buried", 0.04, {{"k", "p3"}}},
      {"N sunn_hemp buried", 0.04, {{"k1", "p2"}, {"k2", "p4"}}},
  };
  for (const Row& row : rows) {
    const LynchSeries& s = series.at(row.name);
    const CurveFit fit = lynch_fit(s.printed, s.data);
    CHECK(fit.fit.stop == Stop::converged);
    const auto ours = rates(fit);
    for (const auto& [rate, column] : row.rates) {
      check_as_printed(std::string(row.name) + " " + rate, ours.at(rate), s.printed.at(column),
                       row.read_error);
    }
  }
  // three decimals of R2; in these the scatter of the means is the one printed too, so the means were fitted
  for (const char* name : {"mass maize buried", "mass sunn_hemp surface", "N maize surface",
                           "N sorghum_sudangrass surface", "N common_bean buried", "N sunn_hemp buried"}) {
    const LynchSeries& s = series.at(name);
    const Goodness g = goodness(s.data, lynch_fit(s.printed, s.data));
    CAPTURE(name, g.s, g.r2);
    CHECK(g.r2 == Approx(printed(s.printed.at("R2")).value).margin(0.0012));
    const Printed rmse = printed(s.printed.at("RMSE"));
    CHECK(g.s == Approx(rmse.value).margin(rmse.half_unit + 0.002 * rmse.value));
  }
}

TEST_CASE("published_fits: rates of Lynch et al. 2016 that the plotted means do not give",
          "[fitting][published]") {
  NEEDS_SHARED("lynch2016-haiti-residues");
  const auto series = lynch();
  const auto fit_of = [&](const char* name) {
    return lynch_fit(series.at(name).printed, series.at(name).data);
  };

  // off by more than the reading, and within a standard error: the figure's means are not all that was fitted
  const std::vector<std::tuple<const char*, const char*, const char*>> near = {
      {"mass sorghum_sudangrass buried", "k", "p2"},
      {"mass common_bean buried", "k", "p2"},
      {"mass sunn_hemp buried", "k1", "p2"},
      {"mass sunn_hemp buried", "k2", "p4"}};
  for (const auto& [name, rate, column] : near) {
    const Estimate ours = rates(fit_of(name)).at(rate);
    const Printed p = printed(series.at(name).printed.at(column));
    CAPTURE(name, ours.value, ours.se, p.value);
    CHECK(std::abs(ours.value - p.value) <= ours.se);
    CHECK(std::abs(ours.value - p.value) > p.half_unit);
  }

  // the printed RMSE and R2 of corn on the surface are those of two pools, not of the one that is printed
  const LynchSeries& corn = series.at("mass maize surface");
  const Goodness two = goodness(corn.data, fit_curve(Curve::double_exponential, corn.data));
  CHECK(two.s == Approx(5.152).epsilon(0.003));
  CHECK(two.r2 == Approx(0.939).margin(0.001));
  CHECK(goodness(corn.data, fit_of("mass maize surface"), from_100).r2 < 0.75);

  // misprints: N of corn, buried, 0.0010 for 0.0100; on the surface 0.36 for 0.036
  CHECK(rates(fit_of("N maize buried")).at("k1").value == Approx(0.0100).margin(0.00005));
  CHECK(parts(fit_of("N maize surface")).first == Approx(0.036).margin(0.0005));
  // N of bean on the surface: the printed R2 belongs to a rate of 0.236, not 0.0236
  const DecayData& bean = series.at("N common_bean surface").data;
  CHECK(at_rate(bean, 0.236).r2 == Approx(0.793).margin(0.0005));
  CHECK(at_rate(bean, 0.0236).r2 < 0.65);
  CHECK(std::abs(rates(fit_of("N common_bean surface")).at("k").value - 0.236) <
        rates(fit_of("N common_bean surface")).at("k").se);

  // N of buried sorghum-sudangrass: the printed level is below zero, which no share can be; ours ends at zero
  const Levelled below = at_rate(series.at("N sorghum_sudangrass buried").data, 0.0022);
  CHECK(below.level == Approx(-0.20).margin(0.005));
  CHECK(below.r2 == Approx(0.829).margin(0.0005));
  CHECK(fit_of("N sorghum_sudangrass buried").fit.on_bound[0] == Bound::lower);
}

TEST_CASE("published_fits: rates of Sievers and Cook 2018", "[fitting][published]") {
  NEEDS_SHARED("sievers-cook2018-illinois");
  const std::filesystem::path folder = shared_data("sievers-cook2018-illinois");
  std::map<std::string, DecayData> series;
  for (const TableRow& row : table_rows(folder / "remaining_by_week.csv")) {
    for (const auto& [what, column] : {std::pair{"mass", "mass_remaining_pct_digitised_fig2"},
                                       std::pair{"nitrogen", "N_remaining_pct_from_table5"}}) {
      DecayData& data = series[std::string(what) + " " + row.at("crop") + " " + row.at("part")];
      data.time.push_back(std::stod(row.at("week")));
      data.left.push_back(std::stod(row.at(column)));
    }
  }
  int compared = 0;
  for (const TableRow& row : table_rows(folder / "published_fits_table4.csv")) {
    const std::string name = row.at("quantity") + " " + row.at("crop") + " " + row.at("part");
    if (series.count(name) == 0) continue;  // the tea bags' means were not read
    const CurveFit fit = fit_curve(Curve::asymptotic, series.at(name));
    const Printed k = printed(row.at("k_per_week"));
    CAPTURE(name, fit.fit.x.transpose());
    CHECK(fit.fit.stop == Stop::converged);
    if (printed(row.at("Y0_pct")).value < 0.0) {  // N of rye shoots: a level below zero; ours ends at zero
      CHECK(fit.fit.on_bound[0] == Bound::lower);
      const Levelled below = at_rate(series.at(name), k.value);
      CHECK(below.level ==
            Approx(printed(row.at("Y0_pct")).value).margin(1.0));  // extrapolated: N read to 0.15
      CHECK(below.r2 == Approx(printed(row.at("R2")).value).margin(0.001));
      continue;
    }
    ++compared;
    const Goodness g = goodness(series.at(name), fit);
    // read to 1 point (vetch), 0.5 (rye), N to 0.15, over the scatter
    const bool mass = row.at("quantity") == "mass";
    const double read = (mass ? (row.at("crop") == "hairy_vetch" ? 1.0 : 0.5) : 0.15) / g.s;
    check_as_printed(name, rates(fit).at("k"), row.at("k_per_week"), read);
    CHECK(parts(fit).first == Approx(printed(row.at("Y0_pct")).value).margin(1.0));  // points, as read
    CHECK(parts(fit).second == Approx(printed(row.at("a_pct")).value).margin(1.0));
    CHECK(g.r2 == Approx(printed(row.at("R2")).value).margin(0.002));
    CHECK(g.s == Approx(printed(row.at("RMSE")).value).epsilon(0.03));  // 0.5 point of 4.9 at most in squares
  }
  CHECK(compared == 7);
}
