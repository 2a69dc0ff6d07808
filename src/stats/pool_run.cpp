#include "stats/pool_run.hpp"

#include <algorithm>
#include <cmath>

#include "base/text.hpp"

namespace leafwright {
namespace {

/// A leaf on the scale of the analysis; `left_out` is written where it says nothing.
std::optional<PoolValue> value_of(PoolLeaf& leaf, bool log) {
  PoolValue out;
  out.unit = leaf.plant;
  std::optional<double> number;
  if (leaf.status == "estimated") {
    number = leaf.value;
  } else if (leaf.status == "lower bound") {
    number = leaf.low;
    out.bound = PoolBound::lower;
  } else if (leaf.status == "upper bound") {
    number = leaf.high;
    out.bound = PoolBound::upper;
  }
  if (!leaf.left_out.empty()) return std::nullopt;
  if (leaf.status == "fixed") {
    leaf.left_out = "held in the fit, not estimated";
  } else if (!number) {
    leaf.left_out = leaf.status.empty() ? "no value" : leaf.status;
  } else if (log && !(*number > 0)) {
    leaf.left_out = "not above 0";
  }
  if (!leaf.left_out.empty()) return std::nullopt;
  out.value = log ? std::log(*number) : *number;
  if (out.bound == PoolBound::none && leaf.se && *leaf.se > 0) {
    const double se = log ? *leaf.se / *number : *leaf.se;
    out.variance = se * se;
  }
  return out;
}

/// The units of a group, with counts and reasons.
std::vector<PoolValue> units_of(PoolResult& into, const PoolRules& rules) {
  std::vector<PoolValue> values;
  for (PoolLeaf& leaf : into.of.leaves) {
    const auto value = value_of(leaf, into.of.log);
    if (!value) {
      ++into.without;
      continue;
    }
    if (value->bound == PoolBound::lower) ++into.lower_bounds;
    if (value->bound == PoolBound::upper) ++into.upper_bounds;
    if (value->bound != PoolBound::none && rules.bounds == PoolBounds::left_out) {
      leaf.left_out = leaf.status;
      continue;
    }
    values.push_back(*value);
  }
  return average_units(values);
}

std::size_t leaves_of(const PoolGroup& group, const std::string& unit) {
  return static_cast<std::size_t>(std::count_if(
      group.leaves.begin(), group.leaves.end(),
      [&](const PoolLeaf& leaf) { return leaf.left_out.empty() && leaf.plant == unit; }));
}

void note_bounds(PoolResult& result, const PoolRules& rules) {
  const std::size_t bounds = result.lower_bounds + result.upper_bounds;
  if (bounds == 0) return;
  const std::string& symbol = result.of.symbol;
  if (rules.bounds == PoolBounds::censored) {
    result.notes.push_back({NoteLevel::info, "bounds-censored",
                            counted(bounds, "leaf", "leaves") + " of which only a bound of " +
                                symbol + " is known enter as that bound"});
    return;
  }
  const std::string side = result.upper_bounds == 0   ? "above a bound: the mean is likely too low"
                           : result.lower_bounds == 0 ? "below a bound: the mean is likely too high"
                                                      : "beyond a bound: the mean may be off";
  result.notes.push_back({NoteLevel::caution, "bounds-left-out",
                          counted(bounds, "leaf is", "leaves are") + " left out, as their " +
                              symbol + " is only known to lie " + side +
                              "; --bounds censored counts them"});
}

/// The interval for a new unit takes tau2 as known but for its t: with few units it is short.
void note_new_unit(PoolResult& result) {
  constexpr std::size_t few = 10;  // common practice, no source
  if (!result.mean.new_low || result.mean.units >= few) return;
  result.notes.push_back({NoteLevel::caution, "new-unit-short",
                          "the interval for one more is short with few (" +
                              std::to_string(result.mean.units) +
                              "): of six it held 92 % instead of 95 % in simulations"});
}

void shrink(PoolResult& result) {
  if (!result.between) return;
  for (PoolUnit& unit : result.units) {
    if (unit.value.bound != PoolBound::none || !unit.value.variance) continue;
    unit.shrunken = shrunken_value(unit.value.value, *unit.value.variance, result.mean.mean,
                                   result.between->tau2);
  }
}

Result<void> compute(PoolResult& result, const std::vector<PoolValue>& values,
                     const PoolRules& rules) {
  const bool bounded = std::any_of(values.begin(), values.end(),
                                   [](const PoolValue& v) { return v.bound != PoolBound::none; });
  const auto with_value = std::count_if(
      values.begin(), values.end(), [](const PoolValue& v) { return v.bound == PoolBound::none; });
  if (with_value < 2) {
    return fail(ErrorCode::unfit, counted(static_cast<std::size_t>(with_value), "value"),
                "at least 2", "a mean of one has no interval");
  }
  result.between = between_units(values, rules.level);
  if (bounded) {
    if (rules.method != PoolMethod::unweighted) {
      return fail(ErrorCode::unfit, "bounds under REML", "--pool unweighted with --bounds censored",
                  "");
    }
    auto mean = pool_censored(values, rules.level);
    if (!mean) return fail(mean.error());
    result.mean = *mean;
    result.method = "censored likelihood";
    result.between.reset();  // it would be that of the values alone
  } else if (rules.method == PoolMethod::reml) {
    const auto mean = pool_reml(values, rules.level);
    if (!mean) {
      const auto known = std::count_if(values.begin(), values.end(),
                                       [](const PoolValue& v) { return v.variance.has_value(); });
      return fail(ErrorCode::unfit,
                  counted(static_cast<std::size_t>(known), "value") + " with a standard error",
                  "at least 3", "--pool unweighted needs no standard errors");
    }
    result.mean = *mean;
    result.method = "REML, Hartung-Knapp";
  } else {
    result.mean = pool_unweighted(values, rules.level);
    result.method = "unweighted, t";
  }
  return {};
}

/// Component k of every leaf, with counts and reasons.
void take_component(PoolResult& result, std::size_t k, std::vector<PoolVector>& vectors,
                    std::vector<std::array<double, joint_size>>& se) {
  for (std::size_t l = 0; l < vectors.size(); ++l) {
    PoolLeaf& leaf = result.of.leaves[l];
    vectors[l].unit = leaf.plant;
    const auto value = value_of(leaf, result.of.log);
    if (!value) {
      ++result.without;
    } else if (value->bound != PoolBound::none) {
      ++(value->bound == PoolBound::lower ? result.lower_bounds : result.upper_bounds);
      leaf.left_out = leaf.status;
    } else if (!value->variance) {
      ++result.without;
      leaf.left_out = "no standard error";
    } else {
      vectors[l].known[k] = true;
      vectors[l].value[k] = value->value;
      se[l][k] = std::sqrt(*value->variance);
    }
  }
}

void give_component(PoolResult& result, std::size_t k, const std::vector<PoolVector>& units,
                    const InformationPool& pooled) {
  result.mean = pooled.means[k];
  result.method = "REML of Vcmax, J and Rday together";
  BetweenUnits between;
  between.tau2 = pooled.between[k * joint_size + k];
  double sum = 0;
  for (std::size_t u = 0; u < units.size(); ++u) {
    if (!units[u].known[k]) continue;
    const double v = units[u].covariance[k * joint_size + k];
    sum += v;
    ++between.units;
    result.units.push_back({{units[u].unit, units[u].value[k], v, PoolBound::none},
                            leaves_of(result.of, units[u].unit),
                            pooled.shrunken[u][k]});
  }
  between.fit_sd = std::sqrt(sum / static_cast<double>(between.units));
  result.between = between;
  if (!pooled.converged) {
    result.notes.push_back(
        {NoteLevel::caution, "not-converged", "the variances between units did not settle"});
  }
}

}  // namespace

double PoolResult::back(double x) const {
  return of.log ? std::exp(x) : x;
}

std::optional<double> PoolResult::back(std::optional<double> x) const {
  return x ? std::optional(back(*x)) : std::nullopt;
}

Result<PoolResult> pool_group(PoolGroup group, const PoolRules& rules) {
  PoolResult out;
  out.of = std::move(group);
  out.notes = out.of.notes;
  const std::vector<PoolValue> values = units_of(out, rules);
  if (auto ok = compute(out, values, rules); !ok) return fail(ok.error());
  for (const PoolValue& value : values) {
    out.units.push_back({value, leaves_of(out.of, value.unit), {}});
  }
  if (rules.method == PoolMethod::reml) {
    note_new_unit(out);
    const auto without_se =
        std::count_if(values.begin(), values.end(), [](const PoolValue& v) { return !v.variance; });
    if (without_se > 0) {
      out.notes.push_back({NoteLevel::caution, "no-standard-error",
                           counted(static_cast<std::size_t>(without_se), "value") +
                               " without a standard error took no part"});
    }
  }
  note_bounds(out, rules);
  shrink(out);
  return out;
}

Result<std::vector<PoolResult>> pool_jointly(
    std::array<PoolGroup, joint_size> groups,
    std::span<const std::array<std::optional<double>, joint_size>> correlations,
    const PoolRules& rules) {
  PoolRules left_out = rules;
  left_out.bounds = PoolBounds::left_out;
  std::vector<PoolResult> out(joint_size);
  std::vector<PoolVector> vectors(groups[0].leaves.size());
  std::vector<std::array<double, joint_size>> se(vectors.size());
  for (std::size_t k = 0; k < joint_size; ++k) {
    out[k].of = std::move(groups[k]);
    out[k].notes = out[k].of.notes;
    take_component(out[k], k, vectors, se);
  }
  for (std::size_t l = 0; l < vectors.size(); ++l) {
    std::array<double, joint_size> r{};
    for (std::size_t k = 0; k < joint_size; ++k) r[k] = correlations[l][k].value_or(0);
    vectors[l].covariance = joint_covariance(se[l], r);
  }
  std::erase_if(vectors,
                [](const PoolVector& v) { return !v.known[0] && !v.known[1] && !v.known[2]; });
  const std::vector<PoolVector> units = average_vectors(vectors);
  const auto pooled = pool_information(units, rules.level);
  if (!pooled) return fail(pooled.error());
  for (std::size_t k = 0; k < joint_size; ++k) {
    give_component(out[k], k, units, *pooled);
    note_new_unit(out[k]);
    note_bounds(out[k], left_out);
  }
  return out;
}

}  // namespace leafwright
