#pragma once
#include <span>
#include <string_view>

namespace stoverturn {

/// What a fertiliser holds, as it is sold. Generic names and grades (N - P2O5 - K2O - S, percent).
struct ProductRow {
  std::string_view name;
  std::string_view grade;          ///< also read as its name; "" for none
  double nitrogen;                 ///< g N per g of product
  double urea, ammonium, nitrate;  ///< shares of that N
  double sulfur;                   ///< g S per g of product
  double density_lb_gal;           ///< of a liquid; 0: solid, no rate by volume
  bool in_soil_only;               ///< a gas in the open: refused on the surface
  double lost;                     ///< share of its N that escapes while it is applied
  std::string_view content_source, form_source, density_source;

  double density_g_L() const { return density_lb_gal * 453.59237 / 3.785411784; }  // by definition of lb, gal
};

std::span<const ProductRow> product_table();

/// First-year availability of the organic N of manure, by kind.
struct ManureRow {
  std::string_view name;
  double first_year;  ///< share of its organic N that becomes mineral in the year of application
  std::string_view source;
};
std::span<const ManureRow> manure_table();
const ManureRow* find_manure(std::string_view name);

/// Row of that name or grade, in upper or lower case; nullptr when there is none.
const ProductRow* find_product(std::string_view name);

}  // namespace stoverturn
