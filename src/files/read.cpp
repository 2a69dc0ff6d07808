#include "files/read.hpp"

#include <cerrno>
#include <filesystem>
#include <vector>

#include "base/text.hpp"
#include "files/file_system.hpp"

namespace leafwright {

namespace {

namespace fs = std::filesystem;

// What the user may have meant: a file of the same folder with nearly the same name.
std::string near_file(const fs::path& path) {
  constexpr std::size_t most = 2000;
  const fs::path folder = path.has_parent_path() ? path.parent_path() : fs::path(".");
  std::error_code problem;
  if (!fs::is_directory(folder, problem)) {
    return "there is no folder '" + folder.string() + "' either";
  }
  std::vector<std::string> names;
  for (fs::directory_iterator at(folder, problem), end; at != end && names.size() < most;
       at.increment(problem)) {
    names.push_back(at->path().filename().string());
    if (problem) break;
  }
  const auto near = nearest_name(path.filename().string(), names);
  if (!near) return "";
  const fs::path meant = path.has_parent_path() ? path.parent_path() / *near : fs::path(*near);
  return "did you mean '" + meant.string() + "'?";
}

}  // namespace

Result<std::string> read_file(const std::string& path) {
  const Place place{path, 0, 0, ""};
  const PathKind kind = real_file_system().kind(path);
  if (kind == PathKind::folder) {
    return fail(ErrorCode::unreadable, "this is a folder", "a file", "", place);
  }
  std::string bytes;
  const int problem = read_all(path, bytes);
  if (problem == ENOENT || problem == ENOTDIR) {
    return fail(ErrorCode::unreadable, "there is no such file", "", near_file(path), place);
  }
  if (problem == EACCES || problem == EPERM) {
    return fail(ErrorCode::unreadable, "this file may not be read", "permission to read it",
                "ask its owner, or copy it to a folder of yours", place);
  }
  if (problem != 0) {
    return fail(ErrorCode::unreadable, "reading failed: " + error_text(problem), "",
                "copy the file to another disk and try again", place);
  }
  if (bytes.empty()) {
    return fail(ErrorCode::unreadable, "the file is empty", "", "was its writing broken off?",
                place);
  }
  return bytes;
}

}  // namespace leafwright
