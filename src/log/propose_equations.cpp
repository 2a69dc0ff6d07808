#include "log/propose_equations.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
// Numbers kept as single-precision floats before they were written lose the digits behind the
// seventh, and A is a small difference of large numbers.
constexpr double least_rounding = 1e-5;

std::size_t rows_of(const Assignment& a) {
  for (const Reading* reading : a.parts) {
    if (reading != nullptr) return reading->values.size();
  }
  return 0;
}

/// One row of an assignment, with one part shifted.
class Row {
 public:
  Row(const Assignment& a, std::size_t row, std::optional<Part> shifted)
      : a_(a), row_(row), shifted_(shifted) {}

  [[nodiscard]] double value(Part part) const {
    const Reading& reading = *a_.of(part);
    return reading.values[row_] + (shifted_ == part ? reading.slack[row_] : 0);
  }
  [[nodiscard]] double water(Part part) const {
    const Reading& reading = *a_.of(part);
    double w = value(part);
    if (reading.partial) w *= 1e3 / value(Part::P);
    return reading.dry ? 1000 * w / (1000 + w) : w;
  }
  [[nodiscard]] double co2(Part part) const {
    const Reading& reading = *a_.of(part);
    const double c = value(part) * (reading.partial ? 1e6 / value(Part::P) : 1);
    if (!reading.dry) return c;
    return c * (1 - water(part == Part::Cr ? Part::Wr : Part::Ws) / 1000);
  }
  [[nodiscard]] double area() const {
    return a_.of(Part::S) != nullptr ? value(Part::S) : a_.constant_area;
  }
  [[nodiscard]] BoundaryLayer layer() const {
    const double gbw = a_.of(Part::gbw) != nullptr ? value(Part::gbw) : a_.constant_gbw;
    const double ratio = a_.of(Part::ratio) != nullptr ? value(Part::ratio) : a_.ratio;
    return {gbw, a_.gbw_is, ratio, a_.two_sides};
  }

  [[nodiscard]] double E() const {
    const double Ws = water(Part::Ws);
    return a_.factor * 10 * value(Part::F) * (Ws - water(Part::Wr)) / (area() * (1000 - Ws));
  }
  [[nodiscard]] double A() const {
    const double dilution = (1000 - water(Part::Wr)) / (1000 - water(Part::Ws));
    return a_.factor * value(Part::F) * (co2(Part::Cr) - co2(Part::Cs) * dilution) / (100 * area());
  }
  [[nodiscard]] double gsw() const {
    const double T = value(Part::T), P = value(Part::P), E = value(Part::E);
    if (!(T > -20 && T < 80 && P > 0)) return missing;
    const double wl = saturation_pressure(a_.form, T) / P, ws = water(Part::Ws) / 1000;
    const BoundaryLayer boundary = layer();
    if (!(wl > ws) || !(boundary.gbw > 0)) return missing;
    const double gtw = E * (1 - (wl + ws) / 2) / (wl - ws);
    return stomatal_conductance(gtw, boundary).value_or(missing);
  }
  [[nodiscard]] double Ci() const {
    const double gsw = value(Part::gsw), half = value(Part::E) / 2000;
    const BoundaryLayer boundary = layer();
    if (!(gsw > 0) || !(boundary.gbw > 0)) return missing;
    const double g = co2_conductance(gsw, boundary) / 1000;
    const double moist = ((g - half) * co2(Part::Cs) - value(Part::A)) / (g + half);
    return a_.of(Part::Ci) != nullptr && a_.of(Part::Ci)->partial ? moist * value(Part::P) / 1e6
                                                                  : moist;
  }
  [[nodiscard]] double vapour() const { return water(Part::Ws) / 1000 * value(Part::P); }
  [[nodiscard]] double saturation(Part temperature) const {
    const double T = value(temperature);
    return T > -20 && T < 80 ? saturation_pressure(a_.form, T) : missing;
  }

  [[nodiscard]] double made(Relation relation) const {
    switch (relation) {
      case Relation::water:
        return E();
      case Relation::carbon:
        return A();
      case Relation::stomata:
        return gsw();
      case Relation::inside:
        return Ci();
      case Relation::deficit:
        return saturation(Part::T) - vapour();
      case Relation::humidity:
        return 100 * vapour() / saturation(Part::Ta);
    }
    return missing;
  }

 private:
  const Assignment& a_;
  std::size_t row_;
  std::optional<Part> shifted_;
};

bool needs_pressure(const Assignment& a, const std::vector<Part>& parts) {
  return std::any_of(parts.begin(), parts.end(),
                     [&](Part part) { return a.of(part) != nullptr && a.of(part)->partial; });
}

bool complete(const Assignment& a, Relation relation) {
  const std::vector<Part>& parts = parts_of(relation);
  for (const Part part : parts) {
    if (part == Part::ratio) continue;
    if (part == Part::gbw && a.constant_gbw > 0) continue;
    if (part == Part::S && a.constant_area > 0) continue;
    if (a.of(part) == nullptr) return false;
  }
  return a.of(Part::P) != nullptr || !needs_pressure(a, parts);
}

}  // namespace

bool Assignment::uses(std::size_t column) const {
  return std::any_of(parts.begin(), parts.end(), [&](const Reading* reading) {
    return reading != nullptr && reading->column == column;
  });
}

std::size_t Assignment::contradictions() const {
  return static_cast<std::size_t>(std::count_if(
      parts.begin(), parts.end(),
      [](const Reading* reading) { return reading != nullptr && reading->stated < 0; }));
}

