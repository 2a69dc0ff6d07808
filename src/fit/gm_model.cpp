// The C3 curve with finite mesophyll conductance as a CurveModel (gm.hpp tells how it is searched).
// Stored parameters: Vcmax, J, TPU (infinity: limits no row), Rday, and r = 1/gm (0: infinite gm).
//   A^2 r - A [(V - R) r + Ci + x] + V (Ci - G) - R (Ci + x) = 0, smaller root
//   dA/dV = h/D, dA/dR = -1/D, dA/dr = -V h' A/D, h = (C - G)/(C + x), D = 1 + V h' r, C = Ci - A r
#include <algorithm>
#include <cmath>
#include <limits>

#include "fit/exact.hpp"
#include "fit/gm.hpp"
#include "fit/gm_face.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

/// Derivatives by V, J, T, R, r.
using Gradient = Parameters;

struct Rate {
  double A = infinity;
  double by_capacity = 0, by_R = 0, by_r = 0;
};

class GmModel final : public CurveModel {
 public:
  GmModel(std::span<const Observation> observations, LimitationSet permitted,
          const RdayChoice& rday, const Electrons& electrons, double alpha,
          std::optional<double> gm)
      : observations_(observations.begin(), observations.end()),
        permitted_(permitted),
        rday_(rday),
        e_(electrons),
        alpha_(alpha),
        specs_(5) {
    std::stable_sort(observations_.begin(), observations_.end(),
                     [](const Observation& a, const Observation& b) { return a.Ci < b.Ci; });
    for (const Observation& o : observations_) {
      A_.push_back(o.A);
      w_.push_back(o.weight);
      root_.push_back(std::sqrt(o.weight));
      largest_ = std::max(largest_, std::abs(o.A));
    }
    const char* symbols[] = {"Vcmax_gm", "J_gm", "TPU", "Rday", "gm"};
    for (std::size_t k = 0; k < 5; ++k) specs_[k].symbol = symbols[k];
    specs_[c3_v].absent = !permitted.rubisco;
    specs_[c3_j].absent = !permitted.rubp;
    specs_[c3_t].absent = !permitted.tpu;
    specs_[c3_r].capacity = false;
    specs_[c3_r].fixed = rday.mode != RdayMode::free;
    specs_[c3_resistance].reciprocal = true;
    specs_[c3_resistance].unit = "mol m-2 s-1";
    specs_[c3_resistance].fixed = gm.has_value();
    if (gm) held_resistance_ = 1 / *gm;
    make_rows();
    find_longest();
  }

  [[nodiscard]] const std::vector<double>& observed() const override { return A_; }
  [[nodiscard]] const std::vector<double>* weights() const override { return &w_; }
  [[nodiscard]] const std::vector<ParameterSpec>& specs() const override { return specs_; }

  [[nodiscard]] SmallMinimum solve(const HeldParameters& asked,
                                   const Parameters* near) const override {
    const HeldParameters held = with_settings(asked);
    SmallMinimum best;
    best.ssr = infinity;
    if (beyond_bounds(held)) return best;
    if (near != nullptr) local(held, *near, best);
    if (others_held(held)) return best;
    if (held[c3_resistance]) {
      at_resistance(held, *held[c3_resistance], best);
    } else if (near == nullptr) {
      search(held, best);
    }
    return best;
  }

  /// The exact solution at one gm is asked last: where a neighbour's way is enough, not at all.
  [[nodiscard]] SmallMinimum solve_from(const HeldParameters& asked,
                                        std::span<const Parameters> nears,
                                        double enough) const override {
    const HeldParameters held = with_settings(asked);
    SmallMinimum best;
    best.ssr = infinity;
    if (beyond_bounds(held)) return best;
    for (const Parameters& near : nears) {
      local(held, near, best);
      if (best.ssr <= enough) return best;
    }
    if (held[c3_resistance] && !others_held(held)) at_resistance(held, *held[c3_resistance], best);
    return best;
  }

