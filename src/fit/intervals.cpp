#include "fit/intervals.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/random.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr std::array<Parameter, 4> parameters{Parameter::Vcmax, Parameter::J, Parameter::TPU,
                                              Parameter::Rday};
constexpr std::array<const char*, 4> symbols{"Vcmax", "J", "TPU", "Rday"};

std::size_t index_of(Parameter p) {
  return static_cast<std::size_t>(p);
}

double value_in(const C3Leaf& leaf, Parameter p) {
  const std::array<double, 4> v{leaf.Vcmax, leaf.J, leaf.TPU, leaf.Rday};
  return v[index_of(p)];
}

bool permits(const LimitationSet& set, Parameter p) {
  const std::array<bool, 4> v{set.rubisco, set.rubp, set.tpu, true};
  return v[index_of(p)];
}

LimitationSet with(LimitationSet set, Parameter p) {
  if (p == Parameter::Vcmax) set.rubisco = true;
  if (p == Parameter::J) set.rubp = true;
  if (p == Parameter::TPU) set.tpu = true;
  return set;
}

/// How many rows each of the three states limits at the solution.
std::array<std::size_t, 3> rows_by_state(const C3Problem& p, const C3Leaf& leaf) {
  std::array<std::size_t, 3> counts{};
  for (std::size_t i = 0; i < p.size(); ++i) {
    ++counts[static_cast<std::size_t>(limiting_state(p, i, leaf))];
  }
  return counts;
}

/// Profile thresholds of one solved problem.
class Thresholds {
 public:
  Thresholds(const C3Problem& p, double ssr, const IntervalRequest& request)
      : n_(p.size()),
        k_(static_cast<std::size_t>(p.parameters())),
        ssr_(ssr),
        level_(request.level),
        factor_(request.variance_factor) {
    // An exact fit still has a rounding floor under which the level set would be empty.
    floor_ = ssr + 1e-12 * p.scale;
  }
  [[nodiscard]] bool possible() const { return n_ > k_; }
  [[nodiscard]] double two_sided() const { return plain(level_); }
  /// The profile at F(2 level - 1): a bound that holds with probability `level` on one side.
  [[nodiscard]] double one_sided() const { return plain(2 * level_ - 1); }
  [[nodiscard]] double widened(double factor, double df, bool one) const {
    const double f = f_quantile(one ? 2 * level_ - 1 : level_, 1, df);
    return std::max(floor_, ssr_ * (1 + factor_ * factor * f));
  }

 private:
  [[nodiscard]] double plain(double level) const {
    const double df = static_cast<double>(n_ - k_);
    return std::max(floor_, ssr_ * (1 + factor_ * f_quantile(level, 1, df) / df));
  }
  std::size_t n_, k_;
  double ssr_, level_, factor_, floor_;
};

/// Standard errors from the curvature in the solution's own cell, by design column.
std::array<std::optional<double>, 4> standard_errors(const C3Problem& p, const ExactSolution& s,
                                                     double factor) {
  std::array<std::optional<double>, 4> out;
  const auto df = static_cast<double>(p.size()) - p.parameters();
  if (df <= 0 || s.flat) return out;
  const Assignment assignment{s.counts.first_rubp, s.counts.first_tpu,
                              s.labels.empty() ? nullptr : s.labels.data()};
  const bool free = p.rday_mode == RdayMode::free && !s.rday_at_zero;
  const RdayMode mode =
      p.rday_mode == RdayMode::free && s.rday_at_zero ? RdayMode::fixed : p.rday_mode;
  const FaceSolution f = solve_face_directly(p, assignment, Pins{}, mode,
                                             p.rday_mode == RdayMode::free ? 0 : p.rday_value);
  if (!f.solved) return out;
  for (const Parameter q : parameters) {
    if (q == Parameter::Rday && !free && p.rday_mode != RdayMode::fraction) continue;
    if (!f.determines(q)) continue;
    out[index_of(q)] = std::sqrt(factor * s.ssr / df * f.covariance(q, q));
  }
  return out;
}

