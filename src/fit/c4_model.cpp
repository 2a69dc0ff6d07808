#include "fit/c4_model.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/c4_linear.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

std::vector<ParameterSpec> specs_for(C4Plateau plateau, const RdayChoice& rday) {
  std::vector<ParameterSpec> out(3);
  out[c4_vpmax].symbol = "Vpmax";
  out[c4_top].symbol = c4_top_symbol(plateau);
  out[c4_rday].symbol = "Rday";
  out[c4_rday].capacity = false;
  out[c4_rday].fixed = rday.mode != RdayMode::free;
  return out;
}

C4LinearProblem linear_problem(const C4Rows& rows, C4Top top) {
  C4LinearProblem p;
  p.A = rows.A;
  p.w = rows.w;
  p.m = rows.kinetics.rm_share;
  p.top = top;
  for (const double C : rows.C) {
    p.f.push_back(C / (C + rows.kinetics.Kp));
    p.c.push_back(rows.kinetics.gbs * C);
  }
  return p;
}

double largest_of(const std::vector<double>& A) {
  double largest = 1e-6;
  for (const double a : A) largest = std::max(largest, std::abs(a));
  return largest;
}

/// What all three have: rows, specs.
class C4Model : public CurveModel {
 public:
  C4Model(const C4Rows& rows, C4Plateau plateau, const RdayChoice& rday)
      : rows_(rows), rday_(rday), specs_(specs_for(plateau, rday)) {
    rows_.w.resize(rows_.A.size(), 1.0);
    for (const double w : rows_.w) root_.push_back(std::sqrt(w));
  }
  [[nodiscard]] const std::vector<double>& observed() const override { return rows_.A; }
  [[nodiscard]] const std::vector<double>* weights() const override { return &rows_.w; }
  [[nodiscard]] const std::vector<ParameterSpec>& specs() const override { return specs_; }

 protected:
  [[nodiscard]] HeldParameters with_rday(HeldParameters held) const {
    if (rday_.mode == RdayMode::fixed) held[c4_rday] = rday_.value;
    return held;
  }
  /// Residuals and derivatives of row i as the sum of squares counts them.
  void weigh(std::size_t i, double* r, double* J) const {
    r[i] *= root_[i];
    if (J == nullptr) return;
    for (std::size_t k = 0; k < most_parameters; ++k) J[i * most_parameters + k] *= root_[i];
  }
  C4Rows rows_;
  std::vector<double> root_;  ///< of the weights
  RdayChoice rday_;
  std::vector<ParameterSpec> specs_;
};

class LinearModel final : public C4Model {
 public:
  LinearModel(const C4Rows& rows, C4Plateau plateau, const RdayChoice& rday)
      : C4Model(rows, plateau, rday),
        problem_(linear_problem(rows, plateau == C4Plateau::vpr ? C4Top::rising : C4Top::flat)) {}

  [[nodiscard]] SmallMinimum solve(const HeldParameters& held, const Parameters*) const override {
    const C4LinearSolution s = solve_c4_linear(problem_, with_rday(held));
    return {{s.V, s.P, s.R}, s.ssr, s.certified};
  }

  void rates(const Parameters& p, double* A, double* J) const override {
    const bool flat = problem_.top == C4Top::flat;
    const double V = p[c4_vpmax], P = p[c4_top], R = p[c4_rday];
    for (std::size_t i = 0; i < rows(); ++i) {
      const double c = problem_.c[i], m = problem_.m;
      const double low = V < infinity ? V * problem_.f[i] + c - m * R : infinity;
      const double high = flat ? P - R : P + c - m * R;
      A[i] = std::min(low, high);
      if (J == nullptr) continue;
      double* row = J + i * most_parameters;
      std::fill(row, row + most_parameters, 0.0);
      row[c4_vpmax] = low <= high ? problem_.f[i] : 0;
      row[c4_top] = low <= high ? 0 : 1;
      row[c4_rday] = low <= high || !flat ? -m : -1;
    }
  }

 private:
  C4LinearProblem problem_;
};

