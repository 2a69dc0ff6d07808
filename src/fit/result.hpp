// What one fitted A-Ci curve tells, and what it does not.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "base/note.hpp"
#include "fit/hyperbola.hpp"
#include "fit/stomata_result.hpp"
#include "leaf/c3.hpp"
#include "leaf/c4_kinetics.hpp"
#include "leaf/kinetics.hpp"

namespace leafwright {

/// What the data say about a parameter.
enum class Status { estimated, fixed, lower_bound, upper_bound, not_identified };
const char* status_name(Status status);  ///< "estimated", "fixed", "lower bound", ...

/// A parameter with its interval. An empty `low` or `high` is open: the data do not bound it there.
struct Estimate {
  std::string symbol;  ///< Vcmax, J, TPU, Rday
  std::string unit = "umol m-2 s-1";
  Status status = Status::not_identified;
  std::optional<double> value;  ///< empty where no used point is limited by it
  std::optional<double> se;
  std::optional<double> low, high;                  ///< independent noise
  std::optional<double> low_widened, high_widened;  ///< correlated residuals
};

/// A value moved to 25 degC with a named response.
struct At25 {
  std::string symbol;  ///< Vcmax25, ...
  std::optional<double> value, low, high;
};

/// What is said to set the plateau of a C4 curve. One curve at one light cannot tell (Vcmax, Vpr
/// and J give the same curve), so it is unnamed unless the user names it.
enum class C4Plateau { unnamed, vcmax, vpr, j };
const char* c4_plateau_name(C4Plateau plateau);  ///< "unnamed", "vcmax", "vpr", "j"

/// What limits a row of a C4 curve: CO2 for PEP carboxylase (initial slope), or the plateau.
enum class C4State { pep, plateau };
const char* c4_state_name(C4State state);  ///< "pep", "plateau"

/// The fitted C4 curve (fitted.hpp computes rates from it).
struct C4Fitted {
  C4Plateau plateau = C4Plateau::unnamed;
  C4Kinetics kinetics;  ///< partial pressures at Tleaf and Patm
  double bar = 1;       ///< Patm in bar: Cm in ubar is Ci times this
  double Vpmax = 0;     ///< umol m-2 s-1; infinity: limits no row
  double top = 0;       ///< plateau (gross), Vcmax, Vpr or J; infinity: limits no row
  double Rday = 0;
  std::optional<double> transition;  ///< Ci at which the plateau begins, umol mol-1
};

/// How Rday was made from respiration in the dark.
struct DarkRespiration {
  double dark = 0;                    ///< umol m-2 s-1, as measured, positive
  double inhibition = 0;              ///< share that light stops, 0..1
  std::optional<double> temperature;  ///< degC, of that measurement; empty: taken as Tleaf
  double factor = 1;                  ///< from there to Tleaf
  std::string response;               ///< "" where it was not moved
};

/// How Jmax was made from J (jmax.hpp).
struct JmaxOrigin {
  double absorptance = 0, loss = 0, curvature = 0;
  std::optional<double> ppfd;       ///< umol m-2 s-1, mean of Qin over the rows J rests on
  double ppfd_spread = 0;           ///< (highest - lowest)/mean of Qin over all used rows
  std::optional<double> I2;         ///< umol m-2 s-1
  std::optional<double> J_to_Jmax;  ///< share of Jmax that the light drives; empty: no Jmax
};

/// Huber's loss, as it ended (huber.hpp).
struct HuberOutcome {
  double k = 0;            ///< residuals beyond k scales count less
  double scale = 0;        ///< umol m-2 s-1, of a row of weight 1; Huber's Proposal 2
  double correction = 1;   ///< K of the intervals: 1 + (p/n)(1 - m)/m
  std::size_t down = 0;    ///< rows with weight below 1
  double least = 1;        ///< the lowest weight
  std::size_t starts = 0;  ///< from which the loss was searched
  bool converged = true;
};

/// Rows that do not count alike, and why.
struct Weighting {
  std::string sd_column;  ///< empty: alike but for Huber's weights
  /// sqrt(sum (e/sd)^2 / df): how many sd the residuals are; 1 if the sd are true and absolute.
  std::optional<double> residual_to_sd;
  std::optional<HuberOutcome> huber;
};

/// One used row, as fitted. `row` is the zero-based row of the curve.
struct FittedRow {
  std::size_t row = 0;
  double Ci = 0;
  double A = 0;
  double A_model = 0;
  double residual = 0;  ///< A - A_model
  Limitation state = Limitation::rubisco;
  std::optional<C4State> c4;  ///< of a C4 row, instead of `state`
  double weight = 1;          ///< in the sum of squares; the mean is 1 before Huber's weights
  double huber = 1;           ///< Huber's part of it, 0..1
  std::optional<double> sd;   ///< of A, as given
};

/// A solution other than the best: the next local minimum, or the other limitation set.
struct Alternative {
  std::string what;  ///< for people: "next local minimum", "with TPU permitted", ...
  std::vector<Limitation> permitted;
  C3Leaf leaf;  ///< infinity where the limitation is not permitted or limits no point
  double ssr = 0;
};

/// How far one parameter moves when something outside the noise moves by a stated step.
struct BudgetLine {
  std::string cause;                           ///< "Tleaf", "area", ...
  std::string step;                            ///< "+1 K", "+1 %", ...
  std::optional<double> Vcmax, J, TPU;         ///< relative change, %
  std::optional<double> Rday;                  ///< change, umol m-2 s-1
  std::optional<double> Vpmax = {}, top = {};  ///< relative change, %, of a C4 curve
};

struct Transition {
  Limitation from, to;
  double Ci = 0;  ///< umol mol-1
};

/// Are the residuals what independent noise would leave?
struct ResidualChecks {
  std::optional<double> lag1;           ///< lag-1 correlation in order of Ci
  std::optional<double> lag1_expected;  ///< what independent noise would give for this design
  std::optional<double> runs_p;         ///< two-sided runs test
  std::optional<double> largest;        ///< largest |standardised residual|
  std::optional<double> outlier_p;      ///< is that row off the others' curve? (over all rows)
};

struct CurveFit {
  std::string curve_id;
  std::string pathway = "C3";
  std::size_t points = 0;         ///< used rows
  std::vector<std::size_t> used;  ///< zero-based rows of the curve
  double Tleaf = 0;               ///< degC, mean of used rows
  double Patm = 0;                ///< kPa, mean of used rows
  std::string kinetics_set;
  Kinetics kinetics;  ///< at Tleaf and Patm
  Electrons electrons;
  double alpha = 0;
  std::vector<Limitation> permitted;  ///< the limitation set of this fit
  /// C3. With finite gm the first two are called Vcmax_gm and J_gm: the plain names are for
  /// infinite gm.
  Estimate Vcmax, J, TPU, Rday;
  /// gm where it was fitted or given, Jmax (Jmax_gm) where it was asked for; of a C4 curve all of
  /// Vpmax, the plateau, Rday and the initial slope (estimates_of in fitted.hpp lists what a fit
  /// has).
  std::vector<Estimate> more;
  std::optional<double> gm;     ///< mol m-2 s-1, used in the model; empty: infinite
  std::optional<double> theta;  ///< of the smooth minimum; empty: sharp
  std::optional<C4Fitted> c4;
  std::optional<DarkRespiration> dark;  ///< where Rday comes from a dark measurement
  std::optional<JmaxOrigin> light;      ///< where Jmax was asked for
  std::optional<Weighting> weighting;   ///< empty: squared loss, equal weights
  std::string interval_kind;            ///< such as "95 % profile"; empty: no intervals
  Basis basis = Basis::partial_pressure;
  bool kinetics_per_row = false;
  std::string response_set;  ///< empty: no values at 25 degC
  std::vector<At25> at25;
  double ssr = 0;   ///< (umol m-2 s-1)^2; weighted where rows have weights
  double rmse = 0;  ///< sqrt(ssr/df), df = points - permitted parameters
  std::size_t df = 0;
  std::vector<Limitation> limited_by;
  std::vector<Transition> transitions;
  bool certified = false;
  std::string certificate;  ///< what the certificate says and its conditions
  std::optional<Alternative> runner_up;
  std::optional<Alternative> other_set;  ///< the fit that the F test did not choose
  std::optional<double> f_test_p;        ///< of TPU entering; empty where not tested
  std::vector<FittedRow> rows;           ///< in order of rising Ci
  ResidualChecks residuals;
  std::optional<EmpiricalFit> empirical;       ///< where --empirical asked for one
  std::optional<double> residual_correlation;  ///< rho used for the widened intervals
  std::vector<BudgetLine> budget;
  std::optional<GswDrift> gsw_drift;        ///< where three or more used rows have gsw
  std::optional<OperatingPoint> operating;  ///< where a CO2 outside the leaf was stated
  Notes notes;

  /// The best parameters as a leaf: infinity where a limitation does not limit any used point.
  C3Leaf leaf;
};

/// A curve that could not be fitted.
struct FailedCurve {
  std::string curve_id;
  std::string why;
};

}  // namespace leafwright
