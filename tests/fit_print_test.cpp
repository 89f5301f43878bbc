#include "scenarios/trial/fit_print.hpp"

#include <algorithm>

#include "scenarios/text/csv_text.hpp"
#include "scenarios/trial/fit_methods.hpp"
#include "tests/catch.hpp"
#include "tests/invented_fit.hpp"

using namespace stoverturn;

namespace {

bool within_page(const std::string& text) {
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    const auto characters =
        std::count_if(text.begin() + static_cast<long>(begin), text.begin() + static_cast<long>(end),
                      [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; });
    if (characters > 100) return false;
    begin = end + 1;
  }
  return true;
}

std::string section(const std::string& text, const std::string& head) {
  const std::size_t begin = text.find("\n" + head + "\n");
  if (begin == std::string::npos) return "";
  return text.substr(begin + 1, text.find("\n\n", begin) - begin);
}

}  // namespace

TEST_CASE("fit print: estimates with the most trusted interval, as a paper has them", "[fit]") {
  const std::string text = printed_fit(invented_fit());
  CHECK(section(text, "Estimates") ==
        "Estimates\n"
        "parameter       unit  estimate    90 % interval  by         prior\n"
        "----------------------------------------------------------------------------------------\n"
        "k_hol           1/d      0.021  0.0171 to 0.0262  posterior  0.00879 to 0.0455, normal\n");
  CHECK(within_page(text));
}

TEST_CASE("fit print: the whole of it", "[fit]") { CHECK(printed_fit(invented_fit(), {true}) == ""); }

TEST_CASE("fit print: methods say what was done", "[fit]") {
  std::string all;
  for (const std::string& s : methods_paragraph(invented_fit(), {})) all += s + "\n";
  CHECK(all == "");
}

TEST_CASE("fit print: tables for a supplement", "[fit]") {
  CHECK(fit_parameters_csv(invented_fit()) == "");
  CHECK(fit_residuals_csv(invented_fit()) == "");
}
