// The first two steps of the search: water and carbon. Used by propose_search.cpp.
#pragma once

#include <vector>

#include "log/propose_equations.hpp"

namespace leafwright {

/// Within it a relation is a candidate, relative.
inline constexpr double candidate_tolerance = 0.03;

/// A set of readings under which E agrees, and by how much.
struct WaterHit {
  Assignment a;
  double off = 0;
};

/// Pressures that a column could be: hardly changing, 45 to 110 kPa.
std::vector<const Reading*> pressures_of(const Sampling& sampling);

/// All sets within tolerance, the best first, at most `most`; and sets of a flow and an area that
/// state suitable units, off by one common factor.
std::vector<WaterHit> search_water(const Sampling& sampling, std::size_t most);
std::vector<WaterHit> search_water_factor(const Sampling& sampling, std::size_t most);

/// The best pair of CO2 streams and A for this set, added to it; false where none is within
/// tolerance. `off` becomes that of A.
bool search_carbon(const Sampling& sampling, WaterHit& hit);

}  // namespace leafwright
