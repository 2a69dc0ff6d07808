#include "figure/text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <stdexcept>

namespace leafwright {
namespace {

// Advance widths of DejaVu Sans 2.37, U+0020..U+007E, in thousandths of the font size.
constexpr std::array<int, 95> regular_widths = {
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361,  318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635,  611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352,  635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592,  525, 636, 337, 636, 838};
constexpr std::array<int, 95> bold_widths = {
    348,  456, 521, 838, 696, 1002, 872, 306,  457, 457, 523, 838, 380, 415,  380, 365,
    696,  696, 696, 696, 696, 696,  696, 696,  696, 696, 400, 400, 838, 838,  838, 580,
    1000, 774, 762, 734, 830, 683,  683, 821,  837, 372, 372, 775, 637, 995,  837, 850,
    733,  850, 770, 720, 682, 812,  774, 1103, 771, 724, 725, 457, 365, 457,  838, 500,
    500,  675, 716, 593, 716, 678,  435, 716,  712, 343, 343, 665, 343, 1042, 712, 687,
    716,  716, 493, 595, 478, 712,  652, 924,  645, 652, 582, 712, 365, 712,  838};

constexpr std::uint32_t replacement = 0xfffd;

bool allowed_in_xml(std::uint32_t c) {
  if (c < 0x20) return c == '\t' || c == '\n' || c == '\r';
  if (c >= 0x7f && c <= 0x9f) return false;  // allowed by XML, but control codes all the same
  return !(c >= 0xd800 && c <= 0xdfff) && c != 0xfffe && c != 0xffff && c <= 0x10ffff;
}

// The code point that starts at `i`, which moves past it; invalid bytes give U+FFFD one by one.
std::uint32_t next_code_point(std::string_view text, std::size_t& i) {
  const auto byte = [&](std::size_t k) { return static_cast<unsigned char>(text[k]); };
  const unsigned lead = byte(i);
  const std::size_t length = lead < 0x80             ? 1
                             : (lead & 0xe0) == 0xc0 ? 2
                             : (lead & 0xf0) == 0xe0 ? 3
                             : (lead & 0xf8) == 0xf0 ? 4
                                                     : 0;
  if (length == 0 || i + length > text.size()) {
    ++i;
    return replacement;
  }
  std::uint32_t c = length == 1 ? lead : lead & (0xffU >> (length + 1));
  for (std::size_t k = 1; k < length; ++k) {
    if ((byte(i + k) & 0xc0) != 0x80) {
      ++i;
      return replacement;
    }
    c = (c << 6U) | (byte(i + k) & 0x3fU);
  }
  constexpr std::array<std::uint32_t, 5> shortest = {0, 0, 0x80, 0x800, 0x10000};
  if (c < shortest[length] || !allowed_in_xml(c)) {
    ++i;
    return replacement;
  }
  i += length;
  return c;
}

void append_utf8(std::string& out, std::uint32_t c) {
  const auto put = [&](std::uint32_t byte) { out.push_back(static_cast<char>(byte)); };
  if (c < 0x80) {
    put(c);
  } else if (c < 0x800) {
    put(0xc0 | (c >> 6U)), put(0x80 | (c & 0x3fU));
  } else if (c < 0x10000) {
    put(0xe0 | (c >> 12U)), put(0x80 | ((c >> 6U) & 0x3fU)), put(0x80 | (c & 0x3fU));
  } else {
    put(0xf0 | (c >> 18U)), put(0x80 | ((c >> 12U) & 0x3fU));
    put(0x80 | ((c >> 6U) & 0x3fU)), put(0x80 | (c & 0x3fU));
  }
}

int thousandths(std::uint32_t c, bool bold) {
  if (c >= 0x20 && c <= 0x7e) return (bold ? bold_widths : regular_widths)[c - 0x20];
  if (c < 0x20) return 318;
  if (c >= 0x300 && c <= 0x36f) return 0;  // combining marks
  if (c == 0xb2 || c == 0xb3 || c == 0xb9 || (c >= 0x2070 && c <= 0x2089)) {
    return c == 0x207b ? 528 : 440;
  }
  if (c == 0xa0) return bold ? 348 : 318;
  if (c == 0x2013) return 500;
  if (c == 0x393 || c == 0xb5) return bold ? 740 : 640;
  if (c < 0x250) return bold ? 800 : 720;
  return c < 0x1100 ? 860 : 1050;
}

std::vector<std::uint32_t> code_points(std::string_view text) {
  std::vector<std::uint32_t> points;
  for (std::size_t i = 0; i < text.size();) points.push_back(next_code_point(text, i));
  return points;
}

std::string join(const std::vector<std::uint32_t>& points, std::size_t from, std::size_t to) {
  std::string out;
  for (std::size_t i = from; i < to; ++i) append_utf8(out, points[i]);
  return out;
}

}  // namespace

std::string clean_utf8(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (std::size_t i = 0; i < text.size();) {
    if (text[i] >= 0x20 && text[i] < 0x7f) {
      out += text[i++];
    } else {
      append_utf8(out, next_code_point(text, i));
    }
  }
  return out;
}

double text_width(std::string_view text, double size, bool bold) {
  int sum = 0;
  for (std::size_t i = 0; i < text.size();) sum += thousandths(next_code_point(text, i), bold);
  return size * sum / 1000.0;
}

std::string shorten(std::string_view text, double width, double size, bool bold) {
  if (text_width(text, size, bold) <= width) return clean_utf8(text);
  const std::vector<std::uint32_t> points = code_points(text);
  // The end of an id often tells leaves apart, so both ends are kept.
  for (std::size_t kept = points.size() - 1; kept > 0; --kept) {
    const std::size_t tail = kept / 3;
    std::string out =
        join(points, 0, kept - tail) + "…" + join(points, points.size() - tail, points.size());
    if (text_width(out, size, bold) <= width) return out;
  }
  return "…";
}

std::vector<std::string> wrap(std::string_view text, double width, double size, bool bold) {
  std::vector<std::string> lines;
  std::string line;
  const auto fits = [&](const std::string& s) { return text_width(s, size, bold) <= width; };
  const auto flush = [&] {
    if (!line.empty()) lines.push_back(line);
    line.clear();
  };
  const auto add_word = [&](const std::string& word) {
    if (fits(line.empty() ? word : line + " " + word)) {
      line += (line.empty() ? "" : " ") + word;
      return;
    }
    flush();
    for (const std::uint32_t c : code_points(word)) {
      std::string longer = line;
      append_utf8(longer, c);
      if (!line.empty() && !fits(longer)) {
        flush();
        append_utf8(line, c);
      } else {
        line = longer;
      }
    }
  };
  const std::string clean = clean_utf8(text);
  for (std::size_t at = 0; at < clean.size();) {
    const std::size_t end = std::min(clean.find_first_of(" \t\r\n", at), clean.size());
    if (end > at) add_word(clean.substr(at, end - at));
    at = end + 1;
  }
  flush();
  return lines;
}

std::string pretty_unit(std::string_view unit) {
  static constexpr std::pair<std::string_view, const char*> known[] = {
      {"umol m-2 s-1", "µmol m⁻² s⁻¹"},
      {"umol mol-1", "µmol mol⁻¹"},
      {"mmol mol-1", "mmol mol⁻¹"},
      {"mol m-2 s-1", "mol m⁻² s⁻¹"},
      {"mmol m-2 s-1", "mmol m⁻² s⁻¹"},
      {"degC", "°C"},
      {"umol mol-1 min-1", "µmol mol⁻¹ min⁻¹"},
  };
  for (const auto& [plain, pretty] : known) {
    if (unit == plain) return pretty;
  }
  return std::string(unit);
}

std::string pretty_number(double value, int digits) {
  if (!std::isfinite(value)) throw std::logic_error("a figure was given a number that is none");
  const double size = std::abs(value);
  std::string text = fmt::format("{:.{}g}", size, digits);
  if (size >= std::pow(10.0, digits) && size < 99999.5) text = fmt::format("{:.0f}", size);
  const std::size_t e = text.find('e');
  if (e != std::string::npos) {
    std::string exponent = text.substr(e + 1);
    std::string sign = exponent[0] == '-' ? "−" : "";
    exponent.erase(0, exponent.find_first_not_of("+-0"));
    text = text.substr(0, e) + "e" + sign + exponent;
  }
  return (value < 0 && text != "0" ? "−" : "") + text;
}

}  // namespace leafwright