std::size_t Assignment::partials() const {
  return static_cast<std::size_t>(
      std::count_if(parts.begin(), parts.end(),
                    [](const Reading* reading) { return reading != nullptr && reading->partial; }));
}

const char* part_symbol(Part part) {
  constexpr std::array<const char*, part_count> symbols = {
      "A",    "E",     "gsw",  "Ci",  "CO2r",           "CO2s",    "H2Or", "H2Os", "flow",
      "area", "Tleaf", "Patm", "gbw", "stomatal_ratio", "VPDleaf", "RHs",  "Tair"};
  return symbols[static_cast<std::size_t>(part)];
}

ReadAs part_read_as(Part part) {
  constexpr std::array<ReadAs, part_count> as = {
      ReadAs::A,           ReadAs::E,          ReadAs::gsw, ReadAs::co2,   ReadAs::co2,
      ReadAs::co2,         ReadAs::h2o,        ReadAs::h2o, ReadAs::flow,  ReadAs::area,
      ReadAs::temperature, ReadAs::pressure,   ReadAs::gbw, ReadAs::ratio, ReadAs::deficit,
      ReadAs::humidity,    ReadAs::temperature};
  return as[static_cast<std::size_t>(part)];
}

Part made_part(Relation relation) {
  constexpr std::array<Part, relation_count> made = {Part::E,  Part::A, Part::gsw,
                                                     Part::Ci, Part::D, Part::RH};
  return made[static_cast<std::size_t>(relation)];
}

const std::vector<Part>& parts_of(Relation relation) {
  static const std::array<std::vector<Part>, relation_count> all = {{
      {Part::Ws, Part::Wr, Part::F, Part::S},
      {Part::Cr, Part::Cs, Part::Wr, Part::Ws, Part::F, Part::S},
      {Part::E, Part::Ws, Part::T, Part::P, Part::gbw, Part::ratio},
      {Part::A, Part::E, Part::gsw, Part::Cs, Part::Ws, Part::gbw, Part::ratio},
      {Part::T, Part::Ws, Part::P},
      {Part::Ta, Part::Ws, Part::P},
  }};
  return all[static_cast<std::size_t>(relation)];
}

bool takes_part(const Assignment& a, Relation relation, Part part) {
  const std::vector<Part>& parts = parts_of(relation);
  if (made_part(relation) == part) return true;
  if (std::find(parts.begin(), parts.end(), part) != parts.end()) return true;
  return part == Part::P && needs_pressure(a, parts);
}

Series made_series(const Assignment& a, Relation relation, std::optional<Part> shifted) {
  if (!complete(a, relation)) return {};
  Series out(rows_of(a));
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = Row(a, i, shifted).made(relation);
  return out;
}

Series moist_stream(const Assignment& a, Part stream, std::optional<Part> shifted) {
  const Reading* reading = a.of(stream);
  if (reading == nullptr || (reading->partial && a.of(Part::P) == nullptr)) return {};
  const bool water = stream == Part::Wr || stream == Part::Ws;
  Series out(reading->values.size());
  for (std::size_t i = 0; i < out.size(); ++i) {
    const Row row(a, i, shifted);
    out[i] = water ? row.water(stream) : row.co2(stream);
  }
  return out;
}

double variation_of(const Series& values) {
  const double middle = median_of(values);
  Series away, size;
  for (const double v : values) {
    if (std::isnan(v)) continue;
    away.push_back(std::abs(v - middle));
    size.push_back(std::abs(v));
  }
  const double scale = median_of(size);
  return scale > 0 ? median_of(away) / scale : 0;
}

double median_off(const Series& a, const Series& b) {
  Series off, size;
  for (std::size_t i = 0; i < a.size() && i < b.size(); ++i) {
    if (std::isnan(a[i]) || std::isnan(b[i])) continue;
    off.push_back(std::abs(a[i] - b[i]));
    size.push_back(std::abs(b[i]));
  }
  if (off.size() < 8 || 5 * off.size() < 3 * b.size()) {
    return std::numeric_limits<double>::infinity();
  }
  const double scale = median_of(size);
  return scale > 0 ? median_of(off) / scale : std::numeric_limits<double>::infinity();
}

std::optional<Agreement> agreement_of(const Assignment& a, Relation relation) {
  const Reading* recorded = a.of(made_part(relation));
  if (recorded == nullptr) return std::nullopt;
  const Series made = made_series(a, relation);
  Agreement out;
  out.off = median_off(made, recorded->values);
  if (!std::isfinite(out.off)) return std::nullopt;
  Series bound = recorded->slack;
  std::vector<Part> parts = parts_of(relation);
  if (relation != Relation::stomata && needs_pressure(a, parts)) parts.push_back(Part::P);
  for (const Part part : parts) {
    if (a.of(part) == nullptr) continue;
    const Series moved = made_series(a, relation, part);
    for (std::size_t i = 0; i < bound.size(); ++i) bound[i] += std::abs(moved[i] - made[i]);
  }
  Series size;
  for (const double v : recorded->values) size.push_back(std::abs(v));
  const double scale = median_of(size);
  out.rounding = std::max(median_of(bound) / scale, least_rounding);
  out.variation = variation_of(recorded->values);
  for (std::size_t i = 0; i < made.size(); ++i) {
    if (std::isnan(made[i]) || std::isnan(recorded->values[i])) continue;
    ++out.n;
    const double off = std::abs(made[i] - recorded->values[i]) / scale;
    if (off > std::max(0.02, 3 * out.rounding)) ++out.outlying;
  }
  return out;
}

}  // namespace leafwright
