// What makes one record doubtful: the physical reason, the numbers, and where the rule comes from.
// Flags mark rows; nothing is changed or removed.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "air/flux.hpp"
#include "air/noise.hpp"
#include "base/error.hpp"
#include "base/note.hpp"

namespace leafwright {

enum class FluxFlag {
  condensation,        ///< the dew point is at or above the coolest wall: water may be condensing
  humid,               ///< RHs above the stated limit
  vpd_not_positive,    ///< no gsw, no Ci
  boundary_too_small,  ///< no gsw, no Ci: E exceeds what gbw lets through
  gsw_not_positive,    ///< no Ci
  gsw_near_zero,       ///< gsw within `gsw_in_sd` standard deviations of 0: Ci is not determined
  Ci_uncertain,        ///< sd of Ci above the stated limit
  negative_Ci,
  Ci_above_Ca,  ///< though A > 0: uphill. Never from flux(), only where A or Ci came from elsewhere
  outside_form,  ///< a temperature outside the range that the vapour pressure form is for
};
/// Stable short key: "condensation", "humid", "vpd-not-positive", ...
std::string_view flux_flag_name(FluxFlag flag);

struct RaisedFlag {
  FluxFlag flag = FluxFlag::humid;
  NoteLevel level = NoteLevel::caution;
  std::string reason;               ///< with the row's numbers and the limit, for people
  std::string_view source;          ///< "derived: ...", or "common practice, no source"
  [[nodiscard]] Note note() const;  ///< about = flux_flag_name, text = reason [source]
};

/// When to flag. The limits without a physical ground are settings, with common values.
struct FlagLimits {
  /// The coolest part that the chamber's air touches, degC. Empty: the cooler of Tair and Tleaf,
  /// which is a lower bound of the risk, as walls are often cooler.
  std::optional<double> coolest_wall = {};
  double rh = 85;        ///< %; common practice, no source
  double Ci_sd = 10;     ///< umol mol-1; common practice, no source
  double gsw_in_sd = 3;  ///< below it the linearised error is not to be trusted; a convention
};

/// All flags of one record, in the order of FluxFlag. Without `noise` (null) gsw_near_zero and
/// Ci_uncertain are not judged: a limit on gsw itself would be arbitrary, as the error of Ci
/// depends on flow, area and analyser too. Errors: usage, for a limit that is not positive or not
/// finite.
Result<std::vector<RaisedFlag>> flux_flags(const FluxInput& input, const FluxOptions& options,
                                           const FluxResult& result, const FluxNoise* noise,
                                           const FlagLimits& limits = {});

}  // namespace leafwright
