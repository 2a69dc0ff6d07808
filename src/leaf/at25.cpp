#include "leaf/at25.hpp"

#include <fmt/format.h>

#include <cmath>
#include <optional>
#include <string>

namespace leafwright {
namespace {

constexpr double lowest_tleaf = -10, highest_tleaf = 60;  // degC
constexpr double caution_spread = 0.05, warning_spread = 0.20;
constexpr double caution_distance = 2, warning_distance = 8;  // K
constexpr double at = reference_temperature - zero_celsius;   // degC

NoteLevel level_of(double spread, double distance) {
  if (spread >= warning_spread || distance >= warning_distance) return NoteLevel::warning;
  if (spread >= caution_spread || distance >= caution_distance) return NoteLevel::caution;
  return NoteLevel::info;
}

std::string note_text(const ResponseSet& set, Capacity capacity, double tleaf, const MoveTo25& m) {
  return fmt::format(
      "{} was moved by {:.1f} K, from {:.1f} to 25 degC: divided by {:.3f} ({}). {} named "
      "responses "
      "put this factor between {:.3f} ({}) and {:.3f} ({}), so the value at 25 degC could be "
      "{:.2f} "
      "to {:.2f} times the one given, by the choice of response alone",
      capacity_name(capacity), std::abs(tleaf - at), tleaf, m.factor, set.name, m.sets, m.lowest,
      m.lowest_set, m.highest, m.highest_set, m.factor / m.highest, m.factor / m.lowest);
}

}  // namespace

Result<MoveTo25> move_to_25(const ResponseSet& set, Capacity capacity, double tleaf) {
  if (!(tleaf >= lowest_tleaf && tleaf <= highest_tleaf))
    return fail(ErrorCode::unfit, fmt::format("leaf temperature is {} degC", tleaf),
                fmt::format("expected {} to {} degC", lowest_tleaf, highest_tleaf),
                "check the column Tleaf and its unit");
  const std::optional<Response>& response = set.of(capacity);
  if (!response)
    return fail(
        ErrorCode::unfit,
        fmt::format("the response set '{}' does not treat {}", set.name, capacity_name(capacity)),
        "expected a set with a response for it",
        "no value at 25 degC is given; choose another set to get one");
  MoveTo25 move;
  move.factor = response->factor(tleaf);
  // The set asked for counts too, so that its factor never lies outside the range, named or not.
  move.lowest = move.highest = move.factor;
  move.lowest_set = move.highest_set = set.name;
  for (const ResponseSet& other : response_sets()) {
    if (!other.of(capacity)) continue;
    ++move.sets;
    const double factor = other.of(capacity)->factor(tleaf);
    if (factor < move.lowest) {
      move.lowest = factor;
      move.lowest_set = other.name;
    }
    if (factor > move.highest) {
      move.highest = factor;
      move.highest_set = other.name;
    }
  }
  move.relative_uncertainty = move.factor * (1 / move.lowest - 1 / move.highest) / 2;
  move.note = {level_of(move.highest / move.lowest - 1, std::abs(tleaf - at)), "moved-to-25",
               note_text(set, capacity, tleaf, move)};
  return move;
}

}  // namespace leafwright
