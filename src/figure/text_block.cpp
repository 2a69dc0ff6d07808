#include "figure/text_block.hpp"

#include <algorithm>

#include "figure/text.hpp"

namespace leafwright {
namespace {

constexpr double size = 6.5;  // pt
constexpr double row = 1.4 * size;
constexpr double column_gap = 8;

std::vector<double> column_widths(const TextBlock& block) {
  std::vector<double> widths;
  for (std::size_t i = 0; i < block.table.size(); ++i) {
    const std::vector<std::string>& cells = block.table[i];
    widths.resize(std::max(widths.size(), cells.size()), 0);
    for (std::size_t k = 0; k < cells.size(); ++k) {
      const bool bold = i == 0 || k == 0;
      widths[k] = std::max(widths[k], text_width(cells[k], size, bold) + column_gap);
    }
  }
  return widths;
}

// "Vcmax: value 61.2; interval 58.6 to 64.1"
std::string row_as_text(const std::vector<std::string>& head,
                        const std::vector<std::string>& cells) {
  std::string text = cells.empty() ? "" : cells[0] + ":";
  for (std::size_t k = 1; k < cells.size(); ++k) {
    if (cells[k].empty()) continue;
    text += (k > 1 ? "; " : " ") + (k < head.size() ? head[k] + " " : "") + cells[k];
  }
  return text;
}

double draw_table(SvgWriter* svg, const TextBlock& block, const std::vector<double>& widths,
                  double left, double top) {
  double y = top;
  for (std::size_t i = 0; i < block.table.size(); ++i) {
    y += row;
    double x = left;
    for (std::size_t k = 0; k < block.table[i].size(); ++k) {
      const std::string& cell = block.table[i][k];
      if (svg && !cell.empty()) {
        svg->text(x, y, cell, {size, i == 0 ? Ink::muted : Ink::ink, Anchor::start, k == 0});
      }
      x += widths[k];
    }
    if (i == 0) {
      if (svg) svg->line(left, y + 2.2, x - column_gap, y + 2.2, Paint{Ink::none, Ink::muted, 0.5});
      y += 2;
    }
  }
  return y - top + 3;
}

}  // namespace

double draw_text_block(SvgWriter* svg, const TextBlock& block, double left, double top,
                       double width) {
  const std::vector<double> widths = column_widths(block);
  double needed = -column_gap;
  for (const double w : widths) needed += w;
  std::vector<std::string> paragraphs;
  double y = top;
  if (needed <= width && !block.table.empty()) {
    y += draw_table(svg, block, widths, left, top);
  } else {
    for (std::size_t i = 1; i < block.table.size(); ++i) {
      paragraphs.push_back(row_as_text(block.table[0], block.table[i]));
    }
  }
  paragraphs.insert(paragraphs.end(), block.paragraphs.begin(), block.paragraphs.end());
  for (const std::string& paragraph : paragraphs) {
    for (const std::string& text : wrap(paragraph, width, size)) {
      y += row;
      if (svg) svg->text(left, y, text, {size});
    }
    y += 1.5;
  }
  return y - top + 2;
}

}  // namespace leafwright
