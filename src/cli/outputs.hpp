// The files that a command writes: none overwritten without --force, each whole or not at all.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "cli/command.hpp"
#include "cli/console.hpp"
#include "files/write.hpp"

namespace leafwright::cli {

/// Where a call's results go. "-" is standard output; an empty path was not asked for.
struct Destinations {
  std::string json;
  std::string csv;
  std::string figures;  ///< a folder
  std::string report;   ///< a page; never standard output
  bool force = false;

  /// Does the result that people read give way to one on standard output?
  [[nodiscard]] bool replaces_text() const { return json == "-" || csv == "-"; }
};

/// From --json, --out, --figures, --report and --force. Errors: usage, for two results at one
/// place.
Result<Destinations> destinations(const Call& call);

/// "fits.csv.meta.json" for "fits.csv".
std::string meta_path(const std::string& csv);

/// Looks before the work starts. Errors: refused, for a file that is there already (without
/// `force`), a result that would replace an input, a figures folder that is not empty (without
/// `force`). Folders that are missing will be made.
Result<void> check_destinations(const Destinations& to, const std::vector<std::string>& inputs);

/// Writes all of them or none, and says where on standard error. While it writes, Ctrl-C waits.
/// Errors: refused, naming the file that could not be written.
Result<void> write_outputs(const std::vector<FileToWrite>& files, bool force, Console& console);

}  // namespace leafwright::cli
