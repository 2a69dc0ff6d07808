#include "house/tree.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace leafwright::house {
namespace fs = std::filesystem;

namespace {

bool skipped(const fs::path& folder) {
  const std::string name = folder.filename().string();
  return (name.starts_with(".") && name != ".ci") || name == "build" ||
         name.starts_with("build-") || name == "out" || name == "node_modules";
}

std::string read(const fs::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream text;
  text << in.rdbuf();
  return text.str();
}

}  // namespace

std::vector<File> read_tree(const fs::path& root) {
  std::vector<File> files;
  for (auto it = fs::recursive_directory_iterator(root); it != fs::recursive_directory_iterator();
       ++it) {
    if (it->is_directory()) {
      if (skipped(it->path())) it.disable_recursion_pending();
      continue;
    }
    // In a linked worktree .git is a file.
    if (!it->is_regular_file() || it->path().filename() == ".git") continue;
    std::string text = read(it->path());
    if (text.find('\0') != std::string::npos) continue;
    files.push_back({fs::relative(it->path(), root).generic_string(), std::move(text)});
  }
  std::sort(files.begin(), files.end(),
            [](const File& a, const File& b) { return a.path < b.path; });
  return files;
}

bool ends_in(const std::string& path, const std::vector<std::string>& endings) {
  return std::any_of(endings.begin(), endings.end(),
                     [&](const std::string& ending) { return path.ends_with(ending); });
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

std::string code_of(const std::string& text, bool keep_strings) {
  std::string out = text;
  const auto blank = [&](std::size_t from, std::size_t to) {
    for (std::size_t i = from; i < to && i < out.size(); ++i) {
      if (out[i] != '\n') out[i] = ' ';
    }
  };
  for (std::size_t i = 0; i < text.size();) {
    std::size_t end = i + 1;
    if (text.compare(i, 2, "//") == 0) {
      end = std::min(text.find('\n', i), text.size());
      blank(i, end);
    } else if (text.compare(i, 2, "/*") == 0) {
      end = std::min(text.find("*/", i + 2), text.size() - 2) + 2;
      blank(i, end);
    } else if (text.compare(i, 2, "R\"") == 0) {
      const std::string close = ")" + text.substr(i + 2, text.find('(', i) - i - 2) + "\"";
      const std::size_t at = text.find(close, i);
      end = at == std::string::npos ? text.size() : at + close.size();
      if (!keep_strings) blank(i, end);
    } else if (text[i] == '"' || (text[i] == '\'' && (i == 0 || !std::isalnum(text[i - 1])))) {
      while (end < text.size() && text[end] != text[i] && text[end] != '\n') {
        end += text[end] == '\\' ? 2U : 1U;
      }
      end = std::min(end + 1, text.size());
      if (!keep_strings) blank(i, end);
    }
    i = end;
  }
  return out;
}

std::string joined(const Faults& faults) {
  std::string out;
  for (const std::string& fault : faults) out += fault + "\n";
  return out;
}

TemporaryTree::TemporaryTree() {
  std::string name = (fs::temp_directory_path() / "leafwright-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder: " + name);
  root_ = name;
}

TemporaryTree::~TemporaryTree() {
  std::error_code ignored;
  fs::remove_all(root_, ignored);
}

void TemporaryTree::write(const std::string& path, const std::string& text) const {
  fs::create_directories((root_ / path).parent_path());
  std::ofstream(root_ / path, std::ios::binary) << text;
}

}  // namespace leafwright::house
