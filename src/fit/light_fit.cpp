#include "fit/light_fit.hpp"

#include <algorithm>
#include <cmath>
#include <set>

#include "base/number.hpp"
#include "leaf/light.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {

namespace {

constexpr const char* flux = "umol m-2 s-1";
constexpr double phi_ceiling = 0.125;  // 8 photons per CO2 (textbooks, from memory)

enum : std::size_t { at_phi, at_Amax, at_theta, at_Rday };

LightLeaf leaf_of(std::span<const double> p) {
  return {p[at_phi], p[at_Amax], p[at_theta], p[at_Rday]};
}

LeastSquaresProblem problem_of(const std::vector<ResponsePoint>& points,
                               const LightOptions& options) {
  LeastSquaresProblem problem;
  problem.residual_count = points.size();
  const double absorbed = options.absorptance;
  problem.residuals = [&points, absorbed](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < points.size(); ++i) {
      r[i] = light_assimilation(points[i].x * absorbed, leaf_of(p)) - points[i].y;
    }
  };
  problem.lower = {0, 0, 0, options.rday.value_or(0)};
  problem.upper = {1, 500, 0.9999, options.rday.value_or(50)};
  problem.typical = {0.05, 20, 0.5, 1};
  return problem;
}

std::vector<std::vector<double>> starts_of(const std::vector<ResponsePoint>& points,
                                           const LightOptions& options) {
  double most = 1, least = 0;
  for (const ResponsePoint& point : points) {
    most = std::max(most, point.y);
    least = std::min(least, point.y);
  }
  const double rday = options.rday.value_or(std::min(-least, 40.0));
  std::vector<std::vector<double>> starts;
  for (const double phi : {0.02, 0.05, 0.08}) {
    for (const double theta : {0.1, 0.5, 0.9}) {
      starts.push_back({phi, 1.1 * (most + rday), theta, rday});
    }
  }
  return starts;
}

/// The compensation point by its own profile: the fit once more, with it in the place of Rday.
Result<ResponseEstimate> compensation_estimate(const std::vector<ResponsePoint>& points,
                                               const LightOptions& options,
                                               const LeastSquaresFit& fit) {
  const LightLeaf leaf = leaf_of(fit.parameters);
  const auto point = light_compensation_point(leaf);
  ResponseEstimate none;
  none.symbol = "LCP";
  none.unit = flux;
  none.status = "not identified";
  if (!point || options.rday) {
    if (point) {
      none.value = *point / options.absorptance;
      none.status = "estimated, no interval as Rday is fixed";
    }
    return none;
  }
  LeastSquaresProblem problem = problem_of(points, options);
  const double absorbed = options.absorptance;
  problem.residuals = [&points, absorbed](std::span<const double> p, std::span<double> r) {
    LightLeaf other{p[at_phi], p[at_Amax], p[at_theta], 0};
    other.Rday = light_assimilation(p[3] * absorbed, other);
    for (std::size_t i = 0; i < points.size(); ++i) {
      r[i] = light_assimilation(points[i].x * absorbed, other) - points[i].y;
    }
  };
  problem.lower[3] = 0;
  problem.upper[3] = 1000;
  problem.typical[3] = 20;
  problem.start = fit.parameters;
  problem.start[3] = std::min(*point / absorbed, 1000.0);
  const auto again = least_squares(problem);
  if (!again) return fail(again.error());
  return estimate_of(problem, *again, 3, "LCP", flux, 0.0);
}

/// A = phi_line Q - Rday_line through the rows of low light, with Student's intervals.
void add_line(ResponseFit& out, const LightOptions& options) {
  std::vector<const ResponsePoint*> rows;
  for (const ResponsePoint& point : out.points) {
    if (point.x >= options.line_from && point.x <= options.line_to) rows.push_back(&point);
  }
  const std::string range =
      print_rounded(options.line_from, 4) + " to " + print_rounded(options.line_to, 4) + " " + flux;
  if (rows.size() < 3) {
    out.notes.push_back(
        {NoteLevel::info, "no-low-light-line",
         "fewer than three rows between " + range + ": no straight line through low light"});
    return;
  }
  LeastSquaresProblem problem;
  problem.residual_count = rows.size();
  const double absorbed = options.absorptance;
  problem.residuals = [&rows, absorbed](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < rows.size(); ++i) {
      r[i] = p[0] * rows[i]->x * absorbed - p[1] - rows[i]->y;
    }
  };
  problem.start = {0.05, 1};
  const auto fit = least_squares(problem);
  if (!fit) return;
  auto phi = estimate_of(problem, *fit, 0, "phi_line", "mol mol-1");
  auto rday = estimate_of(problem, *fit, 1, "Rday_line", flux);
  if (!phi || !rday) return;
  out.estimates.push_back(*phi);
  out.estimates.push_back(*rday);
  out.notes.push_back({NoteLevel::info, "low-light-line",
                       "phi_line and Rday_line: straight line through " +
                           std::to_string(rows.size()) + " rows between " + range +
                           "; choose the range above the break near the compensation point "
                           "(Kok effect)"});
}