  void rates(const Parameters& p, double* A, double* J) const override {
    const double R = rday_in(p);
    for (std::size_t i = 0; i < A_.size(); ++i) {
      const Limit limit = limit_at(i, p, R);
      A[i] = limit.A;
      if (J == nullptr) continue;
      Rate rate{limit.A};
      if (limit.A < infinity) {
        add_slopes(limit.state, i, p[limit.state], p[c3_resistance], limit.above, rate);
      }
      write_row(limit.state, rate, J + i * most_parameters);
    }
  }

 private:
  [[nodiscard]] HeldParameters with_settings(HeldParameters held) const {
    if (held_resistance_) held[c3_resistance] = held_resistance_;
    if (rday_.mode == RdayMode::fixed) held[c3_r] = rday_.value;
    return held;
  }
  [[nodiscard]] bool beyond_bounds(const HeldParameters& held) const {
    return rday_.mode == RdayMode::free && held[c3_r] && *held[c3_r] > largest_;
  }
  [[nodiscard]] bool others_held(const HeldParameters& held) const {
    return held[c3_v] || held[c3_j] || held[c3_t] || (held[c3_r] && rday_.mode == RdayMode::free);
  }

  [[nodiscard]] double rday_in(const Parameters& p) const {
    if (rday_.mode != RdayMode::fraction) return p[c3_r];
    return p[c3_v] < infinity ? rday_.value * p[c3_v] : 0;
  }

  void write_row(std::size_t state, const Rate& rate, double* row) const {
    std::fill(row, row + most_parameters, 0.0);
    row[state] = rate.by_capacity;
    if (rday_.mode == RdayMode::fraction) {
      row[c3_v] += rday_.value * rate.by_R;
    } else {
      row[c3_r] = rate.by_R;
    }
    row[c3_resistance] = rate.by_r;
  }

  /// What the quadratic of a row takes: Ci, Gamma* and x of each state.
  struct Row {
    double Ci = 0, G = 0;
    std::array<double, 3> x{};
  };

  void make_rows() {
    scale_ = {1, 1 / e_.carboxylation, 3};
    for (const Observation& o : observations_) {
      const double G = o.kinetics.gamma_star;
      rows_.push_back(
          {o.Ci, G, {o.kinetics.Km, e_.oxygenation * G / e_.carboxylation, -(1 + 3 * alpha_) * G}});
    }
  }

  /// Net rate of row i under one state (c3_v, c3_j or c3_t) of this capacity; infinite where there
  /// is none. `above` is C + x.
  [[nodiscard]] double net_of(std::size_t state, std::size_t i, double capacity, double R, double r,
                              double& above) const {
    const Row& row = rows_[i];
    const double x = row.x[state], V = scale_[state] * capacity;
    const double B = (V - R) * r + row.Ci + x;
    const double c = V * (row.Ci - row.G) - R * (row.Ci + x);
    const double discriminant = B * B - 4 * r * c;
    if (!(discriminant >= 0) || !(capacity < infinity)) return infinity;
    const double root = std::sqrt(discriminant);
    const double A = B > 0 ? 2 * c / (B + root) : (B - root) / (2 * r);
    above = row.Ci - A * r + x;
    return above > 0 && std::isfinite(A) ? A : infinity;
  }

  void add_slopes(std::size_t state, std::size_t i, double capacity, double r, double above,
                  Rate& rate) const {
    const double inverse = 1 / above, room = (rows_[i].x[state] + rows_[i].G) * inverse;
    const double rise = scale_[state] * capacity * room * inverse;
    const double D = 1 / (1 + rise * r);
    rate.by_capacity = scale_[state] * (1 - room) * D;
    rate.by_R = -D;
    rate.by_r = -rise * rate.A * D;
  }

  [[nodiscard]] Rate rate_of(std::size_t state, std::size_t i, double capacity, double R,
                             double r) const {
    Rate out;
    double above = 0;
    out.A = net_of(state, i, capacity, R, r, above);
    if (out.A < infinity) add_slopes(state, i, capacity, r, above, out);
    return out;
  }

