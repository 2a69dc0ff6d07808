// Screening: what speaks against a row, with the rule, its numbers and where the rule comes from.
// Nothing is removed. A rule that shows a row to be no measurement of this leaf at this moment
// excludes it (use = 0, why); a rule that only finds it unusual flags it, for unusual is not wrong
// (docs/methods-logs.md argues each).
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "air/flags.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"

namespace leafwright {

enum class ScreenRule : std::uint8_t {
  // exclude
  not_finite,  ///< no A, or no Ci
  Ci_not_positive,
  gsw_not_positive,
  repeated,    ///< the row repeats the one before in all that was measured
  equalising,  ///< the cells were being equalised
  // flag
  outlier,
  not_steady,
  flow_off,
  temperature_off,
  light_off,
  air,  ///< one of FluxFlag; its own name stands in the results
};

struct ScreenRuleInfo {
  ScreenRule rule;
  std::string_view name;  ///< stable short key
  bool excludes;
  std::string_view meaning;
  std::string_view source;
};
std::span<const ScreenRuleInfo> screen_rules();
const ScreenRuleInfo& screen_rule(ScreenRule rule);

struct ScreenChoice {
  bool on = true;
  double outlier_sd = 5;       ///< robust standard deviations
  double outlier_A = 1;        ///< and at least so much, umol m-2 s-1
  double flow_off = 5;         ///< % of the curve's median
  double temperature_off = 2;  ///< K from the curve's median
  double light_off = 5;        ///< % of the curve's median
};

/// One curve, series of equal length in file order; a series that is not known is empty. Not a
/// number is a missing value.
struct ScreenSeries {
  std::span<const double> A, Ci, gsw, flow, Tleaf, Qin;
  std::span<const char> repeat;      ///< 1: repeats the row before
  std::span<const char> equalising;  ///< 1: in progress
  std::span<const char> use;         ///< 0: out already; not judged, nor used to judge others
  bool points = true;                ///< rows are A-Ci points: neighbours in Ci can be compared
};

struct ScreenResult {
  std::vector<std::string> why;       ///< one per row; "" : nothing excludes it
  std::vector<std::uint32_t> flags;   ///< bits of `1 << ScreenRule`, of flags only
  std::vector<std::string> examples;  ///< per flag raised, one with its numbers
};

/// Judges. With `on` false nothing is said.
ScreenResult screen(const ScreenSeries& series, const ScreenChoice& choice);

/// The settings `screen`, `outlier-sd`, `outlier-a`, `flow-off`, `temperature-off`, `light-off`.
SettingTable screen_settings();
ScreenChoice screen_choice(const Settings& settings);

}  // namespace leafwright
