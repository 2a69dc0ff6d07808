#include "fit/electron_fit.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/number.hpp"
#include "leaf/c3.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr const char* flux = "umol m-2 s-1";
constexpr double most_slope = 0.5;  // both photosystems share the photons
constexpr double highest_theta = 0.9999;
constexpr double far_above = 1.5;  // times the highest J; common practice, no source

enum : std::size_t { at_Jmax, at_theta, at_slope };

double rate(double Q, std::span<const double> p) {
  return electron_transport(p[at_slope] * Q, p[at_Jmax], p[at_theta]);
}

double held_slope(const ElectronOptions& options) {
  return options.absorptance * (1 - options.spectral_loss) / 2;
}

LeastSquaresProblem problem_of(const std::vector<ResponsePoint>& points,
                               const ElectronOptions& options) {
  LeastSquaresProblem problem;
  problem.residual_count = points.size();
  problem.residuals = [&points](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < points.size(); ++i) r[i] = rate(points[i].x, p) - points[i].y;
  };
  const double slope = held_slope(options);
  problem.lower = {1e-3, 0, options.slope_free ? 1e-4 : slope};
  problem.upper = {5000, highest_theta, options.slope_free ? most_slope : slope};
  problem.typical = {100, 0.5, 0.3};
  return problem;
}

std::vector<std::vector<double>> starts_of(const std::vector<ResponsePoint>& points,
                                           const ElectronOptions& options) {
  double most = 1;
  for (const ResponsePoint& point : points) most = std::max(most, point.y);
  const std::vector<double> slopes =
      options.slope_free ? std::vector<double>{0.2, 0.35} : std::vector{held_slope(options)};
  std::vector<std::vector<double>> starts;
  for (const double slope : slopes) {
    for (const double factor : {1.05, 1.5}) {
      for (const double theta : {0.2, 0.7, 0.95}) {
        starts.push_back({std::min(factor * most, 5000.0), theta, slope});
      }
    }
  }
  return starts;
}

ResponseCurvePoint curve_at(double Q, const LeastSquaresFit& fit) {
  const double here = rate(Q, fit.parameters);
  std::vector<double> gradient(3, 0);
  for (std::size_t k = 0; k < 3; ++k) {
    std::vector<double> moved = fit.parameters;
    const double h = 1e-6 * std::max(0.1, std::abs(moved[k]));
    moved[k] -= h;  // theta near 1 must not be moved beyond it
    if (moved[k] < 0) continue;
    gradient[k] = (here - rate(Q, moved)) / h;
  }
  ResponseCurvePoint out{Q, here, {}, {}};
  const auto se = linearised_se(fit, gradient);
  if (se && fit.df > 0) {
    const double half = *se * t_quantile(0.975, static_cast<double>(fit.df));
    out.low = here - half;
    out.high = here + half;
  }
  return out;
}

void add_notes(ResponseFit& out, const ElectronOptions& options, const LeastSquaresFit& fit) {
  double most = 0;
  for (const ResponsePoint& point : out.points) most = std::max(most, point.x);
  const double share = rate(most, fit.parameters) / fit.parameters[at_Jmax];
  out.notes.push_back({share < 0.9 ? NoteLevel::caution : NoteLevel::info, "saturation",
                       "at the highest light, " + print_rounded(most, 4) + " " + flux + ", J is " +
                           print_rounded(100 * share, 3) + " % of the best Jmax"});
  if (options.slope_free) {
    out.notes.push_back({NoteLevel::info, "slope-fitted",
                         "the slope at low light is fitted, on incident light; absorptance is not "
                         "used"});
    return;
  }
  out.notes.push_back(
      {NoteLevel::caution, "absorptance-held",
       "absorptance " + print_rounded(options.absorptance, 4) + " and f " +
           print_rounded(options.spectral_loss, 4) +
           " are taken as known: theta, and Jmax where light does not saturate, go with them"});
}

