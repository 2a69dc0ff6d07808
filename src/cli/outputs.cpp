#include "cli/outputs.hpp"

#include <filesystem>
#include <fstream>

#include "base/text.hpp"
#include "cli/platform.hpp"

namespace leafwright::cli {
namespace fs = std::filesystem;
namespace {

/// Are two paths one file? Also where one or both do not exist yet.
bool same_file(const std::string& a, const std::string& b) {
  std::error_code ignored;
  if (fs::equivalent(a, b, ignored)) return true;
  const fs::path left = fs::weakly_canonical(a, ignored);
  const fs::path right = fs::weakly_canonical(b, ignored);
  return left == right;
}

Result<void> check_file(const std::string& path, const std::vector<std::string>& inputs,
                        bool force) {
  std::error_code ignored;
  for (const std::string& input : inputs) {
    if (input != "-" && same_file(path, input)) {
      return fail(ErrorCode::refused, "'" + path + "' is the input", "another name for the results",
                  "inputs are never replaced, not even with --force");
    }
  }
  const fs::path folder = fs::path(path).parent_path();
  if (!folder.empty() && !fs::is_directory(folder, ignored)) {
    return fail(ErrorCode::refused, "there is no folder '" + folder.string() + "'",
                "a folder that exists");
  }
  if (fs::is_directory(path, ignored)) {
    return fail(ErrorCode::refused, "'" + path + "' is a folder", "a file name");
  }
  if (!force && fs::exists(path, ignored)) {
    return fail(ErrorCode::refused, "'" + path + "' is there already", "",
                "give another name, or --force to replace it");
  }
  return {};
}

Result<void> check_folder(const std::string& path, bool force) {
  std::error_code ignored;
  if (!fs::exists(path, ignored)) return {};
  if (!fs::is_directory(path, ignored)) {
    return fail(ErrorCode::refused, "'" + path + "' is a file", "a folder for the figures");
  }
  if (!force && !fs::is_empty(path, ignored)) {
    return fail(ErrorCode::refused, "the folder '" + path + "' is not empty", "",
                "give another one, or --force to replace figures in it");
  }
  return {};
}

}  // namespace

std::string meta_path(const std::string& csv) {
  return csv + ".meta.json";
}

Result<Destinations> destinations(const Call& call) {
  Destinations to{call.value("json"), call.value("out"), call.value("figures"), call.has("force")};
  if (to.json == "-" && to.csv == "-") {
    return fail(ErrorCode::usage, "--json - and --out - both want standard output",
                "a file for one of them");
  }
  const bool files = !to.json.empty() && to.json != "-" && !to.csv.empty() && to.csv != "-";
  if (files && (same_file(to.json, to.csv) || same_file(to.json, meta_path(to.csv)))) {
    return fail(ErrorCode::usage, "--json and --out would write one file, '" + to.json + "'",
                "two names");
  }
  return to;
}

Result<void> check_destinations(const Destinations& to, const std::vector<std::string>& inputs) {
  std::vector<std::string> files;
  if (!to.json.empty() && to.json != "-") files.push_back(to.json);
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back(to.csv);
    files.push_back(meta_path(to.csv));
  }
  for (const std::string& file : files) {
    if (auto ok = check_file(file, inputs, to.force); !ok) return ok;
  }
  return to.figures.empty() ? Result<void>() : check_folder(to.figures, to.force);
}

Result<void> write_outputs(const std::vector<OutputFile>& files, bool, Console& console) {
  const HoldInterrupt held;
  for (const OutputFile& file : files) {
    fs::create_directories(fs::path(file.path).parent_path());
    std::ofstream(file.path, std::ios::binary) << file.bytes;
  }
  if (!files.empty()) console.say("wrote " + files.front().path);
  return {};
}

}  // namespace leafwright::cli
