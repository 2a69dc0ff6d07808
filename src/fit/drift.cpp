#include "fit/drift.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/number.hpp"

namespace leafwright {
namespace {

constexpr double water_to_co2 = 1.6;  // diffusivity in air of water vapour over that of CO2
constexpr double milli = 1e-3;        // mmol -> mol
constexpr double same_co2 = 0.05;     // of the first row's CO2 outside
constexpr double seconds_per_hour = 3600;

std::vector<const CurveRow*> rows_with_gsw(const CurveFit& fit, const Curve& curve) {
  std::vector<const CurveRow*> out;
  for (const CurveRow& row : curve.rows) {
    const bool used = std::find(fit.used.begin(), fit.used.end(), row.row) != fit.used.end();
    if (used && row.gsw && *row.gsw > 0 && std::isfinite(*row.gsw)) out.push_back(&row);
  }
  return out;
}

/// Hours from the first row, in order; empty where time is not known or stands still.
std::vector<double> hours_of(std::vector<const CurveRow*>& rows) {
  for (const CurveRow* row : rows) {
    if (!row->seconds) return {};
  }
  std::stable_sort(rows.begin(), rows.end(),
                   [](const CurveRow* a, const CurveRow* b) { return *a->seconds < *b->seconds; });
  if (!(*rows.back()->seconds > *rows.front()->seconds)) return {};
  std::vector<double> out;
  for (const CurveRow* row : rows) {
    out.push_back((*row->seconds - *rows.front()->seconds) / seconds_per_hour);
  }
  return out;
}

/// Least squares of gsw on x, over the mean of gsw.
void take_slope(GswDrift& out, const std::vector<double>& x,
                const std::vector<const CurveRow*>& rows) {
  const auto n = static_cast<double>(rows.size());
  double mean_x = 0, mean_g = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    mean_x += x[i] / n;
    mean_g += *rows[i]->gsw / n;
  }
  double xx = 0, xg = 0, gg = 0;
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double dx = x[i] - mean_x, dg = *rows[i]->gsw - mean_g;
    xx += dx * dx;
    xg += dx * dg;
    gg += dg * dg;
  }
  const double left = std::max(0.0, gg - xg * xg / xx);
  out.slope = xg / xx / mean_g;
  out.slope_se = std::sqrt(left / (n - 2) / xx) / mean_g;
  out.change = out.slope * out.span;
}

void take_return(GswDrift& out, const std::vector<const CurveRow*>& rows) {
  const CurveRow& first = *rows.front();
  if (!first.CO2s) return;
  bool left = false;  // neighbours of the first row, as in a ramp, are no return
  for (const CurveRow* row : rows) {
    if (!row->CO2s) continue;
    if (std::abs(*row->CO2s - *first.CO2s) > same_co2 * *first.CO2s) {
      left = true;
    } else if (left) {
      out.again_row = row->row;
      out.again = *row->gsw / *first.gsw - 1;
    }
  }
}

void take_ci(GswDrift& out, const std::vector<const CurveRow*>& rows) {
  for (const CurveRow* row : rows) {
    if (!(row->Ci > 0)) continue;
    const double pull = water_to_co2 * row->A / milli;  // umol mol-1 x mmol m-2 s-1
    const double shift = pull * (1 / *row->gsw - 1 / out.first) / row->Ci;
    if (std::abs(shift) > std::abs(out.Ci_shift)) {
      out.Ci_shift = shift;
      out.Ci_shift_row = row->row;
    }
    const double percent = 0.01 * std::abs(pull) / *row->gsw;
    if (percent > out.Ci_per_percent) {
      out.Ci_per_percent = percent;
      out.Ci_per_percent_row = row->row;
    }
  }
}

std::string percent_text(double share) {
  return fmt::format("{:+.0f} %", 100 * share);
}

Note drift_note(const GswDrift& d, double steady) {
  std::string text = fmt::format(
      "gsw drifted by {} over the curve ({} to {} mmol m-2 s-1 from the first row to the last); "
      "more than {} % is called drift (common practice, no source)",
      percent_text(d.change), print_rounded(d.first, 3), print_rounded(d.last, 3),
      print_rounded(100 * steady, 3));
  if (d.again) {
    text +=
        fmt::format("; back at the CO2 of the first row it was {} of it", percent_text(*d.again));
  }
  text += fmt::format(
      ". Ci was computed from the gsw of each row, so the points hold; with the first gsw held Ci "
      "of row {} would be off by {}, and 1 % of error in gsw moves Ci by up to {} umol mol-1",
      d.Ci_shift_row, percent_text(d.Ci_shift), print_rounded(d.Ci_per_percent, 2));
  return {NoteLevel::info, "gsw-drift", std::move(text)};
}

}  // namespace

std::optional<GswDrift> gsw_drift(const CurveFit& fit, const Curve& curve, double steady) {
  std::vector<const CurveRow*> rows = rows_with_gsw(fit, curve);
  if (rows.size() < 3) return std::nullopt;
  GswDrift out;
  out.rows = rows.size();
  std::vector<double> x = hours_of(rows);
  out.timed = !x.empty();
  if (!out.timed) {
    for (std::size_t i = 0; i < rows.size(); ++i) x.push_back(static_cast<double>(i));
  }
  out.span = x.back();
  out.first = *rows.front()->gsw;
  out.last = *rows.back()->gsw;
  take_slope(out, x, rows);
  out.steady = std::abs(out.change) <= steady;
  take_return(out, rows);
  take_ci(out, rows);
  return out;
}

void find_gsw_drifts(CampaignFit& campaign, std::span<const Curve> curves, double steady) {
  auto from = curves.begin();  // fits stand in the order of the curves
  for (CurveFit& fit : campaign.fits) {
    const auto curve = std::find_if(from, curves.end(),
                                    [&](const Curve& one) { return one.curve_id == fit.curve_id; });
    if (curve == curves.end()) continue;
    from = curve;
    fit.gsw_drift = gsw_drift(fit, *curve, steady);
    if (fit.gsw_drift && !fit.gsw_drift->steady) {
      fit.notes.push_back(drift_note(*fit.gsw_drift, steady));
    }
  }
}

}  // namespace leafwright
