#include "fit/huber.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr std::size_t most_steps = 400;

/// One descent: the current fit, scale and weights.
struct State {
  ExactSolution solution;
  std::vector<double> u;  ///< residuals times the root of the weight given
  double scale = 0, loss = 0;
  bool converged = false;
};

class Descent {
 public:
  Descent(const C3Problem& problem, double k)
      : p_(problem),
        k_(k),
        needed_(huber_expectation(k) *
                (static_cast<double>(problem.size()) - problem.parameters())),
        floor_(1e-9 * std::sqrt(problem.scale / static_cast<double>(problem.size()))) {}

  [[nodiscard]] C3Problem weighted(const std::vector<double>& h) const {
    C3Problem out = p_;
    for (std::size_t i = 0; i < out.size(); ++i) out.w[i] = p_.w[i] * h[i];
    out.scale = data_scale(out);
    return out;
  }

  [[nodiscard]] std::vector<double> weights(const State& s) const {
    std::vector<double> h(s.u.size(), 1.0);
    for (std::size_t i = 0; i < h.size(); ++i) {
      const double size = std::abs(s.u[i]);
      if (needed_ > 0 && size > k_ * s.scale) h[i] = k_ * s.scale / size;
    }
    return h;
  }

  /// Steps from the fit under the weights `h` until the loss stands still. A descent that runs
  /// into `known` is given up.
  [[nodiscard]] State from(std::vector<double> h, const State* known) const {
    State s;
    for (std::size_t step = 0; step < most_steps; ++step) {
      const double before = s.loss;
      s.solution = solve_exact(weighted(h));
      measure(s);
      if (!(needed_ > 0)) {
        s.converged = true;
        break;
      }
      const std::vector<double> next = weights(s);
      double moved = 0;
      for (std::size_t i = 0; i < h.size(); ++i) moved = std::max(moved, std::abs(next[i] - h[i]));
      h = next;
      if (moved < 1e-9 || (step > 0 && before - s.loss <= 1e-13 * s.loss)) {
        s.converged = true;
        break;
      }
      if (known != nullptr && step > 1 && near(s, *known)) break;
    }
    return s;
  }

 private:
  /// Residuals, the scale of Proposal 2, and the loss.
  void measure(State& s) const {
    s.u.resize(p_.size());
    for (std::size_t i = 0; i < p_.size(); ++i) {
      s.u[i] = std::sqrt(p_.w[i]) * (p_.A[i] - modelled_rate(p_, i, s.solution.leaf));
    }
    s.scale = std::max(floor_, std::sqrt(squared_scale(s.u)));
    s.loss = 0.5 * needed_ * s.scale;
    for (const double u : s.u) {
      const double size = std::abs(u), edge = k_ * s.scale;
      s.loss += size <= edge ? 0.5 * u * u / s.scale : k_ * size - 0.5 * k_ * edge;
    }
  }

  /// The root t = s^2 above 0 of sum min(u^2, k^2 t) = needed t, which is a straight line between
  /// the squares; 0 where too many residuals vanish: the floor then stands in.
  [[nodiscard]] double squared_scale(const std::vector<double>& u) const {
    std::vector<double> q;
    q.reserve(u.size());
    double below = 0;
    for (const double x : u) {
      q.push_back(x * x);
      below += x * x;
    }
    if (!(needed_ > 0)) return 0;
    std::sort(q.begin(), q.end());
    for (std::size_t clipped = 0; clipped < q.size(); ++clipped) {
      const double rest = needed_ - static_cast<double>(clipped) * k_ * k_;
      if (!(rest > 0)) return 0;
      const double t = below / rest, largest = q[q.size() - 1 - clipped];
      if (largest <= k_ * k_ * t) return t;
      below = std::max(0.0, below - largest);
    }
    return 0;
  }

  /// Close to `known` and no better: the steps would end there.
  [[nodiscard]] static bool near(const State& s, const State& known) {
    double moved = 0;
    for (std::size_t i = 0; i < s.u.size(); ++i) {
      moved = std::max(moved, std::abs(s.u[i] - known.u[i]));
    }
    return s.loss >= known.loss && moved < 1e-3 * known.scale;
  }

  const C3Problem& p_;
  double k_, needed_, floor_;
};

}  // namespace

double huber_expectation(double k) {
  const double density = std::exp(-0.5 * k * k) / std::sqrt(2 * std::numbers::pi);
  const double upper = normal_upper(k);
  return 1 - 2 * upper - 2 * k * density + 2 * k * k * upper;
}

HuberSolution solve_huber(const C3Problem& problem, double k) {
  const std::size_t n = problem.size();
  const Descent descent(problem, k);
  State best = descent.from(std::vector<double>(n, 1.0), nullptr);
  HuberSolution out;
  out.outcome.starts = 1;
  if (n <= most_starts && static_cast<double>(n) > problem.parameters()) {
    for (std::size_t i = 0; i < n; ++i) {
      std::vector<double> without(n, 1.0);
      without[i] = 1e-6;
      State other = descent.from(std::move(without), &best);
      if (other.loss < best.loss * (1 - 1e-10)) best = std::move(other);
    }
    out.outcome.starts += n;
  }
  out.weight = descent.weights(best);
  out.weighted = descent.weighted(out.weight);
  // Solved once more, so that the certificate is that of these weights.
  out.solution = solve_exact(out.weighted);
  out.loss = best.loss;
  HuberOutcome& told = out.outcome;
  told.k = k;
  told.scale = best.scale;
  told.converged = best.converged;
  for (const double h : out.weight) {
    told.down += h < 1 ? 1 : 0;
    told.least = std::min(told.least, h);
  }
  const double rows = static_cast<double>(n), m = (rows - static_cast<double>(told.down)) / rows;
  told.correction = m > 0 ? 1 + problem.parameters() / rows * (1 - m) / m : 1;
  return out;
}

PseudoValues pseudo_values(const C3Problem& problem, const HuberSolution& huber) {
  PseudoValues out{problem, huber.solution};
  const double rows = static_cast<double>(problem.size());
  const double m = std::max(1.0, rows - static_cast<double>(huber.outcome.down)) / rows;
  for (std::size_t i = 0; i < problem.size(); ++i) {
    const double model = modelled_rate(problem, i, huber.solution.leaf);
    out.problem.A[i] = model + huber.weight[i] * (problem.A[i] - model) / m;
  }
  out.problem.scale = data_scale(out.problem);
  out.solution.ssr = sum_of_squares(out.problem, huber.solution.leaf);
  return out;
}

}  // namespace leafwright
