// Exact profile intervals against profiles made by brute force: the parameter is held at a value,
// the exhaustive peer minimises over the others, and that minimum is compared with the threshold at
// the interval's ends, a little outside them, and on a grid far beyond.
#include <gtest/gtest.h>

#include <cstdlib>

#include "fit/exact.hpp"
#include "support/peer_check.hpp"

namespace leafwright {
namespace {

using stress::Curve;
using stress::Mode;

/// Curves per set and mode; LEAFWRIGHT_EXACT_CURVES sets another number.
const std::size_t amount = [] {
  if (const char* text = std::getenv("LEAFWRIGHT_EXACT_CURVES")) {
    return static_cast<std::size_t>(std::atol(text));
  }
#ifdef NDEBUG
  return std::size_t{20};
#else
  return std::size_t{2};
#endif
}();

/// The lowest sum of squares with one parameter held at `value`, by the exhaustive peer.
class Profile {
 public:
  Profile(const Curve& c, const LimitationSet& set, const Mode& mode, std::size_t min_points)
      : q_(stress::exhaustive_problem(c, set, mode, min_points)), mode_(mode) {}
  double at(Parameter parameter, double value) {
    q_.hold = static_cast<int>(parameter);
    q_.hold_at = value;
    if (parameter == Parameter::Rday && mode_.mode == RdayMode::fraction) {
      q_.hold = 0;
      q_.hold_at = value / mode_.value;
    }
    return static_cast<double>(c3_exhaustive::ordered(q_).ssr);
  }

 private:
  c3_exhaustive::Problem q_;
  Mode mode_;
};

struct Counts {
  std::size_t closed_ends = 0, open_ends = 0, zero_ends = 0, gaps = 0;
};

void check_extent(Profile& profile, Parameter q, double threshold, const Extent& e, double scale,
                  double best_value, Counts& counts) {
  SCOPED_TRACE("parameter " + std::to_string(static_cast<int>(q)));
  ASSERT_TRUE(e.exists);
  const double slack = 1e-7 * threshold + 1e-11 * scale + 1e-24;
  if (!e.low) {  // it matters to no row, however small
    EXPECT_FALSE(e.high);
    EXPECT_LE(profile.at(q, 0), threshold + slack);
    EXPECT_LE(profile.at(q, 1e6), threshold + slack);
    return;
  }
  const double size = std::max({1e-3, best_value, *e.low});
  // The lower end belongs to the interval, and nothing below it does.
  EXPECT_LE(profile.at(q, *e.low * (1 + 1e-6)), threshold + slack);
  if (*e.low > 1e-9) {
    ++counts.closed_ends;
    EXPECT_GT(profile.at(q, *e.low * (1 - 1e-4)), threshold) << "low " << *e.low;
    for (const double factor : {0.99, 0.9, 0.7, 0.4, 0.1, 0.0}) {
      EXPECT_GT(profile.at(q, *e.low * factor), threshold) << "low " << *e.low << " x " << factor;
    }
  } else {
    ++counts.zero_ends;
    EXPECT_EQ(*e.low, 0);
    EXPECT_LE(profile.at(q, 0), threshold + slack);
  }
  if (!e.high) {
    ++counts.open_ends;
    EXPECT_LE(profile.at(q, 1e6 * size), threshold + slack) << "open above";
    return;
  }
  ++counts.closed_ends;
  EXPECT_LE(profile.at(q, *e.high * (1 - 1e-6)), threshold + slack);
  const double step = 1e-4 * std::max(*e.high, 1e-3 * size);
  EXPECT_GT(profile.at(q, *e.high + step), threshold) << "high " << *e.high;
  for (const double factor : {1.01, 1.1, 1.5, 2.5, 10.0, 100.0, 1e6}) {
    EXPECT_GT(profile.at(q, (*e.high + step) * factor), threshold)
        << "high " << *e.high << " x " << factor;
  }
}

Counts check_curves(const LimitationSet& set, RdayMode rday, std::size_t min_points,
                    std::size_t count, double room) {
  Counts counts;
  stress::Kind kind;
  kind.set = set;
  kind.most_points = 9;
  for (std::uint32_t k = 0; k < count; ++k) {
    SCOPED_TRACE("curve " + std::to_string(k) + " mode " + std::to_string(static_cast<int>(rday)));
    const Curve c = stress::hard_curve(23, k, kind);
    const Mode mode = stress::mode_of(c, rday, k);
    const auto p = make_problem(c.observations(), set, mode.mode, mode.value, c.electrons, c.alpha,
                                min_points);
    if (!p) continue;
    const CellList cells(*p);
    const ExactSolution s = solve_exact(cells);
    if (!s.certified || s.leaf.Rday > 1e3) continue;
    const double threshold = s.ssr * (1 + room) + 1e-6 * p->scale;
    std::vector<ExtentRequest> requests{{Parameter::Vcmax, threshold}};
    std::vector<double> best{std::isfinite(s.leaf.Vcmax) ? s.leaf.Vcmax : 1};
    if (set.rubp) requests.push_back({Parameter::J, threshold});
    if (set.rubp) best.push_back(std::isfinite(s.leaf.J) ? s.leaf.J : 1);
    if (set.tpu) requests.push_back({Parameter::TPU, threshold});
    if (set.tpu) best.push_back(std::isfinite(s.leaf.TPU) ? s.leaf.TPU : 1);
    const bool rday_moves =
        rday == RdayMode::free || (rday == RdayMode::fraction && mode.value > 0);
    if (rday_moves) requests.push_back({Parameter::Rday, threshold});
    if (rday_moves) best.push_back(s.leaf.Rday);
    const auto extents = profile_extents(cells, requests);
    Profile profile(c, set, mode, min_points);
    for (std::size_t r = 0; r < requests.size(); ++r) {
      check_extent(profile, requests[r].parameter, threshold, extents[r], p->scale, best[r],
                   counts);
    }
  }
  return counts;
}

TEST(Extent, EndsAreWhereTheProfileCrossesTheThreshold) {
  Counts all;
  for (const LimitationSet& set :
       {LimitationSet{true, true, true}, {true, true, false}, {true, false, true}}) {
    for (const RdayMode rday : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
      const Counts c = check_curves(set, rday, 1, amount, 0.5);
      all.closed_ends += c.closed_ends;
      all.open_ends += c.open_ends;
      all.zero_ends += c.zero_ends;
    }
  }
  // All kinds of ends must have been seen.
  EXPECT_GT(all.closed_ends, 10 * amount);
  EXPECT_GT(all.open_ends, amount);
  EXPECT_GT(all.zero_ends, amount / 2);
}

TEST(Extent, WideThresholdsReachTheFlatCurve) {
  check_curves({true, true, true}, RdayMode::free, 1, amount, 50);
  check_curves({true, true, true}, RdayMode::fixed, 1, amount, 50);
  check_curves({true, true, true}, RdayMode::fraction, 1, amount, 50);
}

TEST(Extent, MinimumPointsNarrowTheParameterSpace) {
  for (const RdayMode rday : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
    check_curves({true, true, true}, rday, 2, amount, 0.5);
  }
}

}  // namespace
}  // namespace leafwright
