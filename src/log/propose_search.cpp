#include "log/propose_search.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "log/propose_water.hpp"

namespace leafwright {
namespace {

constexpr std::size_t most_hits = 40;

/// The stomatal ratios that are tried where no column holds them.
std::vector<Assignment> boundary_forms(const Assignment& base, const Sampling& sampling) {
  std::vector<Assignment> out{base};
  out.front().gbw_is = GbwIs::whole_leaf;
  for (const TwoSides two : {TwoSides::exact, TwoSides::first_order}) {
    Assignment one = base;
    one.gbw_is = GbwIs::per_side;
    one.two_sides = two;
    for (const double ratio : {1.0, 0.5, 0.25, 0.75}) {
      one.ratio = ratio;
      out.push_back(one);
    }
    for (const Reading& ratio : sampling.as(ReadAs::ratio)) {
      if (base.uses(ratio.column)) continue;
      one.set(Part::ratio, &ratio);
      out.push_back(one);
    }
  }
  return out;
}

/// gtw row by row, mmol m-2 s-1; not a number where Tleaf and the water do not allow one.
Series total_series(const Assignment& a) {
  Series out(a.of(Part::E)->values.size(), std::numeric_limits<double>::quiet_NaN());
  const Series Ws = moist_stream(a, Part::Ws);
  for (std::size_t i = 0; i < out.size(); ++i) {
    const double T = a.of(Part::T)->values[i], P = a.of(Part::P)->values[i];
    if (!(T > -20 && T < 80 && P > 0)) continue;
    const double wl = saturation_pressure(a.form, T) / P, ws = Ws[i] / 1000;
    if (wl > ws) out[i] = a.of(Part::E)->values[i] * (1 - (wl + ws) / 2) / (wl - ws);
  }
  return out;
}

struct Best {
  Assignment a;
  double off = candidate_tolerance;
  bool found = false;
  void offer(const Assignment& other, double off_now) {
    if (!(off_now < off * (1 - 1e-9))) return;
    off = off_now;
    a = other;
    found = true;
  }
};

/// 1/gtw - 1/g against 1/gbw: between a third of it and a bit above all of it.
bool boundary_fits(const Series& gtw, const Series& g, const Series& gbw) {
  std::size_t there = 0, fits = 0;
  for (std::size_t i = 0; i < gtw.size() && there < 9; ++i) {
    const double share = (1 / gtw[i] - 1 / g[i]) * gbw[i];
    if (std::isnan(share)) continue;
    ++there;
    fits += share > 0.3 && share < 1.15 ? 1U : 0U;
  }
  return there >= 8 && fits >= 6;
}

void try_boundaries(const Sampling& sampling, Assignment a, const Series& gtw, Best& best) {
  const Series& g = a.of(Part::gsw)->values;
  for (const Reading& gbw : sampling.as(ReadAs::gbw)) {
    if (a.uses(gbw.column) || !boundary_fits(gtw, g, gbw.values)) continue;
    a.set(Part::gbw, &gbw);
    for (const Assignment& form : boundary_forms(a, sampling)) {
      best.offer(form, median_off(made_series(form, Relation::stomata), g));
    }
    a.set(Part::gbw, nullptr);
  }
}

/// No column of gbw: one constant of the whole leaf, if the rows agree on it.
void try_constant_boundary(Assignment a, const Series& gtw, Best& best) {
  const Series& g = a.of(Part::gsw)->values;
  Series gbw;
  for (std::size_t i = 0; i < gtw.size(); ++i) {
    const double rest = 1 / gtw[i] - 1 / g[i];
    if (!std::isnan(rest)) gbw.push_back(1 / rest);
  }
  if (gbw.size() < 8) return;
  a.constant_gbw = median_of(gbw);
  if (!(a.constant_gbw > 200 && a.constant_gbw < 20000)) return;
  // A constant that is fitted has to hold better than a column that is there.
  const double off = median_off(made_series(a, Relation::stomata), g);
  if (off < 0.1 * candidate_tolerance) best.offer(a, off);
}

void search_stomata_form(const Sampling& sampling, const Assignment& start, bool constant,
                         Best& best) {
  std::vector<const Reading*> pressures{start.of(Part::P)};
  if (pressures.front() == nullptr) pressures = pressures_of(sampling);
  Assignment a = start;
  for (const Reading* pressure : pressures) {
    a.set(Part::P, nullptr);
    if (start.of(Part::P) == nullptr && a.uses(pressure->column)) continue;
    a.set(Part::P, pressure);
    for (const Reading& T : sampling.as(ReadAs::temperature)) {
      a.set(Part::T, nullptr);
      if (a.uses(T.column)) continue;
      a.set(Part::T, &T);
      const Series gtw = total_series(a);
      for (const Reading& g : sampling.as(ReadAs::gsw)) {
        a.set(Part::gsw, nullptr);
        if (a.uses(g.column) || variation_of(g.values) < 1e-3) continue;
        a.set(Part::gsw, &g);
        if (constant) {
          try_constant_boundary(a, gtw, best);
        } else {
          try_boundaries(sampling, a, gtw, best);
        }
      }
      a.set(Part::gsw, nullptr);
    }
    a.set(Part::T, nullptr);
  }
}

Best best_stomata(const Sampling& sampling, const Assignment& a, bool constant) {
  Best best;
  for (const VapourPressureForm& form : vapour_pressure_forms()) {
    Assignment start = a;
    start.form = form.id;
    search_stomata_form(sampling, start, constant, best);
    if (!best.found) continue;
    // The usual form is not left for one that is hardly better.
    const auto now = agreement_of(best.a, Relation::stomata);
    if (now && now->to_the_digits()) break;
  }
  return best;
}

/// A column of gbw, or one constant where that holds to the digits and no column does.
void search_stomata(const Sampling& sampling, Assignment& a) {
  const Best column = best_stomata(sampling, a, false);
  const auto exact = [](const Best& best) {
    const auto now = agreement_of(best.a, Relation::stomata);
    return best.found && now && now->to_the_digits();
  };
  if (exact(column)) {
    a = column.a;
    return;
  }
  const Best constant = best_stomata(sampling, a, true);
  if (exact(constant) || (constant.found && !column.found)) {
    a = constant.a;
  } else if (column.found && column.a.contradictions() == 0) {
    a = column.a;
  }
}

/// The reading that best agrees with what a relation makes, among those of its kind.
void search_made(const Sampling& sampling, Assignment& a, Relation relation) {
  const Part made = made_part(relation);
  Best best;
  for (const Reading& reading : sampling.as(part_read_as(made))) {
    if (reading.dry || a.uses(reading.column)) continue;
    Assignment one = a;
    one.set(made, &reading);
    const double off = median_off(made_series(one, relation), reading.values);
    if (off < 0.25 * variation_of(reading.values)) best.offer(one, off);
  }
  if (best.found) a = best.a;
}

/// RHs and Tair are searched together.
void search_humidity(const Sampling& sampling, Assignment& a) {
  Best best;
  for (const Reading& T : sampling.as(ReadAs::temperature)) {
    if (a.uses(T.column)) continue;
    Assignment one = a;
    one.set(Part::Ta, &T);
    search_made(sampling, one, Relation::humidity);
    const auto found = agreement_of(one, Relation::humidity);
    if (found) best.offer(one, found->off);
  }
  if (best.found && best.off < 0.3 * candidate_tolerance) a = best.a;
}

/// Does `other` explain every relation of these parts as well as the best does?
bool as_good(const SearchResult& found, const Assignment& other, const std::vector<Part>& parts) {
  bool any = false;
  for (std::size_t r = 0; r < relation_count; ++r) {
    const auto relation = static_cast<Relation>(r);
    if (!found.agreements[r]) continue;
    if (std::none_of(parts.begin(), parts.end(),
                     [&](Part part) { return takes_part(found.best, relation, part); })) {
      continue;
    }
    any = true;
    const Agreement& best = *found.agreements[r];
    const auto now = agreement_of(other, relation);
    if (!now) return false;
    // A relation that does not hold to the digits cannot tell a neighbour from the right one. One
    // that does leaves others out; a column of few digits that agrees within its own rounding only
    // counts where it is not far behind.
    const double own = std::max(best.rounding, 1.5 * best.off);
    const double allowed =
        best.to_the_digits() ? std::max(own, std::min(now->rounding, 4 * own)) : 3 * best.off;
    if (now->off > allowed) return false;
  }
  return any;
}

/// Is the quantity the same, whichever of the two columns it is taken from, but for their digits?
bool same_quantity(const Assignment& one, const Assignment& other, Part part) {
  const bool stream = part == Part::Cr || part == Part::Cs || part == Part::Wr || part == Part::Ws;
  // Few digits make many columns alike; streams are told by their many values all the same.
  const double most = stream ? 2e-3 : 2e-4;
  const auto series = [&](const Assignment& a, bool shifted) {
    const auto shift = shifted ? std::optional<Part>(part) : std::nullopt;
    if (stream) return moist_stream(a, part, shift);
    Series out = a.of(part)->values;
    for (std::size_t i = 0; i < out.size() && shifted; ++i) out[i] += a.of(part)->slack[i];
    return out;
  };
  const Series a = series(one, false), b = series(other, false);
  const Series a_up = series(one, true), b_up = series(other, true);
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (std::isnan(a[i]) != std::isnan(b[i])) return false;
    if (std::isnan(a[i])) continue;
    const double slack = std::abs(a_up[i] - a[i]) + std::abs(b_up[i] - b[i]);
    const double off = std::abs(a[i] - b[i]);
    if (off > 1.1 * slack + 1e-9 * std::abs(a[i]) || off > most * std::abs(a[i])) return false;
  }
  return true;
}

void add_rival(SearchResult& found, const Assignment& other, Part part) {
  const Reading* reading = other.of(part);
  for (Rival& rival : found.rivals) {
    if (rival.part != part || rival.reading->column != reading->column) continue;
    if (reading->stated > rival.reading->stated) rival.reading = reading;
    return;
  }
  found.rivals.push_back({part, reading, same_quantity(found.best, other, part)});
}

/// Where columns do equally well, the one that alone states a suitable unit is taken; ones that
/// state another kind of unit are left out where there is one that states its own.
void settle_by_units(SearchResult& found) {
  for (std::size_t p = 0; p < part_count; ++p) {
    const auto part = static_cast<Part>(p);
    int most = found.best.of(part) != nullptr ? found.best.of(part)->stated : 0;
    const auto of_part = [&](const Rival& rival) {
      return rival.part == part && !rival.same_numbers;
    };
    if (std::none_of(found.rivals.begin(), found.rivals.end(), of_part)) continue;
    for (const Rival& rival : found.rivals) {
      if (of_part(rival)) most = std::max(most, rival.reading->stated);
    }
    if (most < 1) continue;
    std::vector<const Reading*> suit;
    if (found.best.of(part)->stated == most) suit.push_back(found.best.of(part));
    for (const Rival& rival : found.rivals) {
      if (of_part(rival) && rival.reading->stated == most) suit.push_back(rival.reading);
    }
    std::erase_if(found.rivals, [&](const Rival& rival) {
      return of_part(rival) && (suit.size() == 1 || rival.reading->stated < 0);
    });
    if (suit.size() > 1) continue;
    found.best.set(part, suit.front());
    found.by_unit[p] = true;
  }
}

void find_rivals(const Sampling& sampling, SearchResult& found) {
  for (std::size_t p = 0; p < part_count; ++p) {
    const auto part = static_cast<Part>(p);
    const Reading* chosen = found.best.of(part);
    if (chosen == nullptr) continue;
    for (const Reading& reading : sampling.as(part_read_as(part))) {
      if (reading.column == chosen->column) continue;
      if (part == Part::Ci && reading.dry) continue;
      Assignment other = found.best;
      other.set(part, &reading);
      if (as_good(found, other, {part})) add_rival(found, other, part);
    }
  }
}

/// Flow and area that only together do as well.
void find_joint_rivals(const std::vector<WaterHit>& hits, SearchResult& found) {
  for (const WaterHit& hit : hits) {
    Assignment other = found.best;
    std::vector<Part> moved;
    for (const Part part : {Part::F, Part::S}) {
      if (hit.a.of(part)->column != other.of(part)->column) moved.push_back(part);
      other.set(part, hit.a.of(part));
    }
    if (moved.size() < 2 || !as_good(found, other, moved)) continue;
    for (const Part part : moved) add_rival(found, other, part);
  }
}

/// What a set makes of the rows, to know sets that are the same but for names.
std::array<double, 6> fingerprint(const WaterHit& hit) {
  const Series E = made_series(hit.a, Relation::water), Ws = moist_stream(hit.a, Part::Ws),
               Wr = moist_stream(hit.a, Part::Wr);
  return {E[0], E[1], Ws[0], Ws[1], Wr[0], Wr[1]};
}

bool alike(const std::array<double, 6>& a, const std::array<double, 6>& b) {
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (!(std::abs(a[i] - b[i]) <= 1e-7 * std::abs(a[i]))) return false;
  }
  return true;
}

