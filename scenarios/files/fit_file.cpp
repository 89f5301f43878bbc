#include "scenarios/files/fit_file.hpp"

#include <functional>
#include <limits>

#include <fmt/format.h>

#include "scenarios/files/fit_members.hpp"
#include "scenarios/files/hdf5_get.hpp"
#include "scenarios/files/hdf5_put.hpp"
#include "scenarios/text/calendar.hpp"

namespace stoverturn {
namespace {

constexpr std::size_t most_points = 10'000'000;  // more: a damaged file
using RowMajor = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

template <class Row, class Get>
using Member = std::remove_cvref_t<std::invoke_result_t<Get, Row&>>;

std::string joined(const char* list, const std::string& name) { return fmt::format("{}_{}", list, name); }
std::string length_name(const std::string& variable) { return variable + "_length"; }

class Writer {
 public:
  explicit Writer(hid_t root) : root_(root) {}

  void attribute(const char* name, const std::string& text) { put(root_, name, std::string_view(text)); }
  void attribute(const char* name, double value) { put(root_, name, value); }
  void attribute(const char* name, int value) { put(root_, name, value); }
  void attribute(const char* name, bool value) { put(root_, name, value ? 1 : 0); }
  void attribute(const char* name, std::chrono::sys_days day) {
    put(root_, name, std::string_view(format_date(day)));
  }
  void labels(const char* name, const std::vector<std::string>& texts, const char* meaning) {
    if (!texts.empty()) put_label_dimension(root_, name, texts, meaning);
  }
  template <class Row>
  void rows(const char* list, const std::vector<Row>& all) {
    points(list, all.size());
  }
  template <class Row, class Get>
  void labelled_rows(const char* list, const std::vector<Row>& all, Get get, const char* meaning) {
    std::vector<std::string> names;
    for (const Row& row : all) names.push_back(std::invoke(get, row));
    labels(list, names, meaning);
  }
  void points(const char* name, std::size_t count) {
    if (count > 0) put_bare_dimension(root_, name, count);
  }
  void days(const char* name, std::chrono::sys_days start, std::size_t count) {
    if (count > 0) put_time_dimension(root_, name, start, static_cast<int>(count), "start of the day");
  }

  template <class Row, class Get>
  void column(const char* list, const std::string& member, const std::vector<Row>& all, Get get,
              const std::string& meaning) {
    if (all.empty()) return;
    using Type = Member<const Row, Get>;
    const std::string name = joined(list, member);
    if constexpr (std::is_same_v<Type, double>) {
      std::vector<double> values;
      for (const Row& row : all) values.push_back(std::invoke(get, row));
      return describe(doubles(name, {all.size()}, values.data()), meaning, {list});
    } else if constexpr (std::is_integral_v<Type>) {
      std::vector<int> values;
      for (const Row& row : all) values.push_back(static_cast<int>(std::invoke(get, row)));
      return describe(put_integers(root_, name, values), meaning, {list});
    } else {
      std::vector<std::string> texts;
      for (const Row& row : all) {
        if constexpr (std::is_enum_v<Type>) {
          texts.emplace_back(word_of(std::invoke(get, row)));
        } else {
          texts.push_back(std::invoke(get, row));
        }
      }
      return describe(put_strings(root_, name, texts, {texts.size()}), meaning, {list});
    }
  }

  template <class Row, class Get>
  void lists(const char* list, const char* member, const char* points, const std::vector<Row>& all, Get get,
             const char* meaning) {
    const std::size_t width = extent(points);
    if (all.empty()) return;
    std::vector<int> lengths;
    RowMajor values = RowMajor::Constant(static_cast<Eigen::Index>(all.size()),
                                         static_cast<Eigen::Index>(width), not_there);
    for (std::size_t i = 0; i < all.size(); ++i) {
      const std::vector<double>& row = std::invoke(get, all[i]);
      if (row.size() > width) {
        throw std::invalid_argument(fmt::format("{} {}: more values than along {}", list, member, points));
      }
      lengths.push_back(static_cast<int>(row.size()));
      std::copy(row.begin(), row.end(), values.data() + i * width);
    }
    const std::string name = joined(list, member);
    describe(put_integers(root_, length_name(name), lengths), fmt::format("number of values of {}", name),
             {list});
    if (width > 0) describe(doubles(name, {all.size(), width}, values.data()), meaning, {list, points});
  }

