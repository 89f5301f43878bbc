#include <bit>
#include <chrono>
#include <csignal>
#include <cstdint>
#include <thread>

#include <sys/resource.h>

#include <hdf5.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/result_file.hpp"
#include "tests/catch.hpp"
#include "tests/invented_results.hpp"

using namespace stoverturn;
namespace fs = std::filesystem;

namespace {

void check_same(const std::vector<Variable>& a, const std::vector<Variable>& b) {
  REQUIRE(a.size() == b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    INFO(a[i].name);
    CHECK(a[i].name == b[i].name);
    CHECK(a[i].kind == b[i].kind);
    CHECK(a[i].dimensions == b[i].dimensions);
    CHECK(a[i].meaning == b[i].meaning);
    CHECK(a[i].cf_name == b[i].cf_name);
    CHECK(a[i].substance == b[i].substance);
    REQUIRE(a[i].values.size() == b[i].values.size());
    std::size_t differing_bits = 0;
    for (std::size_t k = 0; k < a[i].values.size(); ++k) {
      differing_bits +=
          std::bit_cast<std::uint64_t>(a[i].values[k]) != std::bit_cast<std::uint64_t>(b[i].values[k]);
    }
    CHECK(differing_bits == 0);
  }
}

void check_same(const Results& a, const Results& b) {
  CHECK(a.title == b.title);
  CHECK(a.program == b.program);
  CHECK(a.units == b.units);
  CHECK(a.currency == b.currency);
  CHECK(a.treatments == b.treatments);
  CHECK(a.components == b.components);
  CHECK(a.placements == b.placements);
  CHECK(a.elements == b.elements);
  CHECK(a.harvests == b.harvests);
  CHECK(a.checkpoints == b.checkpoints);
  CHECK(a.notes == b.notes);
  CHECK(a.start == b.start);
  CHECK(a.days == b.days);
  CHECK(a.weather_start == b.weather_start);
  CHECK(a.weather_days == b.weather_days);
  CHECK(std::bit_cast<std::uint64_t>(a.latitude_deg) == std::bit_cast<std::uint64_t>(b.latitude_deg));
  CHECK(std::bit_cast<std::uint64_t>(a.elevation_m) == std::bit_cast<std::uint64_t>(b.elevation_m));
  REQUIRE(a.cohorts.size() == b.cohorts.size());
  for (std::size_t i = 0; i < a.cohorts.size(); ++i) {
    CHECK(a.cohorts[i].component == b.cohorts[i].component);
    CHECK(a.cohorts[i].pieces == b.cohorts[i].pieces);
    CHECK(a.cohorts[i].placement == b.cohorts[i].placement);
    CHECK(a.cohorts[i].harvest == b.cohorts[i].harvest);
  }
  REQUIRE(a.texts.size() == b.texts.size());
  for (std::size_t i = 0; i < a.texts.size(); ++i) {
    CHECK(a.texts[i].name == b.texts[i].name);
    CHECK((a.texts[i].text == b.texts[i].text));
  }
  check_same(a.series, b.series);
  check_same(a.key_numbers, b.key_numbers);
  check_same(a.weather, b.weather);
}

}  // namespace

TEST_CASE("result file: what is read is what was written, bit for bit", "[files]") {
  const Folder folder;
  const Results results = invented();
  write_results(folder / "a.h5", results);
  check_same(results, read_results(folder / "a.h5"));
  CHECK(files_in(folder.path) == 1);
}

TEST_CASE("result file: empty lists, no days, no weather", "[files]") {
  const Folder folder;
  Results results;
  results.currency = "";
  write_results(folder / "empty.h5", results);
  check_same(results, read_results(folder / "empty.h5"));

  results.series = {named("mass", Kind::mass_per_area, {Dimension::cohort, Dimension::time})};
  write_results(folder / "empty.h5", results);
  check_same(results, read_results(folder / "empty.h5"));
}

TEST_CASE("result file: an ensemble without series keeps the day on which it begins", "[files]") {
  const Folder folder;
  Results r;
  r.treatments = {"left"};
  r.sites = {{"here", nan_value, nan_value}};
  r.quantiles = {0.5};
  r.start = parse_date("2026-10-20");
  write_results(folder / "e.h5", r);
  CHECK(read_results(folder / "e.h5").start == r.start);
  r.start = {};
  write_results(folder / "f.h5", r);
  CHECK(read_results(folder / "f.h5").start == r.start);
}

TEST_CASE("result file: equal results give equal bytes, at any time", "[files]") {
  const Folder folder;
  write_results(folder / "a.h5", invented());
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // HDF5 would store whole seconds
  write_results(folder / "b.h5", invented());
  CHECK((slurp(folder / "a.h5") == slurp(folder / "b.h5")));
  CHECK((slurp(folder / "a.h5").find(folder.path.string()) == std::string::npos));
}