  struct Limit {
    std::size_t state = c3_v;
    double A = infinity, above = 0;
  };
  /// What limits row i: the lowest rate above Gamma*, the highest below it, where TPU cannot.
  [[nodiscard]] Limit limit_at(std::size_t i, const Parameters& p, double R) const {
    const double r = p[c3_resistance];
    const bool over = rows_[i].Ci + R * r > rows_[i].G;
    Limit out;
    bool found = false;
    for (const std::size_t k : {c3_v, c3_j, c3_t}) {
      if (!(p[k] < infinity) || (k == c3_t && !over)) continue;
      double above = 0;
      const double A = net_of(k, i, p[k], R, r, above);
      if (!(A < infinity)) continue;
      if (!found || (over ? A < out.A : A > out.A)) out = {k, A, above};
      found = true;
    }
    return out;
  }

  /// The sum of squares of the model itself, and the cell in which the parameters lie.
  struct Place {
    double ssr = 0;
    GmFace face;
  };
  [[nodiscard]] Place place_of(const Parameters& p) const {
    const double R = rday_in(p);
    Place out;
    GmFace& f = out.face;
    for (std::size_t i = 0; i < A_.size(); ++i) {
      const Limit limit = limit_at(i, p, R);
      if (limit.state == c3_v) f.first_rubp = i + 1;
      if (limit.state != c3_t) f.first_tpu = i + 1;
      const double d = limit.A - A_[i];
      out.ssr += w_[i] * d * d;
    }
    f.first_tpu = std::max(f.first_tpu, f.first_rubp);
    if (!std::isfinite(out.ssr)) out.ssr = infinity;
    return out;
  }

  /// One assignment of rows to states, smooth in the parameters; where a kink is pinned to a row,
  /// one capacity follows from the other.
  class Piece final : public SmoothTarget {
   public:
    Piece(const GmModel& model, const GmFace& face, const GmLinks& links)
        : m_(model), face_(face), links_(links) {}
    [[nodiscard]] std::size_t rows() const override { return m_.A_.size(); }

    using Gradients = std::array<Gradient, 3>;

    /// Completes the capacities that follow from others; `of` are the gradients of all three.
    bool complete(Parameters& p, Gradients& of) const {
      for (const std::size_t k : {c3_v, c3_j, c3_t}) {
        of[k] = {};
        of[k][k] = 1;
      }
      const double R = m_.rday_in(p), r = p[c3_resistance];
      for (std::size_t i = 0; i < links_.count; ++i) {
        if (!follow(links_.link[i], p, R, r, of)) return false;
      }
      return true;
    }

    bool evaluate(const Parameters& given, double* r, double* J) const override {
      Parameters p = given;
      Gradients of;
      if (!complete(p, of)) return false;
      const double R = m_.rday_in(p);
      for (std::size_t i = 0; i < rows(); ++i) {
        const std::size_t state = i < face_.first_rubp ? c3_v : (i < face_.first_tpu ? c3_j : c3_t);
        const Rate rate = m_.rate_of(state, i, p[state], R, p[c3_resistance]);
        if (!(rate.A < infinity)) return false;
        const double root = m_.root_[i];
        r[i] = root * (rate.A - m_.A_[i]);
        if (J == nullptr) continue;
        double* row = J + i * most_parameters;
        m_.write_row(state, rate, row);
        if (links_.derived[state]) {
          row[state] -= rate.by_capacity;
          for (std::size_t k = 0; k < most_parameters; ++k) {
            row[k] += rate.by_capacity * of[state][k];
          }
        }
        if (root == 1) continue;
        for (std::size_t k = 0; k < most_parameters; ++k) row[k] *= root;
      }
      return true;
    }

   private:
    /// W/C of a state is its capacity over this, which rises along a straight line with C.
    struct Line {
      double value, slope;
    };
    [[nodiscard]] Line line(std::size_t state, double C, const Kinetics& k) const {
      if (state == c3_v) return {C + k.Km, 1};
      if (state == c3_j) {
        return {m_.e_.carboxylation * C + m_.e_.oxygenation * k.gamma_star, m_.e_.carboxylation};
      }
      return {(C - (1 + 3 * m_.alpha_) * k.gamma_star) / 3, 1.0 / 3};
    }