/// Among the sets that explain E about equally well, the one that explains A best; of equals the
/// one whose columns state suitable units.
std::optional<WaterHit> best_of(const Sampling& sampling, const std::vector<WaterHit>& hits) {
  std::vector<std::pair<std::array<double, 6>, WaterHit>> tried;
  const auto first = agreement_of(hits.front().a, Relation::water);
  const double rounding = first ? first->rounding : 0;
  const double allowed = std::max(2 * hits.front().off, hits.front().off + 2 * rounding);
  std::vector<std::pair<double, WaterHit>> found;
  for (const WaterHit& hit : hits) {
    if (hit.off > allowed) break;
    const std::array<double, 6> print = fingerprint(hit);
    const auto before = std::find_if(tried.begin(), tried.end(),
                                     [&](const auto& one) { return alike(one.first, print); });
    WaterHit one = hit;
    if (before != tried.end()) {
      for (const Part part : {Part::A, Part::Cr, Part::Cs, Part::P}) {
        one.a.set(part, before->second.a.of(part));
      }
      one.off = before->second.off;
    } else {
      search_carbon(sampling, one);
      tried.emplace_back(print, one);
    }
    if (one.a.of(Part::A) != nullptr) found.emplace_back(hit.off + one.off, one);
  }
  if (found.empty()) return std::nullopt;
  const double lowest =
      std::min_element(found.begin(), found.end(), [](const auto& a, const auto& b) {
        return a.first < b.first;
      })->first;
  const auto worse = [&](const auto& a, const auto& b) {
    const bool a_far = a.first > 1.5 * lowest + 2 * rounding,
               b_far = b.first > 1.5 * lowest + 2 * rounding;
    if (a_far != b_far) return b_far;
    const auto a_against = a.second.a.contradictions(), b_against = b.second.a.contradictions();
    if (a_against != b_against) return a_against < b_against;
    const auto a_partial = a.second.a.partials(), b_partial = b.second.a.partials();
    return a_partial != b_partial ? a_partial < b_partial : a.first < b.first;
  };
  return std::min_element(found.begin(), found.end(), worse)->second;
}

