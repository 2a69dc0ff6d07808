// The exact solver under attack: hard curves, every limitation set, every way of taking Rday, held
// against searches that share no code with it. A normal run takes a sample; LEAFWRIGHT_EXACT_CURVES
// sets how many curves per set and mode (bench/exactness prints the table of a long run).
#include <gtest/gtest.h>

#include <cstdlib>
#include <functional>

#include "fit/search.hpp"
#include "support/peer_check.hpp"

namespace leafwright {
namespace {

using stress::Curve;
using stress::Mode;

constexpr double infinity = std::numeric_limits<double>::infinity();
constexpr LimitationSet c{true, false, false}, cj{true, true, false}, cp{true, false, true},
    cjp{true, true, true}, j{false, true, false}, tpu_only{false, false, true},
    jp{false, true, true};

std::uint32_t curves(std::uint32_t release, std::uint32_t debug) {
  if (const char* text = std::getenv("LEAFWRIGHT_EXACT_CURVES")) {
    return static_cast<std::uint32_t>(std::atol(text));
  }
#ifdef NDEBUG
  (void)debug;
  return release;
#else
  (void)release;
  return debug;
#endif
}

struct Case {
  Curve curve;
  Mode mode;
  C3Problem problem;
};

/// Calls visit for every accepted hard curve of a set and mode.
void for_hard_curves(const LimitationSet& set, RdayMode rday, std::uint32_t count,
                     const std::function<void(const Case&)>& visit, stress::Kind kind = {},
                     std::size_t min_points = 1) {
  kind.set = set;
  kind.never_low = !set.rubisco && !set.rubp;
  for (std::uint32_t k = 0; k < count; ++k) {
    SCOPED_TRACE("curve " + std::to_string(k));
    const Curve curve = stress::hard_curve(11, k, kind);
    const Mode mode = stress::mode_of(curve, rday, k);
    const auto p = make_problem(curve.observations(), set, mode.mode, mode.value, curve.electrons,
                                curve.alpha, min_points);
    if (p) visit({curve, mode, *p});
  }
}

struct SetAndMode {
  const char* name;
  LimitationSet set;
  RdayMode mode;
};
void PrintTo(const SetAndMode& s, std::ostream* out) {
  *out << s.name;
}

class Exact : public testing::TestWithParam<SetAndMode> {};

TEST_P(Exact, NoPeerIsLowerAndTheReportedSumIsReached) {
  const auto [name, set, mode] = GetParam();
  std::size_t seen = 0, certified = 0;
  for_hard_curves(set, mode, curves(250, 25), [&, set = set](const Case& x) {
    const ExactSolution s = solve_exact(x.problem);
    const auto peers = stress::ask_peers(x.curve, set, x.mode, s.leaf, 6);
    EXPECT_LE(peers.gap(), 1e-9) << peers.by << " is lower than " << s.ssr;
    EXPECT_EQ(s.ssr, sum_of_squares(x.problem, s.leaf));
    if (s.certified) {
      EXPECT_NEAR(static_cast<double>((peers.ours - static_cast<long double>(s.ssr)) / peers.scale),
                  0, 1e-9);
    }
    EXPECT_FALSE(std::signbit(s.leaf.Rday)) << "Rday is never negative, not even -0";
    ++seen;
    certified += s.certified ? 1 : 0;
  });
  EXPECT_GE(seen, curves(250, 25) * 9 / 10);
  // Uncertified are only absurd parameters (Ci within 1e-6 of each other, Rday of 1e8).
  EXPECT_GE(static_cast<double>(certified), 0.99 * static_cast<double>(seen));
}

INSTANTIATE_TEST_SUITE_P(
    Sets, Exact,
    testing::Values(
        SetAndMode{"c_free", c, RdayMode::free}, SetAndMode{"c_fixed", c, RdayMode::fixed},
        SetAndMode{"c_fraction", c, RdayMode::fraction}, SetAndMode{"cj_free", cj, RdayMode::free},
        SetAndMode{"cj_fixed", cj, RdayMode::fixed},
        SetAndMode{"cj_fraction", cj, RdayMode::fraction},
        SetAndMode{"cp_free", cp, RdayMode::free}, SetAndMode{"cp_fixed", cp, RdayMode::fixed},
        SetAndMode{"cp_fraction", cp, RdayMode::fraction},
        SetAndMode{"cjp_free", cjp, RdayMode::free}, SetAndMode{"cjp_fixed", cjp, RdayMode::fixed},
        SetAndMode{"cjp_fraction", cjp, RdayMode::fraction},
        SetAndMode{"j_free", j, RdayMode::free}, SetAndMode{"j_fixed", j, RdayMode::fixed},
        SetAndMode{"p_free", tpu_only, RdayMode::free},
        SetAndMode{"p_fixed", tpu_only, RdayMode::fixed}, SetAndMode{"jp_free", jp, RdayMode::free},
        SetAndMode{"jp_fixed", jp, RdayMode::fixed}),
    [](const auto& param) { return std::string(param.param.name); });

TEST(ExactSolver, MinimumPointsAreTheBestThereIsUnderTheRule) {
  for (const std::size_t least : {2U, 3U}) {
    for (const RdayMode mode : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
      const auto check = [&](const Case& x) {
        const ExactSolution s = solve_exact(x.problem);
        const auto peers = stress::ask_peers(x.curve, cjp, x.mode, s.leaf, -1, false, least);
        EXPECT_LE(peers.gap(), 1e-9);
        // Not below either: that would be a solution outside the rule.
        EXPECT_TRUE(!s.certified || peers.gap() >= -1e-9);
        if (!s.flat) {
          const std::size_t k = s.counts.first_rubp, m = s.counts.first_tpu, n = x.problem.size();
          for (const std::size_t count : {k, m - k, n - m})
            EXPECT_TRUE(count == 0 || count >= least);
        }
      };
      for_hard_curves(cjp, mode, curves(200, 20), check, {}, least);
    }
  }
}

TEST(ExactSolver, SearchOfAllCellsAgreesWithSearchInOrder) {
  for (const RdayMode mode : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
    const auto check = [&](const Case& x) {
      ASSERT_TRUE(x.problem.ordered);
      C3Problem shuffled = x.problem;
      shuffled.ordered = false;
      const double ordered = solve_exact(x.problem).ssr;
      const double all = solve_exact(shuffled).ssr;
      EXPECT_NEAR(ordered, all, 1e-9 * x.problem.scale);
    };
    for_hard_curves(cjp, mode, curves(60, 8), check);
  }
}

/// Kinetics per row and Km below its limit: no order of states is assumed by either side.
TEST(ExactSolver, WithoutAnOrderOfStatesNoAssignmentIsLower) {
  std::size_t without_order = 0;
  for (const bool per_row : {true, false}) {
    stress::Kind kind;
    kind.per_row = per_row;
    kind.low_km = !per_row;
    kind.most_points = 6;
    for (const LimitationSet& set : {cj, cp, cjp, jp}) {
      for (const RdayMode mode : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
        if (mode == RdayMode::fraction && !set.rubisco) continue;
        const auto check = [&](const Case& x) {
          const ExactSolution s = solve_exact(x.problem);
          const auto peers = stress::ask_peers(x.curve, set, x.mode, s.leaf, 6, true);
          EXPECT_LE(peers.gap(), 1e-9) << peers.by;
          without_order += x.problem.ordered ? 0 : 1;
        };
        for_hard_curves(set, mode, curves(10, 2), check, kind);
      }
    }
  }
  EXPECT_GT(without_order, 10U) << "the cases must really lack an order";
}

TEST(ExactSolver, LongCurvesWithKineticsPerRowAreNotBeatenByManyStarts) {
  stress::Kind kind;
  kind.per_row = true;
  const auto check = [&](const Case& x) {
    for (const double w : x.curve.weights) {
      if (w != 1) return;  // the many-start peer knows no weights
    }
    const ExactSolution s = solve_exact(x.problem);
    const long double peer = stress::lm_best(x.curve, cjp, x.mode, s.leaf, 30);
    EXPECT_LE(s.ssr - static_cast<double>(peer), 1e-9 * x.problem.scale);
  };
  for_hard_curves(cjp, RdayMode::free, curves(80, 10), check, kind);
}

TEST(CellList, BoundsAreNotAboveWhatTheirCellsReach) {
  std::size_t cells_seen = 0;
  for (const LimitationSet& set : {cj, cp, cjp, jp}) {
    for (const RdayMode mode : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
      if (mode == RdayMode::fraction && !set.rubisco) continue;
      const auto check = [&](const Case& x) {
        const CellList cells(x.problem);
        for (std::size_t i = 0; i < cells.size(); ++i) {
          if (!(cells.bound(i) < infinity)) continue;
          const Candidate least =
              best_in_cell(x.problem, cells.cell(i), cells.assignment(i), cells.common());
          if (!(least.ssr < infinity)) continue;
          EXPECT_GE(least.ssr, cells.bound(i) - 1e-10 * x.problem.scale);
          ++cells_seen;
        }
      };
      for_hard_curves(set, mode, curves(60, 10), check);
    }
  }
  EXPECT_GT(cells_seen, 1000U);
}

// --- The same checks on broken solvers
// ------------------------------------------------------------

enum class Flaw { none, kinks, tpu_zero, consistency, rday_bound, flat_curve };

struct NaiveSolution {
  C3Leaf leaf;
  double promised = infinity;  ///< what the face's sums say
};

/// Every face of every cell, without bounds, order or short cuts; with one flaw.
NaiveSolution solve_naively(const C3Problem& p, Flaw flaw) {
  const CellList cells(p);
  NaiveSolution out;
  for (std::size_t i = 0; i < cells.size(); ++i) {
    const Cell cell = cells.cell(i);
    solve_faces(p, cell, cells.assignment(i), cells.common(), false,
                [&](const FaceSolution& s, const Pins& pins, bool at_zero) {
                  const bool zero =
                      (pins.tau && pins.tau_at <= 0) || (pins.sigma && pins.sigma_at <= 0);
                  if (flaw == Flaw::kinks && pins.count() > 0) return;
                  if (flaw == Flaw::tpu_zero && zero) return;
                  if (flaw == Flaw::rday_bound && at_zero) return;
                  if (flaw != Flaw::consistency && !in_closed_cell(s, cell)) return;
                  if (s.ssr < out.promised) out = {leaf_of(s, cell, p), s.ssr};
                });
  }
  const Flat flat = flat_curve(p, cells.common());
  if (flaw != Flaw::flat_curve && flat.ssr < out.promised) out = {flat_leaf(p, flat), flat.ssr};
  return out;
}

struct Caught {
  std::size_t seen = 0, beaten = 0, unreachable = 0;
};

Caught attack(Flaw flaw, const LimitationSet& set, RdayMode mode) {
  Caught out;
  for_hard_curves(set, mode, curves(150, 40), [&](const Case& x) {
    // A sum from differences of sums may be off where columns nearly coincide; not what is tested.
    if (!solve_exact(x.problem).certified) return;
    const NaiveSolution s = solve_naively(x.problem, flaw);
    ++out.seen;
    if (!(s.promised < infinity)) {
      ++out.beaten;
      return;
    }
    const auto peers = stress::ask_peers(x.curve, set, x.mode, s.leaf, -1);
    if (!(peers.gap() <= 1e-9)) ++out.beaten;
    const double reached = sum_of_squares(x.problem, s.leaf);
    if (!(std::abs(reached - s.promised) <= 1e-9 * x.problem.scale)) ++out.unreachable;
  });
  return out;
}

TEST(BrokenSolver, WithoutAFlawTheNaiveSearchPasses) {
  for (const LimitationSet& set : {cj, cp, cjp}) {
    const Caught caught = attack(Flaw::none, set, RdayMode::free);
    EXPECT_GT(caught.seen, 30U);
    EXPECT_EQ(caught.beaten, 0U);
    EXPECT_EQ(caught.unreachable, 0U);
  }
}

TEST(BrokenSolver, LeavingKinksOutIsCaught) {
  EXPECT_GT(attack(Flaw::kinks, cj, RdayMode::free).beaten, 3U);
  EXPECT_GT(attack(Flaw::kinks, cjp, RdayMode::fixed).beaten, 3U);
}

TEST(BrokenSolver, LeavingTheFaceOfNoTpuOutIsCaught) {
  EXPECT_GT(attack(Flaw::tpu_zero, cp, RdayMode::free).beaten, 0U);
  EXPECT_GT(attack(Flaw::tpu_zero, jp, RdayMode::fixed).beaten, 0U);
}

TEST(BrokenSolver, LeavingTheConsistencyCheckOutPromisesSumsThatCannotBeReached) {
  const Caught caught = attack(Flaw::consistency, cjp, RdayMode::free);
  // On most curves the promised sum is then not that of the parameters.
  EXPECT_GT(2 * caught.unreachable, caught.seen);
}

TEST(BrokenSolver, ForgettingTheBoundOfRdayIsCaught) {
  EXPECT_GT(attack(Flaw::rday_bound, cjp, RdayMode::free).beaten, 3U);
}

TEST(BrokenSolver, ForgettingTheFlatCurveIsCaught) {
  EXPECT_GT(attack(Flaw::flat_curve, cjp, RdayMode::free).beaten, 0U);
}

// --- Rules ---------------------------------------------------------------------------------------

std::vector<Observation> on_model(const C3Leaf& leaf, const std::vector<double>& ci) {
  std::vector<Observation> out;
  for (const double x : ci) {
    Observation o;
    o.Ci = x;
    o.kinetics.gamma_star = 42.75;
    o.kinetics.Km = 710.3;
    o.A = stress::net_rate(leaf, x, 42.75, 710.3, {}, 0);
    out.push_back(o);
  }
  return out;
}

TEST(ExactSolver, FindsTheTruthWithoutNoise) {
  const C3Leaf truth{60, 100, 6.5, 1.2};
  const auto p = make_problem(on_model(truth, {60, 110, 170, 240, 330, 450, 600, 800, 1100, 1500}),
                              cjp, RdayMode::free, 0);
  ASSERT_TRUE(p);
  const ExactSolution s = solve_exact(*p);
  EXPECT_TRUE(s.certified);
  EXPECT_NEAR(s.leaf.Vcmax, truth.Vcmax, 1e-8);
  EXPECT_NEAR(s.leaf.J, truth.J, 1e-8);
  EXPECT_NEAR(s.leaf.TPU, truth.TPU, 1e-8);
  EXPECT_NEAR(s.leaf.Rday, truth.Rday, 1e-8);
}

TEST(ExactSolver, ALastPointThatEitherStateFitsIsCalledRubp) {
  // The last row alone lies below the Rubisco curve: RuBP and TPU fit it equally well.
  C3Leaf truth{60, infinity, infinity, 1};
  auto rows = on_model(truth, {60, 110, 170, 240, 330, 450, 600});
  rows.back().A -= 3;
  const auto p = make_problem(rows, cjp, RdayMode::free, 0);
  ASSERT_TRUE(p);
  const ExactSolution s = solve_exact(*p);
  EXPECT_EQ(s.counts.first_rubp, 6U);
  EXPECT_EQ(s.counts.first_tpu, 7U);
  EXPECT_EQ(s.leaf.TPU, infinity);
  EXPECT_TRUE(std::isfinite(s.leaf.J));
}

TEST(ExactSolver, NothingButRubiscoLeavesTheOthersWithoutRows) {
  const auto p = make_problem(on_model({60, infinity, infinity, 1}, {60, 110, 170, 240, 330, 450}),
                              cjp, RdayMode::free, 0);
  ASSERT_TRUE(p);
  const ExactSolution s = solve_exact(*p);
  EXPECT_NEAR(s.leaf.Vcmax, 60, 1e-8);
  EXPECT_EQ(s.leaf.J, infinity);
  EXPECT_EQ(s.leaf.TPU, infinity);
  EXPECT_EQ(s.pins.count(), 0);
}

TEST(ExactSolver, ACurveOfRespirationAloneIsFlat) {
  auto rows = on_model({60, infinity, infinity, 0}, {60, 110, 170, 240, 330, 450});
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i].A = -2 - 0.1 * static_cast<double>(i);
  const auto p = make_problem(rows, cjp, RdayMode::free, 0);
  ASSERT_TRUE(p);
  const ExactSolution s = solve_exact(*p);
  EXPECT_TRUE(s.flat);
  EXPECT_NEAR(s.leaf.Rday, 2.25, 1e-12);
}

TEST(ExactSolver, WithRdayHeldTheScaleIsThatOfGrossRates) {
  // A = 0 within 1e-7 under Rday = 3: sums of squares can only be judged against A + Rday.
  auto rows = on_model({0, infinity, 0, 0}, {43, 331, 488, 717, 1300, 1989});
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i].A = i % 2 == 0 ? 1e-7 : -1e-7;
  const auto p = make_problem(rows, cp, RdayMode::fixed, 3);
  ASSERT_TRUE(p);
  EXPECT_NEAR(p->scale, 54, 1e-4);
  EXPECT_TRUE(solve_exact(*p).certified);
}

