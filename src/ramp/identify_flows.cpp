#include "ramp/identify_flows.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/number.hpp"

namespace leafwright::identify_detail {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Generalised least squares: estimates and covariance. Empty where the unknowns are not told.
struct Solution {
  VectorXd value;
  MatrixXd covariance;
};
std::optional<Solution> solve(const MatrixXd& X, const VectorXd& y, const MatrixXd& covariance) {
  const Eigen::LLT<MatrixXd> factor(covariance);
  if (factor.info() != Eigen::Success) return std::nullopt;
  const MatrixXd WX = factor.matrixL().solve(X);
  const VectorXd Wy = factor.matrixL().solve(y);
  const Eigen::ColPivHouseholderQR<MatrixXd> qr(WX);
  if (qr.rank() < X.cols()) return std::nullopt;
  return Solution{qr.solve(Wy), (WX.transpose() * WX).inverse()};
}

WithError with_error(const Solution& of, Index i) {
  return {of.value[i], std::sqrt(std::max(of.covariance(i, i), 0.0))};
}

std::optional<FlowLaw> flow_law(const std::vector<GasPath>& paths, const Instrument& instrument) {
  std::vector<const GasPath*> told;
  for (const GasPath& path : paths) {
    if (path.lag_s && path.conditions.flow > 0) told.push_back(&path);
  }
  if (told.size() < 2) return std::nullopt;
  const auto n = static_cast<Index>(told.size());
  MatrixXd X(n, 2), covariance = MatrixXd::Zero(n, n);
  VectorXd y(n);
  FlowLaw law;
  for (Index i = 0; i < n; ++i) {
    const GasPath& path = *told[static_cast<std::size_t>(i)];
    X(i, 0) = 1;
    X(i, 1) = 1 / path.conditions.flow;
    y[i] = path.lag_s->value;
    covariance(i, i) = std::pow(std::max(path.lag_s->se, 1e-9), 2);
    law.flows.push_back(path.conditions.flow);
    law.lags.push_back(path.lag_s->value);
  }
  const auto found = solve(X, y, covariance);
  if (!found) return std::nullopt;
  law.a = with_error(*found, 0);
  law.b = with_error(*found, 1);
  law.covariance = found->covariance(0, 1);
  if (law.a.value < 0) {
    const double u0 = -law.b.value / law.a.value;
    const double by_a = law.b.value / (law.a.value * law.a.value), by_b = -1 / law.a.value;
    const double variance = by_a * by_a * found->covariance(0, 0) +
                            by_b * by_b * found->covariance(1, 1) +
                            2 * by_a * by_b * law.covariance;
    law.null_flow = WithError{u0, std::sqrt(std::max(variance, 0.0))};
  }
  const auto air = air_per_volume(instrument, told.front()->conditions);
  if (air && instrument.chamber_volume) {
    law.inlet_volume = WithError{law.b.value / *air - *instrument.chamber_volume, law.b.se / *air};
  }
  return law;
}

/// c0 = o0 + (K ambient)/u, c1 = o1 - 1000 K/u, c2 = o2 over the flows.
std::optional<Solution> offset_and_leak(const std::vector<GasPath>& paths) {
  const auto n = static_cast<Index>(3 * paths.size());
  MatrixXd X = MatrixXd::Zero(n, 5), covariance = MatrixXd::Zero(n, n);
  VectorXd y(n);
  for (std::size_t g = 0; g < paths.size(); ++g) {
    const auto at = static_cast<Index>(3 * g);
    const double per_u = 1 / paths[g].conditions.flow;
    for (Index k = 0; k < 3; ++k) {
      X(at + k, k) = 1;
      y[at + k] = paths[g].offset[static_cast<std::size_t>(k)];
      for (Index j = 0; j < 3; ++j) {
        covariance(at + k, at + j) =
            paths[g].covariance[static_cast<std::size_t>(4 * (k + 1) + j + 1)];
      }
      covariance(at + k, at + k) += 1e-12;
    }
    X(at, 3) = per_u;
    X(at + 1, 4) = -1000 * per_u;
  }
  return solve(X, y, covariance);
}

void take_leak(const std::vector<GasPath>& paths, GasPath& path) {
  const bool all_told = std::all_of(paths.begin(), paths.end(), [](const GasPath& one) {
    return one.lag_s.has_value() && one.conditions.flow > 0;
  });
  const auto found = paths.size() > 1 && all_told ? offset_and_leak(paths) : std::nullopt;
  if (!found) {
    path.notes.push_back(
        {NoteLevel::info, "offset-and-leak",
         "c0, c1, c2 are offset + leak of this chamber at this flow: two flows, or "
         "the same air in both cells, tell them apart. With a leaf in the gasket "
         "the leak is another"});
    return;
  }
  const WithError product = with_error(*found, 3), K = with_error(*found, 4);
  PathLeak leak{K, {}};
  if (std::abs(K.value) > 2 * K.se) {
    const double ambient = product.value / K.value;
    const double variance = found->covariance(3, 3) + ambient * ambient * found->covariance(4, 4) -
                            2 * ambient * found->covariance(3, 4);
    leak.ambient = {ambient, std::sqrt(std::max(variance, 0.0)) / std::abs(K.value)};
  }
  path.leak = leak;
  path.leak_apart = true;
  // What is left is the cells' own difference, at any flow.
  for (std::size_t i = 0; i < 3; ++i) {
    path.offset[i] = found->value[static_cast<Index>(i)];
    for (std::size_t j = 0; j < 3; ++j) {
      path.covariance[4 * (i + 1) + j + 1] =
          found->covariance(static_cast<Index>(i), static_cast<Index>(j));
    }
    path.covariance[i + 1] = path.covariance[4 * (i + 1)] = 0;
  }
  path.notes.push_back(
      {NoteLevel::info, "leak-apart",
       "leak K = " + print_rounded(K.value, 3) + " +- " + print_rounded(K.se, 2) +
           " umol s-1, told from the offset by the flows; c0, c1, c2 are the offset alone"});
}

}  // namespace

std::vector<std::vector<const RampRecord*>> group_by_flow(const std::vector<RampRecord>& records,
                                                          double apart) {
  std::vector<std::vector<const RampRecord*>> groups;
  std::vector<double> flows;
  for (const RampRecord& record : records) {
    const double flow = median_of(record.flow).value_or(0);
    const auto same = std::find_if(flows.begin(), flows.end(), [&](double known) {
      return std::abs(flow - known) <= apart * known;
    });
    const auto at = static_cast<std::size_t>(same - flows.begin());
    if (same == flows.end()) {
      flows.push_back(flow);
      groups.emplace_back();
    }
    groups[at].push_back(&record);
  }
  return groups;
}

GasPath join_flows(std::vector<GasPath> paths, const Instrument& instrument) {
  GasPath path = paths.front();
  path.flow_law = flow_law(paths, instrument);
  take_leak(paths, path);
  for (std::size_t i = 1; i < paths.size(); ++i) {
    path.records.insert(path.records.end(), paths[i].records.begin(), paths[i].records.end());
    path.notes.insert(path.notes.end(), paths[i].notes.begin(), paths[i].notes.end());
    std::move(paths[i].traces.begin(), paths[i].traces.end(), std::back_inserter(path.traces));
    path.residuals.insert(path.residuals.end(), paths[i].residuals.begin(),
                          paths[i].residuals.end());
  }
  return path;
}

}  // namespace leafwright::identify_detail
