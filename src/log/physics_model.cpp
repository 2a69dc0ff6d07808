#include <algorithm>
#include <cmath>

#include "log/physics_model.hpp"

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

template <class Make>
Series rows(std::size_t n, Make make) {
  Series out(n, missing);
  for (std::size_t i = 0; i < n; ++i) out[i] = make(i);
  return out;
}

bool in_range(double t) {
  return t > -60 && t < 120;
}

}  // namespace

Role made_by(Relation relation) {
  constexpr std::array<Role, relation_count> made = {Role::E,  Role::A,       Role::gsw,
                                                     Role::Ci, Role::VPDleaf, Role::RHs};
  return made[static_cast<std::size_t>(relation)];
}

const std::vector<Role>& roles_of(Relation relation) {
  static const std::array<std::vector<Role>, relation_count> all = {{
      {Role::E, Role::H2Or, Role::H2Os, Role::dH2O, Role::flow, Role::area},
      {Role::A, Role::CO2r, Role::CO2s, Role::dCO2, Role::H2Or, Role::H2Os, Role::dH2O, Role::flow,
       Role::area},
      {Role::gsw, Role::E, Role::H2Os, Role::Tleaf, Role::Patm, Role::gbw, Role::overpressure,
       Role::stomatal_ratio},
      {Role::Ci, Role::A, Role::E, Role::gsw, Role::gbw, Role::CO2s, Role::stomatal_ratio},
      {Role::VPDleaf, Role::Tleaf, Role::H2Os, Role::Patm, Role::overpressure},
      {Role::RHs, Role::Tair, Role::H2Os, Role::Patm, Role::overpressure},
  }};
  return all[static_cast<std::size_t>(relation)];
}

double relative_difference(const Series& a, const Series& b) {
  if (a.empty() || b.empty()) return missing;
  Series off, size;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::isnan(a[i]) || std::isnan(b[i])) continue;
    off.push_back(std::abs(a[i] - b[i]));
    size.push_back(std::abs(b[i]));
  }
  if (off.size() < 5) return missing;
  const double scale = median_of(size);
  return scale > 0 ? median_of(off) / scale : missing;
}

const Series& Model::recorded(Role role) const {
  static const Series nothing;
  return h_.has(role) ? pool_.of(role) : nothing;
}

Series Model::stream(Role role) const {
  if (h_.has(role)) return recorded(role);
  const bool water = role == Role::H2Or || role == Role::H2Os;
  const bool reference = role == Role::CO2r || role == Role::H2Or;
  const Role other =
      water ? (reference ? Role::H2Os : Role::H2Or) : (reference ? Role::CO2s : Role::CO2r);
  const Series &base = recorded(other), &difference = recorded(water ? Role::dH2O : Role::dCO2);
  if (base.empty() || difference.empty()) return {};
  return rows(base.size(), [&](std::size_t i) {
    return reference ? base[i] - difference[i] : base[i] + difference[i];
  });
}

Series Model::co2s_moist() const {
  Series co2 = stream(Role::CO2s);
  if (!h_.dry_co2 || co2.empty()) return co2;
  const Series water = stream(Role::H2Os);
  if (water.empty()) return {};
  return rows(co2.size(), [&](std::size_t i) { return co2[i] * (1 - water[i] / 1000); });
}

Series Model::pressure() const {
  Series out = recorded(Role::Patm);
  const Series& over = recorded(Role::overpressure);
  for (std::size_t i = 0; i < out.size() && !over.empty(); ++i) out[i] += over[i];
  return out;
}

Series Model::E_recorded_or_made() const {
  return h_.has(Role::E) ? recorded(Role::E) : made(Relation::water);
}
Series Model::A_recorded_or_made() const {
  return h_.has(Role::A) ? recorded(Role::A) : made(Relation::carbon);
}
Series Model::gsw_recorded_or_made() const {
  return h_.has(Role::gsw) ? recorded(Role::gsw) : made(Relation::stomata);
}

BoundaryLayer Model::layer(std::size_t row) const {
  const Series& ratio = recorded(Role::stomatal_ratio);
  return {recorded(Role::gbw)[row], h_.gbw_is, ratio.empty() ? h_.ratio : ratio[row], h_.two_sides};
}

