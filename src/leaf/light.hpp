// Net assimilation against light: the non-rectangular hyperbola
//   A = [phi Q + Am - sqrt((phi Q + Am)^2 - 4 theta phi Q Am)]/(2 theta) - Rday
// (Thornley 1976; Marshall & Biscoe 1980, J. Exp. Bot. 31:29; from memory). Am is gross. theta = 0
// is the rectangular hyperbola, theta = 1 two straight lines (Blackman).
#pragma once

#include <optional>

namespace leafwright {

/// One leaf's response to light; umol m-2 s-1 and mol mol-1.
struct LightLeaf {
  double phi = 0;    ///< quantum yield at Q -> 0, mol CO2 per mol photons, on the light of Q
  double Amax = 0;   ///< gross, at Q -> infinity
  double theta = 0;  ///< convexity, 0..1
  double Rday = 0;   ///< positive
};

/// A at photon flux density Q (>= 0).
double light_assimilation(double Q, const LightLeaf& leaf);

/// Q where A = 0: Rday (Amax - theta Rday)/[phi (Amax - Rday)]. Empty where Amax <= Rday or phi =
/// 0: such a leaf never balances its respiration.
std::optional<double> light_compensation_point(const LightLeaf& leaf);

/// Q where gross A is `share` (0..1) of Amax: share (1 - theta share) Amax/[phi (1 - share)]. Empty
/// where phi = 0.
std::optional<double> light_for_share(double share, const LightLeaf& leaf);

/// dA/dQ.
double light_slope(double Q, const LightLeaf& leaf);

}  // namespace leafwright
