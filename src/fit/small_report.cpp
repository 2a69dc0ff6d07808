#include "fit/small_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "fit/correlation.hpp"
#include "fit/fit_parts.hpp"

namespace leafwright {

std::vector<std::size_t> order_by_ci(const UsableRows& usable) {
  std::vector<std::size_t> order(usable.rows.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return usable.rows[a]->Ci < usable.rows[b]->Ci;
  });
  return order;
}

void describe_small_fit(CurveFit& out, const UsableRows& usable, const CurveModel& model,
                        const SmallMinimum& best, const std::vector<std::size_t>& order,
                        const SmallIntervals& how) {
  const std::size_t n = model.rows();
  out.points = n;
  for (const CurveRow* row : usable.rows) out.used.push_back(row->row);
  out.Tleaf = usable.tleaf;
  out.Patm = usable.patm;
  std::vector<double> A(n);
  model.rates(best.p, A.data(), nullptr);
  out.ssr = 0;
  for (std::size_t i = 0; i < n; ++i) {
    FittedRow f;
    const CurveRow& row = *usable.rows[order[i]];
    f.row = row.row;
    f.Ci = row.Ci;
    f.A = row.A;
    f.A_model = A[i];
    f.residual = f.A - f.A_model;
    if (model.weights() != nullptr) f.weight = (*model.weights())[i];
    out.ssr += f.weight * f.residual * f.residual;
    out.rows.push_back(f);
  }
  out.df = n > model.counted() ? n - model.counted() : 0;
  out.rmse = out.df > 0 ? std::sqrt(out.ssr / static_cast<double>(out.df)) : 0;
  out.residual_correlation = how.correlation;
  if (how.profile && out.df > 0)
    out.interval_kind = fmt::format("{:.6g} % profile", 100 * how.level);
  std::vector<std::size_t> which;
  const Design design = small_design(model, best.p, which);
  if (which.empty()) return;
  if (const auto profile = correlation_profile(design)) {
    out.residuals.lag1 = profile->observed;
    out.residuals.lag1_expected = profile->expected(0);
  }
  const RunsAndOutliers checks = check_residuals(design);
  out.residuals.runs_p = checks.runs_p;
  out.residuals.largest = checks.largest;
  out.residuals.outlier_p = checks.outlier_p;
}

void describe_weights(CurveFit& out, const UsableRows& usable,
                      const std::vector<std::size_t>& order, const std::string& sd_column) {
  if (sd_column.empty()) return;
  for (std::size_t i = 0; i < out.rows.size(); ++i) out.rows[i].sd = usable.rows[order[i]]->sd;
  Weighting w;
  w.sd_column = sd_column;
  out.weighting = std::move(w);
  out.weighting->residual_to_sd = residual_to_sd(out);
  note_weights(out, usable);
}

void note_small_fit(CurveFit& out, const UsableRows& usable) {
  const auto caution = [&](std::string about, std::string text) {
    out.notes.push_back({NoteLevel::caution, std::move(about), std::move(text)});
  };
  if (usable.tleaf_spread > 2) {
    caution("tleaf-spread",
            fmt::format("Tleaf varies by {:.1f} K within the curve; kinetics are taken at its mean",
                        usable.tleaf_spread));
  }
  note_degrees_of_freedom(out);
  const ResidualChecks& r = out.residuals;
  if (r.largest && r.outlier_p && *r.outlier_p < 0.01) {
    caution("large-residual",
            fmt::format("a row lies {:.1f} standard deviations off the curve", *r.largest));
  }
  if (r.runs_p && *r.runs_p < 0.01) {
    caution("residual-runs", "residuals come in runs: the model does not follow the curve's shape");
  }
}

}  // namespace leafwright
