#include "stats/pool_information.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr int size = static_cast<int>(joint_size);
using Matrix = Eigen::Matrix3d;
using Vector = Eigen::Vector3d;
constexpr double most_correlation = 0.99;
constexpr int most_steps = 5000;
constexpr double settled = 1e-7;  ///< of the first variances, a step

struct Unit {
  Vector y = Vector::Zero();
  Matrix S = Matrix::Zero();
  std::vector<int> known;
};

/// Z' (Z (S + T) Z')^-1 Z: the precision of what is known, 0 elsewhere.
Matrix precision(const Unit& unit, const Matrix& T) {
  const auto n = static_cast<Eigen::Index>(unit.known.size());
  Eigen::MatrixXd V(n, n);
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      const int a = unit.known[static_cast<std::size_t>(i)];
      const int b = unit.known[static_cast<std::size_t>(j)];
      V(i, j) = unit.S(a, b) + T(a, b);
    }
  }
  const Eigen::MatrixXd inverse = V.ldlt().solve(Eigen::MatrixXd::Identity(n, n));
  Matrix out = Matrix::Zero();
  for (Eigen::Index i = 0; i < n; ++i) {
    for (Eigen::Index j = 0; j < n; ++j) {
      out(unit.known[static_cast<std::size_t>(i)], unit.known[static_cast<std::size_t>(j)]) =
          inverse(i, j);
    }
  }
  return out;
}

struct Middle {
  std::vector<Matrix> precisions;
  Matrix C = Matrix::Zero();  ///< (sum of precisions)^-1
  Vector mu = Vector::Zero();
};

Middle middle_of(const std::vector<Unit>& units, const Matrix& T) {
  Middle out;
  Matrix sum = Matrix::Zero();
  Vector weighted = Vector::Zero();
  for (const Unit& unit : units) {
    out.precisions.push_back(precision(unit, T));
    sum += out.precisions.back();
    weighted += out.precisions.back() * unit.y;
  }
  out.C = sum.inverse();
  out.mu = out.C * weighted;
  return out;
}

/// One EM step of the restricted likelihood.
Matrix next_between(const std::vector<Unit>& units, const Matrix& T) {
  const Middle at = middle_of(units, T);
  Matrix sum = Matrix::Zero();
  for (std::size_t i = 0; i < units.size(); ++i) {
    const Matrix& W = at.precisions[i];
    const Vector b = T * W * (units[i].y - at.mu);
    sum += b * b.transpose() + T - T * (W - W * at.C * W) * T;
  }
  return sum / static_cast<double>(units.size());
}

/// Moments as the start: the scatter of the values, coordinate by coordinate.
Matrix first_between(const std::vector<Unit>& units) {
  Matrix out = Matrix::Zero();
  for (int k = 0; k < size; ++k) {
    double n = 0, mean = 0, sum = 0;
    for (const Unit& unit : units) {
      if (std::count(unit.known.begin(), unit.known.end(), k) == 0) continue;
      n += 1;
      sum += std::pow(unit.y(k) - mean, 2) * (n - 1) / n;
      mean += (unit.y(k) - mean) / n;
    }
    out(k, k) = std::max(sum / (n - 1), 1e-12);
  }
  return out;
}

Result<std::vector<Unit>> units_of(std::span<const PoolVector> vectors) {
  std::vector<Unit> out;
  std::array<std::size_t, joint_size> known{};
  for (const PoolVector& v : vectors) {
    Unit unit;
    for (int k = 0; k < size; ++k) {
      const auto at = static_cast<std::size_t>(k);
      if (!v.known[at]) continue;
      unit.known.push_back(k);
      unit.y(k) = v.value[at];
      ++known[at];
      for (int j = 0; j < size; ++j) {
        unit.S(k, j) = v.known[static_cast<std::size_t>(j)]
                           ? v.covariance[at * joint_size + static_cast<std::size_t>(j)]
                           : 0;
      }
    }
    for (const int k : unit.known) {
      if (unit.S(k, k) > 0 && std::isfinite(unit.S(k, k))) continue;
      return fail(ErrorCode::unfit, "'" + v.unit + "' has no standard error above 0",
                  "one for each of its values", "");
    }
    out.push_back(std::move(unit));
  }
  constexpr std::array<const char*, joint_size> names = {"Vcmax", "J", "Rday"};
  for (std::size_t k = 0; k < joint_size; ++k) {
    if (known[k] >= 3) continue;
    return fail(ErrorCode::unfit,
                std::to_string(known[k]) + " values of " + names[k] + " with a standard error",
                "at least 3", "pool them one by one (unweighted or reml)");
  }
  return out;
}

}  // namespace

