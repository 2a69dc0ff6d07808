#include "temperature.hpp"

#include <fmt/format.h>

#include <array>
#include <cmath>
#include <stdexcept>

#include "base/random.hpp"
#include "chamber.hpp"

namespace leafwright::demo {
namespace {

constexpr std::array<double, 4> temperatures = {18, 24, 30, 36};  // degC
constexpr std::array<double, 11> programme = {
    410, 300, 200, 120, 60, 410, 560, 800, 1100, 1400, 1750};  // umol mol-1 entering the chamber
constexpr double gas_constant = 8.314462618e-3;                // kJ mol-1 K-1

double factor(double Ha, double t) {
  return std::exp(Ha * (t - 25) / (298.15 * gas_constant * (t + 273.15)));
}

struct Leaf {
  std::string leaf_id, plant_id;
  C3Leaf at25;
  double gsw = 0;  // mmol m-2 s-1
};

Leaf make_leaf(int plant, int number, std::uint64_t seed) {
  Leaf leaf;
  leaf.plant_id = fmt::format("lt-t{}", plant);
  leaf.leaf_id = fmt::format("{}-{}", leaf.plant_id, number);
  RandomStream draw(seed, leaf.leaf_id, "leaf");
  const double size = std::exp(0.09 * draw.normal());
  leaf.at25 = {78 * size, 136 * size * std::exp(0.03 * draw.normal()), 40,
               1.2 * std::exp(0.1 * draw.normal())};
  leaf.gsw = 380 * std::exp(0.1 * draw.normal());
  return leaf;
}

C3Leaf at_temperature(const C3Leaf& at25, double t) {
  return {at25.Vcmax * factor(true_Ha_Vcmax, t), at25.J * factor(true_Ha_J, t), at25.TPU,
          at25.Rday * factor(true_Ha_Rday, t)};
}

/// One point: the air of the chamber at steady state, and the noise of the sensors on it.
Readings measure(const Leaf& leaf, double t, double co2, RandomStream& draw) {
  Readings r;
  r.CO2r = co2 + 0.8 * draw.normal();
  r.H2Or = 6 + 0.25 * t + 0.1 * draw.normal();
  r.flow = 500;
  r.area = 6;
  r.Patm = 98.6;
  r.Tleaf = t + 0.1 * draw.normal();
  r.Tair = r.Tleaf + 0.3;
  r.Qin = 1500;
  r.gbw = 2900;
  r.stomatal_ratio = 0.7;
  const auto set = find_kinetics("bernacchi-2001");
  if (!set) throw std::logic_error("demo: " + set.error().text());
  const auto kinetics = kinetics_at(**set, r.Tleaf, r.Patm, Basis::partial_pressure);
  if (!kinetics) throw std::logic_error("demo: " + kinetics.error().text());
  settle(r, leaf.gsw, at_temperature(leaf.at25, r.Tleaf), *kinetics);
  r.CO2r += (0.05 + 8e-5 * r.CO2r) * draw.normal();
  r.CO2s += (0.05 + 8e-5 * r.CO2s) * draw.normal();
  r.H2Or += 0.006 * draw.normal();
  r.H2Os += 0.006 * draw.normal();
  r.Tleaf += 0.02 * draw.normal();
  return r;
}

std::string log_line(const std::string& curve, long seconds, const Readings& r) {
  const Derived d = derive(r);
  return fmt::format(
      "{},{},{:.3f},{:.3f},{:.4f},{:.4f},{:.1f},{:.2f},{:.2f},{:.3f},{:.3f},{:.1f},{:.0f},{:.1f},"
      "{:.4f},{:.5f},{:.3f},{:.3f}\n",
      curve, seconds, r.CO2r, r.CO2s, r.H2Or, r.H2Os, r.flow, r.area, r.Patm, r.Tair, r.Tleaf,
      r.Qin, r.gbw, r.stomatal_ratio, d.A, d.E, d.gsw, d.Ci);
}

}  // namespace

TemperatureStudy make_temperature_study(std::uint64_t seed) {
  TemperatureStudy out;
  out.log =
      "curve_id,elapsed_s,CO2r,CO2s,H2Or,H2Os,flow,area,Patm,Tair,Tleaf,Qin,gbw,stomatal_ratio,A,"
      "E,gsw,Ci\n";
  out.samples = "curve_id,leaf_id,plant_id,species,set_temperature\n";
  out.truth = "leaf_id,Vcmax25,J25,Rday25,Ha_Vcmax,Ha_J,Ha_Rday\n";
  long seconds = 0;
  for (int plant = 1; plant <= 3; ++plant) {
    for (int number = 1; number <= 2; ++number) {
      const Leaf leaf = make_leaf(plant, number, seed);
      out.truth += fmt::format("{},{:.4f},{:.4f},{:.4f},{},{},{}\n", leaf.leaf_id, leaf.at25.Vcmax,
                               leaf.at25.J, leaf.at25.Rday, true_Ha_Vcmax, true_Ha_J, true_Ha_Rday);
      for (const double t : temperatures) {
        const std::string curve = fmt::format("{}_{:.0f}C", leaf.leaf_id, t);
        RandomStream draw(seed, curve, "measurement");
        out.samples +=
            fmt::format("{},{},{},lantern tansel,{:.0f}\n", curve, leaf.leaf_id, leaf.plant_id, t);
        for (const double co2 : programme) {
          out.log += log_line(curve, seconds, measure(leaf, t, co2, draw));
          seconds += 180;
        }
        seconds += 1500;  // the chamber and the leaf come to the next temperature
      }
    }
  }
  return out;
}

}  // namespace leafwright::demo
