// A-Ci curves cut from a table: the typed rows that the fit needs, with their places in the file.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"

namespace leafwright {

/// One row of a curve. Units: A umol m-2 s-1, Ci umol mol-1, Tleaf degC, Patm kPa,
/// Qin umol m-2 s-1. `row` is the zero-based row within the curve (unused rows counted).
struct CurveRow {
  std::size_t row = 0;
  Place place;
  double A = 0;
  double Ci = 0;
  double Tleaf = 0;
  double Patm = 0;
  std::optional<double> Qin;
  std::optional<double> gsw = {};      ///< mmol m-2 s-1
  std::optional<double> CO2s = {};     ///< of the air at the leaf, umol mol-1
  std::optional<double> seconds = {};  ///< time, on an axis that the rows of a curve share
  std::optional<double> rday;          ///< the column named by --rday column:NAME
  std::optional<double> sd = {};       ///< of A, the column named by --sd-column, > 0
  std::string group = {};              ///< text of PointsOptions::group_column
  bool use = true;
  std::string why;  ///< why it is not used ("" if used)
};

/// A curve as it stands in the file, in file order.
struct Curve {
  std::string curve_id;
  std::vector<CurveRow> rows;
  Notes notes;
};

}  // namespace leafwright
