#include "scenarios/files/tidy_file.hpp"

#include <limits>

#include "scenarios/files/atomic_file.hpp"
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

}  // namespace

void write_tidy(const std::filesystem::path& path, const TidyFile& file) {
  write_hdf5(path, [&](hid_t root) {
    put(root, "Conventions", std::string_view("CF-1.10"));
    put(root, "title", std::string_view(file.title));
    put(root, "source", std::string_view(program_name()));
    put(root, "kind", std::string_view(file.kind));
    for (const TidyTable& table : file.tables) {
      if (table.rows() == 0) continue;
      put_bare_dimension(root, table.name, table.rows());
      for (const TidyColumn& column : table.columns) put_column(root, table, column);
    }
    if (!file.notes.empty()) {
      put_label_dimension(root, "note", file.notes, "what limits the numbers");
    }
    put_texts(root, file.texts);
  });
}

void write_tidy_csv(const std::filesystem::path& path, const TidyTable& table) {
  write_text(path, tidy_csv(table));
}

}  // namespace stoverturn