  void matrix(const char* name, const Eigen::MatrixXd& values, const char* row_dimension,
              const char* column_dimension, const char* meaning) {
    if (values.size() == 0) return;
    if (values.rows() != static_cast<Eigen::Index>(extent(row_dimension))) {
      throw std::invalid_argument(fmt::format("{}: wanted one row for each {}", name, row_dimension));
    }
    points(column_dimension, static_cast<std::size_t>(values.cols()));
    const RowMajor by_row = values;
    describe(doubles(name, {static_cast<hsize_t>(values.rows()), static_cast<hsize_t>(values.cols())},
                     by_row.data()),
             meaning, {row_dimension, column_dimension});
  }
  void texts(const std::vector<KeptText>& kept) { put_texts(root_, kept); }

 private:
  std::size_t extent(const char* dimension) const {
    if (!has(root_, dimension)) return 0;
    const Hdf5Handle scale = open_dataset(root_, dimension);
    return length_of(scale, dimension);
  }
  Hdf5Handle doubles(const std::string& name, const Extents& extents, const double* values) {
    Hdf5Handle dataset = create_values(root_, name, extents);
    hdf5(H5Dwrite(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values), name);
    put(dataset, "_FillValue", std::numeric_limits<double>::quiet_NaN());
    return dataset;
  }
  void describe(const Hdf5Handle& dataset, const std::string& meaning,
                const std::vector<const char*>& dimensions) {
    put(dataset, "long_name", std::string_view(meaning));
    for (std::size_t axis = 0; axis < dimensions.size(); ++axis) {
      attach(root_, dataset, dimensions[axis], axis);
    }
  }

  hid_t root_;
};

class Reader {
 public:
  explicit Reader(hid_t root) : root_(root) {}

  void attribute(const char* name, std::string& text) { text = attribute_of(root_, name); }
  void attribute(const char* name, double& value) { value = double_of(root_, name); }
  void attribute(const char* name, int& value) { value = integer_of(root_, name); }
  void attribute(const char* name, bool& value) { value = integer_of(root_, name) != 0; }
  void attribute(const char* name, std::chrono::sys_days& day) {
    day = parse_date(attribute_of(root_, name));
  }
  void labels(const char* name, std::vector<std::string>& texts, const char* /*meaning*/) {
    if (has(root_, name)) texts = labels_of(root_, name);
  }
  template <class Row>
  void rows(const char* list, std::vector<Row>& all) {
    if (has(root_, list)) all.resize(length_of(open_dataset(root_, list), list));
  }
  template <class Row, class Get>
  void labelled_rows(const char* list, std::vector<Row>& all, Get get, const char* /*meaning*/) {
    rows(list, all);
    if (all.empty()) return;
    const std::vector<std::string> names = labels_of(root_, list);
    for (std::size_t i = 0; i < all.size(); ++i) std::invoke(get, all[i]) = names[i];
  }
  void points(const char* /*name*/, std::size_t /*count*/) {}
  void days(const char* /*name*/, std::chrono::sys_days /*start*/, std::size_t /*count*/) {}

  template <class Row, class Get>
  void column(const char* list, const std::string& member, std::vector<Row>& all, Get get,
              const std::string& /*meaning*/) {
    if (all.empty()) return;
    using Type = Member<Row, Get>;
    const std::string name = joined(list, member);
    if constexpr (std::is_same_v<Type, double>) {
      const RowMajor values = doubles(name, 1);
      want_length(name, static_cast<std::size_t>(values.size()), all.size());
      for (std::size_t i = 0; i < all.size(); ++i) std::invoke(get, all[i]) = values.data()[i];
    } else if constexpr (std::is_integral_v<Type>) {
      const std::vector<int> values = integers_of(root_, name);
      want_length(name, values.size(), all.size());
      for (std::size_t i = 0; i < all.size(); ++i) std::invoke(get, all[i]) = static_cast<Type>(values[i]);
    } else {
      const std::vector<std::string> texts = labels_of(root_, name);
      want_length(name, texts.size(), all.size());
      for (std::size_t i = 0; i < all.size(); ++i) set(name, std::invoke(get, all[i]), texts[i]);
    }
  }

