// Lays out a TextBlock: a small table and wrapped paragraphs, in a column of given width.
#pragma once

#include "figure/chart.hpp"

namespace leafwright {

/// Draws into `svg`, or only measures where it is null. Returns the height in pt. A table too wide
/// for the column is written as paragraphs instead, one a row: nothing is cut off.
double draw_text_block(SvgWriter* svg, const TextBlock& block, double left, double top,
                       double width);

}  // namespace leafwright
