#include "scenarios/files/tidy_file.hpp"

#include <algorithm>
#include <limits>

#include <fmt/format.h>
#include <hdf5_hl.h>

#include "scenarios/files/atomic_file.hpp"
#include "scenarios/files/hdf5_get.hpp"
#include "scenarios/files/hdf5_put.hpp"
#include "scenarios/results/run_scenario.hpp"

namespace stoverturn {
namespace {

void put_column(hid_t root, const TidyTable& table, const TidyColumn& column) {
  const std::string name = table.name + "_" + column.name;
  const auto write = [&]() -> Hdf5Handle {
    if (column.is_text) return put_strings(root, name, column.texts, {column.texts.size()});
    Hdf5Handle dataset = create_values(root, name, {column.numbers.size()});
    hdf5(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, column.numbers.data()), name);
    put(dataset, "_FillValue", std::numeric_limits<double>::quiet_NaN());
    return dataset;
  };
  const Hdf5Handle dataset = write();
  put(dataset, "long_name", std::string_view(column.meaning));
  put(dataset, "units", std::string_view(column.unit));
  attach(root, dataset, table.name, 0);
}

/// Of the dimension `table`: the rest of the name of its variable is the column's.
TidyColumn column_of(hid_t dataset, const std::string& name, const std::string& table) {
  if (name.rfind(table + "_", 0) != 0) {
    throw BadContent(fmt::format("'{}' is not named after its table '{}'", name, table));
  }
  TidyColumn column;
  column.name = name.substr(table.size() + 1);
  column.meaning = attribute_of(dataset, "long_name");
  column.unit = attribute_of(dataset, "units");
  const Hdf5Handle type(H5Dget_type(dataset), H5Tclose, name);
  column.is_text = H5Tget_class(type) == H5T_STRING;
  const std::size_t rows = length_of(dataset, name);
  if (column.is_text) {
    column.texts = strings_of(dataset, name, rows);
  } else {
    column.numbers.resize(rows);
    hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, column.numbers.data()), name);
  }
  return column;
}

void read_columns(hid_t root, std::vector<TidyTable>& tables) {
  for (const std::string& name : links_of(root)) {
    const Hdf5Handle object(H5Oopen(root, name.c_str(), H5P_DEFAULT), H5Oclose, name);
    if (H5Iget_type(object) != H5I_DATASET || name == tidy_file::note) continue;
    if (H5DSis_scale(object) > 0) {
      tables.push_back({name, attribute_of(object, "long_name"), {}});
      continue;
    }
    const std::string table = dimension_name(object, 0, name);
    if (tables.empty() || tables.back().name != table) {
      throw BadContent(fmt::format("'{}' belongs to no table", name));
    }
    TidyColumn column = column_of(object, name, table);
    const std::size_t rows = std::max(column.texts.size(), column.numbers.size());
    if (!tables.back().columns.empty() && rows != tables.back().rows()) {
      throw BadContent(fmt::format("'{}' has {} rows; wanted {}", name, rows, tables.back().rows()));
    }
    tables.back().columns.push_back(std::move(column));
  }
}

}  // namespace

TidyFile read_tidy(const std::filesystem::path& path) {
  TidyFile file;
  read_hdf5(path, [&](hid_t root) {
    want_format(root, tidy_file::format_attribute, tidy_file::format, "tables");
    file.title = attribute_of(root, "title");
    file.kind = attribute_of(root, "kind");
    file.program = attribute_of(root, "source");
    read_columns(root, file.tables);
    if (has(root, tidy_file::note)) file.notes = labels_of(root, tidy_file::note);
    read_texts(root, file.texts);
  });
  return file;
}

void write_tidy(const std::filesystem::path& path, const TidyFile& file) {
  write_hdf5(path, [&](hid_t root) {
    put(root, "Conventions", std::string_view("CF-1.10"));
    put(root, "title", std::string_view(file.title));
    put(root, "source", std::string_view(file.program.empty() ? program_name() : file.program));
    put(root, "kind", std::string_view(file.kind));
    put(root, tidy_file::format_attribute, tidy_file::format);
    for (const TidyTable& table : file.tables) {
      if (table.rows() == 0) continue;
      put_bare_dimension(root, table.name, table.rows());
      put(open_dataset(root, table.name), "long_name", std::string_view(table.meaning));
      for (const TidyColumn& column : table.columns) put_column(root, table, column);
    }
    if (!file.notes.empty()) {
      put_label_dimension(root, tidy_file::note, file.notes, "what limits the numbers");
    }
    put_texts(root, file.texts);
  });
}

void write_tidy_csv(const std::filesystem::path& path, const TidyTable& table) {
  write_text(path, tidy_csv(table));
}

}  // namespace stoverturn
