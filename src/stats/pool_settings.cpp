// The settings of pooled groups.
#include <array>

#include "stats/pool_run.hpp"

namespace leafwright {

SettingTable pool_settings() {
  using Kind = SettingKind;
  static const std::array<Setting, 7> settings{{
      {.name = "pool",
       .kind = Kind::choice,
       .default_value = "unweighted",
       .choices = {"unweighted", "reml", "information"},
       .help =
           "how leaves make the mean: each counts the same, with a t interval; by REML with the "
           "interval of Hartung & Knapp; or Vcmax, J and Rday together with their correlations",
       .source = "docs/methods-pool.md: weights of 1/SE^2 alone reject true nulls far too often"},
      {.name = "group",
       .kind = Kind::text,
       .help = "column that names each leaf's group; without it all leaves are one group",
       .source = "the user's own",
       .value_name = "COLUMN"},
      {.name = "plant",
       .kind = Kind::text,
       .help =
           "column that names the plant: its leaves are averaged first, and plants are counted; "
           "without it every leaf counts as a plant of its own",
       .source = "leaves of one plant are not independent (docs/decisions/agreement.md)",
       .value_name = "COLUMN"},
      {.name = "parameter",
       .kind = Kind::list,
       .help = "a parameter to pool, such as Vcmax; may be given several times; without it all "
               "that the table holds (with information: Vcmax, J and Rday)",
       .source = "the user's own",
       .value_name = "NAME"},
      {.name = "values",
       .kind = Kind::choice,
       .default_value = "25",
       .choices = {"25", "leaf"},
       .help = "values at 25 degC as the fit moved them, or at leaf temperature",
       .source = "25: leaves of a group are seldom at one temperature"},
      {.name = "bounds",
       .kind = Kind::choice,
       .default_value = "left-out",
       .choices = {"left-out", "censored"},
       .help = "leaves of which only a bound is known: left out and counted, or entered as a bound "
               "(censored likelihood, with unweighted)",
       .source = "docs/methods-pool.md"},
      {.name = "level",
       .kind = Kind::number,
       .default_value = "0.95",
       .low = 0.6,
       .high = 0.999,
       .help = "level of intervals of means and of new leaves",
       .source = "common practice, no source"},
  }};
  return settings;
}

PoolRules pool_rules(const Settings& settings) {
  const std::string& method = settings.text("pool");
  return {
      .method = method == "reml"          ? PoolMethod::reml
                : method == "information" ? PoolMethod::information
                                          : PoolMethod::unweighted,
      .bounds = settings.text("bounds") == "censored" ? PoolBounds::censored : PoolBounds::left_out,
      .level = settings.number("level"),
      .plants_known = settings.is_set("plant")};
}

}  // namespace leafwright