/// Parameters V, 1/Vcmax, R, and the initial slope, from which V follows where it is held.
class RubiscoModel final : public C4Model, private SmoothTarget {
 public:
  RubiscoModel(const C4Rows& rows, const RdayChoice& rday)
      : C4Model(rows, C4Plateau::vcmax, rday), problem_(linear_problem(rows, C4Top::flat)) {
    specs_[c4_top].reciprocal = true;
    ParameterSpec slope;
    slope.symbol = "initial_slope";
    slope.counted = false;
    specs_.push_back(slope);
    highest_v_ = 1e5 * largest_of(rows.A);
    highest_r_ = largest_of(rows.A);
  }

  [[nodiscard]] SmallMinimum solve(const HeldParameters& held,
                                   const Parameters* near) const override {
    SmallMinimum best;
    best.ssr = infinity;
    const HeldParameters h = with_rday(held);
    if (near != nullptr) {
      try_start(h, *near, best);
      return best;
    }
    const C4LinearSolution s = solve_c4_linear(problem_, linear_held(h));
    const double top = s.P < infinity ? s.P : 3 * largest_of(rows_.A);
    const double supply = s.V < infinity ? s.V : 30 * largest_of(rows_.A);
    for (const auto& [v, t] : {std::pair{1.0, 1.0}, std::pair{1.4, 1.1}, std::pair{0.7, 3.0},
                               std::pair{4.0, 0.8}, std::pair{1.0, 20.0}}) {
      for (const double R : {s.R, 0.5 * s.R + 0.02 * largest_of(rows_.A)}) {
        try_start(h, {v * supply, 1 / std::max(t * top, 1e-9), R}, best);
      }
    }
    return best;
  }

  void rates(const Parameters& p, double* A, double* J) const override {
    const double Vcmax = value_of(specs_[c4_top], p[c4_top]);
    const bool fraction = rday_.mode == RdayMode::fraction;
    const double R = fraction ? rday_.value * (Vcmax < infinity ? Vcmax : 0) : p[c4_rday];
    for (std::size_t i = 0; i < rows(); ++i) {
      const double f = problem_.f[i];
      const double Vp = std::min(p[c4_vpmax], highest_v_) * f;
      const C4Partial d = c4_enzyme_limited(rows_.C[i], Vp, Vcmax, R, rows_.kinetics);
      A[i] = d.A;
      if (J == nullptr) continue;
      double* row = J + i * most_parameters;
      std::fill(row, row + most_parameters, 0.0);
      row[c4_vpmax] = d.by_supply * f;
      const double by_vcmax = d.by_capacity + (fraction ? rday_.value * d.by_Rday : 0);
      // d/d(1/Vcmax); where Vcmax is infinite, the limit by a very large one.
      const double V = Vcmax < infinity ? Vcmax : 1e7;
      const double slope =
          Vcmax < infinity ? by_vcmax
                           : c4_enzyme_limited(rows_.C[i], Vp, V, R, rows_.kinetics).by_capacity;
      row[c4_top] = -V * V * slope;
      row[c4_rday] = fraction ? 0 : d.by_Rday;
    }
  }

 private:
  [[nodiscard]] std::size_t rows() const override { return rows_.A.size(); }

  bool evaluate(const Parameters& p, double* r, double* J) const override {
    rates(p, r, J);
    bool finite = true;
    for (std::size_t i = 0; i < rows(); ++i) {
      r[i] -= rows_.A[i];
      finite = finite && std::isfinite(r[i]);
      weigh(i, r, J);
    }
    return finite;
  }

  static HeldParameters linear_held(const HeldParameters& held) {
    HeldParameters out;
    out[c4_rday] = held[c4_rday];
    return out;
  }

  /// V under which the curve leaves Cm = 0 with this slope, which is straight in V.
  [[nodiscard]] double supply_for(double slope, double Vcmax, double R) const {
    const C4Partial p = c4_enzyme_limited(0, 0, Vcmax, R, rows_.kinetics);
    return std::clamp((slope - p.by_Cm) * rows_.kinetics.Kp / p.by_supply, 0.0, highest_v_);
  }

