// Is an assignment the only one? Every column and unit that could stand in the place of another is
// put there, alone and in the groups whose errors could cancel. Used by propose only.
#pragma once

#include <array>
#include <string>

#include "log/physics.hpp"
#include "log/propose_search.hpp"

namespace leafwright {

struct Challenge {
  Hypothesis best;  ///< the assignment, after better rivals took its place
  /// What fits as well for a role ("" where nothing does).
  std::array<std::string, role_count> rival;
  [[nodiscard]] const std::string& rival_of(Role role) const {
    return rival[static_cast<std::size_t>(role)];
  }
  /// The relation agrees and none of its columns could be another.
  [[nodiscard]] bool sound(Relation relation) const;
  /// The role takes part in a sound relation.
  [[nodiscard]] bool proved(Role role) const;
};

/// Does a relation agree?
bool agrees(const Hypothesis& hypothesis, Relation relation);

/// `name(column)` is for the texts.
Challenge challenge(const Pool& pool, const Hypothesis& start,
                    const std::vector<std::string>& names);

}  // namespace leafwright
