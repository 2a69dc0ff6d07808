// An instrument as its owner describes it (TOML, docs/formats/instruments.md): what the columns of
// a log do not say.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "air/balance.hpp"
#include "air/flux.hpp"
#include "air/vapour.hpp"
#include "base/error.hpp"

namespace leafwright {

/// What moment of its averaging time a record's time stamp is.
enum class Stamp { start, middle, end };
const char* stamp_name(Stamp stamp);  ///< "start", "middle", "end"

/// How one channel is averaged by the logger, as data: corrections of ramps need it.
struct ChannelTiming {
  std::string symbol;
  double averaging_s = 0;  ///< length of the mean that one record is; 0: a momentary value
  Stamp stamp = Stamp::end;
  /// What to add to a record's time to have the middle of what it averages, s.
  [[nodiscard]] double to_middle() const;
};

/// Every value may be missing; what needs one that is not given says so.
struct Instrument {
  std::string file;  ///< for messages; "" where none was given
  std::string serial;
  std::optional<double> chamber_volume;  ///< cm3
  std::optional<double>
      inlet_volume;                  ///< cm3, from where the reference air is taken to the chamber
  std::optional<double> cell_flow;   ///< cm3 min-1, actual volume at cell temperature and Patm
  std::optional<double> leak;        ///< K, umol s-1 per unit of mole fraction
  std::optional<double> water_leak;  ///< the same for water
  std::optional<double> overpressure;  ///< kPa above Patm
  std::optional<double> gbw;           ///< mmol m-2 s-1
  std::optional<GbwIs> gbw_is;
  std::optional<VapourPressure> vapour_pressure;
  std::optional<double> area;  ///< cm2
  std::optional<double> stomatal_ratio;
  std::optional<Co2Per> co2_per;
  std::optional<double> coolest_wall;   ///< degC
  std::map<std::string, double> noise;  ///< sd of one record, by symbol, in the symbol's unit
  std::vector<ChannelTiming> channels;  ///< in the order of the file

  /// The timing of a channel: its own, else that of `all`, else empty.
  [[nodiscard]] std::optional<ChannelTiming> timing(std::string_view symbol) const;
};

/// Reads an instrument file. `file` is used in messages only.
///   chamber_volume = "40 mL"          a string with its unit, in any unit of the dimension
///   gbw_is = "per side"
///   [noise]                           sd of one record: CO2r CO2s H2Or H2Os flow area Tleaf Patm
///   CO2r = "0.1 umol mol-1"           gbw
///   [channels]                        a symbol, or `all`
///   CO2s = {averaging = "1 s", stamp = "end"}
/// Errors, all with their place: usage, for a key that is not known (with the nearest one);
/// unreadable, for text that is no TOML, a value of the wrong type, without its unit, with one of
/// another dimension, or out of range.
Result<Instrument> read_instrument(std::string_view bytes, const std::string& file);

}  // namespace leafwright