    /// The capacity of `to` that gives the rate of `from` at a row.
    bool follow(const GmLinks::Link& link, Parameters& p, double R, double r, Gradients& of) const {
      const Rate rate = m_.rate_of(link.from, link.row, p[link.from], R, r);
      if (!(rate.A < infinity)) return false;
      // Rday as a fraction of a Vcmax that follows from J would go in a circle.
      const bool fraction = m_.rday_.mode == RdayMode::fraction;
      if (fraction && link.to == c3_v) return false;
      const Observation& o = m_.observations_[link.row];
      const double C = o.Ci - rate.A * r;
      const Line top = line(link.to, C, o.kinetics), bottom = line(link.from, C, o.kinetics);
      const double ratio = top.value / bottom.value;
      if (!(ratio >= 0 && ratio < infinity)) return false;
      const double slope = (top.slope - ratio * bottom.slope) / bottom.value;
      // dA by the free parameters: through the capacity, R and r.
      Gradient dA{};
      for (std::size_t j = 0; j < most_parameters; ++j) {
        dA[j] = rate.by_capacity * of[link.from][j];
      }
      dA[fraction ? c3_v : c3_r] += (fraction ? m_.rday_.value : 1) * rate.by_R;
      dA[c3_resistance] += rate.by_r;
      for (std::size_t j = 0; j < most_parameters; ++j) {
        const double dC = -r * dA[j] - (j == c3_resistance ? rate.A : 0);
        of[link.to][j] = ratio * of[link.from][j] + p[link.from] * slope * dC;
      }
      p[link.to] = p[link.from] * ratio;
      return true;
    }

    const GmModel& m_;
    GmFace face_;
    GmLinks links_;
  };

  /// Whether a capacity has rows of its own, or stands in a link.
  [[nodiscard]] std::array<bool, 3> used_by(const GmFace& f, const GmLinks& links) const {
    std::array<bool, 3> used{f.first_rubp > 0, f.first_tpu > f.first_rubp, f.first_tpu < A_.size()};
    for (std::size_t i = 0; i < links.count; ++i) {
      used[links.link[i].from] = used[links.link[i].to] = true;
    }
    return used;
  }

  /// Minimises on one face and offers the result, by the sum of squares of the model itself.
  /// Returns the face on which the result lies.
  GmFace attempt(const GmFace& f, const HeldParameters& held, Parameters start,
                 SmallMinimum& best) const {
    const GmLinks links = links_for(f, held);
    if (!links.possible) return f;
    const std::array<bool, 3> used = used_by(f, links);
    ParameterBox box;
    box.upper = {1e4 * largest_, 1e4 * largest_, 1e4 * largest_, largest_, 3 * longest_};
    for (std::size_t k = 0; k < most_parameters; ++k) {
      if (held[k]) start[k] = *held[k];
      box.free[k] = !held[k];
      if (k > c3_t) continue;
      box.free[k] = !held[k] && used[k] && !links.derived[k];
      if (used[k] && !links.derived[k] && !(start[k] < infinity)) return f;
    }
    if (rday_.mode != RdayMode::free) box.free[c3_r] = false;
    box.hopeless_above = 1.5 * best.ssr;
    const Piece piece(*this, f, links);
    SmallMinimum m = minimise(piece, box, start);
    Piece::Gradients gradients;
    if (!(m.ssr < infinity) || !piece.complete(m.p, gradients)) return f;
    for (const std::size_t k : {c3_v, c3_j, c3_t}) {
      const bool needed = k == c3_v && rday_.mode == RdayMode::fraction;
      if (!used[k] && !needed) m.p[k] = held[k].value_or(infinity);
    }
    if (rday_.mode == RdayMode::fraction) m.p[c3_r] = rday_in(m.p);
    const Place place = place_of(m.p);
    m.ssr = place.ssr;
    if (m.ssr < best.ssr) best = m;
    return place.face;
  }

