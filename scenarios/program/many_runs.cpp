#include "scenarios/program/many_runs.hpp"

#include <fmt/format.h>
#include <CLI/CLI.hpp>

namespace stoverturn {

std::vector<std::string> ManyRuns::settings() const {
  std::vector<std::string> all = set;
  if (!draws.empty()) all.push_back("draws=" + draws);
  return all;
}

void add_options(CLI::App& command, ManyRuns& o, const std::string& ending) {
  command.add_option("FILE", o.file, "scenario (TOML)")->required();
  command.add_option(
      "-o,--output", o.output,
      fmt::format("base name of the files written (default: FILE's with {}, in this folder)", ending));
  command
      .add_option("--set", o.set, "key.path=value of the file, or parameter[@component][@treatment]=value")
      ->allow_extra_args(false)
      ->type_name("NAME=VALUE");
  command.add_option("--draws", o.draws, "so many new places, or draws of the fit that FILE names")
      ->type_name("N");
  command.add_option("--threads", o.threads, "threads of each process (default: all)")
      ->check(CLI::Range(1, 4096));
  command.add_flag("--overwrite", o.overwrite, "replace files that exist");
  command.add_flag("--json", o.json, "print the key numbers as JSON instead of the table");
  command.add_flag("--quiet", o.quiet, "say nothing but the result");
}

}  // namespace stoverturn
