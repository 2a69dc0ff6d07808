// The parts of a zip archive that is held in memory, one at a time, with limits on what they may
// become. Used by xlsx.cpp only.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"

namespace leafwright {

/// What an archive may unfold to. A sheet of numbers shrinks 5 to 20 times; a part that shrinks 200
/// times, once it is large, was made to fill memory.
struct ZipLimits {
  std::uint64_t largest_part = 1ULL << 30;   ///< bytes
  std::uint64_t unsuspected = 64ULL << 20;   ///< bytes up to which the ratio is not looked at
  std::uint64_t largest_ratio = 200;         ///< bytes out for one byte in
  std::uint64_t largest_total = 2ULL << 30;  ///< bytes out of all parts that are read
};

class ZipArchive {
 public:
  /// `bytes` must outlive the archive. Errors (unreadable, without a place): not a zip, cut short,
  /// encrypted.
  static Result<ZipArchive> open(std::string_view bytes, const ZipLimits& limits = {});
  ZipArchive(ZipArchive&&) noexcept;
  ZipArchive& operator=(ZipArchive&&) noexcept;
  ~ZipArchive();

  [[nodiscard]] const std::vector<std::string>& names() const;
  [[nodiscard]] bool has(const std::string& name) const;

  /// Hands the part's bytes to `take`, piece by piece; false from `take` stops without an error.
  /// Errors: unreadable, for a part that is not there, is damaged, or grows beyond the limits.
  Result<void> read(const std::string& name, const std::function<bool(std::string_view)>& take);

 private:
  struct Impl;
  explicit ZipArchive(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace leafwright
