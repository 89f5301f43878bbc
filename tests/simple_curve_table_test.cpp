/// docs/verification/simple-curves.csv against the fits it reports.
#include <array>
#include <cmath>
#include <fstream>
#include <sstream>

#include "fitting/decay_curves.hpp"
#include "tests/catch.hpp"
#include "tests/table_rows.hpp"

using namespace stoverturn;

namespace {

struct NamedSeries {
  std::string source, name, unit;  ///< unit of time
  DecayData data;                  ///< per cent left
};

void add_point(std::vector<NamedSeries>& all, const NamedSeries& of, const std::string& time,
               const std::string& left) {
  if (left.empty()) return;
  if (all.empty() || all.back().name != of.name || all.back().source != of.source) all.push_back(of);
  all.back().data.time.push_back(std::stod(time));
  all.back().data.left.push_back(std::stod(left));
}

/// Mass of every series of the trials that docs/verification.md reports, in the order of their files.
std::vector<NamedSeries> all_series() {
  std::vector<NamedSeries> all;
  for (const TableRow& r : table_rows(shared_data("lynch2016-haiti-residues") / "litterbag_digitised.csv")) {
    add_point(all, {"Lynch2016", r.at("residue") + " " + r.at("placement"), "d", {}}, r.at("day"),
              r.at("mass_remaining_pct"));
  }
  for (const TableRow& r : table_rows(shared_data("sievers-cook2018-illinois") / "remaining_by_week.csv")) {
    add_point(all, {"SieversCook2018", r.at("crop") + " " + r.at("part"), "week", {}}, r.at("week"),
              r.at("mass_remaining_pct_digitised_fig2"));
  }
  for (const TableRow& r : table_rows(shared_data("aridec-crop-residues") / "tidy_mass_remaining.csv")) {
    const std::string& litter = r.at("litter");
    if (litter.rfind("Zea mays", 0) != 0 && litter != "Triticum aestivum") continue;
    add_point(all, {r.at("entry"), r.at("series"), "d", {}}, r.at("time_days"), r.at("remaining_pct"));
  }
  return all;
}

std::string digits(double value) {
  if (!std::isfinite(value)) return "";
  std::array<char, 32> text{};
  std::snprintf(text.data(), text.size(), "%.3g", value);
  return text.data();
}

/// The curve of smallest AICc; "" where there are too few dates for any.
std::string best_curve(const DecayData& data) {
  constexpr std::array<std::pair<Curve, const char*>, 4> curves = {
      {{Curve::exponential, "exponential"},
       {Curve::asymptotic, "asymptotic"},
       {Curve::weibull, "Weibull"},
       {Curve::double_exponential, "double exponential"}}};
  std::string best;
  double least = std::numeric_limits<double>::infinity();
  for (const auto& [curve, name] : curves) {
    if (data.time.size() < 3 + curve_parameters(curve).size()) continue;  // AICc would be infinite
    const double aicc = fit_curve(curve, data).criteria.aicc;
    if (aicc < least - 1e-6) {
      least = aicc;
      best = name;
    }
  }
  return best;
}

std::string table_of(const std::vector<NamedSeries>& all) {
  std::ostringstream out;
  out << "source,series,dates,unit,k,k se,start [%],half-life,half-life se,scatter [%],least AICc\n";
  for (const NamedSeries& s : all) {
    const CurveFit fit = fit_curve(Curve::exponential, s.data);
    const double freedom = static_cast<double>(s.data.time.size()) - 2.0;
    out << s.source << "," << s.name << "," << s.data.time.size() << "," << s.unit;
    for (const double value : {fit.fit.x[0], fit.covariance.se[0], fit.fit.x[1], fit.half_life.value,
                               fit.half_life.se, std::sqrt(2.0 * fit.fit.cost / freedom)}) {
      out << "," << digits(value);
    }
    out << "," << best_curve(s.data) << "\n";
  }
  return out.str();
}

}  // namespace

TEST_CASE("simple_curve_table: the committed table holds what the fits give", "[fitting][published]") {
  NEEDS_SHARED("lynch2016-haiti-residues");
  NEEDS_SHARED("sievers-cook2018-illinois");
  NEEDS_SHARED("aridec-crop-residues");
  const std::filesystem::path committed = source_dir() / "docs/verification/simple-curves.csv";
  const std::string fresh = "simple-curves.csv";
  std::ofstream(fresh, std::ios::binary) << table_of(all_series());
  const std::vector<TableRow> now = table_rows(fresh), then = table_rows(committed);
  INFO("what the fits give now is written to " << std::filesystem::absolute(fresh));
  REQUIRE(now.size() == then.size());
  for (std::size_t r = 0; r < now.size(); ++r) {
    for (const auto& [column, text] : now[r]) {
      CAPTURE(now[r].at("source"), now[r].at("series"), column);
      const auto number_now = number(text), number_then = number(then[r].at(column));
      if (number_now && number_then) {
        CHECK(*number_now == Approx(*number_then).epsilon(0.011));  // one unit of the third digit
      } else {
        CHECK(text == then[r].at(column));
      }
    }
  }
}
