#include "log/propose_challenge.hpp"

#include <algorithm>
#include <cmath>

namespace leafwright {

namespace {

constexpr double worse_by = 3;         // a rival that is worse by less than this fits as well
constexpr double digits_floor = 2e-6;  // below it rounding decides, not physics
constexpr double same_values = 2e-5;   // relative: no result would tell them apart
constexpr double false_matches = 0.1;  // expected number of chance pairs of flow and area

bool stomata_like(Relation relation) {
  return relation == Relation::deficit || relation == Relation::humidity;
}

class Challenger {
 public:
  Challenger(const Pool& pool, const Hypothesis& start, const std::vector<std::string>& names)
      : pool_(pool), names_(names) {
    out_.best = start;
  }
  Challenge run();

 private:
  void try_rival(const Hypothesis& rival);
  [[nodiscard]] bool touches(const Hypothesis& rival, Relation relation) const;
  [[nodiscard]] bool same_streams(const Hypothesis& rival) const;
  [[nodiscard]] bool same_role(const Hypothesis& rival, Role role) const;
  [[nodiscard]] std::string name_of(const Hypothesis& h, Role role) const;
  void singles();
  void streams(bool water);
  [[nodiscard]] double scale_error(Relation relation) const;
  void prepare();
  bool take();
  [[nodiscard]] bool may_fit(Role first, std::size_t a, Role second, std::size_t b, bool dry) const;
  [[nodiscard]] bool may_fit_water(Role first, std::size_t a, Role second, std::size_t b) const;
  void scales();
  void flow_and_area(const Hypothesis& with, double k, bool count);
  void air();
  void layers();