  /// The curve with the initial slope held: two parameters, by differences.
  class AtSlope final : public SmoothTarget {
   public:
    AtSlope(const RubiscoModel& model, double slope) : model_(model), slope_(slope) {}
    [[nodiscard]] std::size_t rows() const override { return model_.rows(); }
    [[nodiscard]] Parameters full(Parameters p) const {
      p[c4_vpmax] = model_.supply_for(slope_, value_of(model_.specs_[c4_top], p[c4_top]),
                                      model_.effective_rday(p));
      return p;
    }
    bool evaluate(const Parameters& p, double* r, double* J) const override {
      if (!model_.evaluate(full(p), r, nullptr)) return false;
      if (J == nullptr) return true;
      std::fill(J, J + rows() * most_parameters, 0.0);
      std::vector<double> moved(rows());
      for (const std::size_t k : {c4_top, c4_rday}) {
        Parameters q = p;
        const double h = 1e-6 * std::max(std::abs(p[k]), k == c4_top ? 1e-5 : 1e-2);
        q[k] += h;
        if (!model_.evaluate(full(q), moved.data(), nullptr)) return false;
        for (std::size_t i = 0; i < rows(); ++i) J[i * most_parameters + k] = (moved[i] - r[i]) / h;
      }
      return true;
    }

   private:
    const RubiscoModel& model_;
    double slope_;
  };

  [[nodiscard]] double effective_rday(const Parameters& p) const {
    if (rday_.mode != RdayMode::fraction) return p[c4_rday];
    const double Vcmax = value_of(specs_[c4_top], p[c4_top]);
    return Vcmax < infinity ? rday_.value * Vcmax : 0;
  }

  void try_start(const HeldParameters& held, Parameters start, SmallMinimum& best) const {
    ParameterBox box;
    box.lower = {0, 0, 0};
    box.upper = {highest_v_, 1e6, highest_r_};
    if (held[c4_rday] && rday_.mode == RdayMode::free && *held[c4_rday] > highest_r_) return;
    for (const std::size_t k : {c4_vpmax, c4_top, c4_rday}) {
      box.free[k] = !held[k] && !(k == c4_rday && rday_.mode == RdayMode::fraction);
      if (held[k]) start[k] = k == c4_vpmax ? std::min(*held[k], highest_v_) : *held[k];
    }
    SmallMinimum m;
    if (held[c4_initial_slope]) {
      box.free[c4_vpmax] = false;
      const AtSlope target(*this, *held[c4_initial_slope]);
      m = minimise(target, box, start);
      m.p = target.full(m.p);
    } else {
      m = minimise(*this, box, start);
    }
    if (!(m.ssr < best.ssr)) return;
    best = m;
    best.p[c4_rday] = effective_rday(best.p);
    if (best.p[c4_vpmax] >= 0.999 * highest_v_) best.p[c4_vpmax] = infinity;
    best.p[c4_initial_slope] = best.p[c4_vpmax] < infinity
                                   ? c4_slope_at_zero(C4Plateau::vcmax, best.p[c4_vpmax],
                                                      value_of(specs_[c4_top], best.p[c4_top]),
                                                      best.p[c4_rday], rows_.kinetics)
                                   : infinity;
  }

  C4LinearProblem problem_;
  double highest_v_, highest_r_;
};

/// min of the straight initial side and the light-limited quadratic.
class LightModel final : public C4Model {
 public:
  LightModel(const C4Rows& rows, const RdayChoice& rday)
      : C4Model(rows, C4Plateau::j, rday), problem_(linear_problem(rows, C4Top::flat)) {
    largest_ = largest_of(rows.A);
  }

  [[nodiscard]] SmallMinimum solve(const HeldParameters& held,
                                   const Parameters* near) const override {
    const HeldParameters h = with_rday(held);
    Parameters start{};
    std::size_t first = 0, last = rows();
    if (near != nullptr) {
      start = *near;
      const std::size_t k = split_of(start);
      first = k > 2 ? k - 2 : 0;
      last = std::min(rows(), k + 2);
    } else {
      HeldParameters linear;
      linear[c4_rday] = h[c4_rday];
      const C4LinearSolution s = solve_c4_linear(problem_, linear);
      start = {s.V, s.P * per_rate(), s.R};
    }
    if (!(start[c4_vpmax] < infinity)) start[c4_vpmax] = 5 * largest_;
    if (!(start[c4_top] < infinity)) start[c4_top] = 1.5 * largest_ * per_rate();
    SmallMinimum best;
    best.ssr = infinity;
    for (std::size_t k = first; k <= last; ++k) {
      faces(k, h, start, best);
    }
    return best;
  }

