// Work that falls into independent pieces, on several threads.
#pragma once

#include <cstddef>
#include <functional>

namespace leafwright {

/// Calls `piece(0)` ... `piece(count - 1)`, each once, on up to `threads` threads (0: as many as
/// the machine has). Pieces must not share what they write, so that nothing depends on the number
/// of threads. The first exception is thrown again here once all threads have ended.
void in_parallel(std::size_t count, unsigned threads,
                 const std::function<void(std::size_t)>& piece);

}  // namespace leafwright