  template <class Row, class Get>
  void lists(const char* list, const char* member, const char* /*points*/, std::vector<Row>& all, Get get,
             const char* /*meaning*/) {
    if (all.empty()) return;
    const std::string name = joined(list, member);
    const std::vector<int> lengths = integers_of(root_, length_name(name));
    want_length(length_name(name), lengths.size(), all.size());
    if (!has(root_, name.c_str())) return;
    const RowMajor values = doubles(name, 2);
    want_length(name, static_cast<std::size_t>(values.rows()), all.size());
    for (std::size_t i = 0; i < all.size(); ++i) {
      if (lengths[i] < 0 || lengths[i] > values.cols()) {
        throw BadContent(fmt::format("'{}' does not fit '{}'", length_name(name), name));
      }
      const double* row = values.data() + static_cast<Eigen::Index>(i) * values.cols();
      std::invoke(get, all[i]).assign(row, row + lengths[i]);
    }
  }

  void matrix(const char* name, Eigen::MatrixXd& values, const char* row_dimension,
              const char* /*column_dimension*/, const char* /*meaning*/) {
    if (!has(root_, name)) return;
    values = doubles(name, 2);
    want_length(name, static_cast<std::size_t>(values.rows()),
                length_of(open_dataset(root_, row_dimension), row_dimension));
  }
  void texts(std::vector<KeptText>& kept) { read_texts(root_, kept); }

  static void check_index(const char* name, std::size_t index, std::size_t size) {
    if (index >= size) throw BadContent(fmt::format("'{}' names an unknown that is not there", name));
  }

 private:
  static void want_length(const std::string& name, std::size_t found, std::size_t wanted) {
    if (found == wanted) return;
    throw BadContent(fmt::format("'{}' has {} values; wanted {}", name, found, wanted));
  }
  static void set(const std::string& /*name*/, std::string& to, const std::string& text) { to = text; }
  template <class Enum>
  static void set(const std::string& name, Enum& to, const std::string& text) {
    const std::optional<Enum> value = from_word<Enum>(text);
    if (!value) throw BadContent(fmt::format("'{}' holds an unknown word '{}'", name, text));
    to = *value;
  }
  /// All values of a variable; those of one dimension as one row.
  RowMajor doubles(const std::string& name, std::size_t dimensions) const {
    const Hdf5Handle dataset = open_dataset(root_, name);
    const Extents extents = extents_of(dataset, name);
    if (extents.size() != dimensions || extents.front() * extents.back() > most_points) {
      throw BadContent(fmt::format("'{}' is not a {}", name, dimensions == 1 ? "list" : "matrix"));
    }
    RowMajor values(static_cast<Eigen::Index>(dimensions == 1 ? 1 : extents.front()),
                    static_cast<Eigen::Index>(extents.back()));
    hdf5(H5Dread(dataset, H5T_NATIVE_DOUBLE, H5S_ALL, H5S_ALL, H5P_DEFAULT, values.data()), name);
    return values;
  }

  hid_t root_;
};

}  // namespace

void write_fit(const std::filesystem::path& path, const FitResult& fit, std::string_view history) {
  write_hdf5(path, [&](hid_t root) {
    put(root, "Conventions", std::string_view("CF-1.10"));
    put(root, "history", history);
    put(root, fit_file::format_attribute, fit_file::format);
    put(root, "number_of_draws", static_cast<int>(fit.draws.cols()));
    Writer writer(root);
    fit_file::members(fit, writer);
  });
}

FitResult read_fit(const std::filesystem::path& path) {
  FitResult fit;
  read_hdf5(path, [&](hid_t root) {
    want_format(root, fit_file::format_attribute, fit_file::format, "fits");
    Reader reader(root);
    fit_file::members(fit, reader);
  });
  return fit;
}

}  // namespace stoverturn
