#include "base/random.hpp"

#include <cmath>
#include <numbers>
#include <stdexcept>

namespace leafwright {
namespace {

std::uint64_t fnv1a(std::uint64_t hash, std::string_view text) {
  const auto add = [&hash](unsigned char byte) { hash = (hash ^ byte) * 0x100000001B3u; };
  for (const char c : text) add(static_cast<unsigned char>(c));
  std::uint64_t length = text.size();
  for (int i = 0; i < 8; ++i, length >>= 8) add(static_cast<unsigned char>(length & 0xFF));
  return hash;
}

std::uint64_t mix(std::uint64_t x) {
  x += 0x9E3779B97F4A7C15u;
  x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9u;
  x = (x ^ (x >> 27)) * 0x94D049BB133111EBu;
  return x ^ (x >> 31);
}

std::uint32_t low_word(std::uint64_t x) {
  return static_cast<std::uint32_t>(x);
}
std::uint32_t high_word(std::uint64_t x) {
  return static_cast<std::uint32_t>(x >> 32);
}

}  // namespace

std::uint64_t stream_hash(std::string_view curve, std::string_view purpose) {
  return mix(fnv1a(fnv1a(0xCBF29CE484222325u, curve), purpose));
}

RandomStream::RandomStream(std::uint64_t seed, std::string_view curve, std::string_view purpose,
                           std::uint32_t replicate)
    : key_{low_word(seed), high_word(seed)} {
  const std::uint64_t hash = stream_hash(curve, purpose);
  counter_ = {0, replicate, low_word(hash), high_word(hash)};
}

void RandomStream::next_block() {
  if (exhausted_) throw std::logic_error("random stream: more than 2^34 draws from one stream");
  block_ = philox4x32(counter_, key_);
  exhausted_ = ++counter_[0] == 0;
  used_ = 0;
}

double RandomStream::normal() {
  if (has_spare_) {
    has_spare_ = false;
    return spare_;
  }
  const double radius = std::sqrt(-2.0 * std::log(1.0 - uniform()));
  const double angle = 2.0 * std::numbers::pi * uniform();
  spare_ = radius * std::sin(angle);
  has_spare_ = true;
  return radius * std::cos(angle);
}

void RandomStream::refuse_count() {
  throw std::logic_error("random stream: index() needs a count in 1 .. 2^32 - 1");
}

}  // namespace leafwright
