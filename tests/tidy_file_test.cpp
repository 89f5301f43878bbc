/// Tables in files, and telling files apart.
#include "scenarios/files/tidy_file.hpp"

#include <cstdlib>
#include <fstream>
#include <limits>

#include <hdf5.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/file_kind.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/files/result_file.hpp"
#include "tests/catch.hpp"
#include "tests/invented_fit.hpp"
#include "tests/invented_results.hpp"
#include "tests/stand_file.hpp"

using namespace stoverturn;
namespace fs = std::filesystem;

namespace {

fs::path path_of(const std::string& name) { return fs::temp_directory_path() / ("stoverturn-tidy-" + name); }

TidyFile invented_tables() {
  TidyFile file{"a title <b>",         "tables of a test", {}, {"first note", "second"},
                {{"plan", "a = 1\n"}}, "who made it"};
  TidyTable table{"strip_counts", "what it means", {}};
  const std::vector<int> rows = {0, 1, 2};
  const double numbers[] = {1.0 / 3.0, std::numeric_limits<double>::quiet_NaN(), -1e300};
  add_texts(table, "a_name", "names", rows, [](int i) { return i == 1 ? "" : "x, \"y\" é"; });
  add_numbers(table, "value", "kg ha-1", "values", rows, [&](int i) { return numbers[i]; });
  file.tables.push_back(table);
  table.name = "strip";  // the beginning of the other's name
  file.tables.push_back(table);
  return file;
}

void check_same(const TidyFile& a, const TidyFile& b) {
  CHECK(a.title == b.title);
  CHECK(a.kind == b.kind);
  CHECK(a.program == b.program);
  CHECK(a.notes == b.notes);
  REQUIRE(a.texts.size() == b.texts.size());
  for (std::size_t i = 0; i < a.texts.size(); ++i) {
    CHECK(a.texts[i].name == b.texts[i].name);
    CHECK(a.texts[i].text == b.texts[i].text);
  }
  REQUIRE(a.tables.size() == b.tables.size());
  for (std::size_t t = 0; t < a.tables.size(); ++t) {
    CHECK(a.tables[t].name == b.tables[t].name);
    CHECK(a.tables[t].meaning == b.tables[t].meaning);
    REQUIRE(a.tables[t].columns.size() == b.tables[t].columns.size());
    for (std::size_t c = 0; c < a.tables[t].columns.size(); ++c) {
      const TidyColumn &x = a.tables[t].columns[c], &y = b.tables[t].columns[c];
      INFO(x.name);
      CHECK(x.name == y.name);
      CHECK(x.unit == y.unit);
      CHECK(x.meaning == y.meaning);
      CHECK(x.is_text == y.is_text);
      CHECK(x.texts == y.texts);
      REQUIRE(x.numbers.size() == y.numbers.size());
      for (std::size_t i = 0; i < x.numbers.size(); ++i)
        CHECK(((std::isnan(x.numbers[i]) && std::isnan(y.numbers[i])) || x.numbers[i] == y.numbers[i]));
    }
  }
}

template <class Read>
std::string error_of(const fs::path& path, Read read) {
  try {
    read(path);
  } catch (const FileError& error) {
    return std::string(error.what()).substr(path.string().size());
  }
  return "no error";
}

void set_format(const fs::path& path, int format) {
  const hid_t file = H5Fopen(path.string().c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
  const hid_t attribute = H5Aopen(file, tidy_file::format_attribute, H5P_DEFAULT);
  H5Awrite(attribute, H5T_NATIVE_INT, &format);
  H5Aclose(attribute);
  H5Fclose(file);
}

}  // namespace

TEST_CASE("tables come back from their file exactly", "[files]") {
  const fs::path path = path_of("exact.h5");
  write_tidy(path, invented_tables());
  check_same(read_tidy(path), invented_tables());
  const TidyFile stand = stand_file(stand_pairs(2, "# price: 4 $/bu\n"));
  write_tidy(path, stand);
  check_same(read_tidy(path), stand);
  // and from tables the report
  const std::vector<TidyTable> again = stand_tables(stand_of_tables(read_tidy(path)));
  for (std::size_t t = 0; t < again.size(); ++t) CHECK(tidy_csv(again[t]) == tidy_csv(stand.tables[t]));
  fs::remove(path);
}

TEST_CASE("what is no file of tables is refused in words", "[files]") {
  const fs::path path = path_of("wrong.h5");
  const auto error = [&] { return error_of(path, [](const fs::path& p) { read_tidy(p); }); };
  fs::remove(path);
  CHECK(error() == ": cannot be read: No such file or directory");
  write_text(path, "no tables\n");
  CHECK(error() == ": is not an HDF5 file");
  write_fit(path, invented_fit());
  CHECK(error() == ": is an HDF5 file, but not one of tables of stoverturn");
  write_tidy(path, invented_tables());
  set_format(path, 2);
  CHECK(error() == ": is in format 2 of table files, this program reads format 1: use a newer version of it");
  write_tidy(path, invented_tables());
  const auto whole = fs::file_size(path);
  for (const std::uintmax_t part : {whole - 1, whole / 2, std::uintmax_t(600)}) {
    write_tidy(path, invented_tables());
    fs::resize_file(path, part);
    CHECK(error() != "no error");
  }
  fs::remove(path);
}

TEST_CASE("a file's kind is told by its attributes", "[files]") {
  const fs::path path = path_of("kind.h5");
  const auto error = [&] { return error_of(path, [](const fs::path& p) { kind_of_file(p); }); };
  const std::string wanted = "; wanted is a .h5 file of run, ensemble, timing, planting, fit, stand or trial";
  write_tidy(path, invented_tables());
  CHECK(kind_of_file(path) == FileKind::tidy);
  write_fit(path, invented_fit());
  CHECK(kind_of_file(path) == FileKind::fit);
  write_results(path, invented());
  CHECK(kind_of_file(path) == FileKind::results);
  fs::remove(path);
  CHECK(error() == ": cannot be read: No such file or directory");
  write_text(path, "treatment,bag\n");
  CHECK(error() == ": is not an HDF5 file" + wanted);
  H5Fclose(H5Fcreate(path.string().c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT));
  CHECK(error() == ": is an HDF5 file, but none that can be read here" + wanted);
  fs::remove(path);
}