/// Does it hold to the digits, or at least without a word of the log against it?
bool believable(const Assignment& a) {
  const auto E = agreement_of(a, Relation::water), A = agreement_of(a, Relation::carbon);
  if (E && A && E->to_the_digits() && A->to_the_digits()) return true;
  return a.contradictions() == 0;
}

/// A measured flow varies, a set-point does not. Where both do equally well the difference is
/// below the digits; the one that varies is taken, if there is one only.
void settle_set_points(SearchResult& found) {
  const auto of_flow = [](const Rival& rival) {
    return rival.part == Part::F && !rival.same_numbers;
  };
  std::vector<const Reading*> all{found.best.of(Part::F)};
  for (const Rival& rival : found.rivals) {
    if (of_flow(rival)) all.push_back(rival.reading);
  }
  const auto varies = [](const Reading* one) { return !one->constant; };
  if (all.size() < 2 || std::count_if(all.begin(), all.end(), varies) != 1) return;
  found.best.set(Part::F, *std::find_if(all.begin(), all.end(), varies));
  std::erase_if(found.rivals, of_flow);
  found.flow_by_change = true;
}

void take_agreements(SearchResult& found) {
  for (std::size_t r = 0; r < relation_count; ++r) {
    found.agreements[r] = agreement_of(found.best, static_cast<Relation>(r));
  }
}

}  // namespace

