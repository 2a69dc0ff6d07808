// Groups of leaves with all that was fitted -> their means, and what is left out of them.
#pragma once

#include <array>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "base/setting.hpp"
#include "stats/pool.hpp"
#include "stats/pool_information.hpp"

namespace leafwright {

enum class PoolMethod { unweighted, reml, information };
enum class PoolBounds { left_out, censored };

struct PoolRules {
  PoolMethod method = PoolMethod::unweighted;
  PoolBounds bounds = PoolBounds::left_out;
  double level = 0.95;
  bool plants_known = false;
};

/// One leaf as it was fitted, in the unit of its parameter.
struct PoolLeaf {
  std::string curve_id;
  std::string plant;  ///< its curve_id, where plants are not known
  std::string status;
  std::optional<double> value, se, low, high;
  std::string left_out;  ///< why it takes no part; "" where it does (also as a bound)
};

/// One parameter of one group.
struct PoolGroup {
  std::string group, symbol, unit;
  bool log = true;  ///< pooled as ln; Rday is not
  std::vector<PoolLeaf> leaves;
  Notes notes;  ///< about these leaves, such as different temperatures
};

/// What the mean is made of: a leaf, or the mean of a plant's leaves. Scale of the analysis.
struct PoolUnit {
  PoolValue value;
  std::size_t leaves = 1;
  std::optional<double> shrunken;
};

struct PoolResult {
  PoolGroup of;
  PooledMean mean;  ///< on the scale of the analysis; back() brings it to the unit
  std::optional<BetweenUnits> between;
  std::vector<PoolUnit> units;
  std::size_t lower_bounds = 0, upper_bounds = 0;  ///< leaves, used or left out
  std::size_t without = 0;                         ///< leaves that say nothing
  std::string method;                              ///< for people
  Notes notes;
  /// exp of it for a parameter pooled as ln, else itself.
  [[nodiscard]] double back(double x) const;
  [[nodiscard]] std::optional<double> back(std::optional<double> x) const;
};

struct FailedPool {
  std::string group, symbol, why;
};

struct PoolRun {
  std::vector<PoolResult> results;  ///< by parameter, groups in order of first appearance
  std::vector<FailedPool> failed;
  Notes notes;
  std::string unit_name = "leaf";  ///< "plant" where plants are known
};

/// The settings `pool`, `group`, `plant`, `parameter`, `values`, `bounds`, `level`.
SettingTable pool_settings();
PoolRules pool_rules(const Settings& settings);

/// Unweighted or REML. Errors: unfit, with fewer than two units (REML, censored: three).
Result<PoolResult> pool_group(PoolGroup group, const PoolRules& rules);

/// Vcmax, J and Rday of the same leaves in the same order, with the correlations of their fits
/// (Vcmax J, Vcmax Rday, J Rday; a missing one is taken as 0). Errors: as pool_information.
Result<std::vector<PoolResult>> pool_jointly(
    std::array<PoolGroup, joint_size> groups,
    std::span<const std::array<std::optional<double>, joint_size>> correlations,
    const PoolRules& rules);

}  // namespace leafwright
