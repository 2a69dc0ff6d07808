#include "fit/cells.hpp"

#include <algorithm>
#include <cstdint>
#include <limits>
#include <unordered_set>

#include "fit/bounds.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

bool enough(std::size_t count, std::size_t least) {
  return count == 0 || count >= least;
}

void add_row(StateSums& s, double w, double d, double A, double x) {
  s.xx += w * x * x;
  s.xd += w * x * d;
  s.xA += w * x * A;
  ++s.count;
}

}  // namespace

CommonSums common_sums(const C3Problem& p) {
  CommonSums c;
  for (std::size_t i = 0; i < p.size(); ++i) {
    c.dd += p.w[i] * p.d[i] * p.d[i];
    c.dA += p.w[i] * p.d[i] * p.A[i];
    c.AA += p.w[i] * p.A[i] * p.A[i];
  }
  return c;
}

CellSums::CellSums(const C3Problem& problem)
    : p_(problem), n_(problem.size()), common_(common_sums(problem)), buffer_(12 * (n_ + 1), 0.0) {
  double* at = buffer_.data();
  for (double** v :
       {&cxx_, &cxd_, &cxA_, &jxx_, &jxd_, &jxA_, &txx_, &txd_, &txA_, &tq0_, &tq1_, &tq2_}) {
    *v = at;
    at += n_ + 1;
  }
  for (std::size_t i = 0; i < n_; ++i) {
    const double w = p_.w[i], d = p_.d[i], A = p_.A[i];
    const double c = w * p_.xc[i], j = w * p_.xj[i];
    cxx_[i + 1] = cxx_[i] + c * p_.xc[i];
    cxd_[i + 1] = cxd_[i] + c * d;
    cxA_[i + 1] = cxA_[i] + c * A;
    jxx_[i + 1] = jxx_[i] + j * p_.xj[i];
    jxd_[i + 1] = jxd_[i] + j * d;
    jxA_[i + 1] = jxA_[i] + j * A;
  }
  for (std::size_t i = n_; i-- > 0;) {
    const double t = p_.w[i] * p_.xp[i];
    txx_[i] = txx_[i + 1] + t * p_.xp[i];
    txd_[i] = txd_[i + 1] + t * p_.d[i];
    txA_[i] = txA_[i + 1] + t * p_.A[i];
    if (!(txx_[i] > 0)) continue;
    tq0_[i] = txA_[i] * txA_[i] / txx_[i];
    tq1_[i] = txd_[i] * txA_[i] / txx_[i];
    tq2_[i] = txd_[i] * txd_[i] / txx_[i];
  }
  while (first_possible_tpu_ < n_ && !(p_.s[first_possible_tpu_] > 0)) ++first_possible_tpu_;
  tpu_flat_ = p_.permitted.tpu && p_.rday_mode != RdayMode::fixed && first_possible_tpu_ < n_;
  for (std::size_t i = first_possible_tpu_; i < n_ && tpu_flat_; ++i) {
    const double here = p_.xp[i] * p_.d[n_ - 1], last = p_.xp[n_ - 1] * p_.d[i];
    tpu_flat_ = std::abs(here - last) <= 1e-15 * last;
  }
}

bool CellSums::collinear(std::size_t k, std::size_t m) const {
  if (!tpu_flat_ || k > 1 || m > k + 1 || m >= n_) return false;
  if (p_.rday_mode == RdayMode::fraction && k > 0) return false;
  return (k == 0 || cxx_[k] > 0) && (m == k || jxx_[m] > jxx_[k]);
}

double CellSums::minimum_without_rday(std::size_t m) const {
  double sum = 0;  // a state of one row fits it
  const double T = txA_[m] / txx_[m];
  for (std::size_t i = m; i < n_; ++i) {
    const double e = p_.A[i] - T * p_.xp[i];
    sum += p_.w[i] * e * e;
  }
  return sum;
}

StateSums CellSums::rubp_sums(std::size_t k, std::size_t m) const {
  StateSums s{jxx_[m] - jxx_[k], jxd_[m] - jxd_[k], jxA_[m] - jxA_[k], m - k};
  // The difference has lost its digits where the rows hardly weigh (rows at Gamma*).
  if (m > k && s.xx < 1e-7 * jxx_[m]) {
    s = {};
    for (std::size_t i = k; i < m; ++i) add_row(s, p_.w[i], p_.d[i], p_.A[i], p_.xj[i]);
  }
  return s;
}

