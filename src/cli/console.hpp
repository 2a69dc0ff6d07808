// Standard output for results, standard error for talk. The one place that prints.
#pragma once

#include <chrono>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "base/progress.hpp"

namespace leafwright::cli {

class Console {
 public:
  explicit Console(bool quiet = false) : quiet_(quiet) {}

  void set_quiet(bool quiet) { quiet_ = quiet; }

  /// A result, to standard output. Error: refused, when it cannot be written (a full disk).
  Result<void> print(std::string_view bytes);

  /// Talk, to standard error; nothing when quiet.
  void say(std::string_view line);

  /// An error or a failed curve, to standard error, also when quiet.
  void complain(const Error& error);
  void complain(std::string_view line);

  /// Shows how far the work is, on a terminal only, and only from the third second on.
  [[nodiscard]] Progress progress();

 private:
  void clear_bar();
  bool quiet_;
  bool bar_ = false;
  std::chrono::steady_clock::time_point started_, shown_;
};

}  // namespace leafwright::cli
