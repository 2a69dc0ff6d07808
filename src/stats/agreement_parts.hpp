// The three levels of a comparison, each on its own; analyse_agreement puts them together.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "stats/agreement.hpp"

namespace leafwright {

/// A number of the plant (or of the leaf, where plants are not known) of every pair.
std::vector<std::size_t> units_of(const AgreementInput& input);

/// "plant" or "leaf"; "plants" or "leaves".
const char* unit_name(const AgreementInput& input, bool many);

/// Does this pair take part?
bool takes_part(const LeafPair& pair, const AgreementRules& rules);

/// Every parameter that some curve has, before Holm and verdicts.
std::vector<Comparison> compare_parameters(const AgreementInput& input,
                                           const AgreementRules& rules);

/// Holm within the family, tests against the margins, verdicts.
void judge_parameters(std::vector<Comparison>& parameters, const AgreementInput& input,
                      const AgreementRules& rules);

/// Tests one comparison against a margin (on the scale of its differences), without Holm.
Equivalence judge(const PairedSummary& summary, double margin);

/// The verdict in words.
std::string verdict_words(const Comparison& comparison, const AgreementInput& input);

/// Rows at nearest Ci and the comparison of A over them.
void compare_points(const AgreementInput& input, const AgreementRules& rules,
                    AgreementResult& result);

CurveLevel compare_curves(const AgreementInput& input, const AgreementRules& rules);

}  // namespace leafwright
