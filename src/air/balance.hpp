// The balance of the chamber, term by term: steady fluxes, storage in the chamber air, gasket leak,
// leaf area. flux.hpp puts the terms together.
//
// Well-mixed chamber, in moles of moist air (u, s in mol s-1, m2; w, c mole fractions):
//   s E = [u_i (w_o - w_i) + N dw_o/dt]/(1 - w_o)
//   s A = u_i (c_i - c_o) - s E c_o - N dc_o/dt          (the second term is the dilution)
// With dry CO2 fractions the dilution disappears:
//   s A = u_i (1 - w_i)(C_i - C_o) - N (1 - w_o) dC_o/dt
// N = P V/(R T); changes of P and T drop out. The air that CO2 itself adds or takes is left out, as
// the O2 given off makes up for it. Steady state: von Caemmerer & Farquhar 1981, Planta 153:376;
// the storage terms are derived (docs/methods-air.md).
//
// Units: flow umol s-1 of moist air INTO the chamber; area cm2; H2O mmol mol-1 and CO2 umol mol-1,
// r before and s behind the leaf; E mmol m-2 s-1, A umol m-2 s-1; N mol; rates per second.
#pragma once

#include <optional>
#include <string_view>

#include "base/error.hpp"

namespace leafwright {

/// E = 10 F (Ws - Wr)/[S (1000 - Ws)].
double steady_E(double flow, double area, double H2Or, double H2Os);

/// A = F [Cr - Cs (1000 - Wr)/(1000 - Ws)]/(100 S), CO2 per moist air.
double steady_A(double flow, double area, double CO2r, double CO2s, double H2Or, double H2Os);

/// A = F (1 - w_r)(Cr - Cs)/(100 S), CO2 per dry air.
double steady_A_dry(double flow, double area, double CO2r, double CO2s, double H2Or);

/// What storage adds to E: N dw_o/dt/[s (1 - w_o)].
double storage_E(double moles, double area, double H2Os, double dH2Os_dt);

/// What storage adds to A, CO2 per moist air: -N [dc_o/dt + c_o dw_o/dt/(1 - w_o)]/s. The second
/// part is the dilution by storage_E.
double storage_A(double moles, double area, double CO2s, double dCO2s_dt, double H2Os,
                 double dH2Os_dt);

/// The same with CO2 per dry air: -N (1 - w_o) dC_o/dt/s.
double storage_A_dry(double moles, double area, double dCO2s_dt, double H2Os);

/// Time constant of the chamber, N/u in s.
double time_constant(double moles, double flow);

/// What a leak through the gasket makes of A: A = A_apparent - K (C_chamber - C_ambient)/(100 S).
/// K in umol s-1 per unit of mole fraction difference, measured by the user on this chamber with a
/// dead or no leaf; there is no default, as gaskets differ by a factor (Rodeghiero, Niinemets &
/// Cescatti 2007, Plant, Cell & Environment 30:1006: about 0.40 for one kind of foam, 50 % more
/// with a leaf between; looked up in the abstract). Ambient is the air round the gasket.
double leak_A(double K, double area, double CO2_chamber, double CO2_ambient);

/// The same for water, which the chamber loses when it is moister: E = E_apparent +
/// K_w (W_chamber - W_ambient)/(100 S). K_w is 5 to 10 times K for CO2 (same source).
double leak_E(double K_water, double area, double H2O_chamber, double H2O_ambient);

/// What an area counts.
enum class AreaBasis {
  projected,   ///< one side of the silhouette
  half_total,  ///< half of all surface: the same for a flat leaf, pi/2 as much for a cylinder
};
const char* area_basis_name(AreaBasis basis);  ///< "projected", "half total"
/// Error: usage, naming both.
Result<AreaBasis> find_area_basis(std::string_view name);

/// The leaf in the chamber.
struct LeafArea {
  double cm2 = 0;
  AreaBasis basis = AreaBasis::projected;
  /// Share of the stated area that is leaf, in (0, 1]: 1 where the area is the leaf's own, less
  /// where it is the chamber's and a narrow leaf leaves part of it open.
  double cover = 1;
  /// Half total over projected, where the user knows it (>= 1).
  std::optional<double> half_total_on_projected = {};
};

/// The area in cm2 on `basis`, cover included: what fluxes are divided by. Errors (usage): area not
/// positive, cover outside (0, 1], ratio below 1, or the other basis wanted without the ratio.
Result<double> area_on(const LeafArea& leaf, AreaBasis basis);

}  // namespace leafwright
