#pragma once
#include <algorithm>
#include <stdexcept>
#include <string>
#include <string_view>
#include <utility>

#include <hdf5.h>

namespace stoverturn {

/// A failed HDF5 call: what was tried, and HDF5's reason.
struct Hdf5Error : std::runtime_error {
  using std::runtime_error::runtime_error;
};

/// The innermost reason of the HDF5 call that failed last; the system's own words where it has them.
inline std::string hdf5_reason() {
  std::string reason;
  const auto first = [](unsigned n, const H5E_error2_t* entry, void* text) -> herr_t {
    if (n == 0 && entry->desc != nullptr) *static_cast<std::string*>(text) = entry->desc;
    return 0;
  };
  H5Ewalk2(H5E_DEFAULT, H5E_WALK_UPWARD, first, &reason);
  constexpr std::string_view mark = "error message = '";
  const std::size_t found = reason.find(mark);
  if (found != std::string::npos) {
    reason.erase(0, found + mark.size());
    reason.erase(std::min(reason.find('\''), reason.size()));
  }
  return reason.empty() ? "no reason given by HDF5" : reason;
}

/// Passes on the result of an HDF5 call; throws Hdf5Error when it is negative.
template <class Result>
Result hdf5(Result result, std::string_view tried) {
  if (result < 0) throw Hdf5Error(std::string(tried) + ": " + hdf5_reason());
  return result;
}

/// Owns one HDF5 identifier of any type; construction throws Hdf5Error when there is none.
class Hdf5Handle {
 public:
  Hdf5Handle(hid_t id, herr_t (*closer)(hid_t), std::string_view tried)
      : id_(hdf5(id, tried)), close_(closer) {}
  Hdf5Handle(Hdf5Handle&& other) noexcept : id_(std::exchange(other.id_, -1)), close_(other.close_) {}
  Hdf5Handle(const Hdf5Handle&) = delete;
  Hdf5Handle& operator=(const Hdf5Handle&) = delete;
  Hdf5Handle& operator=(Hdf5Handle&&) = delete;
  ~Hdf5Handle() {
    if (id_ >= 0) close_(id_);
  }

  operator hid_t() const { return id_; }  // NOLINT: made to be passed to HDF5

 private:
  hid_t id_;
  herr_t (*close_)(hid_t);
};

/// While it lives HDF5 prints nothing: failures are exceptions here.
class QuietHdf5 {
 public:
  QuietHdf5() {
    H5Eget_auto2(H5E_DEFAULT, &function_, &data_);
    H5Eset_auto2(H5E_DEFAULT, nullptr, nullptr);
  }
  ~QuietHdf5() { H5Eset_auto2(H5E_DEFAULT, function_, data_); }
  QuietHdf5(const QuietHdf5&) = delete;
  QuietHdf5& operator=(const QuietHdf5&) = delete;

 private:
  H5E_auto2_t function_ = nullptr;
  void* data_ = nullptr;
};

/// The type of variable-length UTF-8 strings (NC_STRING of netCDF).
inline Hdf5Handle hdf5_string_type() {
  Hdf5Handle type(H5Tcopy(H5T_C_S1), H5Tclose, "string type");
  hdf5(H5Tset_size(type, H5T_VARIABLE), "string type");
  hdf5(H5Tset_cset(type, H5T_CSET_UTF8), "string type");
  return type;
}

/// Access without file locks, which many network folders lack: a result file is whole before it has its name.
inline Hdf5Handle hdf5_file_access() {
  Hdf5Handle access(H5Pcreate(H5P_FILE_ACCESS), H5Pclose, "file access");
  hdf5(H5Pset_fclose_degree(access, H5F_CLOSE_STRONG), "file access");
#if H5_VERSION_GE(1, 10, 7)
  hdf5(H5Pset_file_locking(access, false, true), "file access");
#endif
  return access;
}

}  // namespace stoverturn
