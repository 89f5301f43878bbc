#include "scenarios/files/part_file.hpp"

#include <fmt/format.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/hdf5_get.hpp"
#include "scenarios/files/hdf5_put.hpp"

namespace stoverturn {
namespace {

constexpr const char* format_attribute = "stoverturn_part_format";
constexpr int format = 1;

}  // namespace

PartFiles::PartFiles(std::filesystem::path folder, std::string of)
    : folder_(std::move(folder)), of_(std::move(of)) {}

std::filesystem::path PartFiles::path(std::size_t part) const {
  return folder_ / fmt::format("part-{:06}.h5", part);
}

void PartFiles::write(std::size_t part, const PartRows& rows) const {
  write_hdf5(path(part), [&](hid_t root) {
    put(root, format_attribute, format);
    put(root, "of", of_);
    const std::size_t columns = rows.runs > 0 ? rows.values.size() / rows.runs : 0;
    put_values(root, "values", {rows.runs, columns}, rows.values);
    std::vector<int> runs;
    std::vector<std::string> messages;
    for (const RunFailure& failure : rows.failures) {
      runs.push_back(static_cast<int>(failure.run - rows.first_run));
      messages.push_back(failure.message);
    }
    put_integers(root, "failed_run", runs);
    put_strings(root, "failure", messages, {messages.size()});
  });
}

bool PartFiles::has(std::size_t part, std::size_t runs, std::size_t columns) const {
  if (!std::filesystem::exists(path(part))) return false;
  read_hdf5(path(part), [&](hid_t root) {
    want_format(root, format_attribute, format, "parts of an ensemble");
    const Extents extents = extents_of(open_dataset(root, "values"), "values");
    if (attribute_of(root, "of") != of_ || extents != Extents{runs, columns}) {
      throw BadContent(
          "is a part of another ensemble, or of this one before its files, options or program changed; "
          "remove the folder, or choose another name with --output");
    }
  });
  return true;
}

std::vector<double> PartFiles::columns(std::size_t part, std::size_t first, std::size_t last) const {
  std::vector<double> values;
  read_hdf5(path(part), [&](hid_t root) {
    const Hdf5Handle dataset = open_dataset(root, "values");
    const hsize_t runs = extents_of(dataset, "values")[0];
    values.resize(runs * (last - first));
    const hsize_t start[2] = {0, first}, count[2] = {runs, last - first};
    const Hdf5Handle space(H5Dget_space(dataset), H5Sclose, "values");
    hdf5(H5Sselect_hyperslab(space, H5S_SELECT_SET, start, nullptr, count, nullptr), "values");
    const Hdf5Handle memory(H5Screate_simple(2, count, nullptr), H5Sclose, "values");
    hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, memory, space, H5P_DEFAULT, values.data()), "values");
  });
  return values;
}

std::vector<RunFailure> PartFiles::failures(std::size_t part) const {
  std::vector<RunFailure> list;
  read_hdf5(path(part), [&](hid_t root) {
    const std::vector<int> runs = integers_of(root, "failed_run");
    const std::vector<std::string> messages = labels_of(root, "failure");
    if (messages.size() != runs.size()) throw BadContent("failures differ in number");
    for (std::size_t i = 0; i < runs.size(); ++i) {
      list.push_back({static_cast<std::size_t>(runs[i]), messages[i]});
    }
  });
  return list;
}

}  // namespace stoverturn
