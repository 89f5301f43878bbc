#include <cmath>
#include <memory>

#include <fmt/format.h>
#include <CLI/CLI.hpp>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/tidy_file.hpp"
#include "scenarios/program/commands.hpp"
#include "scenarios/stand/stand_print.hpp"
#include "scenarios/stand/stand_tables.hpp"
#include "scenarios/text/csv_text.hpp"
#include "scenarios/units/quantity.hpp"

namespace stoverturn {
namespace {

namespace fs = std::filesystem;

struct StandOptions {
  std::string file, output, against, by = "auto", price, bushels_per_ear, full_yield, level = "90 %",
                                     power = "80 %";
  bool json = false, overwrite = false;
};

struct StandFiles {
  fs::path tables, rates, differences, effects;
  explicit StandFiles(const StandOptions& o) {
    const std::string stem = output_stem(o.output, fs::path(o.file).stem().string() + "-stand");
    tables = stem + ".h5";
    rates = stem + "-rates.csv";
    differences = stem + "-differences.csv";
    effects = stem + "-effects.csv";
  }
  std::vector<fs::path> all() const { return {tables, rates, differences, effects}; }
};

double option_share(const char* option, const std::string& text) {
  try {
    const double share = quantity(text, Kind::fraction).value;
    if (share >= 0.5 && share < 1.0) return share;
  } catch (const QuantityError&) {
  }
  throw InputError(
      {{{"command line", 0, 0},
        fmt::format("{}: found '{}'; wanted 50 % to below 100 %, such as \"90 %\"", option, text)}});
}

void option_price(const char* option, std::string_view name, const std::string& text, StandPrices& prices) {
  if (text.empty()) return;
  try {
    read_stand_price(name, text, prices);
  } catch (const QuantityError& error) {
    throw InputError({{{"command line", 0, 0}, fmt::format("{}: {}", option, error.what())}});
  }
}

StandSettings settings_of(const StandOptions& o) {
  StandSettings settings;
  settings.level = option_share("--level", o.level);
  settings.power = option_share("--power", o.power);
  settings.against = o.against;
  settings.unit = o.by == "plots"  ? StandUnit::plots
                  : o.by == "rows" ? StandUnit::rows
                                   : StandUnit::automatic;
  option_price("--price", "price", o.price, settings.prices);
  option_price("--bushels-per-ear", "bushels per ear", o.bushels_per_ear, settings.prices);
  option_price("--full-yield", "full yield", o.full_yield, settings.prices);
  return settings;
}

void stand(const StandOptions& o) {
  const StandSettings settings = settings_of(o);
  const std::string text = read_text(o.file);
  want_input(text, o.file, InputKind::stand);
  const StandReport report = stand_report(read_stand_data(text, o.file), settings);
  const StandFiles files(o);
  if (!o.output.empty()) refuse_existing(files.all(), o.overwrite);
  const std::vector<TidyTable> tables = stand_tables(report);
  if (o.json) {
    fmt::print("{}", tidy_json({{"program", program_name()}, {"file", o.file}}, tables, report.notes));
  } else {
    fmt::print("{}", print_stand(report));
  }
  if (o.output.empty()) return;
  write_tidy(files.tables, {fs::path(o.file).filename().string(),
                            std::string(stand_file_kind),
                            tables,
                            report.notes,
                            {{"counts", text}},
                            {}});
  write_tidy_csv(files.rates, tables[0]);
  write_tidy_csv(files.differences, tables[1]);
  write_tidy_csv(files.effects, tables[2]);
  tell_written(files.all());
}

}  // namespace

void add_stand_command(CLI::App& app) {
  const auto o = std::make_shared<StandOptions>();
  CLI::App* command = app.add_subcommand(
      "stand", "Plants and ears counted in strips: per acre, differences, what they are worth");
  command->footer(
      "Example:  stoverturn stand scenarios/examples/invented-stand.csv --price \"4.30 $/bu\"\n"
      "Counting: docs/counting-stands.md. Columns: docs/file-formats.md, Stand counts.");
  command->add_option("FILE", o->file, "CSV of counts, one row a length of crop row")->required();
  command->add_option("--against", o->against, "compare all treatments with this one only");
  command->add_option("--price", o->price, "of grain, such as \"4.30 $/bu\"; yours, there is no default");
  command->add_option("--bushels-per-ear", o->bushels_per_ear, "what an ear holds, such as 0.006");
  command->add_option("--full-yield", o->full_yield,
                      "with a stand that leaves nothing to wish, such as \"210 bu/acre\"");
  command
      ->add_option("--by", o->by,
                   "what counts as one observation: auto, plots (rows of a strip together) or rows")
      ->check(CLI::IsMember({"auto", "plots", "rows"}))
      ->capture_default_str();
  command->add_option("--level", o->level, "of intervals")->capture_default_str();
  command->add_option("--power", o->power, "chance to see a true difference, for the row to be counted")
      ->capture_default_str();
  command->add_option("-o,--output", o->output, "also write NAME.h5 and three CSV files NAME-...csv");
  command->add_flag("--overwrite", o->overwrite, "replace files that exist");
  command->add_flag("--json", o->json, "JSON instead of text");
  command->callback([o] { stand(*o); });
}

}  // namespace stoverturn
