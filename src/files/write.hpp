// Files out: whole or not at all. Each file is first written under a temporary name in its own
// folder and brought to the disk (fsync); only when all of them are there do they get their names.
// At any moment, a power cut included, a name stands for the whole old or the whole new content.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "files/file_system.hpp"

namespace leafwright {

struct FileToWrite {
  std::string path;
  std::string bytes;
};

enum class Existing {
  refuse,   ///< a file that is there already is an error (also one made in the meantime)
  replace,  ///< it is replaced; a link is followed, permissions are kept
};

/// Writes all files or none. Folders that are missing are made (and taken away again on failure).
/// Errors: refused, naming the file: it is there already, is no plain file, or could not be
/// written. Then no file of the list has changed and no temporary one is left, as far as the disk
/// still lets them be removed; one that could not be is named. Where the disk knows no second
/// names (some memory sticks), a failure while several files are being replaced may leave the
/// first ones replaced, each whole.
Result<void> write_files(const std::vector<FileToWrite>& files, Existing existing,
                         FileSystem& disk = real_file_system());

/// The same for one file.
Result<void> write_file(const std::string& path, std::string_view bytes, Existing existing,
                        FileSystem& disk = real_file_system());

}  // namespace leafwright
