// The pictures of a comparison of two methods: ratios of parameters leaf by leaf, the difference of
// A along Ci, and both curves of one leaf.
#pragma once

#include <cstddef>
#include <string>

#include "base/error.hpp"
#include "figure/svg.hpp"
#include "stats/agreement.hpp"

namespace leafwright {

struct AgreeFigureOptions {
  double width_mm = 85;  ///< 60 to 400
  Theme theme = Theme::light;
};

/// Ratios first/second on a log axis: one row a leaf with the 95 % of its fits' own errors, the
/// mean of the plants with its interval, limits of agreement (dashed) and the zone of the margin.
/// From 150 mm on the parameters stand side by side. A leaf without a ratio keeps its row and says
/// why in the tooltip. What the axis cannot hold ends in an arrow. Parameters compared by
/// difference (Rday) are not drawn. Errors: usage, for a width outside 60..400 mm or no parameter
/// with a ratio.
Result<std::string> ratio_figure(const AgreementInput& input, const AgreementResult& result,
                                 const AgreeFigureOptions& options);

/// Difference of A at equal Ci: every leaf thin, the mean bold with its simultaneous band, the
/// margin of A (if any) as dashed lines. Errors: usage, as above or where nothing was compared.
Result<std::string> difference_figure(const AgreementInput& input, const AgreementResult& result,
                                      const AgreementRules& rules,
                                      const AgreeFigureOptions& options);

/// Both curves of one leaf (rows of both methods), and below their difference with its band.
/// `pair` is an index into `input.pairs`. Errors: usage, for a width outside 60..400 mm.
Result<std::string> leaf_figure(const AgreementInput& input, const AgreementResult& result,
                                std::size_t pair, const AgreeFigureOptions& options);

}  // namespace leafwright
