#include "files/write.hpp"

#include <cerrno>
#include <filesystem>
#include <optional>

#include "base/text.hpp"

namespace leafwright {

namespace {

namespace fs = std::filesystem;

class Writer {
 public:
  Writer(const std::vector<FileToWrite>& files, Existing existing, FileSystem& disk)
      : files_(files), existing_(existing), disk_(disk) {}

  Result<void> write();

 private:
  struct Stage {
    std::string target;     // links followed
    std::string temporary;  // "" once it has become the target
    std::string backup;     // second name of the old content, "" without
    bool published = false;
    bool was_there = false;
  };

  Result<void> prepare(const FileToWrite& file);
  Result<void> make_folders(const fs::path& folder, const std::string& path);
  Result<void> stage(const FileToWrite& file, Stage& stage);
  int fill(int handle, std::string_view bytes);
  Result<void> publish(const FileToWrite& file, Stage& stage, bool last);
  void roll_back();
  void discard(std::string& path);
  std::string temporary_name(const std::string& target, const char* kind);
  tl::unexpected<Error> failed(const std::string& path, int problem) const;

  const std::vector<FileToWrite>& files_;
  Existing existing_;
  FileSystem& disk_;
  std::vector<Stage> stages_;
  std::vector<std::string> made_folders_;
  std::vector<std::string> left_;  // could not be removed
  unsigned count_ = 0;
};

tl::unexpected<Error> Writer::failed(const std::string& path, int problem) const {
  std::string hint = "nothing was changed";
  if (problem == EEXIST) {
    return fail(ErrorCode::refused, "'" + path + "' is there already", "a name that is free",
                "give another name, or allow it to be replaced");
  }
  if (problem == ENOSPC || problem == EDQUOT) hint += "; make room and try again";
  if (problem == EACCES || problem == EPERM || problem == EROFS) {
    hint += "; write to a folder of yours";
  }
  return fail(ErrorCode::refused, "'" + path + "' could not be written: " + error_text(problem), "",
              hint);
}

std::string Writer::temporary_name(const std::string& target, const char* kind) {
  const fs::path path(target);
  // Long names would not take the addition.
  const std::string name = path.filename().string().substr(0, 100);
  const std::string made =
      "." + name + "." + std::to_string(process_number()) + "-" + std::to_string(count_++) + kind;
  return path.has_parent_path() ? (path.parent_path() / made).string() : made;
}

Result<void> Writer::make_folders(const fs::path& folder, const std::string& path) {
  if (folder.empty() || disk_.kind(folder.string()) == PathKind::folder) return {};
  if (disk_.kind(folder.string()) != PathKind::nothing) {
    return fail(ErrorCode::refused, "'" + folder.string() + "' is not a folder",
                "a folder for '" + path + "'");
  }
  if (folder.has_parent_path() && folder.parent_path() != folder) {
    if (auto ok = make_folders(folder.parent_path(), path); !ok) return ok;
  }
  const int problem = disk_.make_folder(folder.string());
  if (problem == EEXIST) return {};  // someone else just made it
  if (problem != 0) return failed(path, problem);
  made_folders_.push_back(folder.string());
  return {};
}

Result<void> Writer::prepare(const FileToWrite& file) {
  if (fs::path(file.path).filename().empty()) {
    return fail(ErrorCode::refused, "'" + file.path + "' is not the name of a file", "a file name");
  }
  Stage stage;
  const PathKind kind = disk_.kind(file.path);
  stage.target = file.path;
  stage.was_there = kind != PathKind::nothing;
  if (kind == PathKind::folder) {
    return fail(ErrorCode::refused, "'" + file.path + "' is a folder", "a file name");
  }
  if (kind == PathKind::other) {
    return fail(ErrorCode::refused, "'" + file.path + "' is not a plain file",
                "a file that can be written whole or not at all");
  }
  if (stage.was_there && existing_ == Existing::refuse) return failed(file.path, EEXIST);
  if (stage.was_there) stage.target = resolved_path(file.path);
  for (const Stage& other : stages_) {
    if (other.target == stage.target) {
      return fail(ErrorCode::refused, "'" + file.path + "' would be written twice",
                  "each file once");
    }
  }
  stages_.push_back(std::move(stage));
  return {};
}

int Writer::fill(int handle, std::string_view bytes) {
  while (!bytes.empty()) {
    std::size_t written = 0;
    const int problem = disk_.write(handle, bytes, written);
    if (problem != 0) return problem;
    if (written == 0) return EIO;
    bytes.remove_prefix(written);
  }
  return disk_.sync(handle);
}

Result<void> Writer::stage(const FileToWrite& file, Stage& stage) {
  if (auto ok = make_folders(fs::path(stage.target).parent_path(), file.path); !ok) return ok;
  int handle = -1;
  int problem = EEXIST;
  // A temporary name may be left over from a process of the same number that was killed.
  for (int tries = 0; problem == EEXIST && tries < 100; ++tries) {
    stage.temporary = temporary_name(stage.target, ".tmp");
    problem = disk_.create(stage.temporary, stage.target, handle);
  }
  if (problem != 0) {
    stage.temporary.clear();
    return failed(file.path, problem == EEXIST ? EIO : problem);
  }
  problem = fill(handle, file.bytes);
  const int closing = disk_.close(handle);
  if (problem == 0) problem = closing;
  if (problem != 0) return failed(file.path, problem);
  return {};
}

Result<void> Writer::publish(const FileToWrite& file, Stage& stage, bool last) {
  if (!stage.was_there) {
    // A second name never replaces: a file made in the meantime is seen.
    const int linking = disk_.link(stage.temporary, stage.target);
    if (linking == EEXIST) return failed(file.path, EEXIST);
    if (linking == 0) {
      stage.published = true;
      discard(stage.temporary);
      return {};
    }
    if (disk_.kind(stage.target) != PathKind::nothing) return failed(file.path, EEXIST);
  } else if (!last) {
    // The last one needs no way back: nothing can fail after it.
    std::string backup = temporary_name(stage.target, ".old");
    if (disk_.link(stage.target, backup) == 0) stage.backup = std::move(backup);
  }
  const int problem = disk_.rename(stage.temporary, stage.target);
  if (problem != 0) return failed(file.path, problem);
  stage.temporary.clear();
  stage.published = true;
  return {};
}

void Writer::discard(std::string& path) {
  if (path.empty()) return;
  const int problem = disk_.remove(path);
  if (problem != 0 && problem != ENOENT && disk_.remove(path) != 0) left_.push_back(path);
  path.clear();
}

void Writer::roll_back() {
  for (auto stage = stages_.rbegin(); stage != stages_.rend(); ++stage) {
    if (stage->published && !stage->was_there) {
      std::string target = stage->target;
      discard(target);
    } else if (stage->published && !stage->backup.empty()) {
      if (disk_.rename(stage->backup, stage->target) == 0 ||
          disk_.rename(stage->backup, stage->target) == 0) {
        stage->backup.clear();
      } else {
        left_.push_back(stage->backup);  // holds the only copy of the old content: keep it
        stage->backup.clear();
      }
    }
    discard(stage->backup);
    discard(stage->temporary);
  }
  for (auto folder = made_folders_.rbegin(); folder != made_folders_.rend(); ++folder) {
    disk_.remove_folder(*folder);
  }
}

Result<void> Writer::write() {
  Result<void> outcome;
  for (std::size_t i = 0; outcome && i < files_.size(); ++i) outcome = prepare(files_[i]);
  for (std::size_t i = 0; outcome && i < files_.size(); ++i) {
    outcome = stage(files_[i], stages_[i]);
  }
  for (std::size_t i = 0; outcome && i < files_.size(); ++i) {
    outcome = publish(files_[i], stages_[i], i + 1 == files_.size());
  }
  if (!outcome) {
    roll_back();
    Error error = outcome.error();
    if (!left_.empty()) error.hint += "; could not be put back or removed: " + join(left_);
    return fail(std::move(error));
  }
  for (Stage& stage : stages_) {
    discard(stage.backup);
    const std::string folder = fs::path(stage.target).parent_path().string();
    // Without it a power cut may bring back the old name's content, which is whole too.
    disk_.sync_folder(folder.empty() ? "." : folder);
  }
  return {};
}

}  // namespace

Result<void> write_files(const std::vector<FileToWrite>& files, Existing existing,
                         FileSystem& disk) {
  return Writer(files, existing, disk).write();
}

Result<void> write_file(const std::string& path, std::string_view bytes, Existing existing,
                        FileSystem& disk) {
  return write_files({{path, std::string(bytes)}}, existing, disk);
}

}  // namespace leafwright
