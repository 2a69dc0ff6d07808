#include "figure/svg.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <stdexcept>

#include "figure/text.hpp"

namespace leafwright {
namespace {

const char* dash_array(Dash dash) {
  switch (dash) {
    case Dash::solid:
      return "";
    case Dash::dashes:
      return "5 2";
    case Dash::dash_dot:
      return "6 2 1 2";
    case Dash::dots:
      return "1 1.8";
    case Dash::short_dashes:
      return "2.5 2";
  }
  return "";
}

PathData shape_path(Shape shape, double x, double y, double r) {
  PathData d;
  switch (shape) {
    case Shape::square: {
      const double h = 0.89 * r;
      return d.move(x - h, y - h).line(x + h, y - h).line(x + h, y + h).line(x - h, y + h).close();
    }
    case Shape::triangle:
      return d.move(x, y - 1.3 * r)
          .line(x + 1.2 * r, y + 0.85 * r)
          .line(x - 1.2 * r, y + 0.85 * r)
          .close();
    case Shape::diamond:
      return d.move(x, y - 1.35 * r)
          .line(x + 1.35 * r, y)
          .line(x, y + 1.35 * r)
          .line(x - 1.35 * r, y)
          .close();
    case Shape::cross:
      return d.move(x - r, y - r).line(x + r, y + r).move(x - r, y + r).line(x + r, y - r);
    case Shape::plus:
      return d.move(x - r, y).line(x + r, y).move(x, y - r).line(x, y + r);
    case Shape::circle:
    case Shape::ring:
      break;
  }
  throw std::logic_error("this shape is not drawn as a path");
}

const char* escaped(char c) {
  switch (c) {
    case '&':
      return "&amp;";
    case '<':
      return "&lt;";
    case '>':
      return "&gt;";
    case '"':
      return "&quot;";
    case '\'':
      return "&#39;";
    case '\n':
      return "&#10;";
    case '\r':
      return "&#13;";
    case '\t':
      return "&#9;";
    default:
      return nullptr;
  }
}

void append_clean(std::string& out, std::string_view text) {
  for (const char c : text) {
    if (const char* name = escaped(c)) {
      out += name;
    } else {
      out += c;
    }
  }
}

/// A figure of a ramp holds thousands of texts, nearly all of which are copied as they stand.
void append_escaped(std::string& out, std::string_view text) {
  const bool plain = std::all_of(text.begin(), text.end(), [](char c) {
    return c >= 0x20 && c < 0x7f && c != '&' && c != '<' && c != '>' && c != '"' && c != '\'';
  });
  if (plain) {
    out += text;
  } else {
    append_clean(out, clean_utf8(text));
  }
}

/// "{:.{decimals}f}". The product is off by less than 1e-6: where its fraction is well away from
/// one half, rounding it is rounding the exact value. That is nearly always, and much faster.
std::string fixed_text(double value, int decimals) {
  constexpr std::array<double, 4> tens = {1, 10, 100, 1000};
  if (decimals < 0 || decimals >= static_cast<int>(tens.size())) {
    return fmt::format("{:.{}f}", value, decimals);
  }
  const auto after = static_cast<std::size_t>(decimals);
  const double product = std::abs(value) * tens[after], below = std::floor(product);
  if (!(product < 1e9) || std::abs(product - below - 0.5) < 1e-4) {
    return fmt::format("{:.{}f}", value, decimals);
  }
  std::string text =
      std::to_string(static_cast<std::uint64_t>(below) + (product - below > 0.5 ? 1 : 0));
  if (text.size() <= after) text.insert(0, after + 1 - text.size(), '0');
  if (after > 0) text.insert(text.size() - after, 1, '.');
  return std::signbit(value) ? "-" + text : text;
}

void append_number(std::string& out, double value, int decimals) {
  if (!std::isfinite(value)) throw std::logic_error("a figure was given a number that is none");
  std::string text = fixed_text(value, decimals);
  if (text.find('.') != std::string::npos) {
    text.erase(text.find_last_not_of('0') + 1);
    if (text.back() == '.') text.pop_back();
  }
  out += text == "-0" ? "0" : text;
}

}  // namespace

std::string escape_xml(std::string_view text) {
  std::string out;
  append_escaped(out, text);
  return out;
}

std::string svg_number(double value, int decimals) {
  std::string out;
  append_number(out, value, decimals);
  return out;
}

PathData& PathData::step(char what, double x, double y) {
  text_ += what;
  append_number(text_, x, 2);
  text_ += ' ';
  append_number(text_, y, 2);
  return *this;
}
PathData& PathData::move(double x, double y) {
  return step('M', x, y);
}
PathData& PathData::line(double x, double y) {
  return step('L', x, y);
}
PathData& PathData::close() {
  text_ += "Z";
  return *this;
}

SvgWriter::SvgWriter(double width_mm, double height_mm, Theme theme, std::string_view title,
                     std::string_view desc)
    : width_(width_mm * pt_per_mm), height_(height_mm * pt_per_mm), dark_(theme == Theme::dark) {
  if (!(width_mm > 0 && height_mm > 0)) throw std::logic_error("a figure needs a size");
  start("svg");
  attribute("xmlns", "http://www.w3.org/2000/svg");
  attribute("role", "img");
  attribute("aria-label", title);
  attribute("width", svg_number(width_mm) + "mm");
  attribute("height", svg_number(height_mm) + "mm");
  attribute("viewBox", "0 0 " + svg_number(width_, 3) + " " + svg_number(height_, 3));
  attribute("font-family", "DejaVu Sans, sans-serif");
  out_ += "><title>" + escape_xml(title) + "</title><desc>" + escape_xml(desc) + "</desc>\n";
  if (theme == Theme::automatic) {
    out_ += "<style>@media (prefers-color-scheme:dark){" + ink_style_rules(true) + "}</style>\n";
  }
  rect(0, 0, width_, height_, Paint{Ink::paper, Ink::none});
}

void SvgWriter::start(std::string_view name) {
  out_.append("<").append(name);
}

void SvgWriter::attribute(std::string_view name, std::string_view value) {
  out_.append(" ").append(name).append("=\"");
  append_escaped(out_, value);
  out_ += '"';
}

void SvgWriter::attribute(std::string_view name, double value) {
  out_.append(" ").append(name).append("=\"");
  append_number(out_, value, 2);
  out_ += '"';
}

void SvgWriter::paint(const Paint& paint) {
  std::string classes;
  if (paint.fill != Ink::none) classes += std::string("f-") + ink_name(paint.fill);
  if (paint.stroke != Ink::none) {
    classes += std::string(classes.empty() ? "" : " ") + "s-" + ink_name(paint.stroke);
  }
  if (!classes.empty()) attribute("class", classes);
  attribute("fill", ink_hex(paint.fill, dark_));
  if (paint.opacity < 1) attribute("fill-opacity", paint.opacity);
  if (paint.stroke == Ink::none) return;
  if (paint.width < thinnest_line) throw std::logic_error("a line thinner than 0.5 pt");
  attribute("stroke", ink_hex(paint.stroke, dark_));
  attribute("stroke-width", paint.width);
  if (paint.dash != Dash::solid) attribute("stroke-dasharray", dash_array(paint.dash));
}

void SvgWriter::end(std::string_view name, const Attributes& attributes, std::string_view tooltip) {
  for (const auto& [key, value] : attributes) attribute(key, value);
  if (tooltip.empty()) {
    out_ += "/>\n";
  } else {
    out_ += "><title>";
    append_escaped(out_, tooltip);
    out_.append("</title></").append(name).append(">\n");
  }
}

void SvgWriter::open_group(const std::optional<Paint>& given, const Attributes& attributes,
                           std::string_view tooltip) {
  start("g");
  if (given) paint(*given);
  for (const auto& [key, value] : attributes) attribute(key, value);
  out_ += ">";
  if (!tooltip.empty()) out_.append("<title>").append(escape_xml(tooltip)).append("</title>");
  out_ += "\n";
  ++open_;
}

void SvgWriter::close_group() {
  if (open_ == 0) throw std::logic_error("no group is open");
  --open_;
  out_ += "</g>\n";
}

void SvgWriter::line(double x1, double y1, double x2, double y2, const std::optional<Paint>& given,
                     const Attributes& attributes, std::string_view tooltip) {
  start("line");
  attribute("x1", x1), attribute("y1", y1), attribute("x2", x2), attribute("y2", y2);
  if (given) paint(*given);
  end("line", attributes, tooltip);
}

void SvgWriter::rect(double x, double y, double w, double h, const std::optional<Paint>& given,
                     const Attributes& attributes, std::string_view tooltip) {
  start("rect");
  attribute("x", x), attribute("y", y), attribute("width", w), attribute("height", h);
  if (given) paint(*given);
  end("rect", attributes, tooltip);
}

void SvgWriter::path(const PathData& data, const std::optional<Paint>& given,
                     const Attributes& attributes, std::string_view tooltip) {
  start("path");
  attribute("d", data.text());
  if (given) paint(*given);
  end("path", attributes, tooltip);
}

void SvgWriter::marker(Shape shape, double x, double y, double r, const std::optional<Paint>& given,
                       const Attributes& attributes, std::string_view tooltip) {
  if (shape != Shape::circle && shape != Shape::ring) {
    path(shape_path(shape, x, y, r), given, attributes, tooltip);
    return;
  }
  start("circle");
  attribute("cx", x), attribute("cy", y), attribute("r", r);
  if (given) paint(*given);
  end("circle", attributes, tooltip);
}

void SvgWriter::text(double x, double y, std::string_view text, const TextStyle& style,
                     const Attributes& attributes, std::string_view tooltip) {
  if (style.size < smallest_text) throw std::logic_error("text smaller than 6 pt");
  start("text");
  attribute("x", x), attribute("y", y);
  attribute("font-size", style.size);
  if (style.bold) attribute("font-weight", "bold");
  if (style.anchor != Anchor::start) {
    attribute("text-anchor", style.anchor == Anchor::middle ? "middle" : "end");
  }
  if (style.upward) {
    attribute("transform", "rotate(-90 " + svg_number(x) + " " + svg_number(y) + ")");
  }
  paint(Paint{style.ink, style.halo ? Ink::paper : Ink::none, 2});
  if (style.halo) attribute("paint-order", "stroke"), attribute("stroke-linejoin", "round");
  for (const auto& [key, value] : attributes) attribute(key, value);
  out_ += ">";
  if (!tooltip.empty()) out_.append("<title>").append(escape_xml(tooltip)).append("</title>");
  out_ += escape_xml(text) + "</text>\n";
}

std::string SvgWriter::finish() {
  if (open_ != 0) throw std::logic_error("a group was left open");
  out_ += "</svg>\n";
  return std::move(out_);
}

Paint marker_paint(Shape shape, Ink ink) {
  if (shape == Shape::cross || shape == Shape::plus) return Paint{Ink::none, ink, 0.9};
  if (shape == Shape::ring) return Paint{Ink::paper, ink, 0.9};
  return Paint{ink, Ink::paper, 0.5};
}

}  // namespace leafwright