Cell CellSums::cell(std::size_t k, std::size_t m) const {
  Cell c;
  c.c = {cxx_[k], cxd_[k], cxA_[k], k};
  c.j = rubp_sums(k, m);
  c.p = {txx_[m], txd_[m], txA_[m], n_ - m};
  if (k > 0) c.rho_lo = p_.r[k - 1];
  if (m < n_) c.tau_hi = p_.s[m];
  if (k < m) {
    c.rho_hi = p_.r[k];
    c.tau_lo = std::max(0.0, p_.s[m - 1]);
  } else {
    if (k > 0) c.sigma_lo = std::max(0.0, p_.u[k - 1]);
    if (k < n_) c.sigma_hi = p_.u[k];
  }
  return c;
}

void CellSums::bounds(std::size_t k, std::size_t first, std::size_t count, double* out) const {
  const bool fraction = p_.rday_mode == RdayMode::fraction && p_.rday_value > 0;
  // Where V carries Rday it is the pivot; else Rubisco rows are projected out like the others.
  const double inverse = !fraction && cxx_[k] > 0 ? 1 / cxx_[k] : 0;
  BoundTerms t;
  t.base2 = common_.dd - cxd_[k] * cxd_[k] * inverse;
  t.base1 = common_.dA - cxd_[k] * cxA_[k] * inverse;
  t.base0 = common_.AA - cxA_[k] * cxA_[k] * inverse;
  t.jxx = jxx_[k];
  t.jxd = jxd_[k];
  t.jxA = jxA_[k];
  t.fixed = !fraction && p_.rday_mode != RdayMode::free;
  t.R = p_.rday_mode == RdayMode::fixed ? p_.rday_value : 0;
  double size2 = common_.dd;
  if (fraction) {
    t.kappa = p_.rday_value;
    t.extra2 = cxx_[k] - 2 * t.kappa * cxd_[k];
    t.extra1 = -cxA_[k];
    size2 = t.kappa * t.kappa * common_.dd + cxx_[k];
  }
  t.least_q2 = poor_conditioning * size2;
  lower_bounds(t, {jxx_, jxd_, jxA_, tq0_, tq1_, tq2_}, first, count, out);
}

Cell make_cell(const C3Problem& p, const Assignment& assignment) {
  Cell c;
  std::array<StateSums*, 3> sums{&c.c, &c.j, &c.p};
  const std::array<const std::vector<double>*, 3> x{&p.xc, &p.xj, &p.xp};
  for (std::size_t i = 0; i < p.size(); ++i) {
    const auto state = static_cast<std::size_t>(assignment.state(i));
    add_row(*sums[state], p.w[i], p.d[i], p.A[i], (*x[state])[i]);
    if (state == 0) {
      c.rho_lo = std::max(c.rho_lo, p.r[i]);
      c.sigma_lo = std::max(c.sigma_lo, p.u[i]);
    } else if (state == 1) {
      c.rho_hi = std::min(c.rho_hi, p.r[i]);
      c.tau_lo = std::max(c.tau_lo, p.s[i]);
    } else {
      c.tau_hi = std::min(c.tau_hi, p.s[i]);
      c.sigma_hi = std::min(c.sigma_hi, p.u[i]);
    }
  }
  return c;
}

