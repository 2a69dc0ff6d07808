#include "figure/colours.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace leafwright {
namespace {

struct InkEntry {
  Ink ink;
  const char* name;
  std::uint32_t light, dark;
};

// Sky blue stands in for blue on dark paper, where blue itself reaches only 3.6:1.
constexpr InkEntry inks[] = {
    {Ink::paper, "paper", 0xffffff, 0x121212},           {Ink::ink, "ink", 0x000000, 0xf2f2f2},
    {Ink::muted, "muted", 0x595959, 0xb8b8b8},           {Ink::blue, "blue", 0x0072b2, 0x56b4e9},
    {Ink::vermillion, "vermillion", 0xd55e00, 0xd55e00}, {Ink::green, "green", 0x009e73, 0x009e73},
    {Ink::purple, "purple", 0xcc79a7, 0xcc79a7},
};

const InkEntry& entry(Ink ink) {
  for (const InkEntry& e : inks) {
    if (e.ink == ink) return e;
  }
  throw std::logic_error("Ink::none has no colour");
}

double luminance(std::uint32_t rgb) {
  const auto channel = [](std::uint32_t byte) {
    const double s = static_cast<double>(byte & 0xffU) / 255.0;
    return s <= 0.04045 ? s / 12.92 : std::pow((s + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * channel(rgb >> 16U) + 0.7152 * channel(rgb >> 8U) + 0.0722 * channel(rgb);
}

}  // namespace

Result<Theme> find_theme(std::string_view name) {
  if (name == "light") return Theme::light;
  if (name == "dark") return Theme::dark;
  if (name == "auto") return Theme::automatic;
  return fail(ErrorCode::usage, fmt::format("unknown theme '{}'", name),
              "expected light, dark or auto");
}

const char* ink_name(Ink ink) {
  return ink == Ink::none ? "none" : entry(ink).name;
}

std::uint32_t ink_rgb(Ink ink, bool dark) {
  return dark ? entry(ink).dark : entry(ink).light;
}

std::string ink_hex(Ink ink, bool dark) {
  return ink == Ink::none ? "none" : fmt::format("#{:06x}", ink_rgb(ink, dark));
}

double contrast_ratio(std::uint32_t a, std::uint32_t b) {
  const double la = luminance(a);
  const double lb = luminance(b);
  return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

std::string ink_style_rules(bool dark) {
  std::string rules;
  for (const InkEntry& e : inks) {
    const std::string hex = ink_hex(e.ink, dark);
    rules += fmt::format(".f-{0}{{fill:{1}}}.s-{0}{{stroke:{1}}}", e.name, hex);
  }
  return rules;
}

}  // namespace leafwright
