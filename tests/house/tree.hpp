// Reads the project's own files, for the tests that look at the house itself.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace leafwright::house {

/// One text file. `path` is relative to the root, with forward slashes.
struct File {
  std::string path;
  std::string text;
};

/// What is wrong, one sentence each, with file and line; empty when all is well.
using Faults = std::vector<std::string>;

/// Every text file under `root` in order of path, without hidden folders, build folders, out/ and
/// node_modules/. Files with a zero byte in them (pictures and the like) are left out.
std::vector<File> read_tree(const std::filesystem::path& root);

/// Does `path` end in one of these?
bool ends_in(const std::string& path, const std::vector<std::string>& endings);

/// The lines of a text, without their line ends.
std::vector<std::string> lines_of(const std::string& text);

/// C++ text with comments, string and character literals blanked out, line for line.
/// `keep_strings` leaves string literals, which #include "..." needs.
std::string code_of(const std::string& text, bool keep_strings = false);

/// For failure messages: one fault a line.
std::string joined(const Faults& faults);

/// A folder that is removed with everything in it at the end of the test.
class TemporaryTree {
 public:
  TemporaryTree();
  ~TemporaryTree();
  TemporaryTree(const TemporaryTree&) = delete;
  TemporaryTree& operator=(const TemporaryTree&) = delete;

  [[nodiscard]] const std::filesystem::path& root() const { return root_; }
  void write(const std::string& path, const std::string& text) const;

 private:
  std::filesystem::path root_;
};

}  // namespace leafwright::house
