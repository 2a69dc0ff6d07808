// All curves of a campaign at a glance: small multiples, worst first.
#pragma once

#include <string>
#include <vector>

#include "base/error.hpp"
#include "figure/svg.hpp"
#include "fit/result.hpp"
#include "log/curve.hpp"

namespace leafwright {

/// One curve. `fit` is null where it failed, and `why` then says why. Pointers must outlive the
/// call.
struct SheetCurve {
  const Curve* curve = nullptr;
  const CurveFit* fit = nullptr;
  std::string why;
};

struct ContactSheetOptions {
  double width_mm = 180;
  int columns = 4;         ///< 1..12, each at least 25 mm wide
  int rows = 6;            ///< a page; 0: one tall page with all curves
  bool same_axes = false;  ///< one pair of axes for all (an absurd value then squeezes the rest)
  Theme theme = Theme::light;
};

/// How much a curve wants to be looked at. Curves are ordered by, in this order: failed; not
/// certified; number of warnings; number of cautions; RMSE relative to the range of A of the used
/// rows (a range of 0 counts as the worst). Ties keep the order given.
struct SheetScore {
  bool failed = false;
  bool uncertified = false;
  std::size_t warnings = 0;
  std::size_t cautions = 0;
  double relative_rmse = 0;
};
SheetScore sheet_score(const SheetCurve& curve);
bool worse(const SheetScore& a, const SheetScore& b);

/// Indices of `curves`, worst first.
std::vector<std::size_t> worst_first(const std::vector<SheetCurve>& curves);

/// The pages as SVG, worst curve first. Pages hold columns x rows thumbnails (24 by default, a page
/// of at most 180 x 225 mm for print and a quick first page on screen); `rows` 0 gives one tall
/// page instead. Each thumbnail is a group with data-curve (its id) that holds its points by state
/// (with data-row and data-line), the model line, Vcmax and J, and flags told apart by shape.
/// Errors: usage, for a width outside 60..400 mm, columns that are too narrow or out of range, a
/// negative number of rows, no curve, or an entry without a curve.
Result<std::vector<std::string>> contact_sheet(const std::vector<SheetCurve>& curves,
                                               const ContactSheetOptions& options);

}  // namespace leafwright