std::vector<PoolVector> average_vectors(std::span<const PoolVector> leaves) {
  std::vector<PoolVector> out;
  std::vector<std::array<double, joint_size>> counts;
  for (const PoolVector& leaf : leaves) {
    const auto found = std::find_if(out.begin(), out.end(),
                                    [&](const PoolVector& one) { return one.unit == leaf.unit; });
    const auto at = static_cast<std::size_t>(found - out.begin());
    if (found == out.end()) {
      out.push_back({leaf.unit, {}, {}, {}});
      counts.emplace_back();
    }
    for (std::size_t a = 0; a < joint_size; ++a) {
      if (!leaf.known[a]) continue;
      out[at].known[a] = true;
      out[at].value[a] += leaf.value[a];
      counts[at][a] += 1;
      for (std::size_t b = 0; b < joint_size; ++b) {
        if (leaf.known[b])
          out[at].covariance[a * joint_size + b] += leaf.covariance[a * joint_size + b];
      }
    }
  }
  for (std::size_t i = 0; i < out.size(); ++i) {
    for (std::size_t a = 0; a < joint_size; ++a) {
      if (counts[i][a] > 0) out[i].value[a] /= counts[i][a];
      for (std::size_t b = 0; b < joint_size; ++b) {
        const double by = counts[i][a] * counts[i][b];
        if (by > 0) out[i].covariance[a * joint_size + b] /= by;
      }
    }
  }
  return out;
}

Result<InformationPool> pool_information(std::span<const PoolVector> vectors, double level) {
  const auto units = units_of(vectors);
  if (!units) return fail(units.error());
  Matrix T = first_between(*units);
  const Vector scale = T.diagonal();
  InformationPool out;
  for (int step = 0; step < most_steps && !out.converged; ++step) {
    const Matrix next = next_between(*units, T);
    double change = 0;
    for (int k = 0; k < size; ++k) {
      change = std::max(change, std::abs(next(k, k) - T(k, k)) / scale(k));
    }
    T = next;
    out.converged = change < settled;
  }
  const Middle at = middle_of(*units, T);
  double q = 0, values = 0;
  for (std::size_t i = 0; i < units->size(); ++i) {
    const Vector r = (*units)[i].y - at.mu;
    q += r.dot(at.precisions[i] * r);
    values += static_cast<double>((*units)[i].known.size());
    const Vector b = at.mu + T * at.precisions[i] * r;
    out.shrunken.push_back({b(0), b(1), b(2)});
  }
  out.scale = std::max(1.0, q / (values - size));
  for (std::size_t k = 0; k < joint_size; ++k) {
    const auto at_k = static_cast<int>(k);
    PooledMean& mean = out.means[k];
    for (const PoolVector& v : vectors) mean.units += v.known[k] ? 1U : 0U;
    const double n = static_cast<double>(mean.units);
    mean.mean = at.mu(at_k);
    mean.df = n - 1;
    mean.se = std::sqrt(out.scale * at.C(at_k, at_k));
    const double reach = t_quantile(0.5 + level / 2, n - 1) * *mean.se;
    mean.low = mean.mean - reach;
    mean.high = mean.mean + reach;
    const double far =
        t_quantile(0.5 + level / 2, n - 2) * std::sqrt(T(at_k, at_k) + *mean.se * *mean.se);
    mean.new_low = mean.mean - far;
    mean.new_high = mean.mean + far;
    for (std::size_t j = 0; j < joint_size; ++j) {
      out.between[k * joint_size + j] = T(at_k, static_cast<int>(j));
    }
  }
  return out;
}

std::array<double, joint_size * joint_size> joint_covariance(
    const std::array<double, joint_size>& se, const std::array<double, joint_size>& correlation) {
  std::array<double, joint_size * joint_size> out{};
  constexpr std::array<std::array<std::size_t, 2>, joint_size> pairs = {{{0, 1}, {0, 2}, {1, 2}}};
  for (std::size_t k = 0; k < joint_size; ++k) out[k * joint_size + k] = se[k] * se[k];
  for (std::size_t k = 0; k < pairs.size(); ++k) {
    const auto [a, b] = pairs[k];
    const double r = std::clamp(correlation[k], -most_correlation, most_correlation);
    out[a * joint_size + b] = out[b * joint_size + a] = r * se[a] * se[b];
  }
  return out;
}

}  // namespace leafwright