  /// From `start` downhill through the cells: where the minimum of a cell lies outside it, the next
  /// is the cell where it lies, and the kinks between.
  void local(const HeldParameters& held, const Parameters& given, SmallMinimum& best) const {
    Parameters start = given;
    for (std::size_t k = 0; k < most_parameters; ++k) {
      if (held[k]) start[k] = *held[k];
    }
    GmFace face = place_of(start).face;
    for (int step = 0; step < 6; ++step) {
      const double before = best.ssr;
      const GmFace arrived = attempt(face, held, start, best);
      if (arrived == face) return;
      kinks(face, arrived, held, start, best);
      if (!(best.ssr < before)) return;
      start = best.p;
      fill_absent(start, given);
      face = place_of(best.p).face;
    }
  }

  /// A side that has no rows keeps a number from which it may come back.
  static void fill_absent(Parameters& p, const Parameters& from) {
    for (const std::size_t k : {c3_v, c3_j, c3_t}) {
      if (!(p[k] < infinity)) p[k] = from[k];
    }
  }

  /// The kinks at the borders of a cell that its minimum lies beyond: on the row on the far side of
  /// the border, one of them or both.
  void kinks(const GmFace& face, const GmFace& arrived, const HeldParameters& held,
             const Parameters& start, SmallMinimum& best) const {
    const std::size_t n = A_.size();
    const auto pin = [n](std::size_t border, std::size_t to, bool permitted) {
      if (!permitted || to == border) return no_row;
      if (to > border) return border < n ? border : no_row;
      return border - 1;
    };
    const std::size_t first =
        pin(face.first_rubp, arrived.first_rubp, permitted_.rubisco && permitted_.rubp);
    const std::size_t second = pin(face.first_tpu, arrived.first_tpu, permitted_.tpu);
    const auto pinned = [&](std::size_t rubp, std::size_t tpu) {
      GmFace f = face;
      f.pin_rubp = rubp;
      f.pin_tpu = tpu;
      attempt(f, held, start, best);
    };
    if (first != no_row && second != no_row) pinned(first, second);
    if (first != no_row) pinned(first, no_row);
    if (second != no_row) pinned(no_row, second);
  }

  /// The exact solution at C = Ci - A r with A as observed, and where asked the next minimum above.
  struct Starts {
    std::array<Parameters, 2> p{};
    std::size_t count = 0;
    void add(const C3Leaf& leaf, double r) {
      p[count++] = {leaf.Vcmax, leaf.J, leaf.TPU, leaf.Rday, r};
    }
  };
  [[nodiscard]] Starts starts_at(double r, bool and_next) const {
    Starts out;
    std::vector<Observation> moved = observations_;
    for (Observation& o : moved) o.Ci = std::max(o.Ci - o.A * r, 0.05 * o.Ci);
    const auto problem = make_problem(moved, permitted_, rday_.mode, rday_.value, e_, alpha_);
    if (!problem) return out;
    const CellList cells(*problem);
    const ExactSolution s = solve_exact(cells);
    out.add(s.leaf, r);
    if (!and_next) return out;
    if (const auto next = next_minimum(cells, s)) out.add(next->leaf, r);
    return out;
  }

  /// One gm.
  void at_resistance(const HeldParameters& held, double r, SmallMinimum& best) const {
    const Starts starts = starts_at(r, false);
    if (starts.count == 0) return;
    if (r > 0) return local(held, starts.p[0], best);
    // Infinite gm is the exact solver's own model.
    const double ssr = place_of(starts.p[0]).ssr;
    if (ssr < best.ssr) best = {starts.p[0], ssr, true};
  }

