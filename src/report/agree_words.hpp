// What the reports of a comparison share: its tables as cells and its findings as sentences, for a
// terminal and for a page alike.
#pragma once

#include <string>
#include <vector>

#include "report/agree_report.hpp"

namespace leafwright {

/// Cells of a table; `numeric` columns are set flush right.
struct AgreeTable {
  std::vector<std::string> heads;
  std::vector<bool> numeric;
  std::vector<std::vector<std::string>> rows;
};

/// "ramp against steps on 4 leaves of 4 plants; ratios are ramp/steps, differences ramp - steps"
std::string agree_heading(const AgreeDocument& document);

/// Which margins were stated beforehand, or that none was and what follows.
std::string agree_margins(const AgreementRules& rules);

/// The parameters whose P values are adjusted together: "Vcmax25, J25"; "" where none are.
std::string agree_family(const AgreementResult& result);

/// A row a parameter: leaves, plants, mean, interval, P, limits of agreement. In umol m-2 s-1 or %.
AgreeTable agree_summary(const std::vector<Comparison>& parameters, bool plants_known,
                         double level);

/// A row a leaf: every parameter by both methods, and ratio or difference. With `whole_heads` each
/// head stands for itself ("J ramp", "J steps", "J ratio").
AgreeTable agree_leaves(const AgreeDocument& document, bool whole_heads);

/// At most twelve places of the mean difference of A along Ci, with its band.
AgreeTable agree_places(const CurveLevel& curves);

/// Tests, order and notes of one parameter, a sentence each; its verdict is not among them.
std::vector<std::string> comparison_details(const Comparison& comparison);
/// What is missing where the order of methods was not given; "" where it was.
std::string order_missing(const AgreementInput& input);
/// Findings at the level of points, and of curves: a sentence each.
std::vector<std::string> points_findings(const AgreeDocument& document);
std::vector<std::string> curves_findings(const AgreeDocument& document);

/// What was let in again for the comparison with nothing left out: "excluded leaves", ...
std::string again_what(const AgreementAgain& again);

}  // namespace leafwright
