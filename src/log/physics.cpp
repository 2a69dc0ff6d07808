#include "log/physics.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

#include "base/text.hpp"
#include "log/physics_model.hpp"

namespace leafwright {

namespace {

/// The hypothesis that the log's own columns are what they are called.
Hypothesis named(const Pool& pool) {
  Hypothesis h;
  for (std::size_t r = 0; r < role_count; ++r) {
    const auto role = static_cast<Role>(r);
    if (!pool.of(role).empty()) h.take(role, true);
  }
  // A difference is for where one stream is lacking.
  if (h.has(Role::CO2r) && h.has(Role::CO2s)) {
    h.take(Role::dCO2, false);
  }
  if (h.has(Role::H2Or) && h.has(Role::H2Os)) {
    h.take(Role::dH2O, false);
  }
  return h;
}

/// The better of two by one relation; the second must be clearly better.
void take_better(const Pool& pool, Hypothesis& best, const Hypothesis& other, Relation relation) {
  const double now = Model(pool, best).misfit(relation), then = Model(pool, other).misfit(relation);
  if (std::isnan(now) ? !std::isnan(then) : 2 * then < now) best = other;
}

/// Which sides, overpressure and vapour pressure make gsw (or, without it, Ci) agree best.
void choose_layer(const Pool& pool, Hypothesis& h) {
  const Relation by = h.has(Role::gsw) ? Relation::stomata : Relation::inside;
  Hypothesis start = h;
  start.gbw_is = GbwIs::per_side;
  std::vector<Hypothesis> sides;
  for (const TwoSides two : {TwoSides::exact, TwoSides::first_order}) {
    start.two_sides = two;
    sides.push_back(start);
    if (h.has(Role::stomatal_ratio)) continue;
    for (const double ratio : {0.25, 0.5, 0.75}) {
      Hypothesis other = start;
      other.ratio = ratio;
      sides.push_back(other);
    }
  }
  h.gbw_is = h.has(Role::stomatal_ratio) ? GbwIs::per_side : GbwIs::whole_leaf;
  Hypothesis whole = h;
  whole.gbw_is = GbwIs::whole_leaf;
  sides.push_back(whole);
  for (const auto& form : vapour_pressure_forms()) {
    for (const bool over : {true, false}) {
      if (!over && !h.has(Role::overpressure)) continue;
      for (Hypothesis one : sides) {
        one.form = form.id;
        if (!over) one.take(Role::overpressure, false);
        take_better(pool, h, one, by);
      }
    }
    // The usual form is not left for another one that is hardly better.
    if (Model(pool, h).misfit(by) < 1e-3) break;
  }
}

std::string layer_text(const Hypothesis& h) {
  std::string out = h.gbw_is == GbwIs::whole_leaf ? "gbw of the whole leaf" : "gbw of one side, ";
  if (h.gbw_is == GbwIs::per_side) {
    out += h.has(Role::stomatal_ratio) ? "stomatal ratio as recorded"
                                       : "stomatal ratio " + std::to_string(h.ratio).substr(0, 4);
    if (h.two_sides == TwoSides::first_order) out += ", two sides to first order";
  }
  out += h.has(Role::overpressure) ? ", Patm with the overpressure" : "";
  return out + ", vapour pressure " + std::string(vapour_pressure_form(h.form).name);
}

std::string roles_text(const Hypothesis& h, Relation relation) {
  std::vector<std::string> names;
  for (const Role role : roles_of(relation)) {
    if (role != made_by(relation) && h.has(role)) names.emplace_back(role_symbol(role));
  }
  return join(names);
}

std::string lacking_text(const Hypothesis& h, Relation relation) {
  std::vector<std::string> names;
  const auto lack = [&](Role role) {
    if (!h.has(role)) names.emplace_back(role_symbol(role));
  };
  lack(made_by(relation));
  for (const Role role : roles_of(relation)) {
    const bool optional = role == Role::dH2O || role == Role::dCO2 || role == Role::overpressure ||
                          role == Role::stomatal_ratio || role == made_by(relation);
    const bool made = (role == Role::E || role == Role::gsw) && relation != Relation::water;
    const bool by_difference = ((role == Role::CO2r || role == Role::CO2s) && h.has(Role::dCO2)) ||
                               ((role == Role::H2Or || role == Role::H2Os) && h.has(Role::dH2O));
    if (!optional && !made && !by_difference) lack(role);
  }
  return names.empty() ? "rows with all of the columns" : "no column " + join(names);
}

ProofLine line_of(const Pool& pool, const Hypothesis& h, Relation relation) {
  ProofLine line;
  const Model model(pool, h);
  line.symbol = role_symbol(made_by(relation));
  line.from = roles_text(h, relation);
  const Series made = model.made(relation);
  const Series& recorded = model.recorded(made_by(relation));
  const double off =
      made.empty() || recorded.empty() ? std::nan("") : relative_difference(made, recorded);
  if (std::isnan(off)) {
    line.lacking = lacking_text(h, relation);
    return line;
  }
  for (std::size_t i = 0; i < made.size(); ++i) {
    line.n += std::isnan(made[i]) || std::isnan(recorded[i]) ? 0U : 1U;
  }
  line.median_difference = off;
  line.agrees = off <= agreement_tolerance;
  if (relation == Relation::carbon) line.form = h.dry_co2 ? "CO2 per dry air" : "CO2 per moist air";
  if (relation == Relation::stomata || relation == Relation::inside) line.form = layer_text(h);
  return line;
}

/// Recorded over made in some rows: the median, and how much it scatters.
struct Ratio {
  double median = 0, scatter = 0;
  std::size_t n = 0;
};
Ratio ratio_of(const Series& made, const Series& recorded, const std::vector<std::size_t>& rows) {
  Series ratios;
  for (const std::size_t i : rows) {
    if (!std::isnan(made[i]) && !std::isnan(recorded[i]) && made[i] != 0) {
      ratios.push_back(made[i] / recorded[i]);
    }
  }
  Ratio out;
  out.n = ratios.size();
  out.median = median_of(ratios);
  for (double& one : ratios) one = std::abs(one - out.median);
  out.scatter = median_of(ratios);
  return out;
}

void find_areas(const Log& log, const Pool& pool, const Hypothesis& h, Proof& proof) {
  const Model model(pool, h);
  const Series A = model.made(Relation::carbon), E = model.made(Relation::water);
  const Series &A_recorded = model.recorded(Role::A), &E_recorded = model.recorded(Role::E);
  if (A.empty() || E.empty() || A_recorded.empty() || E_recorded.empty()) return;
  std::vector<std::pair<std::string, std::vector<std::size_t>>> curves;
  for (std::size_t row = 0; row < log.rows(); ++row) {
    const std::string id(log.text("curve_id", row));
    if (curves.empty() || curves.back().first != id) {
      const auto known = std::find_if(curves.begin(), curves.end(),
                                      [&](const auto& one) { return one.first == id; });
      if (known != curves.end()) {
        known->second.push_back(row);
        continue;
      }
      curves.emplace_back(id, std::vector<std::size_t>());
    }
    curves.back().second.push_back(row);
  }
  for (const auto& [id, rows] : curves) {
    const Ratio a = ratio_of(A, A_recorded, rows), e = ratio_of(E, E_recorded, rows);
    const bool constant = a.scatter < 0.01 * a.median && e.scatter < 0.01 * e.median;
    const bool common = std::abs(a.median / e.median - 1) < 0.01;
    if (a.n < 3 || e.n < 3 || !constant || !common || !(a.median > 0)) continue;
    if (std::abs(a.median - 1) <= agreement_tolerance) continue;
    const double area = model.recorded(Role::area)[rows.front()];
    proof.areas.push_back({id, area, area * a.median, a.n});
  }
}

}  // namespace

const ProofLine& Proof::line(const std::string& symbol) const {
  for (const ProofLine& one : lines) {
    if (one.symbol == symbol) return one;
  }
  throw std::logic_error("no proof of " + symbol);
}

Proof prove(const Log& log) {
  const Pool pool(log);
  Hypothesis h = named(pool);
  if (h.has(Role::A)) {
    Hypothesis other = h;
    other.dry_co2 = !h.dry_co2;
    take_better(pool, h, other, Relation::carbon);
  }
  choose_layer(pool, h);
  Proof proof;
  for (const Relation relation :
       {Relation::carbon, Relation::water, Relation::stomata, Relation::inside}) {
    proof.lines.push_back(line_of(pool, h, relation));
  }
  proof.proved = proof.lines.front().agrees.value_or(false);
  find_areas(log, pool, h, proof);
  return proof;
}

}  // namespace leafwright
