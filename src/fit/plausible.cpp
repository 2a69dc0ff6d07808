#include "fit/plausible.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/number.hpp"
#include "fit/fitted.hpp"

namespace leafwright {
namespace {

constexpr const char* wullschleger =
    "Wullschleger 1993, J. Exp. Bot. 44:907 (abstract): 164 curves of 109 C3 species";
constexpr const char* as_measured = "found in published curves, each at its own leaf temperature";
constexpr const char* umol = "umol m-2 s-1";

// J/Vcmax: means from 2.59 - 0.035 x 35 to 2.59 - 0.035 x 11. Rday/Vcmax: 1.4 over 24.0.
constexpr std::array<PublishedRange, 10> ranges{{
    {"range-vcmax", "Vcmax", "C3", umol, 6, 194, as_measured, wullschleger},
    {"range-j", "J", "C3", umol, 17, 372,
     "of Jmax in published curves; little light gives a low J too", wullschleger},
    {"range-jmax", "Jmax", "C3", umol, 17, 372, "of published curves", wullschleger},
    {"range-tpu", "TPU", "C3", umol, 4.9, 20.1, "found in the 23 of 164 curves that showed TPU",
     wullschleger},
    {"range-j-vcmax", "J/Vcmax", "C3", "", 0.91, 3.31,
     "that is 1.5 times beyond published means of 1.37 to 2.21 (the factor 1.5: common practice, "
     "no source); little light gives a low ratio too",
     "Kattge & Knorr 2007, Plant Cell Environ. 30:1176, growth at 35 to 11 degC"},
    {"range-jmax-vcmax", "Jmax/Vcmax", "C3", "", 0.91, 3.31,
     "that is 1.5 times beyond published means of 1.37 to 2.21 (the factor 1.5: common practice, "
     "no source)",
     "Kattge & Knorr 2007, Plant Cell Environ. 30:1176, growth at 35 to 11 degC"},
    {"range-tpu-vcmax", "TPU/Vcmax", "C3", "", 0.083, 0.334,
     "that is half to twice a published mean of 0.167 (the factor 2: common practice, no source)",
     "Collatz et al. 1991, Agric. For. Meteorol. 54:107, in a technical note"},
    {"range-rday-vcmax",
     "Rday/Vcmax",
     "C3",
     "",
     {},
     0.058,
     "that is the highest Rday25 over the lowest Vcmax25 of four temperate trees, 1.4 / 24.0; "
     "Rday takes up a leak or an offset of A",
     "Kosugi & Matsuo 2006, Tree Physiol. 26:1173 (abstract)"},
    {"range-gm", "gm", "C3", "mol m-2 s-1 bar-1", 0.05, 0.5, "of reviews, near 25 degC",
     "Flexas et al. 2008, Plant Cell Environ. 31:602 (from memory)"},
    {"range-initial-slope", "initial_slope", "C4", "mol m-2 s-1", 0.3, 1.0, "usual for C4 leaves",
     "common practice, no source (from memory)"},
}};

/// What is known of a quantity: its value, or the end that a bound leaves.
struct Known {
  std::optional<double> value, low, high;
};

bool is_value(const Estimate& e) {
  return e.value && (e.status == Status::estimated || e.status == Status::fixed);
}

Known known_of(const CurveFit& fit, const Estimate& e) {
  // Published gm is per bar of CO2; the fit's is per mole fraction.
  const double scale = e.symbol == "gm" ? 100 / fit.Patm : 1;
  const auto scaled = [&](const std::optional<double>& v) {
    return v ? std::optional(*v * scale) : std::nullopt;
  };
  return {is_value(e) ? scaled(e.value) : std::nullopt, scaled(e.low), scaled(e.high)};
}

/// A capacity at 25 degC: moved by the fit's response, or measured within 2 K of it.
std::optional<double> at_25(const CurveFit& fit, std::string_view symbol) {
  const Estimate* e = find_estimate(fit, symbol);
  if (e == nullptr || !is_value(*e)) return {};
  for (const At25& moved : fit.at25) {
    if (moved.symbol == std::string(symbol) + "25" && moved.value) return moved.value;
  }
  if (std::abs(fit.Tleaf - 25) <= 2) return e->value;
  return {};
}

Known ratio_of(const CurveFit& fit, std::string_view quantity) {
  const std::size_t bar = quantity.find('/');
  const auto top = at_25(fit, quantity.substr(0, bar));
  const auto bottom = at_25(fit, quantity.substr(bar + 1));
  if (!top || !bottom || !(*bottom > 0)) return {};
  return {*top / *bottom, {}, {}};
}

std::string range_text(const PublishedRange& range) {
  if (!range.low) return "above " + print_rounded(*range.high, 4);
  if (!range.high) return "below " + print_rounded(*range.low, 4);
  return "outside " + print_rounded(*range.low, 4) + " to " + print_rounded(*range.high, 4);
}

void judge(CurveFit& fit, const PublishedRange& range, const Known& known) {
  // The side of the known that would have to be inside: the value, or what a bound leaves open.
  const auto at_least = known.value ? known.value : known.low;
  const auto at_most = known.value ? known.value : known.high;
  const bool above = range.high && at_least && *at_least > *range.high;
  const bool below = range.low && at_most && *at_most < *range.low;
  if (!above && !below) return;
  const bool reaches = known.value && ((above && known.low && *known.low <= *range.high) ||
                                       (below && known.high && *known.high >= *range.low));
  const char* relation = known.value ? " is " : (above ? " is at least " : " is at most ");
  const std::string unit = *range.unit == '\0' ? "" : std::string(" ") + range.unit;
  const bool ratio = std::string_view(range.quantity).find('/') != std::string_view::npos;
  fit.notes.push_back({NoteLevel::caution, range.key,
                       std::string(range.quantity) + (ratio ? " at 25 degC" : "") + relation +
                           print_rounded(above ? *at_least : *at_most, 4) + unit + ", " +
                           range_text(range) + " " + range.holds + " (" + range.source + ")" +
                           (reaches ? "; its interval reaches into that range" : "") +
                           ": look at area, units and Tleaf; unusual is not wrong"});
}

void flag_zero_respiration(CurveFit& fit) {
  const Estimate* rday = find_estimate(fit, "Rday");
  if (rday == nullptr || rday->status == Status::fixed || !rday->value || *rday->value > 0) return;
  fit.notes.push_back(
      {NoteLevel::caution, "range-rday-zero",
       "Rday is at 0, where the fit stops it: the rows by themselves ask for none or a negative "
       "one, which no leaf has; look for an offset of A or a leak, or give Rday with --rday"});
}

void flag_span_of_ci(CurveFit& fit) {
  if (fit.pathway != "C3" || fit.rows.empty() || std::abs(fit.Tleaf - 25) > 5) return;
  constexpr double pa = 1e-3;  // umol mol-1 x kPa
  const double lowest = fit.rows.front().Ci, highest = fit.rows.back().Ci;
  constexpr const char* source =
      "(Sharkey et al. 2007, Plant Cell Environ. 30:1035, from memory; for saturating light)";
  if (lowest * fit.Patm * pa > rubisco_below_pa) {
    fit.notes.push_back(
        {NoteLevel::caution, "range-ci-low",
         fmt::format("the lowest Ci used is {:.0f} umol mol-1 ({:.0f} Pa): none lies below {:.0f} "
                     "Pa, where Rubisco usually limits {}; Vcmax and Rday rest on other rows",
                     lowest, lowest * fit.Patm * pa, rubisco_below_pa, source)});
  }
  if (highest * fit.Patm * pa < rubp_above_pa) {
    fit.notes.push_back(
        {NoteLevel::caution, "range-ci-high",
         fmt::format("the highest Ci used is {:.0f} umol mol-1 ({:.0f} Pa): none lies above {:.0f} "
                     "Pa, where RuBP usually limits {}; little can be known of J and TPU",
                     highest, highest * fit.Patm * pa, rubp_above_pa, source)});
  }
}

}  // namespace

std::span<const PublishedRange> published_ranges() {
  return ranges;
}

void flag_ranges(CurveFit& fit) {
  // The published numbers behind those of J are of Jmax: where it is known, it is judged instead.
  const Estimate* jmax = find_estimate(fit, "Jmax");
  const bool has_jmax = jmax != nullptr && is_value(*jmax);
  for (const PublishedRange& range : ranges) {
    if (fit.pathway != range.pathway) continue;
    const std::string_view quantity = range.quantity;
    if (has_jmax && (quantity == "J" || quantity == "J/Vcmax")) continue;
    if (quantity.find('/') != std::string_view::npos) {
      judge(fit, range, ratio_of(fit, quantity));
    } else if (const Estimate* e = find_estimate(fit, quantity)) {
      judge(fit, range, known_of(fit, *e));
    }
  }
  flag_zero_respiration(fit);
  flag_span_of_ci(fit);
}

bool is_range_flag(std::string_view note_key) {
  return note_key.starts_with("range-") || note_key.starts_with("implausible-");
}

}  // namespace leafwright
