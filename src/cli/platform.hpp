// What differs between operating systems at the command line.
#pragma once

namespace leafwright::cli {

/// Is standard error a terminal that understands cursor movement?
bool error_is_terminal();

/// Results are bytes: no CRLF for LF on systems that would.
void binary_streams();

/// From here on Ctrl-C ends the program with 130, at once: nothing has been written yet.
void watch_for_interrupt();

/// While one of these lives, Ctrl-C is only remembered, so that what is being written is whole.
class HoldInterrupt {
 public:
  HoldInterrupt();
  ~HoldInterrupt();
  HoldInterrupt(const HoldInterrupt&) = delete;
  HoldInterrupt& operator=(const HoldInterrupt&) = delete;
};

/// Was Ctrl-C pressed while it was held?
bool interrupted();

}  // namespace leafwright::cli
