// Do two methods agree on the same leaves? On three levels: parameters, points, curves.
//
// Ratios (positive parameters) are compared on logs, Rday and A as differences, always first minus
// second. The plant is the unit where plants are known, else the leaf. A verdict of equivalence
// needs a margin stated beforehand; without one there is none. Values in, values out: nothing here
// reads a file or knows a fit.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "stats/band.hpp"
#include "stats/equivalence.hpp"
#include "stats/local_curve.hpp"
#include "stats/paired.hpp"

namespace leafwright {

/// A parameter of one curve. A value that the data do not identify is empty, with its reason.
struct MeasuredParameter {
  std::string symbol;
  std::string unit;
  std::optional<double> value, se;
  std::string why_not;  ///< "lower bound: above 7.9", ...; "" where there is a value
};

/// One leaf by one method.
struct MethodCurve {
  std::string curve_id;
  std::vector<RowPoint> points;   ///< used rows; empty where only parameters are known
  std::vector<std::size_t> rows;  ///< of the curve, one a point
  std::vector<MeasuredParameter> parameters;
  std::optional<double> noise_sd;  ///< of one row's A about the fit, umol m-2 s-1
  std::optional<double> Tleaf;     ///< degC
  std::optional<double> order;     ///< smaller was measured first
  std::string failed;              ///< why there are no parameters; "" if there are
};

/// One leaf by both methods. `reference[k]` are model values subtracted from each method's A before
/// a straight line is drawn between rows (the same model for both, so that it cancels): what stands
/// between two rows far apart is then bent as the model is. Empty: plain straight lines.
struct LeafPair {
  std::string leaf, plant;
  std::array<MethodCurve, 2> curve;
  std::array<std::vector<double>, 2> reference;
  std::string excluded;  ///< reason given by the user; "" takes part
};

struct AgreementInput {
  std::array<std::string, 2> methods;
  std::vector<LeafPair> pairs;
  bool plants_known = false;
  bool order_known = false;
};

struct AgreementRules {
  std::optional<double> margin;                      ///< 0.1 for 10 %: ratios in 1/1.1 ... 1.1
  std::optional<double> margin_rday, margin_A;       ///< umol m-2 s-1
  std::vector<std::string> family = {"Vcmax", "J"};  ///< Holm runs over these
  double level = 0.95;
  double pair_within = 10;  ///< umol mol-1
  double grid = 25;         ///< umol mol-1 between places of the curve level
  LocalRule local;
  std::size_t resamples = 2000;
  std::uint64_t seed = 1;
  bool honour_exclusions = true;
};

/// A leaf's place in a comparison, or why it has none.
struct LeafValue {
  std::size_t pair = 0;  ///< index into AgreementInput::pairs
  std::optional<double> first, second;
  std::optional<double> difference;  ///< log(first/second), or first - second
  std::optional<double> se;          ///< of the difference, from the fits
  std::string why_not;
};

/// What a stated margin gave.
struct Equivalence {
  double margin = 0;  ///< on the scale of the differences
  double p_equivalent = 1, p_beyond = 1;
  std::optional<double> p_equivalent_holm, p_beyond_holm;  ///< within the family
  Verdict verdict = Verdict::not_shown;
  double power = 0;                   ///< of TOST with this n and SD, if the methods agree
  std::optional<std::size_t> needed;  ///< pairs for a power of 0.8
};

/// Which method came first, and whether it mattered.
struct OrderEffect {
  std::size_t first_first = 0, second_first = 0;  ///< units
  std::optional<WelchTest> test;  ///< differences where the first method came first, minus others
  std::string text;               ///< in words, also why there is no test
};

struct Comparison {
  std::string symbol, unit;
  bool on_logs = true;
  std::vector<LeafValue> leaves;
  std::optional<PairedSummary> summary;  ///< empty without a leaf
  std::optional<FitNoise> noise;
  std::optional<SignedRank> signed_rank;
  std::optional<double> p_holm;  ///< of the t test, within the family
  bool in_family = false;
  std::optional<Equivalence> equivalence;
  std::optional<OrderEffect> order;
  std::string verdict;  ///< for people, never empty
  Notes notes;
};

/// One row of the first method with the nearest of the second.
struct PointPair {
  std::size_t pair = 0;
  std::size_t row_first = 0, row_second = 0;  ///< rows of the curves
  double Ci_first = 0, Ci_second = 0;
  double difference = 0;  ///< A first - A second
};

/// A leaf's difference of A along Ci with the band that its rows' noise gives.
struct LeafDifference {
  std::size_t pair = 0;
  std::vector<double> Ci, difference, low, high;  ///< low, high empty where noise is unknown
  double critical = 0;
  std::string why_not;
};

struct CurveLevel {
  std::vector<LeafDifference> leaves;
  std::vector<double> Ci;  ///< common to all leaves
  std::vector<double> mean;
  std::optional<MeanBand> band;
  std::size_t units = 0;             ///< plants or leaves behind the mean
  std::vector<double> zero_outside;  ///< Ci where the band leaves 0 out
  std::string verdict;
  Notes notes;
};

struct AgreementResult {
  std::vector<Comparison> parameters;
  std::optional<Comparison> points;  ///< differences of A; leaf values are means over its pairs
  std::vector<PointPair> point_pairs;
  double mean_Ci_gap = 0;  ///< mean |Ci first - Ci second| of the pairs
  CurveLevel curves;
  Notes notes;
};

/// Errors: usage, for a margin or rule out of range; unfit, where no leaf has both methods.
Result<AgreementResult> analyse_agreement(const AgreementInput& input, const AgreementRules& rules);

/// "+3.2 %" of a log ratio, "+0.31" of a difference: for people.
std::string shown_difference(double value, bool on_logs);

}  // namespace leafwright