ResponseCurvePoint curve_at(double Q, const LightOptions& options, const LeastSquaresFit& fit) {
  const double here = light_assimilation(Q * options.absorptance, leaf_of(fit.parameters));
  std::vector<double> gradient(4, 0);
  for (std::size_t k = 0; k < 4; ++k) {
    std::vector<double> moved = fit.parameters;
    const double h = 1e-6 * std::max(0.1, std::abs(moved[k]));
    moved[k] -= h;  // theta near 1 must not be moved beyond it
    gradient[k] = (here - light_assimilation(Q * options.absorptance, leaf_of(moved))) / h;
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

void add_notes(ResponseFit& out, const LightOptions& options, const LeastSquaresFit& fit) {
  const LightLeaf leaf = leaf_of(fit.parameters);
  out.notes.push_back(
      {NoteLevel::info, "light-counted",
       options.absorptance_given
           ? "phi counts absorbed light: absorptance " + print_rounded(options.absorptance, 4)
           : "phi counts incident light (no absorptance was given)"});
  if (options.absorptance_given && leaf.phi > phi_ceiling) {
    out.notes.push_back({NoteLevel::warning, "phi-impossible",
                         "phi above 0.125, which 8 photons per CO2 allow: look at the light "
                         "sensor, the area and the absorptance"});
  }
  double most = 0;
  for (const ResponsePoint& point : out.points) most = std::max(most, point.x);
  const double gross = light_assimilation(most * options.absorptance, leaf) + leaf.Rday;
  const double share = leaf.Amax > 0 ? gross / leaf.Amax : 0;
  out.notes.push_back({share < 0.9 ? NoteLevel::caution : NoteLevel::info, "saturation",
                       "at the highest light, " + print_rounded(most, 4) + " " + flux +
                           ", gross A is " + print_rounded(100 * share, 3) + " % of Amax"});
}

}  // namespace

Result<ResponseFit> fit_light(const std::vector<ResponsePoint>& points,
                              const LightOptions& options) {
  std::set<double> levels;
  for (const ResponsePoint& point : points) levels.insert(std::round(point.x));
  if (levels.size() < 5) {
    return fail(ErrorCode::unfit, std::to_string(levels.size()) + " distinct light levels",
                "at least 5", "measure at more levels, three of them below 150 umol m-2 s-1");
  }
  const LeastSquaresProblem problem = problem_of(points, options);
  const auto fit = best_of(problem, starts_of(points, options));
  if (!fit) return fail(fit.error());
  ResponseFit out;
  out.of = "A";
  out.form = "hyperbola";
  out.equation =
      "A = [phi Q + Amax - sqrt((phi Q + Amax)^2 - 4 theta phi Q Amax)]/(2 theta) - Rday";
  out.source =
      "non-rectangular hyperbola; Marshall & Biscoe 1980, J. Exp. Bot. 31:29 (from memory)";
  out.points = points;
  out.ssr = fit->ssr;
  out.df = fit->df;
  out.rmse = fit->df > 0 ? std::sqrt(fit->ssr / static_cast<double>(fit->df)) : 0;
  auto phi = estimate_of(problem, *fit, at_phi, "phi", "mol mol-1", 0.0);
  auto Amax = estimate_of(problem, *fit, at_Amax, "Amax_gross", flux, 0.0);
  auto theta = estimate_of(problem, *fit, at_theta, "theta", "1", 0.0, 1.0);
  if (!phi) return fail(phi.error());
  if (!Amax) return fail(Amax.error());
  if (!theta) return fail(theta.error());
  out.estimates = {*phi, *Amax, *theta};
  if (options.rday) {
    out.estimates.push_back(fixed_estimate("Rday", flux, *options.rday));
  } else {
    auto rday = estimate_of(problem, *fit, at_Rday, "Rday", flux, 0.0);
    if (!rday) return fail(rday.error());
    out.estimates.push_back(*rday);
  }
  auto point = compensation_estimate(points, options, *fit);
  if (!point) return fail(point.error());
  out.estimates.push_back(*point);
  if (const auto Q90 = light_for_share(0.9, leaf_of(fit->parameters));
      Q90 && Amax->value && theta->value) {
    ResponseEstimate estimate;
    estimate.symbol = "Q90";
    estimate.unit = flux;
    estimate.value = *Q90 / options.absorptance;
    estimate.status = "estimated, no interval";
    out.estimates.push_back(estimate);
  }
  add_line(out, options);
  double most = 0;
  for (const ResponsePoint& p : points) most = std::max(most, p.x);
  constexpr int steps = 120;
  for (int i = 0; i <= steps; ++i) out.curve.push_back(curve_at(most * i / steps, options, *fit));
  for (const double Q : options.at) out.values.push_back(curve_at(Q, options, *fit));
  add_notes(out, options, *fit);
  return out;
}

}  // namespace leafwright
