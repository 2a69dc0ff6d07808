// Colours of every figure, named by what the eye sees, in a light and a dark theme.
//
// The hues are Okabe & Ito's (Color Universal Design, 2008; Wong 2011, Nature Methods 8:441). On
// white only black, blue, vermillion, green and purple reach 3:1 as marks (WCAG 2.2, 1.4.11), so
// the others are not offered there; in the dark theme blue gives way to their sky blue. Text is
// only ever drawn in `ink` or `muted`, which pass 4.5:1 (1.4.3) in both themes. Meaning is never
// carried by colour alone: shape and dash repeat it.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "base/error.hpp"

namespace leafwright {

/// `automatic` draws the light theme and lets a viewer that prefers dark see the dark one. Files
/// meant for print use `light`.
enum class Theme { light, dark, automatic };

/// "light", "dark", "auto". Error: usage, naming the three.
Result<Theme> find_theme(std::string_view name);

enum class Ink { none, paper, ink, muted, blue, vermillion, green, purple };
inline constexpr Ink drawn_inks[] = {Ink::paper,      Ink::ink,   Ink::muted, Ink::blue,
                                     Ink::vermillion, Ink::green, Ink::purple};

/// Short name, used in class names: "paper", "ink", "blue", ... ("none" for Ink::none).
const char* ink_name(Ink ink);

/// 0xRRGGBB in one theme; `Ink::none` has no colour and throws std::logic_error.
std::uint32_t ink_rgb(Ink ink, bool dark);

/// "#0072b2", or "none".
std::string ink_hex(Ink ink, bool dark);

/// Contrast ratio of two colours, 1..21 (WCAG 2.2: (L1 + 0.05)/(L2 + 0.05), sRGB luminance).
double contrast_ratio(std::uint32_t a, std::uint32_t b);

/// Rules `.f-NAME{fill:...}.s-NAME{stroke:...}` for every ink. Every mark of a figure carries these
/// classes beside its colour attributes, so that a page with a strict content-security policy
/// (which ignores a <style> inside the SVG) can hold the same rules in its own style sheet.
std::string ink_style_rules(bool dark);

}  // namespace leafwright
