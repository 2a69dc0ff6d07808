#include "cli/input.hpp"

#include <fstream>
#include <iostream>
#include <iterator>

namespace leafwright::cli {

Result<std::string> read_input(const std::string& path) {
  if (path == "-") {
    return std::string(std::istreambuf_iterator<char>(std::cin), std::istreambuf_iterator<char>());
  }
  std::ifstream file(path, std::ios::binary);
  if (!file) return fail(ErrorCode::unreadable, "cannot be opened", "", "", {path, 0, 0, ""});
  return std::string(std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>());
}

std::string input_name(const std::string& path) {
  return path == "-" ? "standard input" : path;
}

}  // namespace leafwright::cli
