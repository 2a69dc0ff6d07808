#include "log/steps.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>

namespace leafwright {

namespace {

constexpr double per_minute = 60;

/// Rows are further apart than a hold must last: each row is a point of its own.
bool rows_are_points(std::span<const double> seconds, double shortest_s) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < seconds.size(); ++i) {
    const double step = seconds[i] - seconds[i - 1];
    if (step > 0) steps.push_back(step);
  }
  if (steps.empty()) return true;
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle > shortest_s / 2;
}

std::vector<Hold> all_stretches(std::span<const double> CO2r, double tolerance) {
  std::vector<Hold> out;
  double sum = 0;
  std::size_t n = 0;
  for (std::size_t i = 0; i < CO2r.size(); ++i) {
    if (std::isnan(CO2r[i])) continue;
    const double level = n > 0 ? sum / static_cast<double>(n) : 0;
    if (n > 0 && std::abs(CO2r[i] - level) <= std::max(tolerance, 0.01 * std::abs(level))) {
      out.back().last = i;
    } else {
      out.push_back({i, i, 0});
      sum = 0;
      n = 0;
    }
    sum += CO2r[i];
    ++n;
    out.back().level = sum / static_cast<double>(n);
  }
  return out;
}

std::string too_steep(const char* name, double slope, const char* unit, double limit) {
  return fmt::format("{} changes by {:.3g} {} a minute, more than {:g}", name, slope, unit, limit);
}

bool beyond(const std::optional<Steadiness>& s, double limit, double in_se) {
  if (!s || !s->slope) return false;
  const double noise = s->slope_se.value_or(0) * in_se;
  return std::abs(*s->slope) > limit && std::abs(*s->slope) > noise;
}

void judge(Plateau& plateau, const StepChoice& choice) {
  if (beyond(plateau.A, choice.A_slope, choice.slope_in_se)) {
    plateau.why = too_steep("A", *plateau.A->slope, "umol m-2 s-1", choice.A_slope);
  } else if (plateau.gsw && plateau.gsw->mean != 0 &&
             beyond(plateau.gsw, choice.gsw_slope / 100 * std::abs(plateau.gsw->mean),
                    choice.slope_in_se)) {
    plateau.why = too_steep("gsw", 100 * *plateau.gsw->slope / std::abs(plateau.gsw->mean), "%",
                            choice.gsw_slope);
  } else if (beyond(plateau.CO2r_steady, choice.CO2r_slope, choice.slope_in_se)) {
    plateau.why = too_steep("CO2r", *plateau.CO2r_steady->slope, "umol mol-1", choice.CO2r_slope);
  }
  plateau.steady = plateau.why.empty();
}

bool usable(const StepSeries& series, std::size_t i) {
  return !std::isnan(series.CO2r[i]) && (series.use.empty() || series.use[i] != 0);
}

Plateau plateau_of(const StepSeries& series, const Hold& hold, const StepChoice& choice) {
  Plateau out;
  out.hold = hold;
  const bool timed = !series.seconds.empty();
  double end = -1;
  for (std::size_t i = hold.last + 1; i-- > hold.first;) {
    if (!usable(series, i)) continue;
    if (timed) {
      if (out.used.empty() && out.repeats == 0) end = series.seconds[i];
      if (end - series.seconds[i] > choice.window_s) break;
    }
    if (!series.repeat.empty() && series.repeat[i] != 0) {
      ++out.repeats;
      continue;
    }
    out.used.push_back(i);
  }
  std::reverse(out.used.begin(), out.used.end());
  if (out.used.empty()) return out;
  out.A = steadiness(series.A, series.seconds, out.used);
  if (!series.gsw.empty()) out.gsw = steadiness(series.gsw, series.seconds, out.used);
  out.CO2r_steady = steadiness(series.CO2r, series.seconds, out.used);
  out.CO2r = out.CO2r_steady->mean;
  judge(out, choice);
  return out;
}

}  // namespace

std::vector<Hold> find_holds(std::span<const double> CO2r, std::span<const double> seconds,
                             double tolerance, double shortest_s) {
  std::vector<Hold> stretches = all_stretches(CO2r, tolerance);
  if (seconds.empty() || rows_are_points(seconds, shortest_s)) return stretches;
  std::vector<Hold> out;
  for (const Hold& stretch : stretches) {
    if (!(seconds[stretch.last] - seconds[stretch.first] >= shortest_s)) continue;
    const bool same = !out.empty() && std::abs(out.back().level - stretch.level) <=
                                          std::max(tolerance, 0.01 * std::abs(stretch.level));
    if (same) {
      out.back().last = stretch.last;  // a spike between, not another set-point
    } else {
      out.push_back(stretch);
    }
  }
  return out;
}

