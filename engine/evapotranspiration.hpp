#pragma once

namespace stoverturn {

/// FAO Irrigation and Drainage Paper 56 (Allen, Pereira, Raes, Smith 1998); equation numbers are its own.
/// docs/model.md, Eq. 25 and 26

/// Position of the sun on a day, FAO-56 Eq. 23 to 25.
struct Sun {
  double inverse_distance;  ///< d_r
  double declination_rad;
  double sunset_angle_rad;  ///< omega_s; 0 in polar night, pi in polar day
};
Sun sun(double latitude_deg, int day_of_year);

/// Extraterrestrial radiation R_a, MJ m-2 d-1, Eq. 21.
double extraterrestrial_radiation_MJ_m2(double latitude_deg, int day_of_year);

/// Daylight hours N, Eq. 34.
double daylight_h(double latitude_deg, int day_of_year);

/// Solar radiation from n hours of sunshine of N possible, 0.25 + 0.50 n/N of R_a, Eq. 35.
double radiation_from_sunshine_MJ_m2(double Ra_MJ_m2, double sunshine_h, double daylight_h);

/// Solar radiation from the daily temperature range inland, 0.16 sqrt(Tmax - Tmin) R_a, Eq. 50.
double radiation_from_range_MJ_m2(double Ra_MJ_m2, double tmin_C, double tmax_C);

double saturation_vapour_kPa(double temperature_C);       ///< e0, Eq. 11
double vapour_slope_kPa_K(double temperature_C);          ///< Delta, Eq. 13
double pressure_kPa(double elevation_m);                  ///< P, Eq. 7
double psychrometric_kPa_K(double elevation_m);           ///< gamma, Eq. 8
double wind_at_2m_m_s(double wind_m_s, double height_m);  ///< u_2, Eq. 47

/// u_2 where no wind was measured: the mean of 2,000 stations around the globe (FAO-56 chapter 3, "Estimating
/// missing climatic data"; from memory).
inline constexpr double usual_wind_m_s = 2.0;

/// What Penman-Monteith needs of a day.
struct PenmanMonteithDay {
  double tmin_C, tmax_C;
  double vapour_kPa;              ///< actual vapour pressure e_a
  double wind_m_s;                ///< at 2 m
  double radiation_MJ_m2;         ///< solar, R_s
  double extraterrestrial_MJ_m2;  ///< R_a
  double elevation_m;
  double soil_heat_MJ_m2 = 0.0;  ///< G, 0 for daily steps
};

/// Parts of the radiation balance, MJ m-2 d-1.
struct NetRadiation {
  double clear_sky, shortwave, longwave, net;
};
/// Eq. 37 to 40. R_s/R_so is held between 0.3 (from memory: a sky cannot be cloudier) and 1.
NetRadiation net_radiation(const PenmanMonteithDay& day);

/// Reference evapotranspiration ET_0, mm d-1, Eq. 6; never negative.
double penman_monteith_mm(const PenmanMonteithDay& day);

/// ET_0 from temperature alone, 0.0023 (T + 17.8) sqrt(Tmax - Tmin) R_a, mm d-1, Eq. 52; never negative.
double hargreaves_mm(double tmin_C, double tmax_C, double Ra_MJ_m2);

}  // namespace stoverturn
