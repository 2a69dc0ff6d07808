// Random numbers that depend only on what they are for: (seed, curve, purpose, replicate).
//
// A counter-based generator: block number i of a stream is a pure function of (key, i), so results
// do not depend on threads, on the order in which streams are used, or on what other streams drew.
//   key     = the study's seed (64 bit)
//   counter = {block, replicate, hash of (curve, purpose)}
// Two streams with different texts share a counter range only if their 64-bit hashes collide
// (chance about 3e-12 among 10,000 streams).
//
// Source: Salmon, Moraes, Dror & Shaw 2011, "Parallel random numbers: as easy as 1, 2, 3", SC11,
// doi 10.1145/2063384.2063405 (Philox4x32-10). Normal deviates: Box & Muller 1958.
//
//   RandomStream draw(seed, "leaf 7", "residual-bootstrap", replicate);
//   const double residual = residuals[draw.index(residuals.size())];
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <string_view>

namespace leafwright {

using PhiloxBlock = std::array<std::uint32_t, 4>;

/// The Philox4x32-10 bijection: ten rounds on `counter` under `key`.
constexpr PhiloxBlock philox4x32(PhiloxBlock counter, std::array<std::uint32_t, 2> key) {
  constexpr std::uint64_t multiplier_0 = 0xD2511F53u, multiplier_1 = 0xCD9E8D57u;
  constexpr std::uint32_t weyl_0 = 0x9E3779B9u, weyl_1 = 0xBB67AE85u;
  for (int round = 0; round < 10; ++round) {
    const std::uint64_t p0 = multiplier_0 * counter[0];
    const std::uint64_t p1 = multiplier_1 * counter[2];
    counter = {
        static_cast<std::uint32_t>(p1 >> 32) ^ counter[1] ^ key[0], static_cast<std::uint32_t>(p1),
        static_cast<std::uint32_t>(p0 >> 32) ^ counter[3] ^ key[1], static_cast<std::uint32_t>(p0)};
    key[0] += weyl_0;
    key[1] += weyl_1;
  }
  return counter;
}

/// 64-bit hash of two texts: FNV-1a over both with their lengths, then a final mix (splitmix64).
/// The same on every machine; ("ab", "c") and ("a", "bc") differ.
std::uint64_t stream_hash(std::string_view curve, std::string_view purpose);

/// One stream of random numbers. Cheap to make and to copy; a copy continues independently with
/// the same numbers. Holds 2^34 draws of 32 bits; drawing more throws std::logic_error.
/// Models UniformRandomBitGenerator.
class RandomStream {
 public:
  using result_type = std::uint32_t;

  RandomStream(std::uint64_t seed, std::string_view curve, std::string_view purpose,
               std::uint32_t replicate = 0);

  static constexpr result_type min() { return 0; }
  static constexpr result_type max() { return 0xFFFFFFFFu; }

  /// 32 random bits.
  result_type operator()() {
    if (used_ == 4) next_block();
    return block_[used_++];
  }

  /// Uniform on [0, 1): a multiple of 2^-53.
  double uniform() {
    const std::uint64_t high = (*this)();
    const std::uint64_t bits = (high << 32) | (*this)();
    return static_cast<double>(bits >> 11) * 0x1.0p-53;
  }

  /// Uniform on [low, high); `low` where they are equal.
  double uniform(double low, double high) { return low + (high - low) * uniform(); }

  /// Standard normal deviate.
  double normal();

  /// Uniform on {0, ..., count - 1} without bias (multiply and reject: Lemire 2019, ACM TOMACS
  /// 29:3). Throws std::logic_error for count = 0 or count > 2^32 - 1.
  std::size_t index(std::size_t count) {
    if (count == 0 || count > max()) refuse_count();
    const auto n = static_cast<std::uint32_t>(count);
    std::uint64_t product = std::uint64_t{(*this)()} * n;
    if (static_cast<std::uint32_t>(product) < n) {
      const std::uint32_t threshold = (0u - n) % n;
      while (static_cast<std::uint32_t>(product) < threshold)
        product = std::uint64_t{(*this)()} * n;
    }
    return static_cast<std::size_t>(product >> 32);
  }

 private:
  void next_block();
  [[noreturn]] static void refuse_count();

  std::array<std::uint32_t, 2> key_;
  PhiloxBlock counter_;
  PhiloxBlock block_{};
  unsigned used_ = 4;  ///< numbers of block_ already given out
  bool exhausted_ = false;
  bool has_spare_ = false;
  double spare_ = 0;
};

}  // namespace leafwright
