#include "cli/input.hpp"

#include <array>
#include <cstdio>

#include "files/read.hpp"
#include "files/xlsx.hpp"

namespace leafwright::cli {
namespace {

Result<std::string> read_standard_input() {
  std::string bytes;
  std::array<char, 65536> buffer{};
  for (std::size_t n = 0; (n = std::fread(buffer.data(), 1, buffer.size(), stdin)) > 0;) {
    bytes.append(buffer.data(), n);
  }
  const Place place{input_name("-"), 0, 0, ""};
  if (std::ferror(stdin) != 0) {
    return fail(ErrorCode::unreadable, "reading failed", "", "", place);
  }
  if (bytes.empty()) {
    return fail(ErrorCode::unreadable, "nothing came", "", "did the command before it fail?",
                place);
  }
  return bytes;
}

}  // namespace

Result<std::string> read_input(const std::string& path) {
  return path == "-" ? read_standard_input() : read_file(path);
}

Result<Table> read_input_table(const std::string& path, const LayoutChoice& layout) {
  auto bytes = read_input(path);
  if (!bytes) return fail(bytes.error());
  return open_table(std::move(*bytes), input_name(path), layout);
}

std::string input_name(const std::string& path) {
  return path == "-" ? "standard input" : path;
}

}  // namespace leafwright::cli
