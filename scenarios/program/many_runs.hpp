#pragma once
#include <string>
#include <vector>

namespace CLI {
class App;
}

namespace stoverturn {

/// What commands that run a scenario many times are asked for.
struct ManyRuns {
  std::string file, output, draws;
  std::vector<std::string> set;
  int threads = 0;  ///< 0: all
  bool overwrite = false, json = false, quiet = false;

  /// `--set` and `--draws`, as a scenario is read with them.
  std::vector<std::string> settings() const;
};

/// Their options; `ending` is what the usual base name of their files ends with.
void add_options(CLI::App& command, ManyRuns& options, const std::string& ending);

}  // namespace stoverturn