const char* step_role_name(StepRole role) {
  switch (role) {
    case StepRole::ambient:
      return "ambient";
    case StepRole::step:
      return "step";
    case StepRole::again:
      return "return";
  }
  return "step";
}

std::vector<StepRole> step_roles(std::span<const double> levels, double tolerance) {
  std::vector<StepRole> out(levels.size(), StepRole::step);
  if (levels.empty()) return out;
  out.front() = StepRole::ambient;
  for (std::size_t i = 1; i < levels.size(); ++i) {
    if (std::abs(levels[i] - levels[0]) <= std::max(tolerance, 0.05 * std::abs(levels[0]))) {
      out[i] = StepRole::again;
    }
  }
  return out;
}

Steadiness steadiness(std::span<const double> values, std::span<const double> seconds,
                      std::span<const std::size_t> positions) {
  Steadiness out;
  double n = 0, mean_t = 0;
  for (const std::size_t i : positions) {
    if (std::isnan(values[i])) continue;
    ++n;
    out.mean += values[i];
    if (!seconds.empty()) mean_t += seconds[i];
  }
  if (n == 0) {
    out.mean = std::numeric_limits<double>::quiet_NaN();
    return out;
  }
  out.mean /= n;
  mean_t /= n;
  double ss = 0, tt = 0, tv = 0;
  for (const std::size_t i : positions) {
    if (std::isnan(values[i])) continue;
    const double dv = values[i] - out.mean;
    ss += dv * dv;
    if (seconds.empty()) continue;
    const double dt = (seconds[i] - mean_t) / per_minute;
    tt += dt * dt;
    tv += dt * dv;
  }
  if (n > 1) out.sd = std::sqrt(ss / (n - 1));
  if (n > 2 && tt > 0) {
    out.slope = tv / tt;
    out.slope_se = std::sqrt(std::max(0.0, ss - tv * tv / tt) / (n - 2) / tt);
  }
  return out;
}

std::vector<Plateau> find_plateaus(const StepSeries& series, const StepChoice& choice) {
  std::vector<Plateau> out;
  for (const Hold& hold :
       find_holds(series.CO2r, series.seconds, choice.tolerance, choice.shortest_s)) {
    Plateau plateau = plateau_of(series, hold, choice);
    if (!plateau.used.empty()) out.push_back(std::move(plateau));
  }
  std::vector<double> levels;
  for (const Plateau& plateau : out) levels.push_back(plateau.CO2r);
  const auto roles = step_roles(levels);
  for (std::size_t i = 0; i < out.size(); ++i) out[i].role = roles[i];
  return out;
}

SettingTable step_settings() {
  constexpr const char* practice = "common practice, no source";
  static const std::array<Setting, 6> settings{{
      {.name = "plateau-window",
       .kind = SettingKind::number,
       .unit = "s",
       .default_value = "30",
       .low = 0,
       .high = 3600,
       .help = "the end of each hold of CO2r that is averaged to one point",
       .source = practice},
      {.name = "setpoint-tolerance",
       .kind = SettingKind::number,
       .unit = "umol mol-1",
       .default_value = "5",
       .low = 0.01,
       .high = 200,
       .help = "CO2r within it (or 1 %) of the mean of a hold belongs to the hold",
       .source = practice},
      {.name = "hold-shortest",
       .kind = SettingKind::number,
       .unit = "s",
       .default_value = "20",
       .low = 0,
       .high = 3600,
       .help = "a shorter hold of CO2r is taken as a change between set-points",
       .source = practice},
      {.name = "a-slope",
       .kind = SettingKind::number,
       .unit = "umol m-2 s-1",
       .default_value = "1",
       .low = 0,
       .help = "a plateau in which A changes by more a minute is flagged as not steady",
       .source = practice},
      {.name = "gsw-slope",
       .kind = SettingKind::number,
       .unit = "%",
       .default_value = "10",
       .low = 0,
       .help = "the same for gsw, in per cent of it a minute",
       .source = practice},
      {.name = "co2r-slope",
       .kind = SettingKind::number,
       .unit = "umol mol-1",
       .default_value = "2",
       .low = 0,
       .help = "the same for CO2r",
       .source = practice},
  }};
  return settings;
}

StepChoice step_choice(const Settings& settings) {
  StepChoice out;
  out.window_s = settings.number("plateau-window");
  out.tolerance = settings.number("setpoint-tolerance");
  out.shortest_s = settings.number("hold-shortest");
  out.A_slope = settings.number("a-slope");
  out.gsw_slope = settings.number("gsw-slope");
  out.CO2r_slope = settings.number("co2r-slope");
  return out;
}

}  // namespace leafwright
