#include "report/group_methods.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/joint_report.hpp"
#include "report/pool_report.hpp"

namespace leafwright {
namespace {

using References = std::set<std::string>;

/// The setting of whichever table has it; "" where it is not set.
std::string setting(const std::vector<const Settings*>& all, const std::string& name) {
  for (const Settings* settings : all) {
    for (const Setting& one : settings->table()) {
      if (one.name == name) return settings->is_set(name) ? settings->text(name) : "";
    }
  }
  return "";
}

std::string role_words(const std::vector<const Settings*>& settings) {
  const std::string role = setting(settings, "role");
  return role == "all"    ? "curves of steps and of ramps"
         : role == "ramp" ? "ramps"
                          : "curves of steps";
}

std::string mean_words(const PoolDocument& d, References& references) {
  const std::string percent = print_rounded(100 * d.level, 4);
  const std::string method = setting(d.settings, "pool");
  if (method == "reml") {
    references.emplace("Hartung J, Knapp G (2001) Statistics in Medicine 20:3875-3889");
    references.emplace("Sidik K, Jonkman JN (2002) Statistics in Medicine 21:3153-3159");
    return "weighted by 1/(SE^2 + tau2), tau2 by restricted maximum likelihood, with the " +
           percent + " % interval of Hartung & Knapp (2001; Sidik & Jonkman 2002)";
  }
  if (method == "information") {
    references.emplace("Jackson D, Riley RD (2014) Statistics in Medicine 33:541-554");
    return "ln Vcmax, ln J and Rday together, each leaf with the covariance of its fit, with " +
           percent + " % intervals after Jackson & Riley (2014)";
  }
  if (setting(d.settings, "bounds") == "censored") {
    return "each counting the same, those known by a bound only entering as a bound of a normal "
           "distribution, with " +
           percent + " % intervals from the profile of the likelihood (Student's t without bounds)";
  }
  return "each counting the same, with " + percent + " % intervals of Student's t";
}

std::string pool_paragraph(const PoolDocument& d, References& references) {
  if (d.run->results.empty()) return "";
  const std::string group = setting(d.settings, "group"), plant = setting(d.settings, "plant");
  std::string out = "Means of groups (" + (group.empty() ? "all leaves as one" : "by " + group) +
                    ") were made from the " + "values of single " + role_words(d.settings) + ", " +
                    (setting(d.settings, "values") == "25" ? "at 25 degC" : "at leaf temperature") +
                    ": ";
  out += plant.empty() ? "leaves, "
                       : "leaves of a plant (" + plant + ") were averaged first, then plants, ";
  out += mean_words(d, references);
  out += ". Capacities were taken as ln, so that their means are geometric. ";
  std::size_t left = 0, bounds = 0;
  bool between = false;
  for (const PoolResult& r : d.run->results) {
    bounds += r.lower_bounds + r.upper_bounds;
    left += static_cast<std::size_t>(
        std::count_if(r.of.leaves.begin(), r.of.leaves.end(),
                      [](const PoolLeaf& leaf) { return !leaf.left_out.empty(); }));
    between = between || (r.mean.new_low && setting(d.settings, "pool") != "unweighted");
  }
  out += bounds == 0 ? "No value was known by a bound only. "
                     : counted(bounds, "value") + " of a leaf and parameter " +
                           (bounds == 1 ? "was" : "were") + " known by a bound only. ";
  out += left == 0 ? "None was left out." : counted(left, "value") + " took no part.";
  if (between) {
    references.emplace(
        "Higgins JPT, Thompson SG, Spiegelhalter DJ (2009) Journal of the Royal Statistical "
        "Society "
        "A 172:137-159");
    out += " The interval for one more is that of Higgins et al. (2009).";
  }
  if (!d.run->failed.empty()) {
    out += " " + counted(d.run->failed.size(), "mean") + " could not be made.";
  }
  return out;
}

std::string joint_paragraph(const JointDocument& d, References& references) {
  const auto& groups = d.run->groups;
  const auto sampled = std::count_if(groups.begin(), groups.end(),
                                     [](const JointGroupRun& one) { return one.group.converged; });
  if (groups.empty()) return "";
  references.emplace("Huang A, Wand MP (2013) Bayesian Analysis 8:439-452");
  references.emplace(
      "Gelman A, Carlin JB, Stern HS, Dunson DB, Vehtari A, Rubin DB (2013) Bayesian Data "
      "Analysis, "
      "3rd ed. Chapman & Hall/CRC");
  references.emplace("Geyer CJ (1992) Statistical Science 7:473-483");
  const std::string group = setting(d.settings, "group");
  const bool tpu = setting(d.settings, "limitations").find("tpu") != std::string::npos;
  std::string out = fmt::format(
      "To look at single poor leaves, {} of a group ({}) were also fitted together {}: ln Vcmax, "
      "ln "
      "J, {}Rday of leaves normal round the group's middle with correlations, one noise of A a "
      "group, standard deviations between leaves half-t with scales {} (ln) and {} umol m-2 s-1 "
      "(Rday) and uniform correlations (Huang & Wand 2013). ",
      role_words(d.settings), group.empty() ? "all leaves as one" : "by " + group, d.temperature,
      tpu ? "ln TPU, " : "", setting(d.settings, "spread-log"), setting(d.settings, "spread-rday"));
  out += fmt::format(
      "The posterior was sampled by Gibbs and Metropolis steps, {} chains of {} sweeps after {} of "
      "warming up, seed {}, and judged by split R-hat (Gelman et al. 2013) and independent draws "
      "(Geyer 1992): {} of {} sampled well enough. ",
      setting(d.settings, "chains"), setting(d.settings, "sweeps"), setting(d.settings, "warm-up"),
      setting(d.settings, "sampler-seed"), sampled, counted(groups.size(), "group"));
  return out + "These values are drawn towards the group and enter no comparison or mean.";
}

}  // namespace

std::vector<std::string> group_methods(const RunDocument& run, References& references) {
  std::vector<std::string> out;
  if (run.pool != nullptr) out.push_back(pool_paragraph(*run.pool, references));
  if (run.together != nullptr) out.push_back(joint_paragraph(*run.together, references));
  out.erase(std::remove(out.begin(), out.end(), std::string()), out.end());
  return out;
}

}  // namespace leafwright
