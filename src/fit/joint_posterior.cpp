#include "fit/joint_posterior.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "fit/exact.hpp"
#include "fit/joint_chain.hpp"

namespace leafwright {
namespace {

constexpr std::size_t fewest_leaves = 4;
// Of leaves and the middle of the group; spreads, which mix slowest, may be a bit worse.
constexpr double worst_rhat = 1.03, worst_spread_rhat = 1.05;
constexpr double fewest_draws = 200, fewest_spread_draws = 100;

std::vector<std::string> names_of(bool tpu) {
  return tpu ? std::vector<std::string>{"Vcmax", "J", "TPU", "Rday"}
             : std::vector<std::string>{"Vcmax", "J", "Rday"};
}

double middle_of(std::vector<double> values, double otherwise) {
  if (values.empty()) return otherwise;
  const auto at = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), at, values.end());
  return *at;
}

/// Starts: each leaf's own exact solution; what a leaf leaves open starts at the others' median.
std::vector<std::vector<double>> starts_of(const std::vector<C3Problem>& leaves, bool tpu) {
  const std::size_t p = names_of(tpu).size();
  std::vector<std::vector<double>> start(leaves.size(), std::vector<double>(p));
  std::vector<std::vector<double>> known(p);
  for (std::size_t l = 0; l < leaves.size(); ++l) {
    const C3Leaf best = solve_exact(leaves[l]).leaf;
    std::vector<double> values{best.Vcmax, best.J};
    if (tpu) values.push_back(best.TPU);
    for (std::size_t k = 0; k < values.size(); ++k) {
      const bool usable = std::isfinite(values[k]) && values[k] > 0;
      start[l][k] = usable ? std::log(values[k]) : std::numeric_limits<double>::quiet_NaN();
      if (usable) known[k].push_back(start[l][k]);
    }
    start[l][p - 1] = std::isfinite(best.Rday) ? best.Rday : 1;
  }
  // From memory: a middling leaf, only where no leaf of the group tells (the sampler moves on).
  const std::vector<double> otherwise{std::log(60.0), std::log(120.0), std::log(8.0), 1.0};
  for (std::size_t k = 0; k + 1 < p; ++k) {
    const double fill = middle_of(known[k], otherwise[k]);
    for (std::vector<double>& theta : start) {
      if (!std::isfinite(theta[k])) theta[k] = fill;
    }
  }
  return start;
}

Result<JointTarget> target_of(std::span<const JointLeafRows> leaves, const JointSettings& s) {
  JointTarget target;
  const LimitationSet permitted{.rubisco = true, .rubp = true, .tpu = s.tpu};
  for (const JointLeafRows& leaf : leaves) {
    auto problem = make_problem(leaf.rows, permitted, RdayMode::free, 0, s.electrons, s.alpha);
    if (!problem) {
      Error error = problem.error();
      error.found = fmt::format("leaf '{}': {}", leaf.leaf, error.found);
      return fail(std::move(error));
    }
    target.rows += problem->size();
    target.leaves.push_back(std::move(*problem));
  }
  target.start = starts_of(target.leaves, s.tpu);
  target.prior_sd.assign(names_of(s.tpu).size(), s.sd_log);
  target.prior_sd.back() = s.sd_rday;
  return target;
}

/// Median, spread and interval of all chains' draws, after `shown` (exp for logarithms).
template <class Shown>
Posterior posterior_of(const std::string& name, const std::vector<std::vector<double>>& chains,
                       double level, const Shown& shown) {
  std::vector<double> all;
  for (const std::vector<double>& chain : chains) {
    for (const double v : chain) all.push_back(shown(v));
  }
  std::sort(all.begin(), all.end());
  const auto quantile = [&](double q) {
    const double at = q * static_cast<double>(all.size() - 1);
    const auto below = static_cast<std::size_t>(at);
    const double rest = at - static_cast<double>(below);
    return below + 1 < all.size() ? all[below] + rest * (all[below + 1] - all[below]) : all.back();
  };
  double mean = 0, square = 0;
  for (const double v : all) mean += v / static_cast<double>(all.size());
  for (const double v : all) square += (v - mean) * (v - mean);
  return {.name = name,
          .median = quantile(0.5),
          .sd = std::sqrt(square / static_cast<double>(all.size() - 1)),
          .low = quantile((1 - level) / 2),
          .high = quantile((1 + level) / 2),
          .rhat = split_rhat(chains),
          .draws = independent_draws(chains)};
}

