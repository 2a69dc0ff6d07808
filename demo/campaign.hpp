// An invented campaign: 24 leaves of two invented plants grown at two CO2 concentrations, one step
// curve each, with the faults that real campaigns have. Nothing in it was measured.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "chamber.hpp"

namespace leafwright::demo {

/// What is odd about a leaf's record.
enum class Quirk {
  none,
  few_points,        ///< the measurement was broken off, or hurried
  low_co2_only,      ///< stops near ambient: RuBP regeneration is hardly seen
  closing_stomata,   ///< small, falling conductance
  warming_leaf,      ///< leaf temperature rises by 3 K during the curve
  unsettled_row,     ///< one row logged while the chamber still followed a step; not marked
  breath_row,        ///< one row with exhaled air at the gasket; not marked
  lamp_flicker,      ///< two rows at a lower light, marked use = 0
  not_steady_row,    ///< one row logged too early, marked use = 0
  lost_thermocouple  ///< one row without leaf temperature, marked use = 0
};

struct LeafPlan {
  std::string leaf_id, plant_id, species, treatment;
  C3Leaf at25;     ///< capacities at 25 degC (J at the light of the chamber)
  double gsw = 0;  ///< mmol m-2 s-1 at ambient CO2
  double stomatal_ratio = 0;
  double area = 6;                ///< cm2
  double Tleaf = 27;              ///< degC at the start
  std::vector<double> programme;  ///< CO2 entering the chamber, umol mol-1
  Quirk quirk = Quirk::none;
};

/// One row of the log.
struct Row {
  std::size_t leaf = 0;  ///< index into Campaign::leaves
  long seconds = 0;      ///< since the log began
  Readings readings;
  bool tleaf_lost = false;
  bool use = true;
  std::string why;
  Limitation limited_by = Limitation::rubisco;  ///< the truth, not logged
  bool faulty = false;                          ///< the truth, not logged
};

struct Campaign {
  std::vector<LeafPlan> leaves;  ///< in the order measured
  std::vector<Row> rows;
};

Campaign make_campaign(std::uint64_t seed);

/// The capacities at a leaf temperature (degC): responses bernacchi-2001, TPU sharkey-2007.
C3Leaf capacities_at(const C3Leaf& at25, double tleaf);

/// The log, in the open reporting format's names and units.
std::string points_csv(const Campaign& campaign);
/// What the leaves truly are, and what is odd about their records.
std::string truth_csv(const Campaign& campaign);

/// The log of one day (0, 1, 2) as the terrace's recorder wrote it: other titles, other units, a
/// decimal comma, areas and fluxes as recorded. One leaf has a wrong area; the third day is
/// damaged.
std::string terrace_log(const Campaign& campaign, int of_day);
/// What was known of each leaf on paper, the area included.
std::string samples_csv(const Campaign& campaign);
/// The leaf whose area was typed wrong (3.6 for 6 cm2) after its fluxes were computed.
inline constexpr const char* mistyped_leaf = "lt-e2-1";

inline constexpr std::uint64_t demo_seed = 20250617;

}  // namespace leafwright::demo
