// Cells of the search under finite gm: which rows each state limits, which rows the kinks lie on,
// and which capacity then follows from which.
#pragma once

#include <array>
#include <cstddef>
#include <limits>

#include "fit/smooth.hpp"

namespace leafwright {

inline constexpr std::size_t no_row = std::numeric_limits<std::size_t>::max();

/// Rows below first_rubp are limited by Rubisco, below first_tpu by RuBP, the rest by TPU. A pinned
/// kink lies on a row: both states give its rate.
struct GmFace {
  std::size_t first_rubp = 0, first_tpu = 0;
  std::size_t pin_rubp = no_row, pin_tpu = no_row;
  bool operator==(const GmFace&) const = default;
};

/// At most two links, in the order in which they are to be computed. A held capacity is where its
/// chain begins; else the first is.
struct GmLinks {
  struct Link {
    std::size_t from = 0, to = 0, row = 0;
  };
  std::array<Link, 2> link{};
  std::size_t count = 0;
  std::array<bool, 3> derived{};
  bool possible = true;  ///< false: both ends of a chain are held

  void add(std::size_t from, std::size_t to, std::size_t row) {
    link[count++] = {from, to, row};
    derived[to] = true;
  }
};

inline GmLinks links_for(const GmFace& f, const HeldParameters& held) {
  GmLinks out;
  const bool first = f.pin_rubp != no_row, second = f.pin_tpu != no_row;
  const bool through_j = f.first_rubp < f.first_tpu || first;
  const std::size_t below_tpu = through_j ? c3_j : c3_v;
  const bool back_from_tpu = second && held[c3_t];
  const bool back_to_v = first && (held[c3_j] || (back_from_tpu && !held[c3_v]));
  if (back_from_tpu) out.add(c3_t, below_tpu, f.pin_tpu);
  if (first && back_to_v) out.add(c3_j, c3_v, f.pin_rubp);
  if (first && !back_to_v) out.add(c3_v, c3_j, f.pin_rubp);
  if (second && !back_from_tpu) out.add(below_tpu, c3_t, f.pin_tpu);
  for (const std::size_t k : {c3_v, c3_j, c3_t}) {
    if (out.derived[k] && held[k]) out.possible = false;
  }
  if (out.count == 2 && out.link[0].to == out.link[1].to) out.possible = false;
  return out;
}

}  // namespace leafwright
