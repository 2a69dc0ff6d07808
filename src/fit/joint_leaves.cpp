#include "fit/joint_leaves.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/budget.hpp"
#include "fit/exact.hpp"
#include "fit/rows.hpp"

namespace leafwright {
namespace {

using Kind = SettingKind;
constexpr double same_temperature = 0.5;  // K; common practice, no source

struct Leaves {
  std::string group;
  std::vector<JointLeafRows> rows;
  std::vector<AloneLeaf> alone;
  std::vector<double> tleaf;
};

Result<JointSettings> sampler_settings(const Settings& joint, const C3FitOptions& options) {
  JointSettings out;
  const auto whole = [&](const char* name) { return static_cast<std::size_t>(joint.number(name)); };
  out.chains = whole("chains");
  out.warm_up = whole("warm-up");
  out.sweeps = whole("sweeps");
  out.seed = static_cast<std::uint64_t>(joint.number("sampler-seed"));
  out.sd_log = joint.number("spread-log");
  out.sd_rday = joint.number("spread-rday");
  out.level = options.level;
  out.electrons = options.electrons;
  out.alpha = options.alpha;
  if (options.limitations) {
    if (!options.limitations->rubisco || !options.limitations->rubp) {
      return fail(ErrorCode::usage, "limitations without rubisco or rubp",
                  "rubisco,rubp or rubisco,rubp,tpu");
    }
    out.tpu = options.limitations->tpu;
  }
  return out;
}

Result<void> check(const C3FitOptions& options) {
  if (options.rday.from != RdaySource::From::fitted) {
    return fail(ErrorCode::usage, "Rday is held", "Rday free: leaves tell each other about it",
                "leave --rday out");
  }
  if (!options.sd_column.empty() || options.huber) {
    return fail(ErrorCode::usage, "weights of rows or Huber's loss", "rows that count alike",
                "leave --sd-column and --loss out");
  }
  if (options.gm || options.gm_free || options.theta) {
    return fail(ErrorCode::usage, "a finite gm or a smooth minimum", "the plain model",
                "leave --gm and --smooth out");
  }
  return {};
}

/// A leaf's observations, capacities relative to 25 degC where there is a response set.
Result<JointLeafRows> leaf_of(const Curve& curve, const C3FitOptions& options, double& tleaf) {
  const auto usable = usable_rows(curve);
  if (!usable) return fail(usable.error());
  auto observations = make_observations(usable->rows, usable->tleaf, usable->patm, options);
  if (!observations) return fail(observations.error());
  tleaf = usable->tleaf;
  if (options.at25 != nullptr) {
    const ResponseSet& set = *options.at25;
    if (!set.Vcmax || !set.J || !set.Rday) {
      return fail(ErrorCode::unfit,
                  "the set " + std::string(set.name) + " does not move Vcmax, J and Rday",
                  "a response set that does", "another --at25");
    }
    if (options.limitations && options.limitations->tpu && !set.TPU) {
      return fail(ErrorCode::unfit, "the set " + std::string(set.name) + " does not move TPU",
                  "a response set that does, or limitations without tpu", "another --at25");
    }
    for (Observation& o : *observations) {
      o.scale_V = set.Vcmax->factor(tleaf);
      o.scale_J = set.J->factor(tleaf);
      o.scale_R = set.Rday->factor(tleaf);
      if (set.TPU) o.scale_T = set.TPU->factor(tleaf);
    }
  }
  return JointLeafRows{curve.curve_id, std::move(*observations)};
}

Result<C3Leaf> alone(const JointLeafRows& leaf, const JointSettings& s) {
  const LimitationSet permitted{.rubisco = true, .rubp = true, .tpu = s.tpu};
  const auto problem = make_problem(leaf.rows, permitted, RdayMode::free, 0, s.electrons, s.alpha);
  if (!problem) return fail(problem.error());
  return solve_exact(*problem).leaf;
}

std::vector<Leaves> grouped(std::span<const Curve> curves, const C3FitOptions& options,
                            const JointSettings& settings, JointRun& run) {
  std::vector<Leaves> out;
  for (const Curve& curve : curves) {
    double tleaf = 0;
    auto rows = leaf_of(curve, options, tleaf);
    const auto single = rows ? alone(*rows, settings) : fail(rows.error());
    if (!single) {
      run.failed.push_back({curve.curve_id, single.error().text()});
      continue;
    }
    std::string group;
    for (const CurveRow& row : curve.rows) {
      if (row.use && group.empty()) group = row.group;
    }
    auto found =
        std::find_if(out.begin(), out.end(), [&](const Leaves& one) { return one.group == group; });
    if (found == out.end()) {
      out.push_back({group, {}, {}, {}});
      found = out.end() - 1;
    }
    found->rows.push_back(std::move(*rows));
    found->alone.push_back({curve.curve_id, *single});
    found->tleaf.push_back(tleaf);
  }
  return out;
}

std::string shown_group(const std::string& group) {
  return group.empty() ? "all leaves" : "group '" + group + "'";
}

}  // namespace

SettingTable joint_settings() {
  static const std::array<Setting, 6> settings{{
      {.name = "chains",
       .kind = Kind::whole,
       .default_value = std::to_string(JointDefaults::chains),
       .low = 2,
       .high = 20,
       .help = "chains of the sampler; their agreement is what is judged",
       .source = "Gelman et al. 2013, Bayesian Data Analysis, 3rd ed., sect. 11.4 (from memory)"},
      {.name = "warm-up",
       .kind = Kind::whole,
       .default_value = std::to_string(JointDefaults::warm_up),
       .low = 500,
       .high = 100000,
       .help = "sweeps of each chain that are thrown away",
       .source = "docs/methods-together.md"},
      {.name = "sweeps",
       .kind = Kind::whole,
       .default_value = std::to_string(JointDefaults::sweeps),
       .low = 100,
       .high = 200000,
       .help = "sweeps of each chain that are kept; more where R-hat stays above 1.03",
       .source = "docs/methods-together.md"},
      {.name = "sampler-seed",
       .kind = Kind::whole,
       .default_value = std::to_string(JointDefaults::seed),
       .low = 0,
       .high = 4294967295.0,
       .help = "seed of the sampler's random numbers",
       .source = "any number; the same one gives the same results"},
      {.name = "spread-log",
       .kind = Kind::number,
       .default_value = print_number(JointDefaults::spread),
       .low = 0.01,
       .high = 10,
       .help =
           "scale of the prior of the standard deviation between leaves, of ln of the capacities",
       .source = "0.5: leaves of a group hardly differ by more than a factor e (no source)"},
      {.name = "spread-rday",
       .kind = Kind::number,
       .unit = "umol m-2 s-1",
       .default_value = print_number(JointDefaults::spread),
       .low = 0.01,
       .high = 10,
       .help = "the same of Rday",
       .source = "no source; wide beside what leaves of a group differ by"},
  }};
  return settings;
}

Result<JointRun> fit_jointly(std::span<const Curve> curves, const Settings& fit,
                             const Settings& joint, const Progress& progress,
                             const Cancel* cancel) {
  const auto options = fit_options(fit);
  if (!options) return fail(options.error());
  if (auto ok = check(*options); !ok) return fail(ok.error());
  const auto settings = sampler_settings(joint, *options);
  if (!settings) return fail(settings.error());
  JointRun run;
  for (Leaves& leaves : grouped(curves, *options, *settings, run)) {
    const auto [low, high] = std::minmax_element(leaves.tleaf.begin(), leaves.tleaf.end());
    if (options->at25 == nullptr && *high - *low > same_temperature) {
      run.failed.push_back(
          {shown_group(leaves.group), "its leaves were at " + print_rounded(*low, 4) + " to " +
                                          print_rounded(*high, 4) +
                                          " degC: capacities of different temperatures are not put "
                                          "together without a response (--at25)"});
      continue;
    }
    auto group = joint_posterior(leaves.group, leaves.rows, *settings, progress, cancel);
    if (!group) {
      run.failed.push_back({shown_group(leaves.group), group.error().text()});
      continue;
    }
    run.groups.push_back({std::move(*group), std::move(leaves.alone)});
  }
  run.notes.push_back(
      {NoteLevel::caution, "shrunken",
       "values of single leaves are drawn towards their group: they are for looking at single poor "
       "leaves, not for comparing groups or as input of another analysis; for that use the values "
       "of leaves alone, or the middle of the group"});
  run.notes.push_back(
      {NoteLevel::info, "joint-model",
       std::string("ln Vcmax, ln J, ") + (settings->tpu ? "ln TPU, " : "") +
           "Rday of a group's leaves are taken as normal with correlations; one noise of A a "
           "group; leaves that fall into two kinds break this"});
  return run;
}

}  // namespace leafwright
