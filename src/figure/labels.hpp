// Where direct labels go: each label names the places it would accept, best first, and takes the
// one that covers the least of what is drawn and nothing of another label.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

namespace leafwright {

/// A rectangle in pt, x to the right, y downwards.
struct Box {
  double left = 0, top = 0, right = 0, bottom = 0;
  [[nodiscard]] double width() const { return right - left; }
  [[nodiscard]] double height() const { return bottom - top; }
};

/// Area shared by two boxes (0 where they only touch).
double overlap(const Box& a, const Box& b);
bool inside(const Box& inner, const Box& outer);

/// Something drawn that labels should not cover; `weight` says how much it matters.
struct Obstacle {
  Box box;
  double weight = 1;
};

/// Picks one of `candidates[i]` per label, in order: inside `bounds`, free of the labels already
/// placed, with the least weighted overlap (ties to the earlier candidate). Empty where no
/// candidate is inside and free, or where even the best covers more than `worst` of its own area.
std::vector<std::optional<std::size_t>> place_labels(
    const std::vector<std::vector<Box>>& candidates, const std::vector<Obstacle>& obstacles,
    const Box& bounds, double worst = 0.5);

}  // namespace leafwright
