#include "study/parallel.hpp"

#include <algorithm>
#include <atomic>
#include <exception>
#include <mutex>
#include <thread>
#include <vector>

namespace leafwright {

void in_parallel(std::size_t count, unsigned threads,
                 const std::function<void(std::size_t)>& piece) {
  const std::size_t machine = std::max(1U, std::thread::hardware_concurrency());
  const std::size_t workers = std::min(count, threads > 0 ? std::size_t{threads} : machine);
  if (workers <= 1) {
    for (std::size_t i = 0; i < count; ++i) piece(i);
    return;
  }
  std::atomic<std::size_t> next{0};
  std::exception_ptr first;
  std::mutex guard;
  const auto work = [&] {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        piece(i);
      } catch (...) {
        const std::lock_guard<std::mutex> lock(guard);
        if (first == nullptr) first = std::current_exception();
        next = count;
      }
    }
  };
  std::vector<std::thread> pool;
  pool.reserve(workers);
  for (std::size_t i = 0; i < workers; ++i) pool.emplace_back(work);
  for (std::thread& thread : pool) thread.join();
  if (first != nullptr) std::rethrow_exception(first);
}

}  // namespace leafwright
