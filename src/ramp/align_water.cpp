#include "ramp/align_water.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "air/flux.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/filter.hpp"
#include "ramp/gas_path_filter.hpp"
#include "ramp/record_programme.hpp"

namespace leafwright {
namespace {

using Series = std::vector<double>;

// Thresholds are ours: common practice, no source.
constexpr std::size_t fewest_rows = 60;
constexpr double earliest_s = -10, latest_s = 30, step_s = 0.5;
constexpr double smoothing_s = 6;  // time constant, twice, of both sides
constexpr double aligned_s = 1;    // less is not told apart from aligned
constexpr double other_scale = 0.03;
constexpr double same_share = 0.3;  // of the noise of a row: only the very same row is so near
constexpr double explained = 0.9;   // of the movement of E, before a lag is believed

Series steady(const RampRecord& r) {
  Series out(r.size(), std::nan(""));
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = steady_E(r.flow[i], *r.area, r.H2Or[i], r.H2Os[i]);
  }
  return out;
}

/// y = e0 + e1 x by least squares over rows that count.
struct Line {
  double e0 = 0, e1 = 0, ssr = 0, total = 0;
  std::size_t n = 0;
};

Line line_of(const Series& x, const Series& y, const std::vector<char>& counts, bool through_zero) {
  double n = 0, sx = 0, sy = 0, sxx = 0, sxy = 0, syy = 0;
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (counts[i] == 0) continue;
    n += 1;
    sx += x[i];
    sy += y[i];
    sxx += x[i] * x[i];
    sxy += x[i] * y[i];
    syy += y[i] * y[i];
  }
  Line out;
  out.n = static_cast<std::size_t>(n);
  if (n < 3) return out;
  const double cxx = sxx - sx * sx / n, cxy = sxy - sx * sy / n;
  out.total = syy - sy * sy / n;
  if (through_zero) {
    out.e1 = sxx > 0 ? sxy / sxx : 0;
  } else {
    out.e1 = cxx > 0 ? cxy / cxx : 0;
    out.e0 = (sy - out.e1 * sx) / n;
  }
  for (std::size_t i = 0; i < x.size(); ++i) {
    if (counts[i] == 0) continue;
    const double off = y[i] - out.e0 - out.e1 * x[i];
    out.ssr += off * off;
  }
  return out;
}

Series twice(const Series& time, const Series& y) {
  const Series once = PathFilter(time, y, Interpolation::linear).apply(0, smoothing_s, time);
  return PathFilter(time, once, Interpolation::linear).apply(0, smoothing_s, time);
}

struct Trial {
  double late = 0;
  Line line;
};

void search(const RampRecord& r, const Series& columns, const Series& E, WaterAlignment& out) {
  const Series& time = r.time_s;
  const Series y = twice(time, bridged(time, columns));
  const PathFilter recorded(time, bridged(time, E), Interpolation::linear);
  std::vector<char> counts(time.size());
  for (std::size_t i = 0; i < counts.size(); ++i) {
    counts[i] =
        time[i] >= time.front() + latest_s + 3 * smoothing_s && time[i] <= time.back() + earliest_s;
  }
  std::vector<Trial> trials;
  std::optional<Trial> best, as_is;
  for (double late = earliest_s; late <= latest_s + 1e-9; late += step_s) {
    const Trial now{late, line_of(twice(time, recorded.apply(late, 0, time)), y, counts, false)};
    if (!best || now.line.ssr < best->line.ssr) best = now;
    if (std::abs(late) < 1e-9) as_is = now;
    trials.push_back(now);
  }
  if (best->line.n < fewest_rows) return;
  const auto n = static_cast<double>(best->line.n);
  out.rows = best->line.n;
  out.misfit = std::sqrt(best->line.ssr / n);
  out.misfit_as_is = std::sqrt(as_is->line.ssr / n);
  if (best->line.ssr > (1 - explained) * best->line.total || std::abs(best->line.e1 - 1) > 0.2) {
    return;
  }
  out.late_low = out.late_high = best->late;
  for (const Trial& trial : trials) {
    if (trial.line.ssr > 1.21 * best->line.ssr) continue;
    out.late_low = std::min(out.late_low, trial.late);
    out.late_high = std::max(out.late_high, trial.late);
  }
  out.late_s = best->late;
  const bool at_the_end = best->late <= earliest_s || best->late >= latest_s;
  if (at_the_end || out.late_high - out.late_low > 10) return;
  const bool apart = out.late_low > 0 || out.late_high < 0;
  out.found =
      apart && std::abs(out.late_s) > aligned_s ? WaterColumns::late : WaterColumns::aligned;
}

}  // namespace

const char* water_columns_name(WaterColumns found) {
  switch (found) {
    case WaterColumns::not_told:
      return "not told";
    case WaterColumns::same_row:
      return "same row";
    case WaterColumns::aligned:
      return "aligned";
    case WaterColumns::late:
      return "late";
  }
  throw std::logic_error("an unknown state of water columns");
}

WaterAlignment find_water_alignment(const RampRecord& record) {
  WaterAlignment out;
  const Series& E = record.E_recorded;
  if (E.empty() || !record.area || record.H2Or.empty() || record.H2Os.empty() ||
      record.flow.empty()) {
    return out;
  }
  const Series columns = steady(record);
  std::vector<char> counts(E.size());
  for (std::size_t i = 0; i < E.size(); ++i) counts[i] = std::isfinite(E[i] + columns[i]);
  const Line rows = line_of(E, columns, counts, true);
  if (rows.n < fewest_rows || !(rows.e1 > 0)) return out;
  const double rms = std::sqrt(rows.ssr / static_cast<double>(rows.n));
  // Digits of a log: a column of four is good to half a thousandth of E.
  const double near = std::max(same_share * noise_of(columns), 5e-4 * std::abs(columns[0]));
  if (rms < near && std::abs(rows.e1 - 1) < other_scale) {
    out.found = WaterColumns::same_row;
    out.rows = rows.n;
    out.misfit = out.misfit_as_is = rms;
    return out;
  }
  search(record, columns, E, out);
  return out;
}

Note water_note(const WaterAlignment& found) {
  const auto shown = [](double value) { return print_rounded(value, 3); };
  switch (found.found) {
    case WaterColumns::same_row:
      return {NoteLevel::info, "water-columns",
              "the recorded E is the steady balance of the water columns, row by row"};
    case WaterColumns::aligned:
      return {NoteLevel::info, "water-columns",
              "the recorded E and the water columns belong to the same moment, to within " +
                  shown(aligned_s) + " s"};
    case WaterColumns::late:
      return {NoteLevel::warning, "water-late",
              "the water columns stand " + shown(found.late_s) +
                  " s later in the log than what the recorded E was made from (" +
                  shown(found.late_low) + " to " + shown(found.late_high) +
                  " s; storage of water in the chamber would look alike): they are read so much "
                  "later. E of the columns agrees with it to " +
                  shown(found.misfit) + " mmol m-2 s-1 then, to " + shown(found.misfit_as_is) +
                  " as they stand"};
    case WaterColumns::not_told:
      break;
  }
  return {NoteLevel::info, "water-columns",
          "whether the recorded E and the water columns belong to the same moment cannot be told"};
}

}  // namespace leafwright
