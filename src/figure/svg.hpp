// The one SVG writer: for the page, the report and files alike.
//
// Coordinates are in pt (1/72 inch): the root states its size in mm and a viewBox in pt, so a font
// size or line width given here is its size on paper. Text stays text; nothing is clipped, filtered
// or referenced by id, so several figures can stand in one page. The same calls give the same bytes
// on every machine: numbers are written with at most two decimals, whatever the locale.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "figure/colours.hpp"

namespace leafwright {

inline constexpr double pt_per_mm = 72.0 / 25.4;
inline constexpr double smallest_text = 6.0;  ///< pt at final size
inline constexpr double thinnest_line = 0.5;  ///< pt at final size

enum class Dash { solid, dashes, dash_dot, dots, short_dashes };
enum class Shape { circle, square, triangle, diamond, cross, ring, plus };
enum class Anchor { start, middle, end };

/// How an outline and an inside are painted. Line widths under `thinnest_line` throw.
struct Paint {
  Ink fill = Ink::none;
  Ink stroke = Ink::none;
  double width = 0.75;  ///< pt, of the stroke
  Dash dash = Dash::solid;
  double opacity = 1;  ///< of the fill
};

struct TextStyle {
  double size = 7;  ///< pt; under `smallest_text` throws
  Ink ink = Ink::ink;
  Anchor anchor = Anchor::start;
  bool bold = false;
  bool upward = false;  ///< turned to read from bottom to top
  bool halo = false;    ///< outlined in paper colour, for text over marks
};

/// Extra attributes such as {"data-row", "7"}. Names are the caller's and not checked.
using Attributes = std::vector<std::pair<std::string, std::string>>;

/// Escapes & < > " ' and line breaks, and replaces what XML 1.0 forbids (see clean_utf8).
std::string escape_xml(std::string_view text);

/// Shortest text with at most `decimals` decimals: "12.5", "0", "-3.14". Not finite throws
/// std::logic_error: nothing that is not a number may reach a figure.
std::string svg_number(double value, int decimals = 2);

/// Data of a <path>: moves and straight lines.
class PathData {
 public:
  PathData& move(double x, double y);
  PathData& line(double x, double y);
  PathData& close();
  [[nodiscard]] const std::string& text() const { return text_; }
  [[nodiscard]] bool empty() const { return text_.empty(); }

 private:
  PathData& step(char what, double x, double y);
  std::string text_;
};

class SvgWriter {
 public:
  /// A figure of `width_mm` x `height_mm` with its text alternative: a short `title` (what it is)
  /// and a `desc` (axes, units, main finding).
  SvgWriter(double width_mm, double height_mm, Theme theme, std::string_view title,
            std::string_view desc);

  [[nodiscard]] double width() const { return width_; }    ///< pt
  [[nodiscard]] double height() const { return height_; }  ///< pt

  /// Groups pass their paint on to the marks inside that name none of their own.
  void open_group(const std::optional<Paint>& paint, const Attributes& attributes = {},
                  std::string_view tooltip = {});
  void close_group();

  void line(double x1, double y1, double x2, double y2, const std::optional<Paint>& paint,
            const Attributes& attributes = {}, std::string_view tooltip = {});
  void rect(double x, double y, double w, double h, const std::optional<Paint>& paint,
            const Attributes& attributes = {}, std::string_view tooltip = {});
  void path(const PathData& data, const std::optional<Paint>& paint,
            const Attributes& attributes = {}, std::string_view tooltip = {});
  /// A marker of about the area of a circle of radius `r`.
  void marker(Shape shape, double x, double y, double r, const std::optional<Paint>& paint = {},
              const Attributes& attributes = {}, std::string_view tooltip = {});
  void text(double x, double y, std::string_view text, const TextStyle& style,
            const Attributes& attributes = {}, std::string_view tooltip = {});

  /// Ends the document and hands it over. An open group throws std::logic_error.
  std::string finish();

 private:
  void start(std::string_view name);
  void attribute(std::string_view name, std::string_view value);
  void attribute(std::string_view name, double value);
  void paint(const Paint& paint);
  void end(std::string_view name, const Attributes& attributes, std::string_view tooltip);

  double width_, height_;
  bool dark_;
  std::size_t open_ = 0;
  std::string out_;
};

/// The paint that suits a shape in one ink: filled shapes are edged with paper so that neighbours
/// stay apart, open shapes (cross, ring, plus) are strokes.
Paint marker_paint(Shape shape, Ink ink);

}  // namespace leafwright
