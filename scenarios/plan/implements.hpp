#pragma once
#include <span>
#include <string_view>

namespace stoverturn {

/// What one pass of an implement does to residue, in the trade's generic terms.
///
/// The published figures are shares of soil cover that one pass leaves. They are used here as shares of mass.
/// The two are equal only at low mass and high retention [McCool, Stott and Laflen 1995]: under heavy residue
/// the same loss of cover means more mass buried. `bury` in the file goes before the table.
struct ImplementRow {
  std::string_view name;
  double knock_down;    ///< share of standing residue knocked down
  double left;          ///< share left on the surface, of what lies there and is knocked down
  double left_fragile;  ///< the same for fragile residue (soybean, cover crops)
  bool cuts;            ///< the file must say to which length
  std::string_view knock_down_source, left_source, fragile_source;
};

std::span<const ImplementRow> implement_table();

/// Row of that name, in upper or lower case; nullptr when there is none.
const ImplementRow* find_implement(std::string_view name);

/// Small, brittle residue of which a pass buries more. Grain straw and corn are not fragile unless chopped.
bool is_fragile(std::string_view material);

/// A pass in residue that an earlier pass of the same year after harvest has disturbed buries less: the
/// table's buried share times this. Photographs over five years show it [Iowa, read in the source]; the
/// number is an assumption, not verified.
inline constexpr double later_pass = 0.75;

/// Upper and lower case are one; for names of tables.
bool same_word(std::string_view a, std::string_view b);

}  // namespace stoverturn
