#include <cmath>
#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/files/result_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/results/compare.hpp"

namespace stoverturn {
namespace {

struct CompareOptions {
  std::string a, b;
  bool json = false;
};

}  // namespace

void add_compare_command(CLI::App& app) {
  const auto o = std::make_shared<CompareOptions>();
  CLI::App* command =
      app.add_subcommand("compare", "Key numbers of two result files side by side, with differences");
  command->footer("Example:  stoverturn compare dry.h5 wet.h5");
  command->add_option("A", o->a, "result file")->required();
  command->add_option("B", o->b, "result file")->required();
  command->add_flag("--json", o->json, "JSON instead of a table");
  command->callback([o] {
    const Results a = read_results(o->a), b = read_results(o->b);
    refuse_ensemble(o->a, a);
    refuse_ensemble(o->b, b);
    const Comparison comparison = compare(a, b);
    fmt::print("{}", o->json ? json_comparison(comparison) : printed_comparison(comparison, o->a, o->b));
  });
}

}  // namespace stoverturn