// --- The runner-up -------------------------------------------------------------------------------

TEST(NextMinimum, NoSmallChangeFitsBetter) {
  std::size_t found = 0;
  for (const RdayMode mode : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
    for_hard_curves(cjp, mode, curves(300, 40), [&](const Case& x) {
      const CellList cells(x.problem);
      const ExactSolution best = solve_exact(cells);
      const auto next = next_minimum(cells, best);
      if (!next || !best.certified) return;
      // Where r hardly rises with Ci, kinks lie within rounding of each other.
      const double limit = x.curve.electrons.oxygenation / x.curve.electrons.carboxylation;
      if (x.curve.Km < 1.01 * limit * x.curve.G) return;
      EXPECT_GE(next->ssr, best.ssr);
      EXPECT_EQ(next->ssr, sum_of_squares(x.problem, next->leaf));
      if (next->leaf.Rday > 1e3) return;
      ++found;
      RandomStream draw(3, "perturb", "next-minimum");
      for (int k = 0; k < 200; ++k) {
        const double size = k % 2 == 0 ? 1e-9 : 1e-10;  // below the distance of near ties
        const auto moved = [&](double v) { return v * (1 + size * draw.normal()); };
        C3Leaf leaf{moved(next->leaf.Vcmax), moved(next->leaf.J), moved(next->leaf.TPU),
                    next->leaf.Rday};
        if (mode == RdayMode::free) leaf.Rday = std::max(0.0, leaf.Rday + size * draw.normal());
        if (vcmax_matters(x.problem)) leaf.Rday = x.mode.value * leaf.Vcmax;
        const double change = sum_of_squares(x.problem, leaf) - next->ssr;
        EXPECT_GE(change, -1e-12 * x.problem.scale);
      }
    });
  }
  EXPECT_GT(found, 10U);
}

}  // namespace
}  // namespace leafwright
