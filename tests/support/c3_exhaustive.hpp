// A second, independent solver of the sharp C3 fit: slow, in extended precision, by brute force.
// Written from the model alone, it shares neither code nor formulas with src/fit.
//
// Every assignment of states (Rubisco, RuBP, TPU) to points makes the model linear, and "this
// assignment is the minimum" is a set of linear inequalities between V, J and T:
//   V wc_i <= J wj_i, V wc_i <= T wp_i for a Rubisco point, and so on: no order is assumed.
// In such a cell the sum of squares is convex. Its minimum there is found by branching: solve with
// the constraints held so far as equations (QR); if the answer breaks others, then at the minimum
// at least one of the broken ones holds as an equation (else the segment towards the answer would
// lower the sum), so try each. A branch that is no better than the best sum known is cut.
//
//   ordered()           all splits Rubisco.. RuBP.. TPU.. along rising C (enough for Km > 2 G)
//   every_assignment()  all 3^n assignments: checks the order itself; n <= 8
#pragma once

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>
#include <numeric>
#include <stdexcept>
#include <vector>

namespace leafwright::c3_exhaustive {

using Real = long double;
constexpr Real infinity = std::numeric_limits<Real>::infinity();

enum class Respiration { free, fixed, fraction };  // fraction: Rd = value * V

struct Problem {
  std::vector<double> C, A;
  std::vector<double> weights;  ///< empty: 1
  double G = 0, Km = 0, alpha = 0;
  std::vector<double> G_of_point, Km_of_point;  ///< instead of G, Km where not empty
  std::size_t min_points = 1;  ///< a state that limits any point limits at least so many
  double carboxylation = 4, oxygenation = 8;
  bool rubp = true, tpu = true;
  Respiration respiration = Respiration::free;
  double respiration_value = 0;
  /// 0..3: V, J, T or Rd is held at `hold_at` (profiles); -1: none. Rd only where it is free.
  int hold = -1;
  double hold_at = 0;
};

struct Solution {
  /// Infinity: limits no point.
  Real V = infinity, J = infinity, T = infinity, Rd = 0;
  Real ssr = infinity;      ///< evaluated anew from the model, not from the cell
  std::vector<int> states;  ///< 0 Rubisco, 1 RuBP, 2 TPU, in order of rising C
  long cells = 0, solves = 0;
};

/// The sum of squares of the model itself at given parameters.
inline Real objective(const Problem& q, Real V, Real J, Real T, Real Rd) {
  Real sum = 0;
  for (std::size_t i = 0; i < q.C.size(); ++i) {
    const Real C = q.C[i], G = q.G_of_point.empty() ? q.G : q.G_of_point[i];
    const Real Km = q.Km_of_point.empty() ? q.Km : q.Km_of_point[i];
    const Real above = C - (1 + 3 * static_cast<Real>(q.alpha)) * G;
    // W/C, so that (1 - G/C) W keeps its digits near G.
    Real W = V / (C + Km);
    if (q.rubp) W = std::min(W, J / (q.carboxylation * C + q.oxygenation * G));
    if (q.tpu && above > 0) W = std::min(W, T * 3 / above);
    const Real r = q.A[i] - (C - G) * W + Rd;
    sum += (q.weights.empty() ? Real{1} : static_cast<Real>(q.weights[i])) * r * r;
  }
  return sum;
}

using Row = std::array<Real, 4>;  // coefficients of V, J, T, Rd

class Search {
 public:
  explicit Search(const Problem& q) : q_(q), n_(q.C.size()) {
    if (q.A.size() != n_ || n_ == 0) throw std::logic_error("c3_exhaustive: sizes differ");
    std::vector<std::size_t> order(n_);
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&q](std::size_t a, std::size_t b) { return q.C[a] < q.C[b]; });
    for (const std::size_t i : order) {
      const Real C = q.C[i], G = q.G_of_point.empty() ? q.G : q.G_of_point[i];
      const Real Km = q.Km_of_point.empty() ? q.Km : q.Km_of_point[i];
      const Real above = C - (1 + 3 * static_cast<Real>(q.alpha)) * G;
      w_.push_back({C / (C + Km), C / (q.carboxylation * C + q.oxygenation * G),
                    above > 0 ? 3 * C / above : infinity});
      net_.push_back({(C - G) / (C + Km), (C - G) / (q.carboxylation * C + q.oxygenation * G),
                      above > 0 ? 3 * ((C - G) / above) : 0});
      A_.push_back(q.A[i]);
      root_weight_.push_back(q.weights.empty() ? Real{1}
                                               : std::sqrt(static_cast<Real>(q.weights[i])));
    }
  }

  Solution ordered() {
    std::vector<int> states(n_);
    for (std::size_t k = 0; k <= n_; ++k)
      for (std::size_t m = k; m <= n_; ++m) {
        for (std::size_t i = 0; i < n_; ++i) states[i] = i < k ? 0 : i < m ? 1 : 2;
        cell(states);
      }
    return best_;
  }

  Solution every_assignment() {
    if (n_ > 8) throw std::logic_error("c3_exhaustive: too many assignments");
    std::size_t count = 1;
    for (std::size_t i = 0; i < n_; ++i) count *= 3;
    std::vector<int> states(n_);
    for (std::size_t code = 0; code < count; ++code) {
      std::size_t rest = code;
      for (int& state : states) {
        state = static_cast<int>(rest % 3);
        rest /= 3;
      }
      cell(states);
    }
    return best_;
  }

 private:
  // One assignment: design, constraints (row . z >= 0), then the branching.
  void cell(const std::vector<int>& states) {
    for (std::size_t i = 0; i < n_; ++i) {
      if (states[i] == 1 && !q_.rubp) return;
      if (states[i] == 2 && (!q_.tpu || std::isinf(w_[i][2]))) return;
    }
    for (int s = 0; s < 3; ++s) {
      const auto limited = static_cast<std::size_t>(std::count(states.begin(), states.end(), s));
      if (limited > 0 && limited < q_.min_points) return;
    }
    ++best_.cells;
    states_ = states;
    // A limitation without points is taken as infinitely large: it then breaks no inequality.
    // Not so V where respiration is a fraction of it.
    used_ = {false, false, false, q_.respiration == Respiration::free};
    for (const int s : states) used_[static_cast<std::size_t>(s)] = true;
    if (q_.respiration == Respiration::fraction) used_[0] = true;
    if (q_.hold >= 0) used_[static_cast<std::size_t>(q_.hold)] = true;
    design();
    constrain();
    held_.clear();
    branch();
  }

  void design() {
    X_.assign(n_, Row{});
    y_.assign(n_, 0);
    for (std::size_t i = 0; i < n_; ++i) {
      const auto s = static_cast<std::size_t>(states_[i]);
      X_[i][s] = net_[i][s];
      y_[i] = A_[i];
      if (q_.respiration == Respiration::free) X_[i][3] = -1;
      if (q_.respiration == Respiration::fixed) y_[i] += q_.respiration_value;
      if (q_.respiration == Respiration::fraction) X_[i][0] -= q_.respiration_value;
      for (Real& x : X_[i]) x *= root_weight_[i];
      y_[i] *= root_weight_[i];
    }
    if (q_.hold < 0) return;
    // A held parameter is one more observation, of a weight beside which the others are nothing.
    X_.emplace_back();
    X_.back()[static_cast<std::size_t>(q_.hold)] = hold_weight();
    y_.push_back(hold_weight() * q_.hold_at);
  }

  Real hold_weight() const { return 1e10L / std::max<Real>(1e-6L, q_.hold_at); }

  // Of all inequalities "state a limits point i, so p_a w_a <= p_b w_b", the tightest per pair.
  void constrain() {
    constraints_.clear();
    for (std::size_t k = 0; k < 4; ++k) {
      if (!used_[k]) continue;
      Row row{};
      row[k] = 1;
      constraints_.push_back(row);
    }
    for (std::size_t a = 0; a < 3; ++a)
      for (std::size_t b = 0; b < 3; ++b) {
        if (a == b || !used_[a] || !used_[b]) continue;
        Real most = 0;  // p_b >= p_a max(w_a/w_b)
        for (std::size_t i = 0; i < n_; ++i)
          if (states_[i] == static_cast<int>(a)) most = std::max(most, w_[i][a] / w_[i][b]);
        if (most == 0) continue;
        Row row{};
        row[b] = 1;
        row[a] = -most;
        constraints_.push_back(row);
      }
  }

  void branch() {
    ++best_.solves;
    Row z;
    const Real ssr = solve(z);
    if (!(ssr < best_.ssr)) return;
    std::vector<std::size_t> broken;
    for (std::size_t c = 0; c < constraints_.size(); ++c) {
      if (std::find(held_.begin(), held_.end(), c) != held_.end()) continue;
      Real value = 0, size = 0;
      for (std::size_t k = 0; k < 4; ++k) {
        value += constraints_[c][k] * z[k];
        size += std::abs(constraints_[c][k] * z[k]);
      }
      if (value < -1e-16L * size) broken.push_back(c);
    }
    if (broken.empty()) return accept(z);
    if (held_.size() == 4) return;
    for (const std::size_t c : broken) {
      held_.push_back(c);
      branch();
      held_.pop_back();
    }
  }

  void accept(const Row& z) {
    const auto value = [&](std::size_t k) { return used_[k] ? z[k] : infinity; };
    Real Rd = z[3];
    if (q_.respiration == Respiration::fixed) Rd = q_.respiration_value;
    if (q_.respiration == Respiration::fraction) Rd = q_.respiration_value * z[0];
    // A limitation that may not act is not in the model: any number stands for it.
    Real ssr = objective(q_, value(0), value(1), value(2), Rd);
    if (q_.hold >= 0) {
      const Real off = hold_weight() * (z[static_cast<std::size_t>(q_.hold)] - q_.hold_at);
      ssr += off * off;
    }
    if (!(ssr < best_.ssr)) return;
    best_.V = value(0);
    best_.J = value(1);
    best_.T = value(2);
    best_.Rd = Rd;
    best_.ssr = ssr;
    best_.states = states_;
  }

  // Least squares with the held constraints as equations: z = B u, B a basis of what they leave.
  Real solve(Row& z) const {
    std::vector<Row> basis;
    for (std::size_t k = 0; k < 4; ++k) {
      if (!used_[k]) continue;
      basis.push_back({});
      basis.back()[k] = 1;
    }
    for (const std::size_t c : held_) eliminate(basis, constraints_[c]);
    // Modified Gram-Schmidt on the columns X b, the largest remaining first; a column that is
    // nothing but rounding after the others is left out (its direction does not change the sum).
    std::vector<std::vector<Real>> column;
    for (const Row& b : basis) {
      column.emplace_back(X_.size());
      for (std::size_t i = 0; i < X_.size(); ++i)
        column.back()[i] = std::inner_product(b.begin(), b.end(), X_[i].begin(), Real{0});
    }
    for (std::size_t k = column.size(); k-- > 0;) {  // no row depends on it: any value will do
      if (norm(column[k]) > 0) continue;
      column.erase(column.begin() + static_cast<std::ptrdiff_t>(k));
      basis.erase(basis.begin() + static_cast<std::ptrdiff_t>(k));
    }
    std::vector<Real> rest = y_, first_norm;
    for (const auto& v : column) first_norm.push_back(norm(v));
    z = {};
    while (!column.empty()) {
      std::size_t best = 0;
      for (std::size_t k = 1; k < column.size(); ++k)
        if (norm(column[k]) * first_norm[best] > norm(column[best]) * first_norm[k]) best = k;
      const Real length = norm(column[best]);
      if (!(length > 1e-15L * first_norm[best])) break;
      const Row b = basis[best];
      const std::vector<Real> v = column[best];
      column.erase(column.begin() + static_cast<std::ptrdiff_t>(best));
      basis.erase(basis.begin() + static_cast<std::ptrdiff_t>(best));
      first_norm.erase(first_norm.begin() + static_cast<std::ptrdiff_t>(best));
      // Change the remaining basis so that its columns are orthogonal to v.
      for (std::size_t k = 0; k < column.size(); ++k)
        for (int twice = 0; twice < 2; ++twice) {
          const Real share = dot(v, column[k]) / (length * length);
          for (std::size_t i = 0; i < X_.size(); ++i) column[k][i] -= share * v[i];
          for (std::size_t j = 0; j < 4; ++j) basis[k][j] -= share * b[j];
        }
      const Real share = dot(v, rest) / (length * length);
      for (std::size_t i = 0; i < X_.size(); ++i) rest[i] -= share * v[i];
      for (std::size_t j = 0; j < 4; ++j) z[j] += share * b[j];
    }
    return dot(rest, rest);
  }

  // Replaces the basis by one of the directions in which row . z = 0.
  static void eliminate(std::vector<Row>& basis, const Row& row) {
    std::size_t pivot = basis.size();
    Real most = 0;
    std::vector<Real> value;
    for (std::size_t k = 0; k < basis.size(); ++k) {
      value.push_back(std::inner_product(row.begin(), row.end(), basis[k].begin(), Real{0}));
      if (std::abs(value[k]) > most) {
        most = std::abs(value[k]);
        pivot = k;
      }
    }
    if (pivot == basis.size() || most < 1e-17L) return;  // it holds already
    const Row taken = basis[pivot];
    for (std::size_t k = 0; k < basis.size(); ++k)
      if (k != pivot)
        for (std::size_t j = 0; j < 4; ++j) basis[k][j] -= value[k] / value[pivot] * taken[j];
    basis.erase(basis.begin() + static_cast<std::ptrdiff_t>(pivot));
  }

  static Real dot(const std::vector<Real>& a, const std::vector<Real>& b) {
    return std::inner_product(a.begin(), a.end(), b.begin(), Real{0});
  }
  static Real norm(const std::vector<Real>& a) { return std::sqrt(dot(a, a)); }

  const Problem& q_;
  std::size_t n_;
  std::vector<std::array<Real, 3>> w_, net_;  ///< carboxylation and net rates per unit capacity
  std::vector<Real> A_, root_weight_, y_;
  std::vector<int> states_;
  std::array<bool, 4> used_{};
  std::vector<Row> X_, constraints_;
  std::vector<std::size_t> held_;
  Solution best_;
};

inline Solution ordered(const Problem& q) {
  return Search(q).ordered();
}
inline Solution every_assignment(const Problem& q) {
  return Search(q).every_assignment();
}

}  // namespace leafwright::c3_exhaustive
