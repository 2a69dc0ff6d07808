#include <algorithm>
#include <cmath>

#include "log/propose_engine.hpp"

namespace leafwright {

namespace {

constexpr std::size_t beam_width = 24;
constexpr double row_tolerance = 0.1;    // of a row, in the search; ranked by the median later
constexpr double keep_tolerance = 0.03;  // of the median

/// A row that is near enough to go on with; `size` keeps rows near zero from failing.
bool near(double made, double recorded, double size) {
  return std::abs(made - recorded) <= row_tolerance * (std::abs(recorded) + 0.2 * size);
}

/// Close enough to stop searching: A agrees, and something agrees to four digits.
bool is_solved(const Hypothesis& h) {
  const double A = h.miss(Relation::carbon), Ci = h.miss(Relation::inside);
  return A < 1e-4 || (A < keep_tolerance && Ci < 1e-4);
}

}  // namespace

Search::Search(const Pool& pool, int level) : pool_(pool), level_(level) {
  const auto &flows = pool.of(Role::flow), &areas = pool.of(Role::area);
  Series k(pool.rows());
  for (std::size_t f = 0; f < flows.size(); ++f) {
    for (std::size_t s = 0; s < areas.size(); ++s) {
      if (flows[f].column == areas[s].column) continue;
      for (std::size_t i = 0; i < k.size(); ++i) k[i] = flows[f].values[i] / areas[s].values[i];
      const double median = median_of(k);
      if (median > 0 && std::isfinite(median)) scales_.push_back({std::log(median), f, s});
    }
  }
  std::sort(scales_.begin(), scales_.end(),
            [](const FluxScale& a, const FluxScale& b) { return a.log_median < b.log_median; });
}

/// Candidates of a role that the hypothesis leaves open: its own, or all of columns not yet used.
std::vector<std::size_t> Search::picks(const Hypothesis& h, Role role) const {
  if (h.has(role)) return {static_cast<std::size_t>(h.of(role))};
  std::vector<std::size_t> used, out;
  for (std::size_t r = 0; r < role_count; ++r) {
    const Role other = static_cast<Role>(r);
    if (h.has(other)) {
      used.push_back(candidate(other, static_cast<std::size_t>(h.of(other))).column);
    }
  }
  const auto free = [&](std::size_t column) {
    return std::find(used.begin(), used.end(), column) == used.end();
  };
  const auto& list = pool_.of(role);
  for (std::size_t i = 0; i < list.size(); ++i) {
    const ColumnCandidate& one = list[i];
    if (one.level > level_ || !free(one.column)) continue;
    if (one.pressure) {
      const bool fits = h.has(Role::Patm)
                            ? h.of(Role::Patm) == static_cast<int>(*one.pressure)
                            : free(candidate(Role::Patm, *one.pressure).column) &&
                                  candidate(Role::Patm, *one.pressure).column != one.column;
      if (!fits) continue;
    }
    out.push_back(i);
  }
  return out;
}

/// Assigns, with the pressure that a partial pressure was divided by. False where a column would
/// have two roles.
bool Search::set(Hypothesis& h, Role role, std::size_t index) const {
  if (h.of(role) == static_cast<int>(index)) return true;
  const ColumnCandidate& wanted = candidate(role, index);
  for (std::size_t r = 0; r < role_count; ++r) {
    const Role other = static_cast<Role>(r);
    if (other != role && h.has(other) &&
        candidate(other, static_cast<std::size_t>(h.of(other))).column == wanted.column) {
      return false;
    }
  }
  h.set(role, index);
  if (!wanted.pressure) return true;
  if (h.has(Role::Patm)) return h.of(Role::Patm) == static_cast<int>(*wanted.pressure);
  return set(h, Role::Patm, *wanted.pressure);
}

/// Pairs that make both streams.
std::vector<Search::Streams> Search::streams(const Hypothesis& h, bool is_water) const {
  const Role r = is_water ? Role::H2Or : Role::CO2r, s = is_water ? Role::H2Os : Role::CO2s;
  const Role d = is_water ? Role::dH2O : Role::dCO2;
  std::vector<Streams> out;
  const auto add = [&](Role first, Role second) {
    const std::vector<std::size_t> seconds = picks(h, second);
    for (const std::size_t a : picks(h, first)) {
      const ColumnCandidate& one = candidate(first, a);
      for (const std::size_t b : seconds) {
        const ColumnCandidate& two = candidate(second, b);
        if (one.column == two.column) continue;
        if (one.pressure && two.pressure && *one.pressure != *two.pressure) continue;
        out.push_back({first, second, a, b});
      }
    }
  };
  if (!h.has(d)) add(s, r);
  if (!h.has(r)) add(s, d);
  if (!h.has(s)) add(r, d);
  return out;
}

void Search::both(const Streams& pair, Series& reference, Series& sample) const {
  const Series &a = values(pair.first, pair.a), &b = values(pair.second, pair.b);
  const bool sample_first = pair.first == Role::H2Os || pair.first == Role::CO2s;
  const bool difference = pair.second == Role::dH2O || pair.second == Role::dCO2;
  if (!difference) {
    sample = a;
    reference = b;
    return;
  }
  (sample_first ? sample : reference) = a;
  Series& other = sample_first ? reference : sample;
  other.resize(a.size());
  for (std::size_t i = 0; i < a.size(); ++i) other[i] = sample_first ? a[i] - b[i] : a[i] + b[i];
}

template <class Use>
void Search::flux_scales(const Hypothesis& h, double k, Use use) const {
  if (!(k > 0)) return;
  const double low = std::log(k) - 0.05, high = std::log(k) + 0.05;
  auto at = std::lower_bound(
      scales_.begin(), scales_.end(), low,
      [](const FluxScale& scale, double wanted) { return scale.log_median < wanted; });
  for (; at != scales_.end() && at->log_median <= high; ++at) {
    if (h.has(Role::flow) && h.of(Role::flow) != static_cast<int>(at->flow)) continue;
    if (h.has(Role::area) && h.of(Role::area) != static_cast<int>(at->area)) continue;
    if (candidate(Role::flow, at->flow).level > level_) continue;
    if (candidate(Role::area, at->area).level > level_) continue;
    use(*at);
  }
}

void Search::trim(Beam& beam, std::size_t width) {
  std::stable_sort(beam.begin(), beam.end(),
                   [](const Hypothesis& a, const Hypothesis& b) { return a.score() < b.score(); });
  if (beam.size() > width) beam.resize(width);
}

/// Extends each of the beam; one that cannot be extended stays as it is.
template <class Stage>
Search::Beam Search::stage(const Beam& from, Relation relation, Stage one) const {
  Beam out;
  for (const Hypothesis& h : from) {
    Beam made;
    if (!h.tested(relation)) one(h, made);
    made.erase(std::remove_if(
                   made.begin(), made.end(),
                   [&](const Hypothesis& next) { return !(next.miss(relation) < keep_tolerance); }),
               made.end());
    trim(made, beam_width);
    if (made.empty()) made.push_back(h);
    out.insert(out.end(), made.begin(), made.end());
  }
  trim(out, beam_width);
  return out;
}

void Search::water(const Hypothesis& h, Beam& out) const {
  const std::size_t n = pool_.rows();
  Series Wr, Ws, per_scale(n);
  for (const Streams& pair : streams(h, true)) {
    if (!spend(1)) return;
    both(pair, Wr, Ws);
    if (!most_rows(n, [&](std::size_t i) { return Ws[i] > Wr[i] && Wr[i] > -1 && Ws[i] < 90; })) {
      continue;
    }
    Hypothesis next = h;
    if (!set(next, pair.first, pair.a) || !set(next, pair.second, pair.b)) continue;
    for (std::size_t i = 0; i < n; ++i) per_scale[i] = 10 * (Ws[i] - Wr[i]) / (1000 - Ws[i]);
    water_pair(next, per_scale, out);
  }
}

void Search::water_pair(const Hypothesis& h, const Series& per_scale, Beam& out) const {
  const std::size_t n = pool_.rows();
  Series k(n);
  for (const std::size_t e : picks(h, Role::E)) {
    if (!spend(4)) return;
    const Series& E = values(Role::E, e);
    for (std::size_t i = 0; i < n; ++i) k[i] = E[i] / per_scale[i];
    const double size = std::abs(candidate(Role::E, e).median);
    flux_scales(h, median_of(k), [&](const FluxScale& scale) {
      const Series &F = values(Role::flow, scale.flow), &S = values(Role::area, scale.area);
      if (!spend(1)) return;
      if (!most_rows(n,
                     [&](std::size_t i) { return near(per_scale[i] * F[i] / S[i], E[i], size); })) {
        return;
      }
      Hypothesis full = h;
      if (!set(full, Role::E, e) || !set(full, Role::flow, scale.flow) ||
          !set(full, Role::area, scale.area)) {
        return;
      }
      Series made(n);
      for (std::size_t i = 0; i < n; ++i) made[i] = per_scale[i] * F[i] / S[i];
      full.misfit[static_cast<std::size_t>(Relation::water)] = relative_difference(made, E);
      out.push_back(full);
      if (out.size() > 4000) trim(out, 1000);
    });
  }
}

void Search::carbon(const Hypothesis& h, Beam& out) const {
  if (!h.has(Role::flow) || !h.has(Role::area)) {
    carbon_alone(h, out);
    return;
  }
  const Model model(pool_, h);
  const Series &F = model.recorded(Role::flow), &S = model.recorded(Role::area);
  const Series Wr = model.stream(Role::H2Or), Ws = model.stream(Role::H2Os);
  const std::size_t n = pool_.rows();
  const std::vector<std::size_t> uptake = picks(h, Role::A);
  Series Cr, Cs, made(n);
  for (const Streams& pair : streams(h, false)) {
    both(pair, Cr, Cs);
    for (const bool dry : {false, true}) {
      if (h.tested(Relation::inside) && dry != h.dry_co2) continue;
      const auto make = [&](std::size_t i) {
        return F[i] / (100 * S[i]) *
               (dry ? (1 - Wr[i] / 1000) * (Cr[i] - Cs[i])
                    : Cr[i] - Cs[i] * (1000 - Wr[i]) / (1000 - Ws[i]));
      };
      for (const std::size_t a : uptake) {
        const ColumnCandidate& A = candidate(Role::A, a);
        const double size = std::abs(A.median);
        if (!most_rows(n, [&](std::size_t i) { return near(make(i), A.values[i], size); })) {
          continue;
        }
        Hypothesis next = h;
        if (!set(next, pair.first, pair.a) || !set(next, pair.second, pair.b) ||
            !set(next, Role::A, a)) {
          continue;
        }
        next.dry_co2 = dry;
        measure(pool_, next);
        out.push_back(next);
        if (out.size() > 4000) trim(out, 1000);
      }
    }
  }
}

/// A against Cr - Cs + d Cs for some dilution d: which belong together, without flow and water.
std::vector<Search::Uptake> Search::uptakes(const Hypothesis& h) const {
  std::vector<Uptake> out;
  const std::size_t n = pool_.rows();
  const std::vector<std::size_t> all = picks(h, Role::A);
  Series Cr, Cs;
  for (const Streams& pair : streams(h, false)) {
    if (!spend(all.size())) break;
    both(pair, Cr, Cs);
    if (!most_rows(n, [&](std::size_t i) {
          return std::abs(Cr[i] - Cs[i]) < 0.7 * std::abs(Cr[i]) && Cr[i] > 0 && Cs[i] > 0;
        })) {
      continue;
    }
    for (const std::size_t a : all) {
      const std::size_t column = candidate(Role::A, a).column;
      if (column == candidate(pair.first, pair.a).column ||
          column == candidate(pair.second, pair.b).column) {
        continue;
      }
      const Series& A = values(Role::A, a);
      double dd = 0, dc = 0, cc = 0, da = 0, ca = 0, aa = 0, sum = 0, count = 0;
      for (std::size_t i = 0; i < n; ++i) {
        const double D = Cr[i] - Cs[i];
        if (std::isnan(D + A[i])) continue;
        dd += D * D, dc += D * Cs[i], cc += Cs[i] * Cs[i];
        da += D * A[i], ca += Cs[i] * A[i], aa += A[i] * A[i];
        sum += A[i], count += 1;
      }
      // Against the variance of A: near-constant columns agree with everything and explain nothing.
      const double variance = aa - sum * sum / std::max(count, 1.0);
      double best = 1;
      for (double d = 0; d < 0.05; d += 0.002) {
        const double xx = dd + 2 * d * dc + d * d * cc, xa = da + d * ca;
        if (xx > 0 && xa > 0 && variance > 0) best = std::min(best, (aa - xa * xa / xx) / variance);
      }
      if (best < 0.2) out.push_back({best, pair, a});
    }
  }
  std::sort(out.begin(), out.end(), [](const Uptake& a, const Uptake& b) { return a.off < b.off; });
  if (out.size() > 600) out.resize(600);
  return out;
}

/// Flow over area seldom changes from one row to the next: three pairs of rows, two must agree.
bool Search::steady_scale(const Series& x, const Series& A) {
  const std::size_t n = x.size();
  std::size_t alike = 0;
  for (const std::size_t i : {std::size_t{0}, n / 2, n - 2}) {
    const double ratio = A[i] * x[i + 1] / (A[i + 1] * x[i]);
    alike += ratio > 0.8 && ratio < 1.25 ? 1U : 0U;
  }
  return alike >= 2;
}

/// Without E: A and streams that belong together, then water pairs, then the scale.
void Search::carbon_alone(const Hypothesis& h, Beam& out) const {
  const std::vector<Uptake> rough = uptakes(h);
  const std::size_t n = pool_.rows();
  if (n < 6) return;
  std::vector<std::pair<Series, Series>> carbon_streams(rough.size());
  for (std::size_t u = 0; u < rough.size(); ++u) {
    both(rough[u].pair, carbon_streams[u].first, carbon_streams[u].second);
  }
  Series Wr, Ws, x(n), dilution(n);
  for (const Streams& wet : streams(h, true)) {
    both(wet, Wr, Ws);
    if (!most_rows(n, [&](std::size_t i) { return Ws[i] > Wr[i] && Wr[i] > -1 && Ws[i] < 90; })) {
      continue;
    }
    Hypothesis with = h;
    if (!set(with, wet.first, wet.a) || !set(with, wet.second, wet.b)) continue;
    for (std::size_t i = 0; i < n; ++i) dilution[i] = (1000 - Wr[i]) / (1000 - Ws[i]);
    if (!spend(rough.size())) return;
    for (std::size_t u = 0; u < rough.size(); ++u) {
      const auto& [Cr, Cs] = carbon_streams[u];
      const Uptake& one = rough[u];
      for (const bool dry : {false, true}) {
        for (std::size_t i = 0; i < n; ++i) {
          x[i] = dry ? (1 - Wr[i] / 1000) * (Cr[i] - Cs[i]) : Cr[i] - Cs[i] * dilution[i];
        }
        if (!steady_scale(x, values(Role::A, one.a))) continue;
        Hypothesis next = with;
        next.dry_co2 = dry;
        if (set(next, one.pair.first, one.pair.a) && set(next, one.pair.second, one.pair.b) &&
            set(next, Role::A, one.a)) {
          carbon_scale(next, x, out);
        }
      }
    }
  }
}

void Search::carbon_scale(const Hypothesis& h, const Series& x, Beam& out) const {
  const std::size_t n = x.size();
  const ColumnCandidate& A = candidate(Role::A, static_cast<std::size_t>(h.of(Role::A)));
  const double size = std::abs(A.median);
  Series k(n);
  for (std::size_t i = 0; i < n; ++i) k[i] = 100 * A.values[i] / x[i];
  flux_scales(h, median_of(k), [&](const FluxScale& scale) {
    const Series &F = values(Role::flow, scale.flow), &S = values(Role::area, scale.area);
    if (!spend(1)) return;
    if (!most_rows(n, [&](std::size_t i) {
          return near(x[i] * F[i] / (100 * S[i]), A.values[i], size);
        })) {
      return;
    }
    Hypothesis full = h;
    if (!set(full, Role::flow, scale.flow) || !set(full, Role::area, scale.area)) return;
    measure(pool_, full);
    out.push_back(full);
    if (out.size() > 4000) trim(out, 1000);
  });
}

Search::Beam Search::finish(Beam beam) const {
  for (const Relation relation : {Relation::deficit, Relation::humidity}) {
    beam =
        stage(beam, relation, [&](const Hypothesis& h, Beam& out) { humidity(h, relation, out); });
  }
  return beam;
}

std::vector<Hypothesis> Search::run(std::size_t keep) {
  const auto water_stage = [this](const Hypothesis& h, Beam& out) { water(h, out); };
  const auto carbon_stage = [this](const Hypothesis& h, Beam& out) { carbon(h, out); };
  const auto stomata_stage = [this](const Hypothesis& h, Beam& out) { stomata(h, out); };
  const auto inside_stage = [this](const Hypothesis& h, Beam& out) { inside(h, out); };
  Beam all;
  const auto solved = [&] { return std::any_of(all.begin(), all.end(), is_solved); };
  // From the leaf to the flow: gsw and Ci are mostly exact, and leave few columns for the rest.
  Beam leaf = stage({Hypothesis()}, Relation::stomata, stomata_stage);
  if (leaf.front().miss(Relation::stomata) < 1e-3) {
    leaf = finish(stage(leaf, Relation::inside, inside_stage));

    all = stage(stage(leaf, Relation::water, water_stage), Relation::carbon, carbon_stage);
  }
  if (!solved()) {
    // From the flow to the leaf.
    Beam flow = stage({Hypothesis()}, Relation::water, water_stage);
    flow = stage(flow, Relation::carbon, carbon_stage);
    flow = stage(stage(flow, Relation::stomata, stomata_stage), Relation::inside, inside_stage);
    flow = finish(std::move(flow));
    all.insert(all.end(), flow.begin(), flow.end());
  }
  if (!solved()) {
    // Without E.
    Beam flow = stage({Hypothesis()}, Relation::carbon, carbon_stage);
    flow = stage(stage(flow, Relation::stomata, stomata_stage), Relation::inside, inside_stage);
    flow = finish(std::move(flow));
    all.insert(all.end(), flow.begin(), flow.end());
  }
  for (Hypothesis& h : all) measure(pool_, h);
  trim(all, keep);
  return all;
}

std::vector<Hypothesis> search_assignments(const Pool& pool, std::size_t keep) {
  std::vector<Hypothesis> best = Search(pool, 0).run(keep);
  if (best.empty() || !(best.front().miss(Relation::carbon) < keep_tolerance) ||
      best.front().score() > -4) {
    std::vector<Hypothesis> more = Search(pool, 1).run(keep);
    best.insert(best.end(), more.begin(), more.end());
    std::stable_sort(best.begin(), best.end(), [](const Hypothesis& a, const Hypothesis& b) {
      return a.score() < b.score();
    });
    if (best.size() > keep) best.resize(keep);
  }
  return best;
}

}  // namespace leafwright
