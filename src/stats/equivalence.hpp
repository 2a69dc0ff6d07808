// Are two methods equivalent? Two one-sided t tests against a margin stated beforehand, what they
// can and cannot show, and what it would take.
//
// TOST: equivalent at size alpha where both t = (mean + margin)/se and (margin - mean)/se exceed
// t(1 - alpha, df); the same as the 1 - 2 alpha interval of the mean inside +-margin (Schuirmann
// 1987, J. Pharmacokinet. Biopharm. 15:657). "Different beyond the margin": the mean lies beyond
// +margin or -margin by the same test. A difference that is not significant is never agreement.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <vector>

namespace leafwright {

enum class Verdict { equivalent, different, not_shown };
/// "equivalent within the stated margin", "different beyond the margin", "not shown either way".
const char* verdict_text(Verdict verdict);

struct EquivalenceTest {
  double margin = 0;  ///< > 0, on the scale of the mean
  double p_equivalent = 1;
  double p_beyond = 1;
};

/// A se of 0 is a degenerate sample: P is 0 or 1 as the mean says. df > 0, margin > 0.
EquivalenceTest test_equivalence(double mean, double se, double df, double margin);

/// From P values, after any adjustment for several parameters.
Verdict verdict_of(double p_equivalent, double p_beyond, double alpha = 0.05);

/// Holm 1979, Scand. J. Stat. 6:65: step-down adjusted P values, in the order given.
std::vector<double> holm(std::span<const double> p);

/// Chance that TOST shows equivalence with `n` independent pairs, where differences are normal with
/// this SD and mean `shift`; n >= 2, sd > 0, margin > 0. By integration over the distribution of
/// the sample SD; absolute error below 1e-9.
double tost_power(std::size_t n, double sd, double margin, double shift = 0, double alpha = 0.05);

/// The fewest pairs with at least that power for methods that agree exactly; empty beyond `most`.
std::optional<std::size_t> pairs_needed(double sd, double margin, double power = 0.8,
                                        double alpha = 0.05, std::size_t most = 10000);

/// Fewest pairs with which a signed-rank test can reach two-sided P <= 0.05 (2/2^6 = 0.031).
inline constexpr std::size_t signed_rank_minimum = 6;

struct SignedRank {
  std::size_t n = 0;      ///< differences other than 0
  std::size_t zeros = 0;  ///< dropped (Wilcoxon 1945)
  double w = 0;           ///< sum of the ranks of positive differences
  double p = 1;           ///< two-sided, exact: over all 2^n signs, given the ranks (ties included)
};

/// Wilcoxon's signed-rank test by exact enumeration (Wilcoxon 1945, Biometrics Bull. 1:80). Empty
/// with fewer than signed_rank_minimum differences other than 0, or more than 400.
std::optional<SignedRank> signed_rank(std::span<const double> differences);

/// Two groups of independent values, unequal variances allowed (Welch 1947, Biometrika 34:28).
struct WelchTest {
  double difference = 0;  ///< mean(a) - mean(b)
  double se = 0, df = 0, p = 1;
  double low = 0, high = 0;
};

/// Empty with fewer than two values in a group, or no scatter in both.
std::optional<WelchTest> welch_test(std::span<const double> a, std::span<const double> b,
                                    double level = 0.95);

}  // namespace leafwright
