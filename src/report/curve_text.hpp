// One fitted curve in full, for a terminal, and the words that the table of many shares with it.
#pragma once

#include <string>
#include <string_view>

#include "report/fit_document.hpp"

namespace leafwright {

/// Decimals that suit an estimate: TPU and Rday are an order of magnitude smaller than Vcmax and J,
/// conductances and slopes smaller still.
int estimate_decimals(const Estimate& estimate);

/// `decimals` behind the point; very large values with four digits and an exponent.
std::string fixed_text(double value, int decimals);

/// "C3, kinetics bernacchi-2001, ..." : what was fitted how, in one paragraph.
std::string method_text(const FitDocument& document);

/// What the intervals shown are: "Intervals: 95 % profile, for residuals with correlation 0.6".
std::string interval_kind(const FitDocument& document);

/// What the intervals of the curves are, each kind once: "95 % profile or 95 % of ramp errors"; ""
/// where there are none.
std::string interval_kinds(const CampaignFit& campaign);

/// ", weights 1/sd^2 (column sdA), Huber's loss with k 1.345": what applies of it; "" without
/// either.
std::string weighting_words(const CurveFit& fit);

/// Rows by state: "Rubisco 6, RuBP 7".
std::string states_text(const CurveFit& fit);

/// Whether gm is also given at 25 degC.
bool has_gm25(const CurveFit& fit);

/// The value at 25 degC of `symbol` ("Vcmax25"), "" where there is none.
std::string at25_text(const CurveFit& fit, std::string_view symbol);

/// Estimates, states, certificate, alternatives, residuals and budget of one curve.
std::string curve_text(const Curve& curve, const CurveFit& fit);

}  // namespace leafwright
