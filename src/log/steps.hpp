// Steps of CO2: where the reference CO2 holds still, and the plateau at the end of each hold.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"

namespace leafwright {

/// A stretch in which CO2r stays at one set-point: positions [first, last] of the series.
struct Hold {
  std::size_t first = 0, last = 0;
  double level = 0;  ///< mean of CO2r
};

/// Stretches whose values stay within `tolerance` (umol mol-1, or 1 % where that is more) of the
/// mean of the stretch so far. Missing values neither end a hold nor belong to it. With `seconds`,
/// a stretch between two others that is shorter than `shortest_s` is a change, not a hold, where
/// rows come more often than that.
std::vector<Hold> find_holds(std::span<const double> CO2r, std::span<const double> seconds,
                             double tolerance = 5, double shortest_s = 20);

enum class StepRole {
  ambient,  ///< the first point at the CO2 that the curve began with
  step,
  again,  ///< a later point at that CO2: the return to ambient after low CO2, or at the end
};
const char* step_role_name(StepRole role);  ///< "ambient", "step", "return"

/// Roles by set-point, one for each hold: the first is ambient, later ones within `tolerance`
/// (umol mol-1, or 5 %) of it are returns.
std::vector<StepRole> step_roles(std::span<const double> levels, double tolerance = 20);

struct StepChoice {
  double window_s = 30;    ///< the end of a hold that is averaged
  double tolerance = 5;    ///< of find_holds
  double shortest_s = 20;  ///< of find_holds
  double A_slope = 1;      ///< a plateau's |slope| of A: at most so much, umol m-2 s-1 per min
  double gsw_slope = 10;   ///< per cent of gsw per min
  double CO2r_slope = 2;   ///< umol mol-1 per min
  double slope_in_se = 2;  ///< ... unless it is within so many standard errors of 0
};

/// Mean, spread and slope of one series over a plateau.
struct Steadiness {
  double mean = 0;
  double sd = 0;                   ///< of one row; 0 for one row
  std::optional<double> slope;     ///< per minute; empty for fewer than three rows or no time
  std::optional<double> slope_se;  ///< per minute
};

struct Plateau {
  Hold hold;                      ///< in positions of the curve
  std::vector<std::size_t> used;  ///< positions averaged: the last window_s of the hold
  std::size_t repeats = 0;        ///< rows left out of the mean: they repeat the row before
  double CO2r = 0;                ///< mean
  StepRole role = StepRole::step;
  std::optional<Steadiness> A, gsw, CO2r_steady;
  bool steady = true;
  std::string why;  ///< why it is not, with numbers
};

/// One curve as series of equal length; `seconds` and `gsw` may be empty.
struct StepSeries {
  std::span<const double> seconds, CO2r, A, gsw;
  std::span<const char> repeat;  ///< 1 where a row repeats the row before; may be empty
  std::span<const char> use;     ///< 0 where a row must not enter a mean; may be empty
};

/// Plateaus of a curve in order. A hold without a usable row gives none.
std::vector<Plateau> find_plateaus(const StepSeries& series, const StepChoice& choice);

/// Mean, sd and slope of `values` at `positions`.
Steadiness steadiness(std::span<const double> values, std::span<const double> seconds,
                      std::span<const std::size_t> positions);

/// The settings `plateau-window`, `setpoint-tolerance`, `hold-shortest`, `a-slope`, `gsw-slope`,
/// `co2r-slope`.
SettingTable step_settings();
StepChoice step_choice(const Settings& settings);

}  // namespace leafwright
