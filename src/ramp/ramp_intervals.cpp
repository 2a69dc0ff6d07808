#include "ramp/ramp_intervals.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string>
#include <vector>

#include "base/number.hpp"
#include "base/text.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr std::array<Limitation, 3> states = {Limitation::rubisco, Limitation::rubp,
                                              Limitation::tpu};

/// One row of the fit in the order of time.
struct TimedRow {
  std::size_t at = 0;  ///< row of the record
  const FittedRow* row = nullptr;
};

struct Columns {
  std::vector<double> design, slope;
  std::vector<Estimate*> of;  ///< the parameter of each column
};

Columns columns_of(CurveFit& fit, const std::vector<TimedRow>& rows) {
  const std::array<Estimate*, 3> capacities = {&fit.Vcmax, &fit.J, &fit.TPU};
  std::array<bool, 3> present = {};
  for (const TimedRow& timed : rows) present[static_cast<std::size_t>(timed.row->state)] = true;
  Columns out;
  std::vector<std::size_t> kept;
  for (std::size_t i = 0; i < states.size(); ++i) {
    if (!present[i]) continue;
    kept.push_back(i);
    out.of.push_back(capacities[i]);
  }
  const bool rday = fit.Rday.status != Status::fixed;
  if (rday) out.of.push_back(&fit.Rday);
  constexpr C3Leaf one = {1, 1, 1, 0};
  for (const TimedRow& timed : rows) {
    const FittedRow& row = *timed.row;
    const auto gross = [&](const C3Leaf& leaf, double C) {
      return c3_limited_rate(row.state, C, leaf, fit.kinetics, fit.electrons, fit.alpha);
    };
    for (const std::size_t i : kept) {
      out.design.push_back(states[i] == row.state ? gross(one, row.Ci) : 0);
    }
    if (rday) out.design.push_back(-1);
    const double step = 1e-3 * std::max(row.Ci, 1.0);
    out.slope.push_back((gross(fit.leaf, row.Ci + step) - gross(fit.leaf, row.Ci - step)) /
                        (2 * step));
  }
  return out;
}

void widen(Estimate& e, double se, double z) {
  e.se = std::max(e.se.value_or(0), se);
  const double low = *e.value - z * se, high = *e.value + z * se;
  for (std::optional<double>* end : {&e.low, &e.low_widened}) {
    if (*end) *end = std::min(**end, e.symbol == "Rday" ? std::max(low, 0.0) : low);
  }
  for (std::optional<double>* end : {&e.high, &e.high_widened}) {
    if (*end) *end = std::max(**end, high);
  }
}

/// Values at 25 degC are the parameter times one factor.
void widen_at25(CurveFit& fit, const Estimate& e) {
  for (At25& moved : fit.at25) {
    if (moved.symbol != e.symbol + "25" || !moved.value || !e.value || *e.value == 0) continue;
    const double factor = *moved.value / *e.value;
    if (moved.low && e.low) moved.low = *e.low * factor;
    if (moved.high && e.high) moved.high = *e.high * factor;
  }
}

std::string why_not(const CorrectedRamp& ramp, const CurveFit& fit, bool all_in_record,
                    const RampIntervalOptions& options) {
  if (!ramp.errors) return "the ramp's own errors are not known for this correction";
  if (fit.c4) return "the ramp's own errors are not carried to C4 fits";
  if (fit.gm || fit.theta)
    return "the ramp's own errors are carried to sharp minima at infinite gm";
  if (options.rday_is_fraction) return "Rday is a fraction of Vcmax";
  return all_in_record ? "" : "rows of the curve are no rows of the ramp";
}

}  // namespace

void widen_to_ramp_errors(const CorrectedRamp& ramp, std::span<const std::size_t> record_row,
                          CurveFit& fit, const RampIntervalOptions& options) {
  std::vector<TimedRow> rows;
  bool all = true;
  for (const FittedRow& row : fit.rows) {
    const std::size_t at = row.row < record_row.size() ? record_row[row.row] : ramp.A.size();
    all = all && at < ramp.A.size();
    rows.push_back({at, &row});
  }
  std::sort(rows.begin(), rows.end(),
            [](const TimedRow& a, const TimedRow& b) { return a.at < b.at; });
  std::string cannot = why_not(ramp, fit, all, options);
  const Columns columns = cannot.empty() ? columns_of(fit, rows) : Columns{};
  std::vector<std::size_t> used;
  for (const TimedRow& row : rows) used.push_back(row.at);
  std::vector<double> covariance;
  if (cannot.empty()) {
    auto made = ramp_parameter_covariance(*ramp.errors, used, columns.slope, columns.design,
                                          columns.of.size());
    if (made) {
      covariance = std::move(*made);
    } else {
      cannot = made.error().found;
    }
  }
  if (!cannot.empty()) {
    fit.notes.push_back(
        {NoteLevel::caution, "ramp-intervals",
         "the intervals come from the residuals and are too short for a ramp, whose "
         "points share noise: " +
             cannot});
    return;
  }
  const double z = normal_quantile(0.5 + options.level / 2);
  std::vector<std::string> told;
  for (std::size_t k = 0; k < columns.of.size(); ++k) {
    Estimate& e = *columns.of[k];
    const double variance = covariance[k * columns.of.size() + k];
    if (e.status != Status::estimated || !e.value || !(variance > 0)) continue;
    const double se = std::sqrt(variance);
    told.push_back(e.symbol + " " + print_rounded(se, 2) +
                   (e.se ? " (residuals alone: " + print_rounded(*e.se, 2) + ")" : ""));
    widen(e, se, z);
    widen_at25(fit, e);
  }
  if (told.empty()) return;
  if (!fit.interval_kind.empty()) {
    fit.interval_kind = print_rounded(100 * options.level, 6) + " % of ramp errors";
  }
  fit.notes.erase(std::remove_if(fit.notes.begin(), fit.notes.end(),
                                 [](const Note& note) { return note.about == "many-rows"; }),
                  fit.notes.end());
  fit.notes.push_back(
      {NoteLevel::info, "ramp-intervals",
       "points of a ramp share noise: standard errors and intervals count the noise "
       "of both analysers, its drift and the errors of the gas path: " +
           join(told)});
}

}  // namespace leafwright