namespace {

/// 128 bits that tell assignments apart: a sum of fixed numbers, one for each row and state. Two of
/// 100,000 assignments collide with a chance below 1e-28.
struct Key {
  std::uint64_t high = 0, low = 0;
  bool operator==(const Key&) const = default;
};
struct KeyHash {
  std::size_t operator()(const Key& k) const { return static_cast<std::size_t>(k.low); }
};

/// splitmix64 (Steele, Lea & Flood 2014).
std::uint64_t mixed(std::uint64_t x) {
  x += 0x9E3779B97F4A7C15ULL;
  x = (x ^ (x >> 30U)) * 0xBF58476D1CE4E5B9ULL;
  x = (x ^ (x >> 27U)) * 0x94D049BB133111EBULL;
  return x ^ (x >> 31U);
}

/// Numbers of `Key` by row and state.
std::vector<std::array<Key, 3>> key_parts(std::size_t rows) {
  std::vector<std::array<Key, 3>> out(rows);
  std::uint64_t next = 0;
  for (auto& row : out) {
    for (Key& k : row) {
      k.high = mixed(next++);
      k.low = mixed(next++);
    }
  }
  return out;
}

/// States of all rows at one point of the plane (tau > 0; rows where TPU cannot limit have s and u
/// 0, so they never come out below), and their key.
Key label_rows(const C3Problem& p, const std::vector<std::array<Key, 3>>& parts, double rho,
               double tau, std::vector<unsigned char>& labels) {
  const double sigma = rho * tau;
  Key key;
  for (std::size_t i = 0; i < p.size(); ++i) {
    const unsigned upper = sigma < p.u[i] ? 2U : 0U;
    const unsigned lower = tau < p.s[i] ? 2U : 1U;
    const unsigned state = rho >= p.r[i] ? upper : lower;
    labels[i] = static_cast<unsigned char>(state);
    key.high += parts[i][state].high;
    key.low += parts[i][state].low;
  }
  return key;
}

/// Crossings of the lines where they are boundaries of states.
std::vector<std::pair<double, double>> crossings(const C3Problem& p) {
  std::vector<std::pair<double, double>> out;
  const std::size_t n = p.size();
  const auto on_r = [&](std::size_t i, double tau) { return !(p.s[i] > 0) || tau >= p.s[i]; };
  const auto on_s = [&](std::size_t i, double rho) { return rho <= p.r[i]; };
  const auto on_u = [&](std::size_t i, double rho) { return rho >= p.r[i]; };
  for (std::size_t i = 0; i < n; ++i) {
    if (p.s[i] > 0) out.emplace_back(p.r[i], p.s[i]);
    for (std::size_t k = 0; k < n; ++k) {
      if (k == i || !(p.s[k] > 0)) continue;
      if (on_r(i, p.s[k]) && on_s(k, p.r[i])) out.emplace_back(p.r[i], p.s[k]);
      const double tau = p.u[k] / p.r[i];
      if (on_r(i, tau) && on_u(k, p.r[i])) out.emplace_back(p.r[i], tau);
      if (p.s[i] > 0) {
        const double rho = p.u[k] / p.s[i];
        if (on_s(i, rho) && on_u(k, rho)) out.emplace_back(rho, p.s[i]);
      }
    }
  }
  if (out.empty()) {  // TPU can limit no row: the lines of r cross nothing
    for (const double r : p.r) out.emplace_back(r, 1);
  }
  return out;
}

/// The states of every cell, each once, n to a cell.
std::vector<unsigned char> all_labels(const C3Problem& p) {
  std::unordered_set<Key, KeyHash> seen;
  std::vector<unsigned char> out, labels(p.size());
  const auto parts = key_parts(p.size());
  // Directions 22.5 + 45 k degrees: one inside every sector between the three directions of lines.
  constexpr double step = 1e-11;
  constexpr double pi = 3.14159265358979323846;
  std::array<std::pair<double, double>, 8> aside;
  for (std::size_t k = 0; k < aside.size(); ++k) {
    const double angle = (0.125 + 0.25 * static_cast<double>(k)) * pi;
    aside[k] = {1 + step * std::cos(angle), 1 + step * std::sin(angle)};
  }
  for (const auto& [rho, tau] : crossings(p)) {
    for (const auto& [right, up] : aside) {
      const Key key = label_rows(p, parts, rho * right, tau * up, labels);
      if (seen.insert(key).second) out.insert(out.end(), labels.begin(), labels.end());
    }
  }
  return out;
}

}  // namespace

FaceSolution solve_well(const C3Problem& p, const Cell& cell, const Assignment& assignment,
                        const Pins& pins, const CommonSums& common, RdayMode mode, double value) {
  FaceSolution s = solve_face(cell, pins, common, mode, value);
  if (s.conditioning < poor_conditioning) s = solve_face_directly(p, assignment, pins, mode, value);
  return s;
}

CellList::CellList(const C3Problem& problem) : p_(problem), sums_(problem) {
  if (p_.ordered) {
    list_ordered();
  } else {
    list_unordered();
  }
}

