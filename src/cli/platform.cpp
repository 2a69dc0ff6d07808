#include "cli/platform.hpp"

#include <csignal>
#include <cstdlib>
#include <string_view>

#ifdef _WIN32
#include <fcntl.h>
#include <io.h>

#include <cstdio>
#else
#include <unistd.h>
#endif

namespace leafwright::cli {
namespace {

// Only these may be touched by a signal handler.
volatile std::sig_atomic_t held = 0;
volatile std::sig_atomic_t remembered = 0;

extern "C" void on_interrupt(int) {
  if (held != 0) {
    remembered = 1;
    return;
  }
#ifndef _WIN32
  // Async-signal-safe calls only. A failed write changes nothing about the end.
  static constexpr std::string_view said = "\nleafwright: interrupted; nothing was written\n";
  if (write(STDERR_FILENO, said.data(), said.size()) < 0) _exit(130);
#endif
  _exit(130);
}

}  // namespace

bool error_is_terminal() {
#ifdef _WIN32
  return _isatty(_fileno(stderr)) != 0;
#else
  const char* term = std::getenv("TERM");
  return isatty(STDERR_FILENO) != 0 && term != nullptr && std::string_view(term) != "dumb";
#endif
}

void binary_streams() {
#ifdef _WIN32
  _setmode(_fileno(stdin), _O_BINARY);
  _setmode(_fileno(stdout), _O_BINARY);
#endif
}

void watch_for_interrupt() {
  std::signal(SIGINT, on_interrupt);
}

HoldInterrupt::HoldInterrupt() {
  held = 1;
}
HoldInterrupt::~HoldInterrupt() {
  held = 0;
}

bool interrupted() {
  return remembered != 0;
}

}  // namespace leafwright::cli
