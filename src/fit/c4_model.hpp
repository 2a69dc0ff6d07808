// The C4 curve as a CurveModel, by what is said to set its plateau.
//
//   unnamed  min(Vp + gbs C - Rm, plateau - Rday)             exact (c4_linear.hpp)
//   vpr      min(Vp, Vpr) + gbs C - Rm                        exact
//   vcmax    the enzyme-limited quadratic of von Caemmerer 2000, Vpr infinite: smooth, searched
//   from
//            several starts
//   j        min(Vp + gbs C - Rm, light-limited quadratic): every split between the two and every
//            kink, each by Levenberg-Marquardt
//
// In the last two Rday is not let above the highest |A| of the curve: Rday, Vpmax and the plateau
// can otherwise grow together without end where the rows are few or noisy. A fit that ends there
// says that Rday is not identified.
//
// Parameters in this order: Vpmax, the plateau's, Rday, and (vcmax only) the initial slope.
#pragma once

#include <memory>
#include <vector>

#include "fit/problem.hpp"
#include "fit/rows.hpp"
#include "fit/small_fit.hpp"
#include "leaf/c4.hpp"

namespace leafwright {

/// Rows in order of rising Ci, with the constants of the curve.
struct C4Rows {
  std::vector<double> A;  ///< umol m-2 s-1
  std::vector<double> C;  ///< ubar
  std::vector<double> w;  ///< weights, of mean 1; empty: alike
  C4Kinetics kinetics;
};

inline constexpr std::size_t c4_vpmax = 0, c4_top = 1, c4_rday = 2, c4_initial_slope = 3;

/// The model of one curve. `rday` fixed or free; a fraction only with C4Plateau::vcmax.
std::unique_ptr<CurveModel> make_c4_model(const C4Rows& rows, C4Plateau plateau,
                                          const RdayChoice& rday);

/// Symbol of the plateau's parameter: "plateau", "Vcmax", "Vpr", "J".
const char* c4_top_symbol(C4Plateau plateau);

/// dA/dCm of the fitted curve where it leaves Cm = 0 (umol m-2 s-1 ubar-1): Vpmax/Kp + gbs, for
/// vcmax with the leak of the quadratic.
double c4_slope_at_zero(C4Plateau plateau, double Vpmax, double Vcmax, double Rday,
                        const C4Kinetics& k);

}  // namespace leafwright