void CellList::list_ordered() {
  const std::size_t n = p_.size();
  const LimitationSet& set = p_.permitted;
  const std::size_t last_k = set.rubisco ? n : 0;
  rows_.reserve(last_k + 2);
  std::size_t total = 0;
  for (std::size_t k = 0; k <= last_k; ++k) {
    const std::size_t first = set.tpu ? std::max(k, sums_.first_possible_tpu()) : n;
    const std::size_t last = set.rubp ? n : k;
    rows_.push_back({total, first});
    if (first <= last) total += last - first + 1;
  }
  rows_.push_back({total, 0});
  bounds_.resize(total);
  double best = infinity;
  lowest_ = total;
  for (std::size_t k = 0; k <= last_k; ++k) {
    const std::size_t begin = rows_[k].begin, count = rows_[k + 1].begin - begin;
    double* row = bounds_.data() + begin;
    sums_.bounds(k, rows_[k].first, count, row);
    if (p_.min_points > 1) drop_short_states(k, rows_[k].first, count, row);
    for (std::size_t t = 0; t < count; ++t) {
      if (row[t] >= best) continue;
      if (row[t] == -infinity) {
        const std::size_t m = rows_[k].first + t;
        row[t] = sums_.collinear(k, m) ? sums_.minimum_without_rday(m)
                                       : solve_face_directly(p_, Assignment{k, m, nullptr}, Pins{},
                                                             p_.rday_mode, p_.rday_value)
                                             .ssr;
        if (row[t] >= best) continue;
      }
      best = row[t];
      lowest_ = begin + t;
    }
  }
}

std::size_t CellList::drop_short_states() {
  const std::size_t n = p_.size();
  std::size_t kept = 0;
  for (std::size_t begin = 0; begin < labels_.size(); begin += n) {
    std::array<std::size_t, 3> counts{};
    for (std::size_t i = begin; i < begin + n; ++i) ++counts[labels_[i]];
    const bool ok = std::all_of(counts.begin(), counts.end(),
                                [&](std::size_t c) { return enough(c, p_.min_points); });
    if (!ok) continue;
    std::copy_n(labels_.data() + begin, n, labels_.data() + kept * n);
    ++kept;
  }
  labels_.resize(kept * n);
  return kept;
}

void CellList::drop_short_states(std::size_t k, std::size_t first, std::size_t count,
                                 double* bounds) const {
  for (std::size_t t = 0; t < count; ++t) {
    const std::size_t m = first + t;
    const bool ok = enough(k, p_.min_points) && enough(m - k, p_.min_points) &&
                    enough(p_.size() - m, p_.min_points);
    if (!ok) bounds[t] = infinity;
  }
}

void CellList::list_unordered() {
  labels_ = all_labels(p_);
  const std::size_t n = p_.size();
  std::size_t cells = labels_.size() / n;
  if (p_.min_points > 1) cells = drop_short_states();
  bounds_.resize(cells);
  lowest_ = cells;
  double best = infinity;
  for (std::size_t i = 0; i < cells; ++i) {
    bounds_[i] =
        solve_well(p_, cell(i), assignment(i), Pins{}, common(), p_.rday_mode, p_.rday_value).ssr;
    if (bounds_[i] < best) {
      best = bounds_[i];
      lowest_ = i;
    }
  }
}

Cell CellList::cell(std::size_t i) const {
  const Assignment a = assignment(i);
  return p_.ordered ? sums_.cell(a.first_rubp, a.first_tpu) : make_cell(p_, a);
}

Assignment CellList::assignment(std::size_t i) const {
  if (!p_.ordered) return {0, 0, labels_.data() + i * p_.size()};
  const auto after = std::upper_bound(rows_.begin(), rows_.end(), i,
                                      [](std::size_t x, const Row& row) { return x < row.begin; });
  const auto k = static_cast<std::size_t>(after - rows_.begin()) - 1;
  return {k, rows_[k].first + (i - rows_[k].begin), nullptr};
}

