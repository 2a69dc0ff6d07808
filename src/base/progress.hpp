// How long work tells how far it is, and how it is told to stop. The core calls these; it starts
// no thread and reads no clock. Whoever runs the work (the command line, the page) decides what to
// do with them.
#pragma once

#include <atomic>
#include <functional>
#include <string_view>

namespace leafwright {

/// Called now and then with the share done (0..1) and what is being done ("curve 12 of 40").
/// May be empty. It is called on the thread that does the work.
using Progress = std::function<void(double done, std::string_view what)>;

/// Calls `progress` if there is one.
inline void report_progress(const Progress& progress, double done, std::string_view what) {
  if (progress) progress(done, what);
}

/// A flag that another thread or a signal handler may raise; work looks at it between curves and
/// stops with what it has. Once raised it stays raised.
class Cancel {
 public:
  void raise() { raised_.store(true, std::memory_order_relaxed); }
  [[nodiscard]] bool raised() const { return raised_.load(std::memory_order_relaxed); }

 private:
  std::atomic<bool> raised_{false};
};

}  // namespace leafwright
