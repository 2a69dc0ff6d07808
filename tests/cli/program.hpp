// Runs the built program as a user would, in a folder of its own.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace leafwright::cli_test {

/// How a run ended: the exit code, or 1000 + the signal that ended it.
struct Ended {
  int code = -1;
  std::string out;
  std::string err;
};

/// A scratch folder that is the working directory of the runs in it.
class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  void write(const std::string& name, const std::string& text) const;
  [[nodiscard]] std::string read(const std::string& name) const;
  [[nodiscard]] bool has(const std::string& name) const;
  /// Names of everything in it, sorted.
  [[nodiscard]] std::vector<std::string> names() const;

  /// leafwright ARGUMENTS, with `input` on standard input.
  [[nodiscard]] Ended run(const std::vector<std::string>& arguments,
                          const std::string& input = "") const;
  /// The same, with SIGINT sent after `seconds`.
  [[nodiscard]] Ended interrupted_run(const std::vector<std::string>& arguments,
                                      double seconds) const;

 private:
  std::filesystem::path path_;
};

/// A file of points of `curves` curves c1, c2, ...: the C3 model at 25 degC with a reproducible
/// wiggle, 12 rows each.
std::string points_csv(int curves);

}  // namespace leafwright::cli_test