namespace {

/// For each row, a bit for every state that may limit it at this point, ties within 1e-9 included.
std::vector<unsigned char> states_allowed(const C3Problem& p, const FaceSolution& s) {
  const double V = s.has_V ? s.V : infinity, J = s.has_J ? s.J : infinity;
  const double T = s.has_T ? s.T : infinity;
  const auto at_most = [](double x, double y) { return x < infinity && x <= y * (1 + 1e-9); };
  std::vector<unsigned char> out(p.size());
  for (std::size_t i = 0; i < p.size(); ++i) {
    const bool tpu_can = p.s[i] > 0;
    const double c = V * p.r[i];                                              // against J
    const double u = tpu_can ? V * p.u[i] : 0, t = tpu_can ? J * p.s[i] : 0;  // against T
    unsigned bits = 0;
    if (at_most(c, J) && at_most(u, T)) bits |= 1U;
    if (at_most(J, c) && at_most(t, T)) bits |= 2U;
    if (tpu_can && at_most(T, t) && at_most(T, u)) bits |= 4U;
    out[i] = static_cast<unsigned char>(bits);
  }
  return out;
}

}  // namespace

std::vector<std::size_t> CellList::holding(const FaceSolution& s) const {
  std::vector<std::size_t> out;
  const auto take = [&](std::size_t i) {
    if (bounds_[i] < infinity && in_closed_cell(s, cell(i))) out.push_back(i);
  };
  if (!p_.ordered) {
    const std::vector<unsigned char> allowed = states_allowed(p_, s);
    const std::size_t n = p_.size();
    for (std::size_t i = 0; i < size(); ++i) {
      const unsigned char* labels = labels_.data() + i * n;
      std::size_t row = 0;
      while (row < n && ((static_cast<unsigned>(allowed[row]) >> labels[row]) & 1U) != 0) ++row;
      if (row == n) take(i);
    }
    return out;
  }
  // Breaks can lie only among the rows that are tied between states at this point.
  const double V = s.has_V ? s.V : infinity, J = s.has_J ? s.J : infinity;
  const double T = s.has_T ? s.T : infinity;
  const auto below = [](double x, double y, double slack) { return x < y * (1 + slack); };
  std::size_t k_min = 0, k_max = 0, m_min = 0, m_max = 0;
  for (std::size_t i = 0; i < p_.size(); ++i) {
    const double c = V * p_.r[i], u = p_.u[i] > 0 ? V * p_.u[i] : -infinity;
    const double t = p_.s[i] > 0 ? J * p_.s[i] : -infinity;
    if (below(c, J, -1e-9) && below(u, T, -1e-9)) ++k_min;
    if (below(c, J, 1e-9) && below(u, T, 1e-9)) ++k_max;
    if (below(t, T, -1e-9) || below(u, T, -1e-9)) ++m_min;
    if (below(t, T, 1e-9) || below(u, T, 1e-9)) ++m_max;
  }
  const std::size_t last_k = rows_.size() - 2;
  for (std::size_t k = k_min; k <= std::min(k_max, last_k); ++k) {
    const std::size_t count = rows_[k + 1].begin - rows_[k].begin;
    for (std::size_t m = std::max(m_min, rows_[k].first); m <= m_max; ++m) {
      if (m - rows_[k].first < count) take(rows_[k].begin + (m - rows_[k].first));
    }
  }
  return out;
}

std::vector<std::size_t> CellList::below(double most) const {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < size(); ++i) {
    if (bounds_[i] <= most && bounds_[i] < infinity) out.push_back(i);
  }
  std::sort(out.begin(), out.end(), [&](std::size_t a, std::size_t b) {
    return bounds_[a] != bounds_[b] ? bounds_[a] < bounds_[b] : a < b;
  });
  return out;
}

bool in_closed_cell(const FaceSolution& s, const Cell& cell) {
  constexpr double slack = 1e-12;
  const auto within = [&](double upper, double lower, double lo, double hi) {
    // upper/lower in [lo, hi], without dividing by a factor that may be 0.
    return upper >= lo * lower * (1 - slack) &&
           (hi == infinity || upper <= hi * lower * (1 + slack));
  };
  if ((s.has_V && s.V < 0) || (s.has_J && s.J < 0) || (s.has_T && s.T < 0) || s.R < 0) return false;
  if (s.has_V && s.has_J && !within(s.J, s.V, cell.rho_lo, cell.rho_hi)) return false;
  if (s.has_J && s.has_T && !within(s.T, s.J, cell.tau_lo, cell.tau_hi)) return false;
  return !(s.has_V && s.has_T) || within(s.T, s.V, cell.sigma_lo, cell.sigma_hi);
}

}  // namespace leafwright
