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
  RecordRow at;
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

std::string why_not(bool errors_known, const CurveFit& fit, bool all_in_record,
                    const RampIntervalOptions& options) {
  if (!errors_known) return "the ramp's own errors are not known for this correction";
  if (fit.c4) return "the ramp's own errors are not carried to C4 fits";
  if (fit.gm || fit.theta)
    return "the ramp's own errors are carried to sharp minima at infinite gm";
  if (fit.weighting) return "the ramp's own errors are carried to fits whose rows count alike";
  if (options.rday_is_fraction) return "Rday is a fraction of Vcmax";
  return all_in_record ? "" : "rows of the curve are no rows of the ramp";
}

void cannot_widen(CurveFit& fit, const std::string& why) {
  fit.notes.push_back({NoteLevel::caution, "ramp-intervals",
                       "the intervals come from the residuals and are too short for a ramp, whose "
                       "points share noise: " +
                           why});
}

void widen_all(CurveFit& fit, const Columns& columns, const std::vector<double>& covariance,
               const RampIntervalOptions& options, const std::string& counted_too) {
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
       "of both analysers, its drift" +
           counted_too + " and the errors of the gas path: " + join(told)});
}

/// Rows of the fit in the order of ramp and time; `all`: every row is one of a record.
std::vector<TimedRow> timed_rows(const CurveFit& fit, std::span<const RecordRow> record_row,
                                 std::span<const CorrectedRamp* const> ramps, bool& all) {
  std::vector<TimedRow> rows;
  all = true;
  for (const FittedRow& row : fit.rows) {
    const RecordRow at = row.row < record_row.size() ? record_row[row.row] : RecordRow{};
    all = all && row.row < record_row.size() && at.at < ramps[at.ramp]->A.size();
    rows.push_back({at, &row});
  }
  std::sort(rows.begin(), rows.end(), [](const TimedRow& a, const TimedRow& b) {
    return a.at.ramp != b.at.ramp ? a.at.ramp < b.at.ramp : a.at.at < b.at.at;
  });
  return rows;
}

/// Parameters as sums over dA and dCi of all rows of each ramp, the lag's own error in them.
std::vector<double> pair_covariance(std::span<const CorrectedRamp* const> ramps,
                                    const RampPair& pair, bool lag_found,
                                    const std::vector<TimedRow>& rows, const Columns& columns,
                                    std::span<const std::vector<double>> H) {
  const std::size_t p = H.size();
  std::vector<const RampErrors*> records;
  std::vector<std::vector<std::vector<double>>> on_A, on_Ci;
  std::vector<double> by_lag(p);  // of each parameter, for one second
  for (std::size_t k = 0; k < ramps.size(); ++k) {
    records.push_back(ramps[k]->errors.get());
    on_A.emplace_back(p, std::vector<double>(ramps[k]->A.size()));
    on_Ci.push_back(on_A.back());
  }
  for (std::size_t j = 0; j < rows.size(); ++j) {
    const RecordRow& at = rows[j].at;
    for (std::size_t a = 0; a < p; ++a) {
      on_A[at.ramp][a][at.at] = H[a][j];
      on_Ci[at.ramp][a][at.at] = -H[a][j] * columns.slope[j];
      if (lag_found) by_lag[a] += H[a][j] * columns.slope[j] * pair.speed[at.ramp][at.at];
    }
  }
  for (std::size_t k = 0; k < ramps.size(); ++k) {
    for (std::size_t a = 0; a < p; ++a) {
      on_Ci[k][a] = through_lag(*ramps[k], pair.removed_s, on_Ci[k][a]);
      for (std::size_t i = 0; lag_found && i < on_A[k][a].size(); ++i) {
        on_A[k][a][i] += by_lag[a] * pair.lag_by_A[k][i];
        on_Ci[k][a][i] += by_lag[a] * pair.lag_by_Ci[k][i];
      }
    }
  }
  return joined_covariance(records, on_A, on_Ci, pair.one_path);
}

}  // namespace

void widen_to_ramp_errors(const CorrectedRamp& ramp, std::span<const std::size_t> record_row,
                          CurveFit& fit, const RampIntervalOptions& options) {
  std::vector<RecordRow> at;
  for (const std::size_t row : record_row) at.push_back({0, row});
  const CorrectedRamp* only = &ramp;
  bool all = true;
  const std::vector<TimedRow> rows = timed_rows(fit, at, {&only, 1}, all);
  const std::string cannot = why_not(ramp.errors != nullptr, fit, all, options);
  if (!cannot.empty()) return cannot_widen(fit, cannot);
  const Columns columns = columns_of(fit, rows);
  std::vector<std::size_t> used;
  for (const TimedRow& row : rows) used.push_back(row.at.at);
  const auto covariance = ramp_parameter_covariance(*ramp.errors, used, columns.slope,
                                                    columns.design, columns.of.size());
  if (!covariance) return cannot_widen(fit, covariance.error().found);
  widen_all(fit, columns, *covariance, options, "");
}

void widen_to_pair_errors(std::span<const CorrectedRamp* const> ramps, const RampPair& pair,
                          std::span<const RecordRow> record_row, CurveFit& fit,
                          const RampIntervalOptions& options) {
  bool all = true;
  const std::vector<TimedRow> rows = timed_rows(fit, record_row, ramps, all);
  const std::string cannot = why_not(true, fit, all, options);
  if (!cannot.empty()) return cannot_widen(fit, cannot);
  const Columns columns = columns_of(fit, rows);
  const auto H = fit_operator(columns.design, columns.of.size());
  if (!H) return cannot_widen(fit, H.error().found);
  const bool found = pair.removed_s != 0 && pair.removed_s == pair.lag_s;
  widen_all(fit, columns, pair_covariance(ramps, pair, found, rows, columns, *H), options,
            found ? ", the error of the lag that was taken out" : "");
}

}  // namespace leafwright
