#include <cstdio>
#include <new>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/results/run_scenario.hpp"
#include "scenarios/text/mistakes.hpp"

int main(int argc, char** argv) {
  using namespace stoverturn;
  CLI::App app("How fast crop residue breaks down and when it gives its nutrients back.", "stoverturn");
  app.set_version_flag("--version", program_name());
  app.require_subcommand(1);
  app.footer(
      "Start with:  stoverturn run scenarios/examples/hollow-creek.toml\n"
      "Exit codes:  0 done; 1 a mistake in an input; 2 a mistake in the command line; 3 a file is missing, "
      "exists\n"
      "             already or cannot be written; 4 a fault of the program.");
  add_run_command(app);
  add_ensemble_command(app);
  add_timing_command(app);
  add_planting_command(app);
  add_fit_command(app);
  add_stand_command(app);
  add_trial_command(app);
  add_report_command(app);
  add_figure_command(app);
  add_check_command(app);
  add_weather_command(app);
  add_parameters_command(app);
  add_compare_command(app);
  add_new_command(app);
  try {
    app.parse(argc, argv);
    return success;
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? success : usage_mistake;
  } catch (const InputError& error) {
    fmt::print(stderr, "{}\n", error.what());
    return input_mistake;
  } catch (const FileError& error) {
    fmt::print(stderr, "{}\n", error.what());
    return file_trouble;
  } catch (const std::bad_alloc&) {
    fmt::print(stderr, "not enough memory for this run; shorten `duration` or run fewer treatments\n");
    return file_trouble;
  } catch (const std::exception& error) {
    fmt::print(stderr, "stoverturn failed, which is a fault of the program; please report it: {}\n",
               error.what());
    return our_mistake;
  }
}
