// What must hold for every figure, whatever it shows.
#pragma once

#include <gtest/gtest.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <string>

#include "figure/colours.hpp"
#include "figure/svg.hpp"
#include "figure/text.hpp"
#include "svg_reader.hpp"

namespace leafwright::fixtures {

inline double number(const std::string& text) {
  char* end = nullptr;
  const double value = std::strtod(text.c_str(), &end);
  EXPECT_TRUE(!text.empty() && *end == '\0') << "not a number: " << text;
  return value;
}

/// An attribute of the element or of the nearest group around it, as SVG hands paint down.
inline std::string inherited(const std::vector<Element>& all, const Element& e,
                             const std::string& key) {
  const Element* at = &e;
  while (!at->has(key) && at->depth > 0) at = &all[at->parent];
  return at->get(key);
}

inline std::uint32_t rgb_of(const std::string& hex) {
  return static_cast<std::uint32_t>(std::strtoul(hex.c_str() + 1, nullptr, 16));
}

struct Extent {
  double left, top, right, bottom;
};

inline Extent text_extent(const Element& e) {
  const double x = number(e.get("x"));
  const double y = number(e.get("y"));
  const double size = number(e.get("font-size"));
  const double w = text_width(e.text, size, e.get("font-weight") == "bold");
  const std::string anchor = e.get("text-anchor");
  const double before = anchor == "middle" ? w / 2 : anchor == "end" ? w : 0;
  if (e.has("transform")) return {x - size, y - (w - before), x + 0.3 * size, y + before};
  return {x - before, y - 0.8 * size, x - before + w, y + 0.25 * size};
}

inline void grow(Extent& extent, double x, double y) {
  extent = {std::min(extent.left, x), std::min(extent.top, y), std::max(extent.right, x),
            std::max(extent.bottom, y)};
}

inline Extent path_extent(const std::string& data) {
  Extent extent{1e9, 1e9, -1e9, -1e9};
  const char* at = data.c_str();
  while (*at != '\0') {
    if (*at == 'M' || *at == 'L') {
      char* end = nullptr;
      const double x = std::strtod(at + 1, &end);
      const double y = std::strtod(end, &end);
      grow(extent, x, y);
      at = end;
    } else {
      EXPECT_EQ(*at, 'Z') << data;
      ++at;
    }
  }
  return extent;
}

inline Extent extent_of(const Element& e) {
  const auto n = [&](const char* key) { return number(e.get(key)); };
  if (e.name == "text") return text_extent(e);
  if (e.name == "path") return path_extent(e.get("d"));
  if (e.name == "circle") {
    return {n("cx") - n("r"), n("cy") - n("r"), n("cx") + n("r"), n("cy") + n("r")};
  }
  if (e.name == "line") {
    return {std::min(n("x1"), n("x2")), std::min(n("y1"), n("y2")), std::max(n("x1"), n("x2")),
            std::max(n("y1"), n("y2"))};
  }
  return {n("x"), n("y"), n("x") + n("width"), n("y") + n("height")};
}

inline bool is_drawn(const Element& e) {
  static const std::string drawn[] = {"text", "path", "circle", "line", "rect"};
  return std::find(std::begin(drawn), std::end(drawn), e.name) != std::end(drawn);
}

/// Contrast as WCAG 2.2 asks of text (1.4.3) and of marks (1.4.11), sizes, and bounds.
inline void check_element(const std::vector<Element>& all, const Element& e, double width,
                          double height, bool dark) {
  const std::uint32_t paper = ink_rgb(Ink::paper, dark);
  const std::string fill = inherited(all, e, "fill");
  const std::string stroke = inherited(all, e, "stroke");
  const auto contrast = [&](const std::string& hex) { return contrast_ratio(rgb_of(hex), paper); };
  const bool is_paper = fill == ink_hex(Ink::paper, dark);
  if (e.name == "text") {
    EXPECT_GE(contrast(fill), 4.5) << e.text;
    EXPECT_GE(number(e.get("font-size")), smallest_text) << e.text;
  } else if (!fill.empty() && fill != "none" && !is_paper && !e.has("fill-opacity")) {
    EXPECT_GE(contrast(fill), 3.0) << e.name;
  }
  const bool has_stroke = !stroke.empty() && stroke != "none";
  if (has_stroke) {
    EXPECT_GE(number(inherited(all, e, "stroke-width")), thinnest_line);
    if (stroke != ink_hex(Ink::paper, dark)) {
      EXPECT_GE(contrast(stroke), 3.0) << e.name;
    }
  }
  EXPECT_TRUE(e.depth == 1 || !is_paper || has_stroke) << "a mark in the colour of the paper";
  const Extent extent = extent_of(e);
  const double slack = 0.02;  // two decimals
  EXPECT_GE(extent.left, -slack) << e.name << " " << e.text;
  EXPECT_GE(extent.top, -slack) << e.name << " " << e.text;
  EXPECT_LE(extent.right, width + slack) << e.name << " " << e.text;
  EXPECT_LE(extent.bottom, height + slack) << e.name << " " << e.text;
}

inline bool has_word(const std::string& text, const std::string& word) {
  const auto letter = [](char c) { return std::isalpha(static_cast<unsigned char>(c)) != 0; };
  std::string lower = text;
  std::transform(lower.begin(), lower.end(), lower.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  for (std::size_t i = 0; (i = lower.find(word, i)) != std::string::npos; i += word.size()) {
    const bool before = i > 0 && letter(lower[i - 1]);
    const bool after = i + word.size() < lower.size() && letter(lower[i + word.size()]);
    if (!before && !after) return true;
  }
  return false;
}

/// Everything above for a whole figure; returns its elements.
inline std::vector<Element> check_figure(const std::string& svg, bool dark = false) {
  std::vector<Element> all;
  EXPECT_NO_THROW(all = read_svg(svg));
  if (all.empty()) return all;
  EXPECT_EQ(all[0].name, "svg");
  EXPECT_EQ(all[0].get("role"), "img");
  EXPECT_FALSE(all[0].title.empty());
  EXPECT_EQ(all[2].name, "desc");
  EXPECT_FALSE(all[2].text.empty());
  EXPECT_FALSE(has_word(svg, "nan")) << "NaN in a figure";
  EXPECT_FALSE(has_word(svg, "inf")) << "infinity in a figure";
  const std::string box = all[0].get("viewBox");
  EXPECT_EQ(box.rfind("0 0 ", 0), 0U);
  const std::size_t gap = box.find(' ', 4);
  const double width = number(box.substr(4, gap - 4));
  const double height = number(box.substr(gap + 1));
  EXPECT_NEAR(number(all[0].get("width").substr(0, all[0].get("width").size() - 2)),
              width / pt_per_mm, 0.01);
  for (const Element& e : all) {
    if (is_drawn(e)) check_element(all, e, width, height, dark);
  }
  return all;
}

inline bool has_text(const std::vector<Element>& all, const std::string& text) {
  return std::any_of(all.begin(), all.end(), [&](const Element& e) {
    return e.name == "text" && e.text.find(text) != std::string::npos;
  });
}

}  // namespace leafwright::fixtures