  const Pool& pool_;
  const std::vector<std::string>& names_;
  Challenge out_;
  bool replaced_ = false;
  std::vector<std::pair<std::size_t, Role>> taken_;  // columns settled by a close agreement
  Hypothesis better_;
  Series per_area_, uptake_, transpired_, Wr_, Ws_, Cr_, Cs_;
  double carbon_limit_ = 0, water_limit_ = 0;
};

std::size_t size_of(const Pool& pool, Role role) {
  return pool.of(role).size();
}

bool close(const Series& a, const Series& b) {
  if (a.empty() || b.empty()) return a.empty() == b.empty();
  const double off = relative_difference(a, b);
  return off <= same_values || (std::isnan(off) && a == b);
}

std::string Challenger::name_of(const Hypothesis& h, Role role) const {
  if (!h.has(role)) return "none";
  const ColumnCandidate& one = pool_.of(role)[static_cast<std::size_t>(h.of(role))];
  if (one.column >= names_.size()) return "the constant";
  return "'" + names_[one.column] + "' in " + (one.factor < 0 ? "-" : "") + one.unit +
         (one.dry ? " per dry air" : "");
}

/// Moist streams: two ways to state the same air are one.
Series moist(const Pool& pool, const Hypothesis& h, Role role) {
  const Model model(pool, h);
  Series out = model.stream(role);
  if (!h.dry_co2 || out.empty() || (role != Role::CO2r && role != Role::CO2s)) return out;
  const Series water = model.stream(role == Role::CO2r ? Role::H2Or : Role::H2Os);
  for (std::size_t i = 0; i < out.size() && !water.empty(); ++i) out[i] *= 1 - water[i] / 1000;
  return out;
}

bool Challenger::same_streams(const Hypothesis& rival) const {
  for (const Role role : {Role::CO2r, Role::CO2s, Role::H2Or, Role::H2Os}) {
    if (!close(moist(pool_, rival, role), moist(pool_, out_.best, role))) return false;
  }
  return true;
}

bool Challenger::same_role(const Hypothesis& rival, Role role) const {
  if (rival.of(role) == out_.best.of(role)) return true;
  return close(Model(pool_, rival).recorded(role), Model(pool_, out_.best).recorded(role));
}

bool Challenger::touches(const Hypothesis& rival, Relation relation) const {
  const auto& roles = roles_of(relation);
  return rival.dry_co2 != out_.best.dry_co2 ||
         (relation == Relation::stomata &&
          (rival.gbw_is != out_.best.gbw_is || rival.ratio != out_.best.ratio)) ||
         std::any_of(roles.begin(), roles.end(),
                     [&](Role role) { return rival.of(role) != out_.best.of(role); });
}

/// Does the rival agree as well as what stands? Then the roles in which they differ are open.
void Challenger::try_rival(const Hypothesis& tried) {
  const Hypothesis& best = out_.best;
  for (std::size_t r = 0; r < role_count; ++r) {
    const auto role = static_cast<Role>(r);
    if (tried.pick[r] == best.pick[r] || !tried.has(role)) continue;
    const std::size_t column = pool_.of(role)[static_cast<std::size_t>(tried.pick[r])].column;
    for (const auto& [taken, by] : taken_) {
      if (column == taken && role != by) return;
    }
  }
  Hypothesis rival = tried;
  const Model model(pool_, rival);
  bool tested = false, better = false;
  for (std::size_t i = 0; i < relation_count; ++i) {
    const auto relation = static_cast<Relation>(i);
    rival.misfit[i] = best.misfit[i];
    if (!agrees(best, relation) || !touches(rival, relation)) continue;
    tested = true;
    rival.misfit[i] = model.misfit(relation);
    const double limit = std::max(worse_by * best.misfit[i], digits_floor);
    if (!(rival.misfit[i] <= limit)) return;
    better = better || worse_by * std::max(rival.misfit[i], digits_floor) < best.misfit[i];
  }
  if (!tested) return;
  bool same = same_streams(rival);
  for (std::size_t r = 0; r < role_count && same; ++r) {
    const auto role = static_cast<Role>(r);
    const bool stream = role == Role::CO2r || role == Role::CO2s || role == Role::H2Or ||
                        role == Role::H2Os || role == Role::dCO2 || role == Role::dH2O;
    same = stream || same_role(rival, role);
  }
  if (same) return;
  if (better) {
    if (!replaced_ || rival.score() < better_.score()) better_ = rival;
    replaced_ = true;
    return;
  }
  if (rival.dry_co2 != best.dry_co2) {
    for (const Role role : {Role::CO2r, Role::CO2s}) {
      std::string& open = out_.rival[static_cast<std::size_t>(role)];
      if (open.empty()) {
        open = name_of(rival, role) + (rival.dry_co2 ? " per dry air" : " per moist air");
      }
    }
  }
  for (std::size_t r = 0; r < role_count; ++r) {
    const auto role = static_cast<Role>(r);
    if (rival.pick[r] == best.pick[r] || !out_.rival[r].empty()) continue;
    if (same_role(rival, role) && rival.has(role) == best.has(role)) continue;
    out_.rival[r] = name_of(rival, role);
  }
}

void Challenger::singles() {
  for (std::size_t r = 0; r < role_count; ++r) {
    const auto role = static_cast<Role>(r);
    if (!out_.best.has(role)) continue;
    for (std::size_t i = 0; i < size_of(pool_, role); ++i) {
      if (static_cast<int>(i) == out_.best.of(role)) continue;
      Hypothesis rival = out_.best;
      rival.set(role, i);
      try_rival(rival);
    }
  }
}

/// Half of the rows within the limit, as the median asks; leaves early.
template <class Made>
bool half_of_rows(const Series& recorded, double limit, Made made) {
  const std::size_t n = recorded.size();
  std::size_t failed = 0;
  for (std::size_t i = 0; i < n; ++i) {
    if (!(std::abs(std::abs(made(i)) - std::abs(recorded[i])) <= limit) && ++failed > n / 2 + 1) {
      return false;
    }
  }
  return true;
}

/// Reference and sample of a pair, in one row.
struct RowPair {
  const Series &a, &b;
  bool sample_first, difference;
  [[nodiscard]] double reference(std::size_t i) const {
    if (!difference) return b[i];
    return sample_first ? a[i] - b[i] : a[i];
  }
  [[nodiscard]] double sample(std::size_t i) const {
    return difference && !sample_first ? a[i] + b[i] : a[i];
  }
};

RowPair row_pair(const Pool& pool, Role first, std::size_t a, Role second, std::size_t b) {
  return {pool.of(first)[a].values, pool.of(second)[b].values,
          first == Role::CO2s || first == Role::H2Os, second == Role::dCO2 || second == Role::dH2O};
}

/// Could this pair of CO2 streams make A? True where A cannot tell.
bool Challenger::may_fit(Role first, std::size_t a, Role second, std::size_t b, bool dry) const {
  if (!agrees(out_.best, Relation::carbon)) return true;
  const RowPair pair = row_pair(pool_, first, a, second, b);
  return half_of_rows(uptake_, carbon_limit_, [&](std::size_t i) {
    const double Cr = pair.reference(i), Cs = pair.sample(i);
    return per_area_[i] / 100 *
           (dry ? (1 - Wr_[i] / 1000) * (Cr - Cs) : Cr - Cs * (1000 - Wr_[i]) / (1000 - Ws_[i]));
  });
}

/// Could this pair of H2O streams make E, or without E let A agree?
bool Challenger::may_fit_water(Role first, std::size_t a, Role second, std::size_t b) const {
  const RowPair pair = row_pair(pool_, first, a, second, b);
  if (agrees(out_.best, Relation::water)) {
    return half_of_rows(transpired_, water_limit_, [&](std::size_t i) {
      const double Wr = pair.reference(i), Ws = pair.sample(i);
      return 10 * per_area_[i] * (Ws - Wr) / (1000 - Ws);
    });
  }
  if (!agrees(out_.best, Relation::carbon)) return false;
  return half_of_rows(uptake_, carbon_limit_, [&](std::size_t i) {
    const double Wr = pair.reference(i), Ws = pair.sample(i);
    return per_area_[i] / 100 *
           (out_.best.dry_co2 ? (1 - Wr / 1000) * (Cr_[i] - Cs_[i])
                              : Cr_[i] - Cs_[i] * (1000 - Wr) / (1000 - Ws));
  });
}

/// What the quick tests of pairs need.
void Challenger::prepare() {
  const Model model(pool_, out_.best);
  const Series &F = model.recorded(Role::flow), &S = model.recorded(Role::area);
  per_area_.assign(pool_.rows(), 0);
  for (std::size_t i = 0; i < F.size() && i < S.size(); ++i) per_area_[i] = F[i] / S[i];
  uptake_ = model.recorded(Role::A);
  transpired_ = model.recorded(Role::E);
  Wr_ = model.stream(Role::H2Or);
  Ws_ = model.stream(Role::H2Os);
  Cr_ = model.stream(Role::CO2r);
  Cs_ = model.stream(Role::CO2s);
  const auto limit = [&](Relation relation, const Series& values) {
    Series size = values;
    for (double& value : size) value = std::abs(value);
    return 1.001 * std::max(worse_by * out_.best.miss(relation), digits_floor) * median_of(size);
  };
  carbon_limit_ = limit(Relation::carbon, uptake_);
  water_limit_ = limit(Relation::water, transpired_);
}

/// All pairs of streams; for CO2 also per dry or moist air, and with the sign of A turned.
void Challenger::streams(bool water) {
  const Role r = water ? Role::H2Or : Role::CO2r, s = water ? Role::H2Os : Role::CO2s;
  const Role d = water ? Role::dH2O : Role::dCO2;
  std::vector<int> signs = {out_.best.of(Role::A)};
  if (!water && out_.best.has(Role::A)) {
    const auto& uptakes = pool_.of(Role::A);
    const ColumnCandidate& A = uptakes[static_cast<std::size_t>(signs.front())];
    for (std::size_t i = 0; i < uptakes.size(); ++i) {
      if (uptakes[i].column == A.column && uptakes[i].unit == A.unit &&
          uptakes[i].factor != A.factor) {
        signs.push_back(static_cast<int>(i));
      }
    }
  }
  const auto pairs = [&](Role first, Role second) {
    for (std::size_t a = 0; a < size_of(pool_, first); ++a) {
      for (std::size_t b = 0; b < size_of(pool_, second); ++b) {
        if (pool_.of(first)[a].column == pool_.of(second)[b].column) continue;
        for (const bool dry : {false, true}) {
          if (water ? dry != out_.best.dry_co2 : !may_fit(first, a, second, b, dry)) continue;
          if (water && !may_fit_water(first, a, second, b)) continue;
          for (const int sign : signs) {
            Hypothesis rival = out_.best;
            for (const Role role : {r, s, d}) {
              rival.pick[static_cast<std::size_t>(role)] = Hypothesis::none;
            }
            rival.set(first, a);
            rival.set(second, b);
            rival.pick[static_cast<std::size_t>(Role::A)] = sign;
            rival.dry_co2 = dry;
            try_rival(rival);
          }
        }
      }
    }
  };
  pairs(s, r);
  pairs(s, d);
  pairs(r, d);
}

/// How far recorded over recomputed is from 1, or may be for the scatter of its median.
double Challenger::scale_error(Relation relation) const {
  const Model model(pool_, out_.best);
  const Series made = model.made(relation);
  Series ratio = model.recorded(made_by(relation));
  for (std::size_t i = 0; i < ratio.size(); ++i) ratio[i] /= made[i];
  const double median = median_of(ratio);
  for (double& one : ratio) one = std::abs(one - median);
  const double scatter = 1.5 * median_of(ratio) / std::sqrt(static_cast<double>(ratio.size()));
  return std::max(std::abs(median - 1), scatter);
}

/// Every flow over every area that is near `k`, and whether chance alone would find one.
void Challenger::flow_and_area(const Hypothesis& with, double k, bool count) {
  const Hypothesis& best = out_.best;
  const double m = std::min(agrees(best, Relation::water) ? best.miss(Relation::water) : 1,
                            agrees(best, Relation::carbon) ? best.miss(Relation::carbon) : 1);
  std::vector<double> near;
  for (std::size_t f = 0; f < size_of(pool_, Role::flow); ++f) {
    for (std::size_t s = 0; s < size_of(pool_, Role::area); ++s) {
      const ColumnCandidate &flow = pool_.of(Role::flow)[f], &area = pool_.of(Role::area)[s];
      if (flow.column == area.column) continue;
      const double off = std::log(flow.median / (area.median * k));
      if (!(std::abs(off) < 0.35)) continue;
      Hypothesis rival = with;
      rival.set(Role::flow, f);
      rival.set(Role::area, s);
      if (std::abs(off) < 0.1 + 4 * m) try_rival(rival);
      bool used = false;
      for (std::size_t r = 0; r < role_count; ++r) {
        const auto role = static_cast<Role>(r);
        if (role == Role::flow || role == Role::area || !best.has(role)) continue;
        const std::size_t column = pool_.of(role)[static_cast<std::size_t>(best.of(role))].column;
        used = used || column == flow.column || column == area.column;
      }
      if (!used && std::abs(off) > 1e-9) near.push_back(off);
    }
  }
  if (!count) return;
  std::sort(near.begin(), near.end());
  near.erase(std::unique(near.begin(), near.end(),
                         [](double a, double b) { return std::abs(a - b) < 1e-6; }),
             near.end());
  // How far the scale that stands is off, or could be off: chance pairs lie evenly about it.
  double off_scale = 1;
  for (const Relation relation : {Relation::water, Relation::carbon}) {
    if (agrees(best, relation)) off_scale = std::min(off_scale, scale_error(relation));
  }
  const double expected = static_cast<double>(near.size()) / 0.7 * 4 * off_scale;
  if (expected <= false_matches) return;
  for (const Role role : {Role::flow, Role::area}) {
    std::string& rival = out_.rival[static_cast<std::size_t>(role)];
    if (rival.empty()) rival = "one of the other columns by chance, as the agreement is loose";
  }
}

/// A and E that are multiples of those that stand, with another flow or area.
void Challenger::scales() {
  const Model model(pool_, out_.best);
  const Series &F = model.recorded(Role::flow), &S = model.recorded(Role::area);
  if (F.empty() || S.empty()) return;
  const double k = median_of(F) / median_of(S);
  flow_and_area(out_.best, k, true);
  const auto multiples = [&](Role role) {
    std::vector<std::pair<int, double>> out;
    const Series& one = model.recorded(role);
    for (std::size_t i = 0; i < size_of(pool_, role) && !one.empty(); ++i) {
      const double ratio = pool_.of(role)[i].median / median_of(one);
      Series scaled = one;
      for (double& value : scaled) value *= ratio;
      const double tolerance =
          worse_by *
          std::max(out_.best.miss(role == Role::A ? Relation::carbon : Relation::water), 1e-6);
      if (relative_difference(pool_.of(role)[i].values, scaled) < tolerance) {
        out.emplace_back(static_cast<int>(i), ratio);
      }
    }
    if (out.empty()) out.emplace_back(Hypothesis::none, 0);
    return out;
  };
  const auto fluxes = multiples(Role::E);
  for (const auto& [a, on_A] : multiples(Role::A)) {
    for (const auto& [e, on_E] : fluxes) {
      const double ratio = on_A != 0 ? on_A : on_E;
      if (ratio <= 0 || std::abs(ratio - 1) < 1e-4) continue;
      if (on_A != 0 && on_E != 0 && std::abs(on_A / on_E - 1) > 0.1) continue;
      Hypothesis rival = out_.best;
      rival.pick[static_cast<std::size_t>(Role::A)] = a;
      rival.pick[static_cast<std::size_t>(Role::E)] = e;
      flow_and_area(rival, k * ratio, false);
    }
  }
}

/// Leaf temperature and pressure together.
void Challenger::air() {
  if (!out_.best.has(Role::Tleaf) || !out_.best.has(Role::Patm)) return;
  for (std::size_t t = 0; t < size_of(pool_, Role::Tleaf); ++t) {
    for (std::size_t p = 0; p < size_of(pool_, Role::Patm); ++p) {
      Hypothesis rival = out_.best;
      rival.set(Role::Tleaf, t);
      rival.set(Role::Patm, p);
      try_rival(rival);
    }
  }
}

/// The boundary layer in its other forms.
void Challenger::layers() {
  if (!out_.best.has(Role::gbw)) return;
  for (std::size_t b = 0; b < size_of(pool_, Role::gbw); ++b) {
    for (const GbwIs is : {GbwIs::whole_leaf, GbwIs::per_side}) {
      Hypothesis rival = out_.best;
      rival.set(Role::gbw, b);
      rival.gbw_is = is;
      if (static_cast<int>(b) != out_.best.of(Role::gbw)) try_rival(rival);
      for (std::size_t k = 0; k < size_of(pool_, Role::stomatal_ratio); ++k) {
        if (is == GbwIs::whole_leaf) break;
        rival.set(Role::stomatal_ratio, k);
        if (static_cast<int>(b) != out_.best.of(Role::gbw)) try_rival(rival);
      }
    }
  }
}

/// Columns that a close agreement has settled: they cannot be something else as well. True where
/// there are any.
bool Challenger::take() {
  for (std::size_t i = 0; i < relation_count; ++i) {
    const auto relation = static_cast<Relation>(i);
    if (!out_.sound(relation) || !(out_.best.misfit[i] < 1e-4)) continue;
    for (const Role role : roles_of(relation)) {
      if (!out_.best.has(role) || !out_.rival_of(role).empty()) continue;
      taken_.emplace_back(pool_.of(role)[static_cast<std::size_t>(out_.best.of(role))].column,
                          role);
    }
  }
  return !taken_.empty();
}

Challenge Challenger::run() {
  if (out_.best.has(Role::overpressure)) {
    Hypothesis without = out_.best;
    without.pick[static_cast<std::size_t>(Role::overpressure)] = Hypothesis::none;
    measure(pool_, out_.best);
    measure(pool_, without);
    if (without.miss(Relation::stomata) <
        worse_by * std::max(out_.best.miss(Relation::stomata), digits_floor)) {
      out_.best = without;
    }
  }
  for (int rounds = 0; rounds < 6; ++rounds) {
    measure(pool_, out_.best);
    replaced_ = false;
    out_.rival.fill("");
    prepare();
    singles();
    streams(true);
    streams(false);
    scales();
    air();
    layers();
    if (replaced_) {
      out_.best = better_;
      taken_.clear();
    } else if (!taken_.empty() || !take()) {
      return out_;
    }
  }
  // Still not settled: nothing of it counts.
  out_.rival.fill("several others");
  return out_;
}

}  // namespace

bool agrees(const Hypothesis& hypothesis, Relation relation) {
  return hypothesis.miss(relation) <= (stomata_like(relation) ? 1e-3 : agreement_tolerance);
}

bool Challenge::sound(Relation relation) const {
  if (!agrees(best, relation)) return false;
  const auto& roles = roles_of(relation);
  // The two that only shade gsw: another value that fits as well leaves the others where they are.
  return std::all_of(roles.begin(), roles.end(), [&](Role role) {
    return !best.has(role) || role == Role::overpressure || role == Role::stomatal_ratio ||
           rival_of(role).empty();
  });
}

bool Challenge::proved(Role role) const {
  if (!best.has(role) || !rival_of(role).empty()) return false;
  for (std::size_t i = 0; i < relation_count; ++i) {
    const auto relation = static_cast<Relation>(i);
    const auto& roles = roles_of(relation);
    if (sound(relation) && std::find(roles.begin(), roles.end(), role) != roles.end()) return true;
  }
  return false;
}

Challenge challenge(const Pool& pool, const Hypothesis& start,
                    const std::vector<std::string>& names) {
  return Challenger(pool, start, names).run();
}

}  // namespace leafwright
