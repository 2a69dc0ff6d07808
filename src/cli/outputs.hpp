// The files that a command writes: none overwritten without --force, each whole or not at all.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "cli/command.hpp"
#include "cli/console.hpp"

namespace leafwright::cli {

/// Where a call's results go. "-" is standard output; an empty path was not asked for.
struct Destinations {
  std::string json;
  std::string csv;
  std::string figures;  ///< a folder
  bool force = false;

  /// Does the result that people read give way to one on standard output?
  [[nodiscard]] bool replaces_text() const { return json == "-" || csv == "-"; }
};

/// From --json, --out, --figures and --force. Errors: usage, for two results at one place.
Result<Destinations> destinations(const Call& call);

/// "fits.csv.meta.json" for "fits.csv".
std::string meta_path(const std::string& csv);

/// Looks before the work starts. Errors: refused, for a file that is there already (without
/// `force`), a result that would replace an input, a folder that does not exist, a figures folder
/// that is not empty (without `force`).
Result<void> check_destinations(const Destinations& to, const std::vector<std::string>& inputs);

struct OutputFile {
  std::string path;
  std::string bytes;
};

/// Writes all of them, each whole or not at all; says where on standard error. While it writes,
/// Ctrl-C waits. Errors: refused, naming the file that could not be written; those written before
/// it in this call are taken back where they were new.
Result<void> write_outputs(const std::vector<OutputFile>& files, bool force, Console& console);

}  // namespace leafwright::cli