/// Where the data leave theta open towards 0, the upper end of Jmax is that of theta = 0: a limit
/// of the model, not of the data. Far above what was measured it is no end, and Jmax is a bound.
void judge(ResponseFit& out, ResponseEstimate& Jmax, const ResponseEstimate& theta) {
  double most = 0;
  for (const ResponsePoint& point : out.points) most = std::max(most, point.y);
  const bool open = theta.status == "not identified" || (theta.low && *theta.low == 0);
  if (!open || !Jmax.high || *Jmax.high < far_above * most) return;
  out.notes.push_back({NoteLevel::caution, "not-saturating",
                       "light does not saturate J: an upper end of Jmax, " +
                           print_rounded(*Jmax.high, 3) +
                           ", would come from theta >= 0 alone, and "
                           "is not given"});
  Jmax.high.reset();
  Jmax.value.reset();
  Jmax.se.reset();
  Jmax.status = Jmax.low ? "lower bound" : "not identified";
}

Result<void> check(const std::vector<ResponsePoint>& points, const ElectronOptions& options) {
  const std::size_t parameters = options.slope_free ? 3 : 2;
  std::set<double> levels;
  for (const ResponsePoint& point : points) {
    levels.insert(std::round(point.x));
    if (point.x < 0 || point.y < 0) {
      return fail(ErrorCode::unfit, "light or J below zero", "both at least 0", "", point.place);
    }
  }
  if (levels.size() > parameters) return {};
  return fail(ErrorCode::unfit, std::to_string(levels.size()) + " distinct lights",
              "at least " + std::to_string(parameters + 1),
              "curves at more lights, one of them near saturation");
}

}  // namespace

Result<ResponseFit> fit_electron_transport(const std::string& of,
                                           const std::vector<ResponsePoint>& points,
                                           const ElectronOptions& options) {
  if (auto ok = check(points, options); !ok) return fail(ok.error());
  const LeastSquaresProblem problem = problem_of(points, options);
  const auto fit = best_of(problem, starts_of(points, options));
  if (!fit) return fail(fit.error());
  ResponseFit out;
  out.of = of;
  out.form = "electron-transport";
  out.equation = options.slope_free
                     ? "theta J^2 - (s Q + Jmax) J + s Q Jmax = 0, smaller root"
                     : "theta J^2 - (I2 + Jmax) J + I2 Jmax = 0, smaller root, I2 = Q absorptance "
                       "(1 - f)/2";
  out.source = "Farquhar & Wong 1984, Aust. J. Plant Physiol. 11:191 (from memory)";
  out.points = points;
  out.ssr = fit->ssr;
  out.df = fit->df;
  out.rmse = fit->df > 0 ? std::sqrt(fit->ssr / static_cast<double>(fit->df)) : 0;
  auto Jmax = estimate_of(problem, *fit, at_Jmax, "Jmax", flux);
  auto theta = estimate_of(problem, *fit, at_theta, "theta", "1", 0.0, 1.0);
  if (!Jmax) return fail(Jmax.error());
  if (!theta) return fail(theta.error());
  judge(out, *Jmax, *theta);
  out.estimates = {*Jmax, *theta};
  if (options.slope_free) {
    auto slope = estimate_of(problem, *fit, at_slope, "slope", "mol mol-1");
    if (!slope) return fail(slope.error());
    out.estimates.push_back(*slope);
  } else {
    out.estimates.push_back(fixed_estimate("slope", "mol mol-1", held_slope(options)));
  }
  double most = 0;
  for (const ResponsePoint& p : points) most = std::max(most, p.x);
  constexpr int steps = 120;
  for (int i = 0; i <= steps; ++i) out.curve.push_back(curve_at(most * i / steps, *fit));
  for (const double Q : options.at) out.values.push_back(curve_at(Q, *fit));
  add_notes(out, options, *fit);
  return out;
}

}  // namespace leafwright