TEST_CASE("result file: results that contradict themselves are not written", "[files]") {
  const Folder folder;
  const auto error_with = [&](const std::function<void(Results&)>& change) {
    Results results = invented();
    change(results);
    const std::string error = error_of([&] { write_results(folder / "a.h5", results); });
    CHECK(files_in(folder.path) == 0);
    return error;
  };
  CHECK(error_with([](Results& r) { r.series[2].values.pop_back(); }) ==
        "result 'soil_temperature' has 399 values; its dimensions make 400");
  CHECK(error_with([](Results& r) { r.key_numbers[0].name = "mass"; }) == "two results are named 'mass'");
  CHECK(error_with([](Results& r) { r.key_numbers[0].name = "time"; }) == "two results are named 'time'");
  CHECK(error_with([](Results& r) { r.weather[0].name = "a/b"; }) ==
        "result 'weather_a/b': wanted letters, digits and '_' in its name");
  CHECK(error_with([](Results& r) {
          r.weather_days = 0;
          r.weather[0].values.clear();
        }) == "weather 'tmax' in results without days of weather");
  CHECK(error_with([](Results& r) { r.treatments[1] = std::string("a\0b", 3); }) ==
        "treatment holds a NUL byte");
}

TEST_CASE("result file: what cannot be read is named with its reason", "[files]") {
  const Folder folder;
  const fs::path path = folder / "a.h5";
  const auto error = [&] { return error_of([&] { read_results(path); }); };
  const std::string start = path.string() + ": ";

  CHECK(error() == start + "cannot be read: No such file or directory");
  fs::create_directory(path);
  CHECK(error() == start + "cannot be read: is no regular file");
  fs::remove(path);
  write_text(path, "");
  CHECK(error() == start + "is not an HDF5 file");
  write_text(path, "treatment,date\n");
  CHECK(error() == start + "is not an HDF5 file");

  write_results(path, invented());
  const std::string whole = slurp(path);
  for (const std::size_t size : {std::size_t{9}, std::size_t{500}, whole.size() / 2, whole.size() - 1}) {
    write_text(path, whole.substr(0, size));
    INFO(size << ": " << error());
    CHECK_THAT(error(), contains(start + "cannot be read: is damaged or was cut off: "));
  }

  const hid_t other = H5Fcreate(path.string().c_str(), H5F_ACC_TRUNC, H5P_DEFAULT, H5P_DEFAULT);
  H5Fclose(other);
  CHECK(error() == start + "is an HDF5 file, but not one of results of stoverturn");
}

TEST_CASE("result file: a newer format and missing parts are told", "[files]") {
  const Folder folder;
  const fs::path path = folder / "a.h5";
  const auto error_after = [&](const std::function<void(hid_t)>& change) {
    write_results(path, invented());
    const hid_t file = H5Fopen(path.string().c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
    change(file);
    H5Fclose(file);
    return error_of([&] { read_results(path); }).substr(path.string().size() + 2);
  };
  CHECK(error_after([](hid_t file) {
          const int format = 2;
          const hid_t attribute = H5Aopen(file, result_file::format_attribute, H5P_DEFAULT);
          H5Awrite(attribute, H5T_NATIVE_INT, &format);
          H5Aclose(attribute);
        }) == "is in format 2 of result files, this program reads format 1: use a newer version of it");
  CHECK(error_after([](hid_t file) { H5Ldelete(file, "treatment", H5P_DEFAULT); }) ==
        "'treatment' is missing");
  CHECK(error_after([](hid_t file) { H5Ldelete(file, "texts", H5P_DEFAULT); }) == "'texts' is missing");
  CHECK(error_after([](hid_t file) {
          H5Ldelete(file, "treatment", H5P_DEFAULT);
          H5Lmove(file, "component", file, "treatment", H5P_DEFAULT, H5P_DEFAULT);
        }) == "'component' is missing");
  CHECK(error_after([](hid_t file) { H5Adelete_by_name(file, "mass", "kind", H5P_DEFAULT); }) ==
        "'mass' is of an unknown kind ''");
  CHECK(error_after([](hid_t file) { H5Adelete_by_name(file, "time", "units", H5P_DEFAULT); }) ==
        "'time' has units ''; wanted 'days since yyyy-mm-dd'");
}

TEST_CASE("result file: a disk that fills up leaves no part and the old file", "[files]") {
  const Folder folder;
  const fs::path path = folder / "a.h5";
  write_text(path, "old");
  rlimit before{};
  REQUIRE(getrlimit(RLIMIT_FSIZE, &before) == 0);
  const auto handler = std::signal(SIGXFSZ, SIG_IGN);
  rlimit small = before;
  small.rlim_cur = 20'000;
  REQUIRE(setrlimit(RLIMIT_FSIZE, &small) == 0);
  const std::string error = error_of([&] { write_results(path, invented()); });
  setrlimit(RLIMIT_FSIZE, &before);
  std::signal(SIGXFSZ, handler);
  CHECK(error == path.string() + ".part: cannot be written: File too large");
  CHECK(slurp(path) == "old");
  CHECK(files_in(folder.path) == 1);
  write_results(path, invented());
  check_same(invented(), read_results(path));
}

// Run by name: writes the files that check_result_file.py opens with other programs.
TEST_CASE("invented results are written for other readers", "[.][sample]") {
  write_results("invented_results.h5", invented(), "made by result_file_test");
  Results bare = invented();
  bare.weather.clear();
  bare.weather_days = 0;
  bare.notes.clear();
  bare.texts.clear();
  write_results("invented_results_without_weather.h5", bare);
  CHECK(fs::exists("invented_results.h5"));
  CHECK(fs::exists("invented_results_without_weather.h5"));
}