SearchResult search_assignment(const Sampling& sampling) {
  SearchResult found;
  std::vector<WaterHit> hits = search_water(sampling, most_hits);
  std::optional<WaterHit> best;
  if (!hits.empty()) best = best_of(sampling, hits);
  if (best && !believable(best->a)) best.reset();
  if (!best) {
    std::vector<WaterHit> off = search_water_factor(sampling, most_hits);
    if (!off.empty()) best = best_of(sampling, off);
    if (best && !believable(best->a)) best.reset();
    if (best) hits.clear();
  }
  if (!best) {
    if (!hits.empty()) {
      found.best = hits.front().a;
      found.agreements[static_cast<std::size_t>(Relation::water)] =
          agreement_of(found.best, Relation::water);
    }
    return found;
  }
  Assignment a = best->a;
  search_stomata(sampling, a);
  if (a.of(Part::gsw) != nullptr) {
    search_made(sampling, a, Relation::inside);
    search_made(sampling, a, Relation::deficit);
    search_humidity(sampling, a);
  }
  found.best = a;
  take_agreements(found);
  find_rivals(sampling, found);
  find_joint_rivals(hits, found);
  settle_by_units(found);
  settle_set_points(found);
  take_agreements(found);  // of what is chosen in the end
  return found;
}

}  // namespace leafwright
