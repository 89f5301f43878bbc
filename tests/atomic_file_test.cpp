#include "scenarios/files/atomic_file.hpp"
#include "tests/catch.hpp"
#include "tests/invented_results.hpp"

using namespace stoverturn;
namespace fs = std::filesystem;

TEST_CASE("files: what exists is refused before the work", "[files]") {
  const Folder folder;
  const fs::path a = folder / "a.h5", b = folder / "b.csv", c = folder / "c.csv", absent = folder / "d";
  CHECK_NOTHROW(refuse_existing({a, b, c}, false));
  write_text(a, "a");
  CHECK(error_of([&] {
          refuse_existing({absent, a}, false);
        }) == a.string() + ": exists already; use --overwrite to replace it, or write elsewhere");
  write_text(b, "b");
  write_text(c, "c");
  CHECK(error_of([&] {
          refuse_existing({a, absent, b, c}, false);
        }) == a.string() + ": exists already, and so do " + b.string() + ", " + c.string() +
                  "; use --overwrite to replace them, or write elsewhere");
  CHECK_NOTHROW(refuse_existing({a, b, c}, true));
  CHECK(error_of([&] { refuse_existing({folder.path}, true); }) ==
        folder.path.string() + ": is a folder; wanted the name of a file");
  CHECK(error_of([&] { refuse_existing({"/dev/null"}, true); }) ==
        "/dev/null: is not a regular file and is never replaced");
}

TEST_CASE("files: a failed writer leaves no part and the old file", "[files]") {
  const Folder folder;
  const fs::path path = folder / "a.csv";
  write_text(path, "old");
  CHECK(error_of([&] {
          write_atomically(path, [](const fs::path& part) {
            CHECK(part.filename() == "a.csv.part");
            TextFile(part).write("half");
            throw std::runtime_error("the power went");
          });
        }) == "the power went");
  CHECK(slurp(path) == "old");
  CHECK(files_in(folder.path) == 1);

  write_text(folder / "a.csv.part", "left by a killed program");
  write_text(path, "new");
  CHECK(slurp(path) == "new");
  CHECK(files_in(folder.path) == 1);

  fs::create_symlink(path, folder / "link");
  write_text(folder / "link", "through the link");
  CHECK(fs::is_symlink(folder / "link"));
  CHECK(slurp(path) == "through the link");
}

TEST_CASE("files: the system's reason is told", "[files]") {
  const Folder folder;
  const fs::path inside = folder / "absent" / "a.h5";
  CHECK(error_of([&] { write_text(inside, "x"); }) ==
        inside.string() + ": cannot be written: there is no folder " + inside.parent_path().string());
  if (fs::exists("/dev/full")) {
    CHECK(error_of([] {
            TextFile full("/dev/full");
            full.write("x");
            full.close();
          }) == "/dev/full: cannot be written: No space left on device");
  }
}
