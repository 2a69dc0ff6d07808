#include "fit/budget.hpp"

#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "fit/exact.hpp"
#include "fit/fit_parts.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Relative change in %, empty where one of the two does not limit.
std::optional<double> percent(double now, double before) {
  if (!(now < infinity) || !(before < infinity) || !(before > 0)) return {};
  return 100 * (now / before - 1);
}

BudgetLine line(std::string cause, std::string step, const C3Leaf& now, const C3Leaf& before) {
  return {std::move(cause),
          std::move(step),
          percent(now.Vcmax, before.Vcmax),
          percent(now.J, before.J),
          percent(now.TPU, before.TPU),
          now.Rday - before.Rday};
}

Electrons other_electrons(const Electrons& e) {
  return e.carboxylation == 4 ? Electrons{4.5, 10.5} : Electrons{4, 8};
}

/// Net rates of `leaf` if Rubisco and RuBP limits blend: theta W^2 - (Wc + Wj) W + Wc Wj = 0,
/// smaller root; then the sharp minimum with TPU.
double smooth_rate(const C3Problem& p, std::size_t i, const C3Leaf& leaf, double theta) {
  const Limitation sharp = limiting_state(p, i, leaf);
  if (sharp == Limitation::tpu || !(leaf.Vcmax < infinity) || !(leaf.J < infinity)) {
    return modelled_rate(p, i, leaf);
  }
  // In units of the RuBP rate: the ratio Wc/Wj is V r/J.
  const double a = leaf.Vcmax * p.r[i] / leaf.J;
  const double blended = (a + 1 - std::sqrt((a + 1) * (a + 1) - 4 * theta * a)) / (2 * theta);
  return blended * leaf.J * p.xj[i] - p.d[i] * leaf.Rday;
}

}  // namespace

Result<std::vector<Observation>> make_observations(const std::vector<const CurveRow*>& rows,
                                                   double tleaf_mean, double patm_mean,
                                                   const C3FitOptions& options,
                                                   const KineticsSet* set, double tleaf_shift) {
  const KineticsSet& kinetics = set != nullptr ? *set : *options.kinetics;
  std::vector<Observation> out;
  out.reserve(rows.size());
  const auto mean =
      kinetics_at(kinetics, tleaf_mean + tleaf_shift, patm_mean, options.basis, options.overrides);
  if (!mean) return fail(mean.error());
  for (const CurveRow* row : rows) {
    Observation o;
    o.A = row->A;
    o.Ci = row->Ci;
    o.kinetics = *mean;
    if (options.tleaf_per_row) {
      const auto at_row = kinetics_at(kinetics, row->Tleaf + tleaf_shift, row->Patm, options.basis,
                                      options.overrides);
      if (!at_row) return fail(at_row.error());
      o.kinetics = *at_row;
    }
    out.push_back(o);
  }
  if (!options.sd_column.empty()) {
    const auto weights = weights_of(rows, options.sd_column);
    if (!weights) return fail(weights.error());
    for (std::size_t i = 0; i < out.size(); ++i) out[i].weight = (*weights)[i];
  }
  return out;
}

std::vector<BudgetLine> make_budget(const std::vector<const CurveRow*>& rows, double tleaf_mean,
                                    double patm_mean, const C3FitOptions& options,
                                    const C3Problem& problem, const C3Leaf& best) {
  std::vector<BudgetLine> out;
  const auto refit = [&](std::vector<Observation> observations, const Electrons& electrons,
                         std::string cause, std::string step) {
    for (std::size_t i = 0; i < problem.size(); ++i) {
      observations[problem.row[i]].weight = problem.w[i];
    }
    const auto p = make_problem(observations, problem.permitted, problem.rday_mode,
                                problem.rday_value, electrons, options.alpha, problem.min_points);
    if (p) out.push_back(line(std::move(cause), std::move(step), solve_exact(*p).leaf, best));
  };
  const auto base = make_observations(rows, tleaf_mean, patm_mean, options);
  if (!base) return out;
  if (const auto warm = make_observations(rows, tleaf_mean, patm_mean, options, nullptr, 1.0)) {
    refit(*warm, options.electrons, "leaf temperature", "+1 K");
  }
  auto area = *base;
  for (Observation& o : area) o.A /= 1.01;
  refit(area, options.electrons, "leaf area (A scales, Ci does not)", "+1 %");
  auto offset = *base;
  for (Observation& o : offset) o.A += 0.1;
  refit(offset, options.electrons, "offset of A", "+0.1 umol m-2 s-1");
  const Electrons other = other_electrons(options.electrons);
  refit(*base, other, "electron requirement",
        fmt::format("{}/{}", other.carboxylation, other.oxygenation));
  for (const KineticsSet& set : kinetics_sets()) {
    if (&set == options.kinetics || set.carbon_at != options.kinetics->carbon_at) continue;
    const auto o = make_observations(rows, tleaf_mean, patm_mean, options, &set);
    if (o) refit(*o, options.electrons, "kinetics", std::string(set.name));
  }
  C3Problem smooth = problem;
  for (std::size_t i = 0; i < smooth.size(); ++i) {
    smooth.A[i] = smooth_rate(problem, i, best, 0.98);
  }
  smooth.scale = data_scale(smooth);
  out.push_back(
      line("states that blend (smooth minimum)", "theta 0.98", solve_exact(smooth).leaf, best));
  return out;
}

}  // namespace leafwright
