#include "campaign.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <stdexcept>

#include "base/random.hpp"
#include "leaf/response.hpp"

namespace leafwright::demo {
namespace {

constexpr double ambient = 410;  // umol mol-1
constexpr double lamp = 1500;    // umol m-2 s-1

struct Group {
  const char* code;
  const char* species;
  const char* treatment;
  C3Leaf at25;  // TPU is set leaf by leaf
  double gsw, stomatal_ratio;
};
const std::array<Group, 4> groups = {{
    {"vo-a", "velvet orbeck", "ambient CO2", {54, 93, 0, 0.85}, 210, 0},
    {"vo-e", "velvet orbeck", "elevated CO2", {45, 82, 0, 0.80}, 175, 0},
    {"lt-a", "lantern tansel", "ambient CO2", {82, 140, 0, 1.25}, 390, 0.7},
    {"lt-e", "lantern tansel", "elevated CO2", {67, 122, 0, 1.15}, 330, 0.7},
}};

const std::array<std::vector<double>, 3> programmes = {{
    {410, 300, 220, 150, 100, 50, 410, 550, 750, 1000, 1250, 1500, 1800},
    {410, 280, 180, 110, 60, 410, 500, 650, 850, 1100, 1400, 1700},
    {410, 320, 240, 170, 120, 80, 50, 410, 520, 680, 900, 1200, 1500, 1750},
}};

struct Special {
  const char* leaf_id;
  Quirk quirk;
};
const std::array<Special, 11> specials = {{
    {"vo-a1-1", Quirk::lamp_flicker},
    {"vo-a2-1", Quirk::closing_stomata},
    {"vo-a2-2", Quirk::low_co2_only},
    {"vo-a3-1", Quirk::breath_row},
    {"vo-e1-2", Quirk::few_points},
    {"vo-e3-1", Quirk::lost_thermocouple},
    {"lt-a1-2", Quirk::unsettled_row},
    {"lt-a2-2", Quirk::warming_leaf},
    {"lt-a3-1", Quirk::low_co2_only},
    {"lt-e2-2", Quirk::few_points},
    {"lt-e3-2", Quirk::not_steady_row},
}};

// Leaves whose TPU is low enough to limit at high CO2.
const std::array<const char*, 8> tpu_limited = {"lt-e1-1", "lt-e1-2", "lt-e2-1", "lt-e3-1",
                                                "lt-e3-2", "lt-a2-1", "vo-e2-1", "vo-e3-2"};

Quirk quirk_of(const std::string& leaf_id) {
  for (const Special& special : specials)
    if (leaf_id == special.leaf_id) return special.quirk;
  return Quirk::none;
}

std::vector<double> programme_of(const LeafPlan& leaf, RandomStream& draw) {
  if (leaf.leaf_id == "vo-e1-2") return {410, 250, 100, 600, 1000, 1500};
  if (leaf.leaf_id == "lt-e2-2") return {410, 300, 200, 100};
  if (leaf.quirk == Quirk::low_co2_only) return {410, 330, 260, 200, 150, 110, 80, 50, 410, 440};
  return programmes[draw.index(programmes.size())];
}

LeafPlan plan_leaf(const Group& group, int plant, int number, double plant_effect,
                   std::uint64_t seed) {
  LeafPlan leaf;
  leaf.plant_id = group.code + std::to_string(plant);
  leaf.leaf_id = leaf.plant_id + "-" + std::to_string(number);
  leaf.species = group.species;
  leaf.treatment = group.treatment;
  leaf.stomatal_ratio = group.stomatal_ratio;
  leaf.quirk = quirk_of(leaf.leaf_id);
  RandomStream draw(seed, leaf.leaf_id, "leaf");
  const double size = std::exp(plant_effect + 0.06 * draw.normal());
  leaf.at25.Vcmax = group.at25.Vcmax * size;
  leaf.at25.J = group.at25.J * size * std::exp(0.03 * draw.normal());
  // As a share of what full electron transport could feed: 3 TPU against J/4.
  const bool limits =
      std::find(tpu_limited.begin(), tpu_limited.end(), leaf.leaf_id) != tpu_limited.end();
  leaf.at25.TPU = leaf.at25.J / 12 * (limits ? draw.uniform(0.83, 0.88) : draw.uniform(1.08, 1.2));
  leaf.at25.Rday = group.at25.Rday * std::exp(0.12 * draw.normal());
  leaf.gsw = group.gsw * std::exp(plant_effect + 0.12 * draw.normal());
  if (leaf.quirk == Quirk::closing_stomata) leaf.gsw = 85;
  leaf.area = number == 2 && group.stomatal_ratio == 0 ? 4.4 : 6.0;
  leaf.programme = programme_of(leaf, draw);
  return leaf;
}

std::vector<LeafPlan> plan_leaves(std::uint64_t seed) {
  std::vector<LeafPlan> leaves;
  for (const Group& group : groups)
    for (int plant = 1; plant <= 3; ++plant) {
      RandomStream draw(seed, group.code + std::to_string(plant), "plant");
      const double effect = 0.08 * draw.normal();
      for (int number = 1; number <= 2; ++number)
        leaves.push_back(plan_leaf(group, plant, number, effect, seed));
    }
  // Measured in random order, so that the time of day is no part of the treatment.
  RandomStream order(seed, "campaign", "order");
  for (std::size_t i = leaves.size(); i > 1; --i) std::swap(leaves[i - 1], leaves[order.index(i)]);
  return leaves;
}

double rounded(double value, double per_unit) {
  return std::round(value * per_unit) / per_unit;
}

/// The state that one leaf carries from row to row.
struct Sitting {
  const LeafPlan& leaf;
  RandomStream draw;
  double gsw;         ///< mmol m-2 s-1
  double vigour = 0;  ///< log of a slow wandering of all capacities
  double Patm, H2Or;
};

/// Stomata open at low CO2 and close at high, with a time constant of a quarter of an hour.
void move_stomata(Sitting& s, double co2, double seconds) {
  const double target = s.leaf.gsw * std::clamp(std::pow(ambient / co2, 0.25), 0.75, 1.35);
  s.gsw += (target - s.gsw) * (1 - std::exp(-seconds / 900));
  if (s.leaf.quirk == Quirk::closing_stomata) s.gsw *= std::exp(-seconds / 9000);
}

void add_noise(Readings& r, RandomStream& draw) {
  const auto analyser = [&draw](double co2) { return (0.05 + 8e-5 * co2) * draw.normal(); };
  r.CO2r = rounded(r.CO2r + analyser(r.CO2r), 1000);
  r.CO2s = rounded(r.CO2s + analyser(r.CO2s), 1000);
  r.H2Or = rounded(r.H2Or + 0.006 * draw.normal(), 10000);
  r.H2Os = rounded(r.H2Os + 0.006 * draw.normal(), 10000);
  r.Tleaf = rounded(r.Tleaf + 0.02 * draw.normal(), 1000);
  r.Tair = rounded(r.Tair + 0.02 * draw.normal(), 1000);
  r.flow = rounded(r.flow, 100);
  r.Patm = rounded(r.Patm, 1000);
  r.Qin = rounded(r.Qin, 10);
}

/// Faults come before the sensors' noise: they are in the air, not in the sensors.
void spoil(Row& row, const Sitting& s, std::size_t point) {
  const auto mark = [&row](const char* why) {
    row.use = false;
    row.why = why;
    row.faulty = true;
  };
  switch (s.leaf.quirk) {
    case Quirk::unsettled_row:
      // The sample still holds air from before the step up: uptake looks far too high.
      if (point == 9) row.readings.CO2s -= 11, row.faulty = true;
      break;
    case Quirk::breath_row:
      if (point == 3) row.readings.CO2s += 6, row.faulty = true;
      break;
    case Quirk::lamp_flicker:
      if (point == 8 || point == 9) mark("lamp flickered");
      break;
    case Quirk::not_steady_row:
      if (point == 7) row.readings.CO2s += 3, mark("logged before steady");
      break;
    case Quirk::lost_thermocouple:
      if (point == 5) row.tleaf_lost = true, mark("thermocouple lost contact");
      break;
    default:
      break;
  }
}

Row measure(Sitting& s, std::size_t leaf, std::size_t point, double share, long seconds) {
  const KineticsSet& set = **find_kinetics("bernacchi-2001");
  Row row;
  row.leaf = leaf;
  row.seconds = seconds;
  Readings& r = row.readings;
  r.CO2r = s.leaf.programme[point] + 0.8 * s.draw.normal();
  r.H2Or = s.H2Or + 0.15 * s.draw.normal();
  r.flow = 500 + 0.1 * s.draw.normal();
  r.area = s.leaf.area;
  r.Patm = s.Patm;
  const double warming = s.leaf.quirk == Quirk::warming_leaf ? 3.0 : 0.7;
  r.Tleaf = s.leaf.Tleaf + warming * share + 0.08 * s.draw.normal();
  r.Tair = r.Tleaf + 0.4 + 0.1 * s.draw.normal();
  const bool flicker = s.leaf.quirk == Quirk::lamp_flicker && (point == 8 || point == 9);
  r.Qin = (flicker ? 0.6 * lamp : lamp) + 0.5 * s.draw.normal();
  r.gbw = 2900;
  r.stomatal_ratio = s.leaf.stomatal_ratio;
  s.vigour = 0.6 * s.vigour + 0.8 * 0.008 * s.draw.normal();
  C3Leaf now = capacities_at(s.leaf.at25, r.Tleaf);
  now.Vcmax *= std::exp(s.vigour);
  now.J *= std::exp(s.vigour) * (flicker ? 0.82 : 1.0);
  now.TPU *= std::exp(s.vigour);
  const auto kinetics = kinetics_at(set, r.Tleaf, r.Patm, Basis::partial_pressure);
  if (!kinetics) throw std::logic_error("demo: " + kinetics.error().text());
  row.limited_by = settle(r, s.gsw, now, *kinetics);
  spoil(row, s, point);
  add_noise(r, s.draw);
  return row;
}

}  // namespace

C3Leaf capacities_at(const C3Leaf& at25, double tleaf) {
  const ResponseSet& plain = **find_response("bernacchi-2001");
  const ResponseSet& tpu = **find_response("sharkey-2007");
  return {at25.Vcmax * plain.Vcmax->factor(tleaf), at25.J * plain.J->factor(tleaf),
          at25.TPU * tpu.TPU->factor(tleaf), at25.Rday * plain.Rday->factor(tleaf)};
}

Campaign make_campaign(std::uint64_t seed) {
  Campaign campaign;
  campaign.leaves = plan_leaves(seed);
  constexpr long day = 86400, leaves_a_day = 8, curve_slot = 2940;  // s
  for (std::size_t i = 0; i < campaign.leaves.size(); ++i) {
    LeafPlan& leaf = campaign.leaves[i];
    const long slot = static_cast<long>(i) % leaves_a_day;
    RandomStream draw(seed, leaf.leaf_id, "measurement");
    leaf.Tleaf = 24.6 + 0.75 * static_cast<double>(slot) + 0.5 * draw.normal();
    const double Patm = 98.74 - 0.12 * static_cast<double>(i) / 8 + 0.02 * draw.normal();
    const double H2Or = 13.5 + 1.2 * draw.uniform();
    Sitting sitting{leaf, draw, leaf.gsw * 1.05, 0, Patm, H2Or};
    long seconds = static_cast<long>(i) / leaves_a_day * day + slot * curve_slot;
    if (i > 0) seconds += static_cast<long>(sitting.draw.uniform(0, 240));
    const std::size_t points = leaf.programme.size();
    for (std::size_t p = 0; p < points; ++p) {
      const double share = static_cast<double>(p) / static_cast<double>(points - 1);
      campaign.rows.push_back(measure(sitting, i, p, share, seconds));
      // A jump back to ambient takes the leaf longer to settle.
      const bool back = p + 1 < points && leaf.programme[p + 1] > 3 * leaf.programme[p];
      const double wait = (back ? 300 : 150) + sitting.draw.uniform(0, 40);
      if (p + 1 < points) move_stomata(sitting, leaf.programme[p + 1], wait);
      seconds += static_cast<long>(wait);
    }
  }
  return campaign;
}

}  // namespace leafwright::demo
