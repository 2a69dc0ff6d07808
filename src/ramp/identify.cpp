#include "ramp/identify.hpp"

#include <algorithm>
#include <cmath>

#include "air/moist_air.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "numeric/least_squares.hpp"
#include "ramp/identify_checks.hpp"
#include "ramp/identify_flows.hpp"
#include "ramp/identify_model.hpp"

namespace leafwright {

namespace {

using namespace identify_detail;
using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

constexpr Index fewest_rows = 30;
constexpr double split_told = 0.15;  // se of the mixing over the mixing itself, at least 1 s

/// The lowest sum over a grid of lags, for a few mixings: the sum is nearly a parabola in the lag.
PathPoint coarse_search(const PathData& data, const IdentifyOptions& options) {
  PathPoint best;
  double lowest = -1;
  const double step = options.max_lag_s / 30;
  for (const double mixing : {0.5, 3.0, 8.0}) {
    for (double lag = -options.max_lag_s / 4; lag <= options.max_lag_s; lag += step) {
      const PathPoint at{lag, mixing, data.averaging()};
      const double ssr = data.fit(at).ssr;
      if (lowest >= 0 && ssr >= lowest) continue;
      lowest = ssr;
      best = at;
    }
  }
  return best;
}

LeastSquaresProblem problem_for(const PathData& data, const PathPoint& start,
                                const FreeColumns& free, const IdentifyOptions& options) {
  LeastSquaresProblem problem;
  problem.residual_count = static_cast<std::size_t>(data.size());
  problem.residuals = [&data](std::span<const double> p, std::span<double> r) {
    const auto fit = data.fit({p[0], p[1], p[2]});
    std::copy(fit.residuals.begin(), fit.residuals.end(), r.begin());
  };
  const double reach = options.max_lag_s;
  problem.start = {start.lag, start.mixing, start.averaging};
  problem.lower = {-reach, 0, 0};
  problem.upper = {2 * reach, reach, reach};
  if (!free.mixing) problem.lower[1] = problem.upper[1] = start.mixing;
  if (!free.averaging) problem.lower[2] = problem.upper[2] = start.averaging;
  problem.typical = {1, 1, 1};
  return problem;
}

/// From `coarse`, and where that is no solution yet from two more mixings.
Result<PathPoint> refine(const PathData& data, const PathPoint& coarse, const FreeColumns& free,
                         const IdentifyOptions& options, bool more_starts = false) {
  LeastSquaresOptions precision;
  precision.gradient_tolerance = 1e-7;
  precision.step_tolerance = 1e-8;
  precision.max_iterations = 60;  // a split that is not told would be followed for ever
  std::optional<PathPoint> best;
  double lowest = 0;
  std::vector<double> mixings = {coarse.mixing};
  if (more_starts) {
    for (const double share : {0.3, 0.8}) mixings.push_back(share * std::max(coarse.lag, 1.0));
  }
  for (const double mixing : mixings) {
    PathPoint start = coarse;
    start.mixing = std::min(mixing, options.max_lag_s);
    if (free.averaging) start.averaging = std::max(start.averaging, 1.0);
    const auto fit = least_squares(problem_for(data, start, free, options), precision);
    if (!fit) return fail(fit.error());
    if (best && fit->ssr >= lowest) continue;
    lowest = fit->ssr;
    best = PathPoint{fit->parameters[0], fit->parameters[1], fit->parameters[2]};
  }
  return *best;
}

/// Does the slope of CO2r vary by more than what offsets in x can imitate?
bool lag_is_told(const PathData& data, const PathPoint& at) {
  const auto fit = data.fit(at);
  const MatrixXd X = data.offsets(fit.matched);
  VectorXd slope(data.size());
  double steepest = 0;
  Index k = 0;
  for (const FitRecord& record : data.records()) {
    // Over 20 s: over less, noise of CO2r looks like information.
    const Programme programme = programme_of(*record.record, 20);
    steepest = std::max(steepest, programme.steepest);
    for (const std::size_t row : record.rows) slope[k++] = programme.slope[row];
  }
  const VectorXd rest = slope - X * (X.transpose() * X).ldlt().solve(X.transpose() * slope);
  const double size = std::sqrt(rest.squaredNorm() / static_cast<double>(data.size()));
  return steepest > 0 && size > 0.04 * steepest;
}

void keep_traces(const PathData& data, const PathData::Fit& fit, GasPath& path) {
  path.residuals.assign(fit.residuals.begin(), fit.residuals.end());
  const VectorXd offset = data.offsets(fit.matched) * fit.coefficients;
  for (const FitRecord& record : data.records()) {
    PathTrace trace;
    trace.record = record.record->name;
    for (std::size_t i = 0; i < record.rows.size(); ++i) {
      const std::size_t row = record.rows[i];
      const auto k = static_cast<Index>(record.first + i);
      trace.rows.push_back(record.record->rows[row]);
      trace.time_s.push_back(record.record->time_s[row]);
      trace.CO2r.push_back(record.record->CO2r[row]);
      trace.matched.push_back(fit.matched[k]);
      trace.difference.push_back(record.S[i] - fit.matched[k]);
      trace.offset.push_back(offset[k]);
    }
    path.traces.push_back(std::move(trace));
  }
}

/// Offsets, covariance, noise: everything but the lag's own numbers.
void take_fit(const PathData& data, const PathPoint& at, const FreeColumns& free,
              const IdentifyOptions& options, GasPath& path) {
  const auto fit = data.fit(at);
  const MatrixXd design = design_at(data, at, fit, free);
  const ErrorModel errors = errors_of(data, at, fit, design, options);
  const MatrixXd T = data.transform();
  const VectorXd c = T * fit.coefficients;
  for (std::size_t i = 0; i < 3; ++i) path.offset[i] = c[static_cast<Index>(i)];
  const Index p = design.cols(), unknowns = p - T.cols();
  MatrixXd map = MatrixXd::Zero(4, p);
  if (free.lag) map(0, 0) = 1;
  map.bottomRightCorner(3, T.cols()) = T;
  const MatrixXd covariance = map * errors.covariance * map.transpose();
  for (Index i = 0; i < 4; ++i) {
    for (Index j = 0; j < 4; ++j) {
      path.covariance[static_cast<std::size_t>(4 * i + j)] = covariance(i, j);
    }
  }
  const auto se = [&](Index i) { return std::sqrt(std::max(errors.covariance(i, i), 0.0)); };
  if (free.lag) path.lag_s = WithError{at.lag, se(0)};
  if (free.mixing && unknowns >= 2) {
    path.mixing_s = WithError{at.mixing, se(1)};
    const double of_delay =
        errors.covariance(0, 0) + errors.covariance(1, 1) - 2 * errors.covariance(0, 1);
    path.delay_s = WithError{at.lag - at.mixing, std::sqrt(std::max(of_delay, 0.0))};
  }
  if (free.averaging) path.averaging_s = WithError{at.averaging, se(unknowns - 1)};
  const auto n = static_cast<double>(data.size());
  path.noise_sd = std::sqrt(fit.ssr / std::max(n - static_cast<double>(p), 1.0));
  path.noise_sd_R = errors.noise_R;
  double lagged = 0;
  for (Index i = 1; i < data.size(); ++i) lagged += fit.residuals[i] * fit.residuals[i - 1];
  path.noise_correlation = fit.ssr > 0 ? lagged / fit.ssr : 0;
  note_misfit(errors.misfit, path);
  keep_traces(data, fit, path);
}

bool split_is_told(const GasPath& path) {
  return path.mixing_s && path.mixing_s->se <= split_told * std::max(path.mixing_s->value, 1.0);
}

/// A lag that cannot be told: offsets of S - R as they stand, and the reason.
void body_only(PathData& data, const IdentifyOptions& options, GasPath& path) {
  const PathPoint none{0, 0, data.averaging()};
  data.choose_rows(none);
  take_fit(data, none, {.lag = false, .mixing = false}, options, path);
  path.notes.push_back(
      {NoteLevel::warning, "lag-not-identified",
       "CO2r rises or falls at one rate all along: lag and zero offset are one number here, so no "
       "lag is given and c0 stands for offset - rate x lag. Hold CO2 for 20 s before and after the "
       "ramp, or add a ramp in the other direction"});
}

Result<void> find_path(PathData& data, const IdentifyOptions& options, GasPath& path) {
  data.choose_rows({0, 0, 0});
  if (data.size() < fewest_rows) {
    return fail(ErrorCode::unfit,
                counted(static_cast<std::size_t>(data.size()), "row") + " with CO2r and CO2s",
                "at least " + std::to_string(fewest_rows), "record for a minute or more");
  }
  const PathPoint coarse = coarse_search(data, options);
  data.choose_rows(coarse);
  if (data.size() < fewest_rows) {
    return fail(ErrorCode::unfit,
                "only " + counted(static_cast<std::size_t>(data.size()), "row") +
                    " have a history that the record holds",
                "at least " + std::to_string(fewest_rows),
                "hold CO2 before the ramp, or mend the gaps");
  }
  if (!lag_is_told(data, coarse)) {
    body_only(data, options, path);
    return {};
  }
  FreeColumns free{true, true, options.estimate_averaging};
  auto at = refine(data, coarse, free, options, true);
  if (!at) return fail(at.error());
  data.choose_rows(*at);
  at = refine(data, *at, free, options);
  if (!at) return fail(at.error());
  free.mixing = at->mixing > 1e-6;
  take_fit(data, *at, free, options, path);
  if (free.mixing && split_is_told(path)) return {};
  // The lag itself does not lean on the split; a split that is not told is held where it belongs.
  path.traces.clear();
  at->mixing =
      std::clamp(path.chamber_tau_s.value_or(std::max(at->lag, 0.0) / 2), 0.0, options.max_lag_s);
  free.mixing = false;
  data.choose_rows(*at);  // more mixing: a longer memory of what was before the record
  at = refine(data, *at, free, options);
  if (!at) return fail(at.error());
  path.mixing_s.reset();
  path.delay_s.reset();
  path.notes.erase(std::remove_if(path.notes.begin(), path.notes.end(),
                                  [](const Note& note) { return note.about == "misfit"; }),
                   path.notes.end());
  take_fit(data, *at, free, options, path);
  path.notes.push_back({NoteLevel::info, "split-not-identified",
                        "dead time and mixing cannot be told apart in this record, only their sum, "
                        "the lag: kinks or a step of CO2 show them"});
  return {};
}

void describe(const PathData& data, const IdentifyOptions& options, GasPath& path) {
  const RampRecord& first = *data.records().front().record;
  PathConditions c = conditions_of(first);
  for (const FitRecord& record : data.records()) {
    path.records.push_back(record.record->name);
    c.CO2_low = std::min(c.CO2_low, record.programme.CO2_low);
    c.CO2_high = std::max(c.CO2_high, record.programme.CO2_high);
    const auto own = record.programme.rate;
    if (!own || !c.rate || std::abs(*own - *c.rate) > 0.05 * std::abs(*c.rate)) c.rate.reset();
    path.notes.insert(path.notes.end(), record.record->notes.begin(), record.record->notes.end());
  }
  c.gasket = options.gasket;
  path.chamber_tau_s = chamber_time_constant(first.instrument, c);
  path.conditions = std::move(c);
}

Result<GasPath> identify_at_one_flow(const std::vector<const RampRecord*>& records,
                                     const IdentifyOptions& options) {
  for (const RampRecord* record : records) {
    if (auto right = check_record(*record, options); !right) return fail(right.error());
  }
  PathData data(records, options);
  GasPath path;
  describe(data, options, path);
  note_programmes(records, path);
  if (auto found = find_path(data, options, path); !found) return fail(found.error());
  if (auto right = check_path(records, options, path); !right) return fail(right.error());
  return path;
}

}  // namespace

PathConditions conditions_of(const RampRecord& record) {
  const Programme programme = programme_of(record);
  PathConditions c;
  c.flow = median_of(record.flow).value_or(0);
  c.Patm = median_of(record.Patm).value_or(0);
  c.Tair = median_of(record.Tair);
  c.rate = programme.rate;
  c.CO2_low = programme.CO2_low;
  c.CO2_high = programme.CO2_high;
  c.date = record.date;
  return c;
}

std::optional<double> air_per_volume(const Instrument& instrument,
                                     const PathConditions& conditions) {
  if (!conditions.Tair || !(conditions.Patm > 0)) return std::nullopt;
  const double P = conditions.Patm + instrument.overpressure.value_or(0);
  return 1e6 * moles_of_air(1, *conditions.Tair, P);
}

std::optional<double> chamber_time_constant(const Instrument& instrument,
                                            const PathConditions& conditions) {
  const auto per_volume = air_per_volume(instrument, conditions);
  if (!per_volume || !instrument.chamber_volume || !(conditions.flow > 0)) return std::nullopt;
  return *per_volume * *instrument.chamber_volume / conditions.flow;
}

Result<GasPath> identify(const std::vector<RampRecord>& empties, const IdentifyOptions& options) {
  if (empties.empty()) {
    return fail(ErrorCode::usage, "no record of the empty chamber", "one or more");
  }
  std::vector<GasPath> paths;
  for (const auto& group : group_by_flow(empties, options.max_flow_step)) {
    auto path = identify_at_one_flow(group, options);
    if (!path) return fail(path.error());
    paths.push_back(std::move(*path));
  }
  return join_flows(std::move(paths), empties.front().instrument);
}

}  // namespace leafwright
