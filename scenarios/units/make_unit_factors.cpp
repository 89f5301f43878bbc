/// Writes unit_factors.inc: one row for each row of unit_table.hpp, canonical = factor * value + offset,
/// computed by UDUNITS-2. Usage: make_unit_factors FILE
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <string>

#include <udunits2.h>

#include "scenarios/units/unit_table.hpp"

namespace {

int fail(const std::string& message) {
  std::fprintf(stderr, "make_unit_factors: %s\n", message.c_str());
  return 1;
}

/// UDUNITS-2 multiplies through base units, which turns 25.4 into 25.400000000000002: a value that is a
/// decimal of at most 12 digits but for round-off becomes that decimal.
double without_round_off(double value) {
  char text[32];
  std::snprintf(text, sizeof text, "%.12g", value);
  const double decimal = std::strtod(text, nullptr);
  return std::fabs(value - decimal) <= 1e-15 * std::fabs(value) ? decimal : value;
}

}  // namespace

int main(int argc, char** argv) {
  using namespace stoverturn;
  if (argc != 2) return fail("usage: make_unit_factors FILE");
  ut_set_error_message_handler(ut_ignore);
  ut_system* system = ut_read_xml(nullptr);
  if (system == nullptr) return fail("cannot read the unit database of UDUNITS-2");

  std::string text =
      "// Made by make_unit_factors.cpp from unit_table.hpp with UDUNITS-2; not for editing.\n";
  for (const UnitRow& row : unit_rows) {
    const KindRow& kind = kind_rows[static_cast<std::size_t>(row.kind)];
    ut_unit* from = ut_parse(system, row.udunits, UT_UTF8);
    ut_unit* to = ut_parse(system, kind.udunits, UT_UTF8);
    cv_converter* converter = from != nullptr && to != nullptr ? ut_get_converter(from, to) : nullptr;
    if (converter == nullptr) {
      return fail(std::string("cannot convert '") + row.udunits + "' to '" + kind.udunits + "'");
    }
    const double offset = cv_convert_double(converter, 0.0) + 0.0;
    const double wide =
        offset == 0.0 ? 1.0 : 1048576.0;  // far apart, so that the difference keeps its digits
    const double factor = without_round_off((cv_convert_double(converter, wide) - offset) / wide);
    char line[256];
    std::snprintf(line, sizeof line, "{\"%s\", %.17g, %.17g},  // %.*s, %.*s\n", row.udunits, factor, offset,
                  static_cast<int>(kind.name.size()), kind.name.data(), static_cast<int>(row.spelling.size()),
                  row.spelling.data());
    text += line;
    cv_free(converter);
    ut_free(from);
    ut_free(to);
  }
  ut_free_system(system);

  std::FILE* file = std::fopen(argv[1], "wb");
  if (file == nullptr) return fail(std::string("cannot write ") + argv[1]);
  const bool written = std::fwrite(text.data(), 1, text.size(), file) == text.size();
  if (std::fclose(file) != 0 || !written) return fail(std::string("cannot write ") + argv[1]);
  return 0;
}