void set_status(Estimate& e, Parameter parameter) {
  const bool low = e.low.has_value() && *e.low > 0;
  const bool high = e.high.has_value();
  if (parameter == Parameter::Rday) {
    e.status =
        !high ? Status::not_identified : (e.value == 0.0 ? Status::upper_bound : Status::estimated);
    return;
  }
  if (low && high) e.status = Status::estimated;
  if (low && !high) e.status = Status::lower_bound;
  if (!low && high) e.status = Status::upper_bound;
  if (!low && !high) e.status = Status::not_identified;
}

double widening_factor(const Widening& w, const Design& design, Parameter parameter) {
  for (std::size_t k = 0; k < design.columns.size(); ++k) {
    if (design.columns[k] == parameter) return w.factor[k];
  }
  return w.largest();
}

/// What was asked of the profile for one parameter, and what came back.
struct Asked {
  Parameter parameter;
  bool one_sided = false;  ///< a bound on a parameter that limits no used row
  Extent plain, wide;
};

/// Profiles several parameters of one solved problem in one pass over its cells.
void profile(const CellList& cells, const Thresholds& t, const Design& design,
             const std::optional<Widening>& widening, std::vector<Asked>& asked) {
  std::vector<ExtentRequest> requests;
  for (const Asked& a : asked) {
    requests.push_back({a.parameter, a.one_sided ? t.one_sided() : t.two_sided()});
    if (!widening) continue;
    // Where no column of the design belongs to it, the largest factor of the others stands in.
    const double factor = widening_factor(*widening, design, a.parameter);
    requests.push_back({a.parameter, t.widened(factor, widening->df, a.one_sided)});
  }
  const std::vector<Extent> extents = profile_extents(cells, requests);
  std::size_t next = 0;
  for (Asked& a : asked) {
    a.plain = extents[next++];
    if (widening) a.wide = extents[next++];
  }
}

/// The bound of a parameter that limits no used row, if the profile is open above.
void take_bound(Estimate& e, const Asked& a) {
  e.status = Status::not_identified;
  if (!a.plain.exists || a.plain.high || !a.plain.low || !(*a.plain.low > 0)) return;
  e.low = a.plain.low;
  e.status = Status::lower_bound;
  if (a.wide.low && *a.wide.low > 0) e.low_widened = a.wide.low;
}

void bound_unpermitted(Estimate& e, Parameter parameter, const C3Problem& p,
                       std::span<const Observation> observations, const Electrons& electrons,
                       double alpha, const IntervalRequest& request) {
  e.status = Status::not_identified;
  if (!request.profile) return;
  const auto wider = make_problem(observations, with(p.permitted, parameter), p.rday_mode,
                                  p.rday_value, electrons, alpha, p.min_points);
  if (!wider) return;
  const CellList cells(*wider);
  const ExactSolution s = solve_exact(cells);
  const Thresholds t(*wider, s.ssr, request);
  if (!t.possible()) return;
  const Design design = make_design(*wider, s);
  std::optional<Widening> widening;
  if (request.correlation) widening = widen(design, *request.correlation);
  std::vector<Asked> asked{{parameter, true, {}, {}}};
  profile(cells, t, design, widening, asked);
  take_bound(e, asked.front());
}

}  // namespace

