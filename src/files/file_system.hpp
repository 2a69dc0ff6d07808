// The few operations on files that writing needs, behind an interface, so that tests can make any
// one of them fail (full disk, broken disk) and look at what is left.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace leafwright {

enum class PathKind { nothing, file, folder, other };

/// Every operation returns 0, or the errno of what went wrong.
class FileSystem {
 public:
  FileSystem() = default;
  virtual ~FileSystem() = default;
  FileSystem(const FileSystem&) = delete;
  FileSystem& operator=(const FileSystem&) = delete;

  /// Makes a new file (EEXIST where there is one), with the permissions of `like` if that exists.
  virtual int create(const std::string& path, const std::string& like, int& handle) = 0;
  /// Writes at least one byte of `bytes`; `written` says how many.
  virtual int write(int handle, std::string_view bytes, std::size_t& written) = 0;
  virtual int sync(int handle) = 0;
  virtual int close(int handle) = 0;
  /// Replaces `to` if it is there, in one step.
  virtual int rename(const std::string& from, const std::string& to) = 0;
  /// A second name for a file; EEXIST where `to` is there, another error where the disk has none.
  virtual int link(const std::string& from, const std::string& to) = 0;
  virtual int remove(const std::string& path) = 0;
  virtual int make_folder(const std::string& path) = 0;
  virtual int remove_folder(const std::string& path) = 0;  ///< only an empty one
  virtual int sync_folder(const std::string& path) = 0;
  /// What stands at a path; links are followed.
  virtual PathKind kind(const std::string& path) = 0;
};

/// The one of the operating system.
FileSystem& real_file_system();

/// Reads all bytes of a file, pipe or device; 0 or errno.
int read_all(const std::string& path, std::string& bytes);

/// The path with links followed, as far as it exists.
std::string resolved_path(const std::string& path);

/// A number that no other process of this machine has now, for names of temporary files.
unsigned long process_number();

/// "No space left on device" and the like.
std::string error_text(int error);

}  // namespace leafwright
