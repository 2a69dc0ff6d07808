#include <algorithm>
#include <cmath>

#include "log/propose_engine.hpp"

namespace leafwright {

namespace {

constexpr std::array<double, 12> common_ratios = {0,   0.1, 0.2, 0.25, 0.3, 0.4,
                                                  0.5, 0.6, 0.7, 0.75, 0.8, 1};
constexpr double widest_share = 0.05;  // how far a ratio's boundary share may be from the found one

bool near(double made, double recorded, double size) {
  return std::abs(made - recorded) <= 0.05 * (std::abs(recorded) + 0.1 * std::abs(size));
}

Series saturation_of(const Series& T, VapourPressure form) {
  Series out;
  for (const double t : T) {
    out.push_back(t > -60 && t < 120 ? saturation_pressure(form, t)
                                     : std::numeric_limits<double>::quiet_NaN());
  }
  return out;
}

}  // namespace

void Search::stomata(const Hypothesis& h, Beam& out) const {
  if (pool_.of(Role::gsw).empty() || pool_.of(Role::gbw).empty()) return;
  const std::size_t n = pool_.rows();
  std::vector<Series> saturation;
  for (const ColumnCandidate& T : pool_.of(Role::Tleaf)) {
    saturation.push_back(saturation_of(T.values, h.form));
  }
  const Model model(pool_, h);
  const Series E_made = h.has(Role::E) ? Series() : model.made(Relation::water);
  const Series Ws_made = h.has(Role::H2Os) ? Series() : model.stream(Role::H2Os);
  const std::vector<std::size_t> one = {0};
  const auto fluxes = E_made.empty() ? picks(h, Role::E) : one;
  const auto waters = Ws_made.empty() ? picks(h, Role::H2Os) : one;
  const auto pressures = picks(h, Role::Patm), leaves = picks(h, Role::Tleaf);
  Series gtw(n);
  for (const std::size_t ws : waters) {
    const Series& Ws = Ws_made.empty() ? values(Role::H2Os, ws) : Ws_made;
    for (const std::size_t t : leaves) {
      const Series& es = saturation[t];
      for (const std::size_t p : pressures) {
        const Series& P = values(Role::Patm, p);
        if (!most_rows(n, [&](std::size_t i) { return es[i] > Ws[i] / 1000 * P[i]; })) continue;
        Hypothesis air = h;
        if ((Ws_made.empty() && !set(air, Role::H2Os, ws)) || !set(air, Role::Tleaf, t) ||
            !set(air, Role::Patm, p)) {
          continue;
        }
        if (!spend(fluxes.size() * 8)) break;
        for (const std::size_t e : fluxes) {
          Hypothesis next = air;
          if (E_made.empty() && !set(next, Role::E, e)) continue;
          const Series& E = E_made.empty() ? values(Role::E, e) : E_made;
          for (std::size_t i = 0; i < n; ++i) {
            const double wl = es[i] / P[i], w = Ws[i] / 1000;
            gtw[i] = E[i] * (1 - (wl + w) / 2) / (wl - w);
          }
          stomata_air(next, gtw, out);
        }
      }
    }
  }
  refine_stomata(out);
}

/// gsw and gbw that leave a boundary share near-constant between 1/2 and 1.
void Search::stomata_air(const Hypothesis& h, const Series& gtw, Beam& out) const {
  const std::size_t n = gtw.size();
  const std::vector<std::size_t> layers = picks(h, Role::gbw);
  Series share(n), off(n);
  for (const std::size_t g : picks(h, Role::gsw)) {
    const Series& gsw = values(Role::gsw, g);
    if (!most_rows(n, [&](std::size_t i) {
          const double part = gsw[i] / gtw[i] - 1;
          return part > 0 && part < 3;
        })) {
      continue;
    }
    for (const std::size_t b : layers) {
      const Series& gbw = values(Role::gbw, b);
      if (!most_rows(n, [&](std::size_t i) {
            const double part = (1 / gtw[i] - 1 / gsw[i]) * gbw[i];
            return part > 0.35 && part < 1.2;
          })) {
        continue;
      }
      for (std::size_t i = 0; i < n; ++i) share[i] = (1 / gtw[i] - 1 / gsw[i]) * gbw[i];
      const double median = median_of(share);
      for (std::size_t i = 0; i < n; ++i) off[i] = std::abs(share[i] - median) * gsw[i] / gbw[i];
      Hypothesis full = h;
      if (!set(full, Role::gsw, g) || !set(full, Role::gbw, b)) continue;
      full.misfit[static_cast<std::size_t>(Relation::stomata)] = median_of(off);
      if (!(full.miss(Relation::stomata) < 0.05)) continue;
      out.push_back(full);
      if (out.size() > 4000) trim(out, 400);
    }
  }
}

/// Which sides and which ratio, for the air of a hypothesis; best first.
Search::Beam Search::sides_of(const Hypothesis& air) const {
  Hypothesis whole = air;
  whole.gbw_is = GbwIs::whole_leaf;
  const Model model(pool_, whole);
  // The share of the boundary layer that this air asks for, from its gtw.
  const Series E = model.E_recorded_or_made(), Ws = model.stream(Role::H2Os);
  const Series P = model.pressure(), es = saturation_of(model.recorded(Role::Tleaf), air.form);
  const Series &gsw = model.recorded(Role::gsw), &gbw = model.recorded(Role::gbw);
  if (E.empty() || Ws.empty() || P.empty() || es.empty()) return {};
  Series share(E.size());
  for (std::size_t i = 0; i < share.size(); ++i) {
    const double wl = es[i] / P[i], w = Ws[i] / 1000;
    share[i] = ((wl - w) / (E[i] * (1 - (wl + w) / 2)) - 1 / gsw[i]) * gbw[i];
  }
  const double wanted = median_of(share);
  Beam out;
  const auto add = [&](GbwIs is, double ratio, TwoSides sides, int column) {
    Hypothesis full = air;
    full.gbw_is = is;
    full.ratio = ratio;
    full.two_sides = sides;
    if (column >= 0 && !set(full, Role::stomatal_ratio, static_cast<std::size_t>(column))) return;
    full.misfit[static_cast<std::size_t>(Relation::stomata)] =
        Model(pool_, full).misfit(Relation::stomata);
    out.push_back(full);
  };
  if (std::abs(wanted - 1) < 2 * widest_share) add(GbwIs::whole_leaf, 1, TwoSides::exact, -1);
  for (const TwoSides sides : {TwoSides::exact, TwoSides::first_order}) {
    for (const std::size_t column : picks(air, Role::stomatal_ratio)) {
      const double ratio = candidate(Role::stomatal_ratio, column).median;
      if (std::abs(boundary_share(ratio) - wanted) < widest_share) {
        add(GbwIs::per_side, 1, sides, static_cast<int>(column));
      }
    }
    for (const double ratio : common_ratios) {
      if (ratio > 0 && std::abs(boundary_share(ratio) - wanted) < widest_share) {
        add(GbwIs::per_side, ratio, sides, -1);
      }
    }
  }
  // Equal numbers: a column before a value from the list, exact sides before the first order.
  std::stable_sort(out.begin(), out.end(), [](const Hypothesis& a, const Hypothesis& b) {
    return a.miss(Relation::stomata) < 0.999 * b.miss(Relation::stomata) - 1e-12;
  });
  return out;
}

/// Which sides, which ratio, which overpressure.
void Search::refine_stomata(Beam& rough) const {
  trim(rough, 120);
  Beam out;
  for (const Hypothesis& one : rough) {
    Beam airs = {one};
    if (!one.has(Role::overpressure)) {
      for (const std::size_t over : picks(one, Role::overpressure)) {
        // A pressure above or below the air's that changes much is none.
        if (std::abs(candidate(Role::overpressure, over).median) > 1) continue;
        Hypothesis with = one;
        if (set(with, Role::overpressure, over)) airs.push_back(with);
      }
    }
    Beam mine;
    for (const Hypothesis& air : airs) {
      if (!spend(60)) break;
      const Beam sides = sides_of(air);
      if (!sides.empty()) mine.push_back(sides.front());
    }
    // Without an overpressure unless it makes a clear difference.
    const auto best = std::min_element(mine.begin(), mine.end(), [](const auto& a, const auto& b) {
      const double prefer_a = a.has(Role::overpressure) ? 3 : 1;
      const double prefer_b = b.has(Role::overpressure) ? 3 : 1;
      return prefer_a * (a.miss(Relation::stomata) + 1e-9) <
             prefer_b * (b.miss(Relation::stomata) + 1e-9);
    });
    if (best != mine.end()) out.push_back(*best);
  }
  rough = std::move(out);
}

void Search::inside(const Hypothesis& h, Beam& out) const {
  if (!h.has(Role::gsw) || !h.has(Role::gbw)) {
    inside_made(h, out);
    return;
  }
  const Model model(pool_, h);
  const Series E = model.E_recorded_or_made();
  if (E.empty()) return;
  Series g(E.size());
  for (std::size_t i = 0; i < g.size(); ++i) {
    const double gsw = model.recorded(Role::gsw)[i];
    g[i] = gsw > 0 ? co2_conductance(gsw, model.layer(i)) / 1000 : -1;
  }
  if (!h.has(Role::CO2s) && h.has(Role::CO2r) && h.has(Role::dCO2)) {
    inside_air(h, g, E, out);
    return;
  }
  for (const std::size_t s : picks(h, Role::CO2s)) {
    for (const bool dry : {false, true}) {
      if (h.tested(Relation::carbon) && dry != h.dry_co2) continue;
      Hypothesis with = h;
      if (!set(with, Role::CO2s, s)) continue;
      with.dry_co2 = dry;
      inside_air(with, g, E, out);
    }
  }
}

void Search::inside_air(const Hypothesis& h, const Series& g, const Series& E, Beam& out) const {
  const std::size_t n = g.size();
  const Series Cs = Model(pool_, h).co2s_moist();
  if (Cs.empty()) return;
  const std::vector<std::size_t> inner = picks(h, Role::Ci);
  for (const std::size_t a : picks(h, Role::A)) {
    const Series& A = values(Role::A, a);
    if (!spend(inner.size())) return;
    for (const std::size_t c : inner) {
      const ColumnCandidate& Ci = candidate(Role::Ci, c);
      if (!most_rows(n, [&](std::size_t i) {
            const double made = ((g[i] - E[i] / 2000) * Cs[i] - A[i]) / (g[i] + E[i] / 2000);
            return near(made, Ci.values[i], Ci.median);
          })) {
        continue;
      }
      Hypothesis full = h;
      if (!set(full, Role::A, a) || !set(full, Role::Ci, c)) continue;
      measure(pool_, full);
      out.push_back(full);
      if (out.size() > 4000) trim(out, 400);
    }
  }
}

/// gsw is not recorded: it is made from the air about the leaf, and Ci alone tests it.
void Search::inside_made(const Hypothesis& h, Beam& out) const {
  if (h.has(Role::gsw) || !h.has(Role::A) || !h.tested(Relation::carbon)) return;
  const std::size_t n = pool_.rows();
  const auto layers = picks(h, Role::gbw), pressures = picks(h, Role::Patm);
  for (const std::size_t t : picks(h, Role::Tleaf)) {
    for (const std::size_t p : pressures) {
      for (const std::size_t b : layers) {
        Hypothesis air = h;
        if (!set(air, Role::Tleaf, t) || !set(air, Role::Patm, p) || !set(air, Role::gbw, b)) {
          continue;
        }
        Beam variants(2, air);
        variants[1].gbw_is = GbwIs::per_side;
        for (const std::size_t k : picks(air, Role::stomatal_ratio)) {
          Hypothesis with = variants[1];
          if (set(with, Role::stomatal_ratio, k)) variants.push_back(with);
        }
        for (const Hypothesis& variant : variants) {
          if (!spend(50)) return;
          const Series made = Model(pool_, variant).made(Relation::inside);
          if (made.empty()) continue;
          for (const std::size_t c : picks(variant, Role::Ci)) {
            const ColumnCandidate& Ci = candidate(Role::Ci, c);
            if (!most_rows(n,
                           [&](std::size_t i) { return near(made[i], Ci.values[i], Ci.median); })) {
              continue;
            }
            Hypothesis full = variant;
            if (!set(full, Role::Ci, c)) continue;
            measure(pool_, full);
            out.push_back(full);
          }
        }
      }
    }
  }
}

void Search::humidity(const Hypothesis& h, Relation relation, Beam& out) const {
  if (!h.has(Role::H2Os) && !h.has(Role::dH2O)) return;
  const Role temperature = relation == Relation::deficit ? Role::Tleaf : Role::Tair;
  const Role result = made_by(relation);
  const auto pressures = picks(h, Role::Patm);
  for (const std::size_t t : picks(h, temperature)) {
    for (const std::size_t p : pressures) {
      Hypothesis next = h;
      if (!set(next, temperature, t) || !set(next, Role::Patm, p)) continue;
      if (!spend(20)) return;
      const Series made = Model(pool_, next).made(relation);
      for (const std::size_t v : picks(next, result)) {
        // Three columns of which two may be free: only a close agreement says anything.
        if (!(relative_difference(made, values(result, v)) < 1e-3)) continue;
        Hypothesis full = next;
        if (!set(full, result, v)) continue;
        measure(pool_, full);
        out.push_back(full);
      }
    }
  }
}

}  // namespace leafwright
