#include <bit>
#include <cstdint>

#include <hdf5.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/fit_file.hpp"
#include "scenarios/files/fit_members.hpp"
#include "scenarios/files/result_file.hpp"
#include "scenarios/trial/fit_json.hpp"
#include "tests/catch.hpp"
#include "tests/invented_fit.hpp"

using namespace stoverturn;
namespace fs = std::filesystem;

namespace {

/// All members of a fit as text, numbers by their bits: what differs shows where.
class Listing {
 public:
  template <class T>
  void attribute(const char* name, const T& value) {
    add(name, value);
  }
  void labels(const char* name, const std::vector<std::string>& texts, const char* /*meaning*/) {
    for (const std::string& t : texts) add(name, t);
  }
  template <class Row>
  void rows(const char* list, const std::vector<Row>& all) {
    add(list, static_cast<int>(all.size()));
  }
  template <class Row, class Get>
  void labelled_rows(const char* list, const std::vector<Row>& all, Get get, const char* /*meaning*/) {
    for (const Row& row : all) add(list, std::invoke(get, row));
  }
  void points(const char* /*name*/, std::size_t /*count*/) {}
  void days(const char* /*name*/, std::chrono::sys_days /*start*/, std::size_t /*count*/) {}
  template <class Row, class Get>
  void column(const char* list, const std::string& member, const std::vector<Row>& all, Get get,
              const std::string& /*meaning*/) {
    for (const Row& row : all) add(list + ("." + member), std::invoke(get, row));
  }
  template <class Row, class Get>
  void lists(const char* list, const char* member, const char* /*points*/, const std::vector<Row>& all,
             Get get, const char* /*meaning*/) {
    for (const Row& row : all) {
      add(list, member);
      for (const double x : std::invoke(get, row)) add(member, x);
    }
  }
  void matrix(const char* name, const Eigen::MatrixXd& m, const char* /*r*/, const char* /*c*/,
              const char* /*w*/) {
    add(name, static_cast<int>(m.rows()));
    for (Eigen::Index i = 0; i < m.size(); ++i) add(name, m.data()[i]);
  }
  void texts(const std::vector<KeptText>& kept) {
    for (const KeptText& t : kept) add(t.name, t.text);
  }
  std::vector<std::string> lines;

 private:
  template <class T>
  void add(const std::string& name, const T& value) {
    std::string text;
    if constexpr (std::is_same_v<T, double>) {
      text = std::to_string(std::bit_cast<std::uint64_t>(value));
    } else if constexpr (std::is_same_v<T, std::chrono::sys_days>) {
      text = format_date(value);
    } else if constexpr (std::is_arithmetic_v<T> || std::is_enum_v<T>) {
      text = std::to_string(static_cast<long>(value));
    } else {
      text = value;
    }
    lines.push_back(name + "=" + text);
  }
};

std::vector<std::string> listed(const FitResult& fit) {
  Listing listing;
  fit_file::members(fit, listing);
  return listing.lines;
}

}  // namespace

TEST_CASE("fit file: what is read is what was written, bit for bit", "[files][fit]") {
  const Folder folder;
  const FitResult fit = invented_fit();
  write_fit(folder / "fit.h5", fit);
  CHECK(listed(read_fit(folder / "fit.h5")) == listed(fit));
  CHECK(listed(fit).size() > 1500);  // 1200 values of curves, 200 of draws, and the rest
  CHECK(files_in(folder.path) == 1);
}

TEST_CASE("fit file: nothing there, and a covariance refused", "[files][fit]") {
  const Folder folder;
  write_fit(folder / "fit.h5", FitResult{});
  CHECK(listed(read_fit(folder / "fit.h5")) == listed(FitResult{}));

  FitResult fit = invented_fit();
  fit.covariance.resize(0, 0);
  fit.draws.resize(0, 0);
  fit.draws_are = "";
  fit.draws_refused = "the chains do not agree";
  fit.profiles.clear();
  fit.curves.clear();
  write_fit(folder / "fit.h5", fit);
  CHECK(listed(read_fit(folder / "fit.h5")) == listed(fit));
}

TEST_CASE("fit file: equal fits give equal bytes", "[files][fit]") {
  const Folder folder;
  write_fit(folder / "a.h5", invented_fit());
  write_fit(folder / "b.h5", read_fit(folder / "a.h5"));
  CHECK((slurp(folder / "a.h5") == slurp(folder / "b.h5")));
}

TEST_CASE("fit file: what cannot be read is named with its reason", "[files][fit]") {
  const Folder folder;
  const fs::path path = folder / "a.h5";
  const auto error = [&] { return error_of([&] { read_fit(path); }); };
  const std::string start = path.string() + ": ";
  CHECK(error() == start + "cannot be read: No such file or directory");
  write_text(path, "k_hol = 0.02\n");
  CHECK(error() == start + "is not an HDF5 file");
  write_results(path, invented());
  CHECK(error() == start + "is an HDF5 file, but not one of fits of stoverturn");
  write_fit(path, invented_fit());
  CHECK(error_of([&] { read_results(path); }) ==
        start + "is an HDF5 file, but not one of results of stoverturn");
  const std::string whole = slurp(path);
  write_text(path, whole.substr(0, whole.size() / 2));
  CHECK_THAT(error(), contains(start + "cannot be read: is damaged or was cut off: "));

  const auto error_after = [&](const std::function<void(hid_t)>& change) {
    write_fit(path, invented_fit());
    const hid_t file = H5Fopen(path.string().c_str(), H5F_ACC_RDWR, H5P_DEFAULT);
    change(file);
    H5Fclose(file);
    return error().substr(start.size());
  };
  CHECK(error_after([](hid_t file) {
          const int format = 2;
          const hid_t attribute = H5Aopen(file, fit_file::format_attribute, H5P_DEFAULT);
          H5Awrite(attribute, H5T_NATIVE_INT, &format);
          H5Aclose(attribute);
        }) == "is in format 2 of fit files, this program reads format 1: use a newer version of it");
  CHECK(error_after([](hid_t file) { H5Ldelete(file, "unknown_estimate", H5P_DEFAULT); }) ==
        "'unknown_estimate' is missing");
  CHECK(error_after([](hid_t file) { H5Adelete(file, "level"); }) == "attribute 'level' is missing");
  CHECK(error_after([](hid_t file) {
          H5Ldelete(file, "unknown_scale", H5P_DEFAULT);
          H5Lcopy(file, "unknown_unit", file, "unknown_scale", H5P_DEFAULT, H5P_DEFAULT);
        }) == "'unknown_scale' holds an unknown word '1/d'");
}

TEST_CASE("fit file: a fit that contradicts itself is not written", "[files][fit]") {
  const Folder folder;
  FitResult fit = invented_fit();
  fit.draws.resize(2, 3);
  CHECK(error_of([&] { write_fit(folder / "a.h5", fit); }) == "draws: wanted one row for each unknown");
  fit = invented_fit();
  fit.curves[0].upper.resize(301);
  CHECK(error_of([&] { write_fit(folder / "a.h5", fit); }) == "curve upper: more values than along time");
  CHECK(files_in(folder.path) == 0);
}

// Run by name: writes the file that check_result_file.py opens with other programs.
TEST_CASE("an invented fit is written for other readers", "[.][sample]") {
  write_fit("invented_fit.h5", invented_fit(), "made by fit_file_test");
  write_text("invented_fit.json", fit_json(invented_fit(20)));
  CHECK(fs::exists("invented_fit.h5"));
}
