#include "air/conductance.hpp"

#include <fmt/format.h>

#include <cmath>
#include <limits>

namespace leafwright {
namespace {

// The share of the stomata that the first side (0) or the second (1) has.
double share(double K, int side) {
  if (std::isinf(K)) return side == 0 ? 0 : 1;
  return (side == 0 ? 1 : K) / (1 + K);
}

// 1/(gbw of the leaf as one layer), for the forms in which it is one.
double boundary_resistance(const BoundaryLayer& layer) {
  if (layer.is == GbwIs::whole_leaf) return 1 / layer.gbw;
  return boundary_share(layer.stomatal_ratio) / layer.gbw;
}

bool sides_apart(const BoundaryLayer& layer) {
  return layer.is == GbwIs::per_side && layer.two_sides == TwoSides::exact;
}

}  // namespace

const char* gbw_is_name(GbwIs is) {
  return is == GbwIs::per_side ? "per side" : "whole leaf";
}

Result<GbwIs> find_gbw_is(std::string_view name) {
  for (const GbwIs is : {GbwIs::per_side, GbwIs::whole_leaf})
    if (name == gbw_is_name(is)) return is;
  return fail(ErrorCode::usage, fmt::format("gbw_is is '{}'", name),
              "expected 'per side' or 'whole leaf'",
              "per side needs the stomatal ratio as well; whole leaf already holds it");
}

const char* two_sides_name(TwoSides two_sides) {
  return two_sides == TwoSides::exact ? "exact" : "first-order";
}

Result<TwoSides> find_two_sides(std::string_view name) {
  for (const TwoSides two_sides : {TwoSides::exact, TwoSides::first_order})
    if (name == two_sides_name(two_sides)) return two_sides;
  return fail(ErrorCode::usage, fmt::format("two_sides is '{}'", name),
              "expected 'exact' or 'first-order'",
              "first-order is the usual kf form; the two agree for a ratio of 0 or 1");
}

double boundary_share(double stomatal_ratio) {
  const double a = share(stomatal_ratio, 0), b = share(stomatal_ratio, 1);
  return a * a + b * b;
}

double total_conductance(double gsw, const BoundaryLayer& layer) {
  if (!sides_apart(layer)) return 1 / (1 / gsw + boundary_resistance(layer));
  double total = 0;
  for (const int side : {0, 1}) {
    const double g = share(layer.stomatal_ratio, side) * gsw;
    total += g * layer.gbw / (g + layer.gbw);
  }
  return total;
}

std::optional<double> stomatal_conductance(double gtw, const BoundaryLayer& layer) {
  if (!sides_apart(layer)) {
    const double left = 1 - gtw * boundary_resistance(layer);
    if (!(left > 0)) return std::nullopt;
    return gtw / left;
  }
  const double B = layer.gbw;
  const double ab = share(layer.stomatal_ratio, 0) * share(layer.stomatal_ratio, 1);
  if (!(gtw < (ab > 0 ? 2 * B : B))) return std::nullopt;
  const double p = ab * (2 * B - gtw), q = B * (B - gtw), r = gtw * B * B;
  const double under = q * q + 4 * p * r;
  if (!(under >= 0)) return std::nullopt;
  // The root that is 0 at gtw = 0, in the form that loses no digits.
  const double root = std::sqrt(under);
  if (q >= 0) return 2 * r / (q + root);
  return (root - q) / (2 * p);
}

double co2_conductance(double gsw, const BoundaryLayer& layer) {
  if (!sides_apart(layer))
    return 1 / (water_on_co2_stomata / gsw + water_on_co2_boundary * boundary_resistance(layer));
  double total = 0;
  for (const int side : {0, 1}) {
    const double g = share(layer.stomatal_ratio, side) * gsw;
    total += g * layer.gbw / (water_on_co2_stomata * layer.gbw + water_on_co2_boundary * g);
  }
  return total;
}

double boundary_co2_conductance(double gsw, const BoundaryLayer& layer) {
  if (!sides_apart(layer)) return 1 / (water_on_co2_boundary * boundary_resistance(layer));
  // 1/gtc - 1.6/gsw, written without the difference of two near numbers.
  const double ab = share(layer.stomatal_ratio, 0) * share(layer.stomatal_ratio, 1);
  const double s = gsw / water_on_co2_stomata, c = layer.gbw / water_on_co2_boundary;
  return c * (c + 2 * ab * s) / (ab * s + c * (1 - 2 * ab));
}

}  // namespace leafwright