  /// The cells within two rows of the best one, and the kinks on the rows around its borders, until
  /// none is better: neighbouring cells hold other minima that no way downhill reaches.
  void neighbours(const HeldParameters& held, SmallMinimum& best) const {
    const auto n = static_cast<std::ptrdiff_t>(A_.size());
    for (int round = 0; round < 3; ++round) {
      const double before = best.ssr;
      Parameters start = best.p;
      if (!(start[c3_v] < infinity)) start[c3_v] = 2 * largest_;
      if (!(start[c3_j] < infinity)) start[c3_j] = 5 * largest_;
      if (!(start[c3_t] < infinity)) start[c3_t] = 0.36 * largest_;
      const GmFace at = place_of(best.p).face;
      const std::ptrdiff_t reach_t = permitted_.tpu ? 1 : 0, reach_j = permitted_.rubp ? 2 : 0;
      for (std::ptrdiff_t dj = -reach_j; dj <= reach_j; ++dj) {
        for (std::ptrdiff_t dt = -reach_t; dt <= reach_t; ++dt) {
          const std::ptrdiff_t j = static_cast<std::ptrdiff_t>(at.first_rubp) + dj;
          const std::ptrdiff_t t = static_cast<std::ptrdiff_t>(at.first_tpu) + dt;
          if (j < 0 || t < j || t > n || (!permitted_.rubisco && j > 0)) continue;
          if (!permitted_.tpu && t < n) continue;
          GmFace f{static_cast<std::size_t>(j), static_cast<std::size_t>(t), no_row, no_row};
          if (dj != 0 || dt != 0) attempt(f, held, start, best);
          if (permitted_.rubp && j > 0 && j < t) {
            f.pin_rubp = f.first_rubp;
            attempt(f, held, start, best);
          }
        }
      }
      if (!(best.ssr < before * (1 - 1e-9))) return;
    }
  }

  void find_longest() {
    longest_ = infinity;
    for (const Observation& o : observations_) {
      if (o.A > 0.02 * largest_) {
        longest_ = std::min(longest_, (o.Ci - 0.5 * o.kinetics.gamma_star) / o.A);
      }
    }
    if (!(longest_ > 0) || !(longest_ < infinity)) longest_ = 10;
  }

  /// gm free: along r from 0, then with r free from each place lower than those beside it.
  void search(const HeldParameters& held, SmallMinimum& best) const {
    constexpr std::array<double, 11> shares{0,    0.04, 0.1,  0.2, 0.32, 0.45,
                                            0.58, 0.72, 0.86, 1.0, 1.2};
    std::vector<SmallMinimum> minima;
    for (const double share : shares) {
      Starts starts = starts_at(share * longest_, true);
      for (std::size_t i = 0; i < starts.count; ++i) {
        Parameters& start = starts.p[i];
        SmallMinimum m;
        m.ssr = infinity;
        if (share == 0) {
          // Infinite gm is the exact solver's own model; with r free from a little above it.
          m = {start, place_of(start).ssr, false};
          start[c3_resistance] = 0.02 * longest_;
        }
        local(held, start, m);
        if (m.ssr < infinity) minima.push_back(m);
      }
    }
    std::sort(minima.begin(), minima.end(),
              [](const SmallMinimum& a, const SmallMinimum& b) { return a.ssr < b.ssr; });
    const auto same = [](const SmallMinimum& a, const SmallMinimum& b) {
      return b.ssr <= a.ssr * (1 + 1e-6);
    };
    minima.erase(std::unique(minima.begin(), minima.end(), same), minima.end());
    if (minima.size() > 2) minima.resize(2);
    for (SmallMinimum& m : minima) {
      neighbours(held, m);
      if (m.ssr < best.ssr) best = m;
    }
    best.converged = false;
  }

  std::vector<Observation> observations_;
  LimitationSet permitted_;
  RdayChoice rday_;
  Electrons e_;
  double alpha_;
  std::vector<ParameterSpec> specs_;
  std::optional<double> held_resistance_;
  std::vector<double> A_;
  std::vector<double> w_, root_;  ///< weights of the rows, and their roots
  std::vector<Row> rows_;
  std::array<double, 3> scale_{};
  double largest_ = 1e-6, longest_ = 10;
};

}  // namespace

Result<std::unique_ptr<CurveModel>> make_gm_model(std::span<const Observation> observations,
                                                  LimitationSet permitted, const RdayChoice& rday,
                                                  const Electrons& electrons, double alpha,
                                                  std::optional<double> gm) {
  // The problem with infinite gm checks the rows.
  const auto sharp = make_problem(observations, permitted, rday.mode, rday.value, electrons, alpha);
  if (!sharp) return fail(sharp.error());
  return std::make_unique<GmModel>(observations, permitted, rday, electrons, alpha, gm);
}

}  // namespace leafwright
