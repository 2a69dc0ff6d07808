// The search of propose.hpp: which readings of which columns satisfy the relations of physics.
//
// One relation after the other, each exhaustively over all readings, so that nothing depends on
// the order of columns: E from a pair of water streams, a flow and an area; then A from a pair of
// CO2 streams; then gsw, Ci, VPDleaf and RHs. What fits within 3 % is a candidate; the best one is
// kept, and every other column that would do as well in its place is a rival.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "log/propose_equations.hpp"

namespace leafwright {

/// Another column that explains the same as well.
struct Rival {
  Part part = Part::A;
  const Reading* reading = nullptr;
  bool same_numbers = false;  ///< the same quantity, but for the digits: harmless
};

struct SearchResult {
  Assignment best;
  std::array<std::optional<Agreement>, relation_count> agreements;
  std::vector<Rival> rivals;
  /// Parts for which columns do equally well, but only one states a unit that suits.
  std::array<bool, part_count> by_unit = {};
  /// The flow is one that varies; one that never changes (a set-point?) does as well.
  bool flow_by_change = false;

  [[nodiscard]] const std::optional<Agreement>& of(Relation relation) const {
    return agreements[static_cast<std::size_t>(relation)];
  }
};

/// The readings of the result point into `sampling`. A factor is thought of only for a flow and an
/// area that state a suitable unit.
SearchResult search_assignment(const Sampling& sampling);

}  // namespace leafwright
