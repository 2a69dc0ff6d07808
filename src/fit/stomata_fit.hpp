// Stomatal models of leaf/stomata.hpp fitted to gsw against what drives it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/error.hpp"
#include "fit/response_fit.hpp"

namespace leafwright {

enum class StomataModel { ball_berry, leuning, medlyn };
/// "ball-berry", "leuning", "medlyn". Error: usage, naming the three.
Result<StomataModel> find_stomata_model(std::string_view name);

/// One record, in the units of quantity/symbol.hpp.
struct StomataRow {
  double gsw = 0;                 ///< mmol m-2 s-1
  double A = 0;                   ///< umol m-2 s-1
  double CO2s = 0;                ///< umol mol-1
  std::optional<double> RHs;      ///< %, needed by ball-berry
  std::optional<double> VPDleaf;  ///< kPa, needed by the others
  std::string leaf;
  std::size_t row = 0;
  Place place;
};

struct StomataOptions {
  StomataModel model = StomataModel::medlyn;
  std::optional<double> g0;     ///< mmol m-2 s-1, fixed; empty: fitted
  std::optional<double> Gamma;  ///< umol mol-1, needed by leuning
  double D0 = 1.5;              ///< kPa, leuning only, fixed
};

/// Fits one group; x of the points is the model's index, in which gsw is a straight line:
/// A h/cs, A/[(cs - Gamma)(1 + D/D0)], or 1.6 A/(ca sqrt(D)) with gsw less 1.6 A/ca. Rows with
/// A <= 0 or a driver that is missing or out of range are left out, with the reason. Estimates: m,
/// a1 or g1, and g0. Errors: unfit, for fewer than three rows; usage, for leuning without Gamma.
Result<ResponseFit> fit_stomata(const std::vector<StomataRow>& rows, const StomataOptions& options);

}  // namespace leafwright
