// A log's rows -> E, A, gsw, Ci and VPDleaf, with their noise, from what the log, the samples
// table, the instrument and the user say. Pure: (log, choices) in, rows out; nothing is dropped.
//
// What one value comes from: option > samples > log column > instrument > default. Where sources
// disagree, all of them are told.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "air/flags.hpp"
#include "air/flux.hpp"
#include "base/error.hpp"
#include "base/note.hpp"
#include "base/progress.hpp"
#include "base/setting.hpp"
#include "log/cut.hpp"
#include "log/equalise.hpp"
#include "log/instrument.hpp"
#include "log/log.hpp"
#include "log/samples.hpp"
#include "log/screen.hpp"
#include "log/time.hpp"

namespace leafwright {

enum class ValueFrom { option, samples, log_column, instrument, default_value, nowhere };
const char* value_from_name(ValueFrom from);  ///< "option", "samples table", "log column", ...

/// Where one quantity of some curves came from, and what else was on offer.
struct ValueSource {
  std::string quantity;  ///< "area"
  ValueFrom from = ValueFrom::nowhere;
  std::string text;                 ///< "4.2 cm2", "2.1 to 6 cm2"
  std::vector<std::string> others;  ///< "log column: 6 cm2"
  bool disagree = false;            ///< one of the others says something else
  double low = 0, high = 0;         ///< of what was used
  std::vector<std::string> curves;
};

/// What the user chose; empty where it may come from elsewhere.
struct FluxChoice {
  bool recorded = false;  ///< E and A from the log's own columns
  std::optional<VapourPressure> vapour_pressure;
  Enhancement enhancement = Enhancement::none;
  std::optional<Co2Per> co2_per;
  std::optional<GbwIs> gbw_is;
  TwoSides two_sides = TwoSides::exact;
  std::optional<double> overpressure, gbw, stomatal_ratio;
  std::optional<double> area, cover, half_total_ratio;
  std::optional<AreaBasis> area_basis, flux_per;
  std::optional<double> leak, CO2_ambient, water_leak, H2O_ambient;
  std::optional<double> Tleaf, Patm;
  bool storage = false;
  std::optional<double> chamber_volume;
  double storage_window_s = 10;
  double steady_limit = 0.5;
  InputSd sd;
  FlagLimits flags;
};

/// From flux_settings() (air/settings.hpp); `points` are those of points_settings(), for Tleaf and
/// Patm.
FluxChoice flux_choice(const Settings& flux, const Settings& points);

/// Everything that rows of fluxes are made from. Pointers may be null but for log, axis and cut.
struct FluxSource {
  const Log* log = nullptr;
  const TimeAxis* axis = nullptr;
  const Cut* cut = nullptr;
  const Samples* samples = nullptr;
  const Instrument* instrument = nullptr;
  const Equalisations* equalisations = nullptr;
};

/// Bits of FluxRows::flags: 1 << FluxFlag, then 1 << (16 + ScreenRule).
constexpr unsigned screen_flag_shift = 16;

/// Columns of one value a row of the log; not a number is missing. A column that is not known at
/// all is empty.
struct FluxRows {
  std::vector<double> E, A, gsw, Ci, VPDleaf;
  std::vector<double> E_sd, A_sd, gsw_sd, Ci_sd, cov_A_Ci;
  std::vector<double> age_s;                    ///< since the cells were last equalised
  std::vector<double> Tleaf, Patm, area, CO2s;  ///< as used; CO2s per moist air, corrected
  std::vector<char> use;
  std::vector<char> repeat;  ///< repeats the row before in all that was measured
  std::vector<std::uint32_t> flags;
  std::vector<std::uint32_t> why;  ///< index into reasons; 0 : none
  std::vector<std::string> reasons = {""};
  std::vector<ValueSource> sources;
  std::vector<NoisyInput> noise_not_stated;
  bool noisy = false;
  Notes notes;
  std::vector<Error> problems;

  [[nodiscard]] std::size_t size() const { return A.size(); }
  [[nodiscard]] const std::string& reason(std::size_t row) const { return reasons[why[row]]; }
  /// Takes a row out; the first reason stays.
  void leave_out(std::size_t row, const std::string& reason);
  /// "humid outlier", the names of a row's flags; "" for none.
  [[nodiscard]] std::string flag_names(std::size_t row) const;

 private:
  std::string last_reason_;
  std::uint32_t last_index_ = 0;
};

/// Computes. A row that lacks a value, is out of range, or whose text is faulty keeps its place
/// with use = 0 and why. The log's own `use` and `why` are honoured. Errors: unreadable, for a
/// quantity that the log does not have at all; usage, for choices that do not fit together (gbw
/// per side without a stomatal ratio, a leak without ambient CO2, storage without a volume).
Result<FluxRows> flux_rows(const FluxSource& source, const FluxChoice& choice,
                           const Progress& progress = {});

/// Screens every curve of `cut` and marks `rows`. Notes count what was left out and flagged.
void screen_flux(const FluxSource& source, const ScreenChoice& choice, FluxRows& rows);

}  // namespace leafwright