  void rates(const Parameters& p, double* A, double* J) const override {
    for (std::size_t i = 0; i < rows(); ++i) {
      const double low = initial(i, p);
      const C4Partial top = light(i, p);
      const bool is_low = low <= top.A;
      A[i] = is_low ? low : top.A;
      if (J == nullptr) continue;
      double* row = J + i * most_parameters;
      std::fill(row, row + most_parameters, 0.0);
      row[c4_vpmax] = is_low ? problem_.f[i] : 0;
      row[c4_top] = is_low ? 0 : top.by_supply;
      row[c4_rday] = is_low ? -problem_.m : top.by_Rday;
    }
  }

 private:
  /// J that gives a plateau of 1.
  [[nodiscard]] double per_rate() const { return 3 / ((1 - rows_.kinetics.x) * rows_.kinetics.z); }
  [[nodiscard]] double initial(std::size_t i, const Parameters& p) const {
    if (!(p[c4_vpmax] < infinity)) return infinity;
    return p[c4_vpmax] * problem_.f[i] + problem_.c[i] - problem_.m * p[c4_rday];
  }
  [[nodiscard]] C4Partial light(std::size_t i, const Parameters& p) const {
    if (!(p[c4_top] < infinity)) {
      C4Partial none;
      none.A = infinity;
      return none;
    }
    return c4_light_limited(rows_.C[i], p[c4_top], p[c4_rday], rows_.kinetics);
  }
  [[nodiscard]] std::size_t split_of(const Parameters& p) const {
    std::size_t k = 0;
    while (k < rows() && initial(k, p) <= light(k, p).A) ++k;
    return k;
  }

  /// Rows below `split` on the initial side, the rest light-limited; `pinned`: the kink lies on the
  /// row `split`, so that V follows from J and R.
  class Piece final : public SmoothTarget {
   public:
    Piece(const LightModel& model, std::size_t first_light, bool on_kink)
        : split(first_light), pinned(on_kink), model_(model) {}
    const std::size_t split;
    const bool pinned;

    [[nodiscard]] std::size_t rows() const override { return model_.rows(); }
    [[nodiscard]] double supply(const Parameters& p) const {
      const double top = model_.light(split, p).A;
      return (top - model_.problem_.c[split] + model_.problem_.m * p[c4_rday]) /
             model_.problem_.f[split];
    }
    bool evaluate(const Parameters& given, double* r, double* J) const override {
      Parameters p = given;
      C4Partial at_kink;
      if (pinned) {
        at_kink = model_.light(split, p);
        p[c4_vpmax] = supply(p);
        if (!(p[c4_vpmax] >= 0)) return false;
      }
      const double m = model_.problem_.m;
      for (std::size_t i = 0; i < rows(); ++i) {
        double* row = J == nullptr ? nullptr : J + i * most_parameters;
        if (row != nullptr) std::fill(row, row + most_parameters, 0.0);
        if (i >= split) {
          const C4Partial top = model_.light(i, p);
          r[i] = top.A - model_.rows_.A[i];
          if (row != nullptr) row[c4_top] = top.by_supply, row[c4_rday] = top.by_Rday;
          continue;
        }
        r[i] = model_.initial(i, p) - model_.rows_.A[i];
        if (row == nullptr) continue;
        const double f = model_.problem_.f[i];
        row[c4_rday] = -m;
        if (!pinned) {
          row[c4_vpmax] = f;
          continue;
        }
        const double share = f / model_.problem_.f[split];
        row[c4_top] = share * at_kink.by_supply;
        row[c4_rday] += share * (at_kink.by_Rday + m);
      }
      for (std::size_t i = 0; i < rows(); ++i) model_.weigh(i, r, J);
      return true;
    }

