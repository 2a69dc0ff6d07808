// An instrument as its owner describes it (TOML, docs/formats/instruments.md): what the columns of
// a log do not say.
#pragma once

#include <optional>
#include <string>

#include "air/balance.hpp"
#include "air/flux.hpp"
#include "air/vapour.hpp"

namespace leafwright {

/// Every value may be missing; what needs one that is not given says so.
struct Instrument {
  std::string file;  ///< for messages; "" where none was given
  std::string serial;
  std::optional<double> chamber_volume;  ///< cm3
  std::optional<double>
      inlet_volume;                 ///< cm3, from where the reference air is taken to the chamber
  std::optional<double> cell_flow;  ///< cm3 min-1, actual volume at cell temperature and Patm
  std::optional<double> leak;       ///< K, umol s-1 per unit of mole fraction
  std::optional<double> overpressure;  ///< kPa above Patm
  std::optional<double> gbw;           ///< mmol m-2 s-1
  std::optional<GbwIs> gbw_is;
  std::optional<VapourPressure> vapour_pressure;
  std::optional<double> area;  ///< cm2
  std::optional<double> stomatal_ratio;
};

}  // namespace leafwright