namespace {

Series made_E(const Model& m) {
  const Series Wr = m.stream(Role::H2Or), Ws = m.stream(Role::H2Os);
  const Series &F = m.recorded(Role::flow), &S = m.recorded(Role::area);
  if (Wr.empty() || Ws.empty() || F.empty() || S.empty()) return {};
  return rows(F.size(),
              [&](std::size_t i) { return 10 * F[i] * (Ws[i] - Wr[i]) / (S[i] * (1000 - Ws[i])); });
}

Series made_A(const Model& m, bool dry) {
  const Series Wr = m.stream(Role::H2Or), Ws = m.stream(Role::H2Os);
  const Series Cr = m.stream(Role::CO2r), Cs = m.stream(Role::CO2s);
  const Series &F = m.recorded(Role::flow), &S = m.recorded(Role::area);
  if (Wr.empty() || Ws.empty() || Cr.empty() || Cs.empty() || F.empty() || S.empty()) return {};
  return rows(F.size(), [&](std::size_t i) {
    const double x = dry ? (1 - Wr[i] / 1000) * (Cr[i] - Cs[i])
                         : Cr[i] - Cs[i] * (1000 - Wr[i]) / (1000 - Ws[i]);
    return F[i] * x / (100 * S[i]);
  });
}

Series made_gsw(const Model& m, VapourPressure form) {
  const Series E = m.E_recorded_or_made(), Ws = m.stream(Role::H2Os), P = m.pressure();
  const Series& T = m.recorded(Role::Tleaf);
  if (E.empty() || Ws.empty() || P.empty() || T.empty() || m.recorded(Role::gbw).empty()) return {};
  return rows(E.size(), [&](std::size_t i) {
    if (!in_range(T[i]) || !(P[i] > 0) || !(m.layer(i).gbw > 0)) return missing;
    const double wl = saturation_pressure(form, T[i]) / P[i], ws = Ws[i] / 1000;
    if (!(wl > ws)) return missing;
    const double gtw = E[i] * (1 - (wl + ws) / 2) / (wl - ws);
    return stomatal_conductance(gtw, m.layer(i)).value_or(missing);
  });
}

Series made_Ci(const Model& m) {
  const Series gsw = m.gsw_recorded_or_made(), E = m.E_recorded_or_made();
  const Series A = m.A_recorded_or_made(), Cs = m.co2s_moist();
  if (gsw.empty() || E.empty() || A.empty() || Cs.empty() || m.recorded(Role::gbw).empty()) {
    return {};
  }
  return rows(E.size(), [&](std::size_t i) {
    if (!(gsw[i] > 0) || !(m.layer(i).gbw > 0)) return missing;
    const double g = co2_conductance(gsw[i], m.layer(i)) / 1000, half = E[i] / 2000;
    return ((g - half) * Cs[i] - A[i]) / (g + half);
  });
}

/// VPDleaf with the leaf's temperature, RHs with the air's.
Series made_humidity(const Model& m, VapourPressure form, Role temperature) {
  const Series &T = m.recorded(temperature), Ws = m.stream(Role::H2Os), P = m.pressure();
  if (T.empty() || Ws.empty() || P.empty()) return {};
  return rows(T.size(), [&](std::size_t i) {
    if (!in_range(T[i])) return missing;
    const double saturation = saturation_pressure(form, T[i]), e = Ws[i] / 1000 * P[i];
    return temperature == Role::Tleaf ? saturation - e : 100 * e / saturation;
  });
}

}  // namespace

Series Model::made(Relation relation) const {
  switch (relation) {
    case Relation::water:
      return made_E(*this);
    case Relation::carbon:
      return made_A(*this, h_.dry_co2);
    case Relation::stomata:
      return made_gsw(*this, h_.form);
    case Relation::inside:
      return made_Ci(*this);
    case Relation::deficit:
      return made_humidity(*this, h_.form, Role::Tleaf);
    case Relation::humidity:
      return made_humidity(*this, h_.form, Role::Tair);
  }
  return {};
}

double Model::misfit(Relation relation) const {
  if (!h_.has(made_by(relation))) return missing;
  return relative_difference(made(relation), recorded(made_by(relation)));
}

}  // namespace leafwright