   private:
    const LightModel& model_;
  };

  /// A split with its kink free or on either row beside it, Rday free or at 0: where the rows of
  /// one side do not determine their parameters, the minimum also lies on one of these.
  void faces(std::size_t k, const HeldParameters& held, const Parameters& start,
             SmallMinimum& best) const {
    HeldParameters at_zero = held;
    if (!held[c4_rday]) at_zero[c4_rday] = 0.0;
    const int modes = held[c4_rday] ? 1 : 2;
    for (int mode = 0; mode < modes; ++mode) {
      const HeldParameters& h = mode == 0 ? held : at_zero;
      attempt({*this, k, false}, h, start, best);
      if (k < rows() && !held[c4_vpmax]) attempt({*this, k, true}, h, start, best);
    }
  }

  void attempt(const Piece& piece, const HeldParameters& held, Parameters start,
               SmallMinimum& best) const {
    ParameterBox box;
    box.upper = {1e5 * largest_, 1e5 * largest_, largest_};
    if (held[c4_rday] && rday_.mode == RdayMode::free && *held[c4_rday] > largest_) return;
    for (const std::size_t k : {c4_vpmax, c4_top, c4_rday}) {
      box.free[k] = !held[k];
      if (held[k]) start[k] = *held[k];
    }
    if (piece.pinned || piece.split == 0) box.free[c4_vpmax] = false;
    if (piece.split == rows()) box.free[c4_top] = false;
    // A capacity that is held must be finite where its side has rows, and does not matter
    // elsewhere.
    if (piece.split > 0 && !piece.pinned && !(start[c4_vpmax] < infinity)) return;
    if (piece.split < rows() && !(start[c4_top] < infinity)) return;
    Parameters finite = start;
    if (!(finite[c4_vpmax] < infinity)) finite[c4_vpmax] = 1;
    if (!(finite[c4_top] < infinity)) finite[c4_top] = 1;
    SmallMinimum m = minimise(piece, box, finite);
    if (!(m.ssr < infinity)) return;
    if (piece.pinned) m.p[c4_vpmax] = piece.supply(m.p);
    if (piece.split == 0) m.p[c4_vpmax] = held[c4_vpmax].value_or(infinity);
    if (piece.split == rows()) m.p[c4_top] = held[c4_top].value_or(infinity);
    // Whatever piece it came from, the sum of squares is that of the model.
    m.ssr = true_ssr(m.p);
    if (m.ssr < best.ssr) best = m;
  }

  [[nodiscard]] double true_ssr(const Parameters& p) const {
    double sum = 0;
    for (std::size_t i = 0; i < rows(); ++i) {
      const double d = std::min(initial(i, p), light(i, p).A) - rows_.A[i];
      sum += rows_.w[i] * d * d;
    }
    return std::isfinite(sum) ? sum : infinity;
  }

  C4LinearProblem problem_;
  double largest_ = 1;
};

}  // namespace

const char* c4_top_symbol(C4Plateau plateau) {
  switch (plateau) {
    case C4Plateau::unnamed:
      return "plateau";
    case C4Plateau::vcmax:
      return "Vcmax";
    case C4Plateau::vpr:
      return "Vpr";
    case C4Plateau::j:
      return "J";
  }
  return "plateau";
}

double c4_slope_at_zero(C4Plateau plateau, double Vpmax, double Vcmax, double Rday,
                        const C4Kinetics& k) {
  if (plateau != C4Plateau::vcmax) return Vpmax / k.Kp + k.gbs;
  const C4Partial p = c4_enzyme_limited(0, 0, Vcmax, Rday, k);
  return p.by_supply * Vpmax / k.Kp + p.by_Cm;
}

std::unique_ptr<CurveModel> make_c4_model(const C4Rows& rows, C4Plateau plateau,
                                          const RdayChoice& rday) {
  if (plateau == C4Plateau::vcmax) return std::make_unique<RubiscoModel>(rows, rday);
  if (plateau == C4Plateau::j) return std::make_unique<LightModel>(rows, rday);
  return std::make_unique<LinearModel>(rows, plateau, rday);
}

}  // namespace leafwright
