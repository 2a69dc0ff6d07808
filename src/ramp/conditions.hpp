// Does an empty record fit a leaf's record? Each difference in conditions has its error of A, which
// follows from the model (docs/methods-gas-path.md). With G = u/s in mol m-2 s-1 (u in mol s-1, s
// in m2), r the leaf's rate (umol mol-1 s-1) and L the lag:
//
//   rate another by dr           G L |dr|
//   direction another            2 G |r| L          (that is dr = 2 r)
//   flow another by du           G |r| (b/u) |du|/u,   b/u: what the chamber flow must fill
//   temperature another by dT    G |r| tau |dT|/T,     tau = P V/(R T u), T in K
//   pressure another by dP       G |r| tau |dP|/P
//   CO2 outside the range        G times the standard error of the offset there
// The chamber alone is counted for dT and dP; an inlet adds in proportion to its volume.
//
// Subtraction carries all of them. Equal lags and the filters do not care for rate and direction;
// the filters compute tau at the leaf's own flow, temperature and pressure where the chamber's
// volume is known, and then carry none of those.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "base/setting.hpp"
#include "ramp/gas_path.hpp"
#include "ramp/record.hpp"

namespace leafwright {

enum class ConditionLevel { ok, warn, refuse };
const char* condition_level_name(ConditionLevel level);  ///< "ok", "warn", "refuse"

/// What a correction takes from an empty record.
enum class PathUse {
  nothing,       ///< none: the lag stays in A; recorded: it was taken out
  differential,  ///< subtract: S - R as it was
  equal_lag,     ///< offsets only; the lags are equal in hardware
  filter,        ///< forward, balance, joint: lag and offsets, rescaled
};
/// Of the name of a correction. Error: usage.
Result<PathUse> path_use(std::string_view correction);

struct ConditionOptions {
  double warn = 0.1;    ///< error of A, umol m-2 s-1
  double refuse = 1.0;  ///< the same
  double max_age_days = 3;
  bool volume_known = true;           ///< can a filter be rescaled to another flow?
  std::optional<std::string> gasket;  ///< state of the gasket in the leaf's record
};

struct ConditionFinding {
  std::string about;  ///< "rate", "direction", "range", "flow", "temperature", "pressure",
                      ///< "gasket", "age", "lag"
  ConditionLevel level = ConditionLevel::ok;
  std::optional<double> error_A;  ///< umol m-2 s-1, where a size can be given
  std::string text;
};

struct ConditionReport {
  std::vector<ConditionFinding> findings;
  ConditionLevel worst = ConditionLevel::ok;
  [[nodiscard]] const ConditionFinding* find(std::string_view about) const;
};

/// Compares. `area` in cm2. What neither record tells is a finding of level ok that says so; a
/// gasket, date or temperature that only one tells is not compared.
/// Errors: usage, area or leaf flow not positive.
Result<ConditionReport> check_conditions(const GasPath& path, const PathConditions& leaf,
                                         double area, PathUse use,
                                         const ConditionOptions& options = {});

/// Days from one YYYY-MM-DD to another; empty where one is not a date.
std::optional<double> days_between(const std::string& from, const std::string& to);

}  // namespace leafwright
