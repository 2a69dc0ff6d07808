#include "cli/console.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <cstdlib>

#include "base/text.hpp"
#include "cli/platform.hpp"

namespace leafwright::cli {
namespace {

using std::chrono::milliseconds;
using std::chrono::steady_clock;

void write_error(std::string_view text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
  std::fflush(stderr);
}

}  // namespace

Result<void> Console::print(std::string_view bytes) {
  clear_bar();
  const bool written = std::fwrite(bytes.data(), 1, bytes.size(), stdout) == bytes.size();
  if (!written || std::fflush(stdout) != 0) {
    return fail(ErrorCode::refused, "standard output took only a part of the results", "",
                "is the disk full?");
  }
  return {};
}

void Console::say(std::string_view line) {
  if (quiet_) return;
  clear_bar();
  write_error(std::string(line) + "\n");
}

void Console::complain(const Error& error) {
  // A place first, so that editors can jump to it.
  complain(error.place.file.empty() ? "leafwright: " + error.text() : error.text());
}

void Console::complain(std::string_view line) {
  clear_bar();
  write_error(std::string(line) + "\n");
}

void Console::clear_bar() {
  if (bar_) write_error("\r\x1b[K");
  bar_ = false;
}

Progress Console::progress() {
  if (quiet_ || !error_is_terminal()) return {};
  started_ = shown_ = steady_clock::now();
  return [this](double done, std::string_view what) {
    const auto now = steady_clock::now();
    if (now - started_ < milliseconds(2000) || now - shown_ < milliseconds(100)) return;
    shown_ = now;
    const auto filled = static_cast<std::size_t>(30 * done);
    write_error(fmt::format("\r[{:<30}] {:3.0f} % {}\x1b[K", std::string(filled, '='), 100 * done,
                            shortened(what, 30)));
    bar_ = true;
  };
}

}  // namespace leafwright::cli