ParameterEstimates estimate_parameters(const CellList& cells, const ExactSolution& solution,
                                       const Design& design,
                                       std::span<const Observation> observations,
                                       const Electrons& electrons, double alpha,
                                       const IntervalRequest& request) {
  const C3Problem& p = cells.problem();
  ParameterEstimates out;
  const std::array<Estimate*, 4> list{&out.Vcmax, &out.J, &out.TPU, &out.Rday};
  const auto counts = rows_by_state(p, solution.leaf);
  const auto se = standard_errors(p, solution, request.variance_factor);
  const Thresholds t(p, solution.ssr, request);
  const bool profiled = request.profile && t.possible();
  std::vector<Asked> asked;
  for (const Parameter q : parameters) {
    Estimate& e = *list[index_of(q)];
    e.symbol = symbols[index_of(q)];
    if (!permits(p.permitted, q)) {
      bound_unpermitted(e, q, p, observations, electrons, alpha, request);
      continue;
    }
    if (q == Parameter::Rday || counts[index_of(q)] > 0) {
      e.value = value_in(solution.leaf, q);
      e.se = se[index_of(q)];
    }
    if (q == Parameter::Rday && p.rday_mode == RdayMode::fixed) {
      e.status = Status::fixed;
    } else if (profiled) {
      asked.push_back({q, !e.value, {}, {}});
    } else {
      e.status = e.value && t.possible() ? Status::estimated : Status::not_identified;
    }
  }
  if (asked.empty()) return out;
  std::optional<Widening> widening;
  if (request.correlation) widening = widen(design, *request.correlation);
  profile(cells, t, design, widening, asked);
  for (const Asked& a : asked) {
    Estimate& e = *list[index_of(a.parameter)];
    if (a.one_sided) {
      take_bound(e, a);
      continue;
    }
    e.low = a.plain.low;
    e.high = a.plain.high;
    e.low_widened = a.wide.low;
    e.high_widened = a.wide.high;
    set_status(e, a.parameter);
  }
  return out;
}

void bootstrap_intervals(ParameterEstimates& estimates, const C3Problem& problem,
                         const ExactSolution& solution, double level, std::size_t replicates,
                         std::uint64_t seed, std::string_view stream_name) {
  const std::size_t n = problem.size();
  const double df = static_cast<double>(n) - problem.parameters();
  if (df <= 0 || replicates == 0) return;
  std::vector<double> model(n), residuals(n);
  double mean = 0;
  for (std::size_t i = 0; i < n; ++i) {
    model[i] = modelled_rate(problem, i, solution.leaf);
    residuals[i] = std::sqrt(problem.w[i]) * (problem.A[i] - model[i]);
    mean += residuals[i] / static_cast<double>(n);
  }
  const double inflate = std::sqrt(static_cast<double>(n) / df);
  for (double& e : residuals) e = (e - mean) * inflate;

  std::array<std::vector<double>, 4> draws;
  for (auto& d : draws) d.reserve(replicates);
  C3Problem resampled = problem;
  for (std::size_t r = 0; r < replicates; ++r) {
    RandomStream random(seed, stream_name, "residual-bootstrap", static_cast<std::uint32_t>(r));
    for (std::size_t i = 0; i < n; ++i) {
      resampled.A[i] = model[i] + residuals[random.index(n)] / std::sqrt(problem.w[i]);
    }
    resampled.scale = data_scale(resampled);
    const C3Leaf leaf = solve_exact(resampled).leaf;
    for (const Parameter q : parameters) draws[index_of(q)].push_back(value_in(leaf, q));
  }

  const std::array<Estimate*, 4> list{&estimates.Vcmax, &estimates.J, &estimates.TPU,
                                      &estimates.Rday};
  const double tail = (1 - level) / 2;
  for (const Parameter q : parameters) {
    Estimate& e = *list[index_of(q)];
    if (!e.value || e.status == Status::fixed) continue;
    auto& d = draws[index_of(q)];
    std::sort(d.begin(), d.end());
    const double last = static_cast<double>(replicates - 1);
    const double low = d[static_cast<std::size_t>(std::floor(tail * last))];
    const double high = d[static_cast<std::size_t>(std::ceil((1 - tail) * last))];
    e.low = low < infinity ? std::optional(low) : std::nullopt;
    e.high = high < infinity ? std::optional(high) : std::nullopt;
    set_status(e, q);
  }
}

}  // namespace leafwright