JointGroup summarised(const std::string& group, std::span<const JointLeafRows> leaves,
                      const std::vector<JointDraws>& chains, const JointSettings& s) {
  const std::vector<std::string> names = names_of(s.tpu);
  const std::size_t p = names.size();
  const auto series = [&](std::size_t at) {
    std::vector<std::vector<double>> out;
    for (const JointDraws& chain : chains) out.push_back(chain.series[at]);
    return out;
  };
  const auto plain = [](double v) { return v; };
  const auto exponent = [](double v) { return std::exp(v); };
  const auto theta = [&](std::size_t at, std::size_t k) {
    return k + 1 < p ? posterior_of(names[k], series(at), s.level, exponent)
                     : posterior_of(names[k], series(at), s.level, plain);
  };
  JointGroup out;
  out.group = group;
  out.converged = true;
  const auto judged = [&](Posterior value, bool spread = false) {
    out.converged = out.converged && value.rhat <= (spread ? worst_spread_rhat : worst_rhat) &&
                    value.draws >= (spread ? fewest_spread_draws : fewest_draws);
    return value;
  };
  std::size_t at = 0;
  for (const JointLeafRows& leaf : leaves) {
    JointLeaf one{.leaf = leaf.leaf, .values = {}};
    for (std::size_t k = 0; k < p; ++k) one.values.push_back(judged(theta(at++, k)));
    out.leaves.push_back(std::move(one));
  }
  for (std::size_t k = 0; k < p; ++k) out.middle.push_back(judged(theta(at++, k)));
  for (std::size_t k = 0; k < p; ++k) {
    out.spread.push_back(judged(posterior_of(names[k], series(at++), s.level, plain), true));
  }
  out.sigma = judged(posterior_of("sigma", series(at), s.level, plain), true);
  double tried = 0, taken = 0;
  for (const JointDraws& chain : chains) {
    tried += static_cast<double>(chain.tried);
    taken += static_cast<double>(chain.taken);
  }
  out.acceptance = tried > 0 ? taken / tried : 0;
  return out;
}

std::optional<Error> wrong(const JointSettings& s, std::size_t leaves) {
  if (s.chains < 2 || s.warm_up < 500 || s.sweeps < 100) {
    return Error{.code = ErrorCode::usage,
                 .place = {},
                 .found = fmt::format("{} chains of {} + {} sweeps", s.chains, s.warm_up, s.sweeps),
                 .expected = "at least 2 chains of 500 sweeps to warm up and 100 to keep",
                 .hint = ""};
  }
  if (!(s.level > 0 && s.level < 1 && s.sd_log > 0 && s.sd_rday > 0)) {
    return Error{.code = ErrorCode::usage,
                 .place = {},
                 .found = "a level outside 0 to 1, or a prior scale that is not above 0",
                 .expected = "a level such as 0.95 and positive scales",
                 .hint = ""};
  }
  if (leaves < fewest_leaves) {
    return Error{
        .code = ErrorCode::unfit,
        .place = {},
        .found = fmt::format("{} leaves in the group", leaves),
        .expected = fmt::format("at least {}: fewer do not tell how leaves differ", fewest_leaves),
        .hint = "fit each leaf by itself"};
  }
  return std::nullopt;
}

}  // namespace

Result<JointGroup> joint_posterior(const std::string& group, std::span<const JointLeafRows> leaves,
                                   const JointSettings& settings, const Progress& progress,
                                   const Cancel* cancel) {
  if (auto error = wrong(settings, leaves.size())) return fail(std::move(*error));
  auto target = target_of(leaves, settings);
  if (!target) return fail(target.error());
  const double all = static_cast<double>(settings.chains * (settings.warm_up + settings.sweeps));
  std::size_t done = 0;
  const auto tick = [&] {
    if (++done % 100 == 0) {
      report_progress(progress, static_cast<double>(done) / all, "sampling " + group);
    }
    return cancel == nullptr || !cancel->raised();
  };
  std::vector<JointDraws> chains;
  for (std::size_t c = 0; c < settings.chains; ++c) {
    chains.push_back(run_joint_chain(
        *target, settings.warm_up, settings.sweeps,
        RandomStream(settings.seed, group, "joint-posterior", static_cast<std::uint32_t>(c)),
        tick));
    if (cancel != nullptr && cancel->raised()) {
      return fail(ErrorCode::unfit, "the sampling of group '" + group + "' was interrupted",
                  "all sweeps: half a chain tells nothing");
    }
  }
  return summarised(group, leaves, chains, settings);
}

}  // namespace leafwright
