#include "cli/outputs.hpp"

#include <filesystem>

#include "base/text.hpp"
#include "cli/platform.hpp"

namespace leafwright::cli {
namespace fs = std::filesystem;
namespace {

/// Are two paths one file? Also where one or both do not exist yet.
bool same_file(const std::string& a, const std::string& b) {
  std::error_code ignored;
  if (fs::equivalent(a, b, ignored)) return true;
  // A path that cannot be resolved (a name too long, say) is compared as it is written.
  const auto resolved = [](const std::string& path) {
    std::error_code failed;
    const fs::path whole = fs::absolute(path);
    const fs::path canonical = fs::weakly_canonical(whole, failed);
    return failed ? whole.lexically_normal() : canonical;
  };
  return resolved(a) == resolved(b);
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

/// "fits.csv, fits.csv.meta.json, 26 files in figures".
std::string written_text(const std::vector<FileToWrite>& files) {
  constexpr std::size_t most_named = 3;
  std::vector<std::pair<std::string, std::vector<std::string>>> folders;
  for (const FileToWrite& file : files) {
    const std::string folder = fs::path(file.path).parent_path().string();
    if (folders.empty() || folders.back().first != folder) folders.push_back({folder, {}});
    folders.back().second.push_back(file.path);
  }
  std::vector<std::string> parts;
  for (const auto& [folder, paths] : folders) {
    if (paths.size() > most_named) {
      parts.push_back(counted(paths.size(), "file") + " in " + (folder.empty() ? "." : folder));
    } else {
      parts.insert(parts.end(), paths.begin(), paths.end());
    }
  }
  return join(parts);
}

/// Every file that a call would write, figures apart.
std::vector<std::string> named_files(const Destinations& to) {
  std::vector<std::string> files;
  if (!to.json.empty() && to.json != "-") files.push_back(to.json);
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back(to.csv);
    files.push_back(meta_path(to.csv));
  }
  if (!to.report.empty()) files.push_back(to.report);
  return files;
}

}  // namespace

std::string meta_path(const std::string& csv) {
  return csv + ".meta.json";
}

Result<Destinations> destinations(const Call& call) {
  Destinations to{call.value("json"), call.value("out"), call.value("figures"),
                  call.value("report"), call.has("force")};
  if (to.json == "-" && to.csv == "-") {
    return fail(ErrorCode::usage, "--json - and --out - both want standard output",
                "a file for one of them");
  }
  const std::vector<std::string> files = named_files(to);
  for (std::size_t i = 0; i < files.size(); ++i) {
    for (std::size_t k = 0; k < i; ++k) {
      if (!same_file(files[i], files[k])) continue;
      return fail(ErrorCode::usage, "two results would be one file, '" + files[i] + "'",
                  "a name of its own for each of --json, --out (with its .meta.json) and --report");
    }
  }
  return to;
}

Result<void> check_destinations(const Destinations& to, const std::vector<std::string>& inputs) {
  for (const std::string& file : named_files(to)) {
    if (auto ok = check_file(file, inputs, to.force); !ok) return ok;
  }
  return to.figures.empty() ? Result<void>() : check_folder(to.figures, to.force);
}

Result<void> write_outputs(const std::vector<FileToWrite>& files, bool force, Console& console) {
  if (files.empty()) return {};
  const HoldInterrupt held;
  auto ok = write_files(files, force ? Existing::replace : Existing::refuse);
  if (ok) console.say("wrote " + written_text(files));
  return ok;
}

}  // namespace leafwright::cli
