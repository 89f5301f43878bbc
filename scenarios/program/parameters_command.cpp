#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/program/commands.hpp"
#include "scenarios/results/parameter_page.hpp"

namespace stoverturn {

void add_parameters_command(CLI::App& app) {
  const auto json = std::make_shared<bool>(false);
  CLI::App* command = app.add_subcommand("parameters", "Print the parameter table as Markdown, or as JSON");
  command->add_flag("--json", *json, "JSON instead of Markdown");
  command->callback([json] { fmt::print("{}", *json ? parameter_page_json() : parameter_page_markdown()); });
}

}  // namespace stoverturn
