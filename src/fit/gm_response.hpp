// A stated temperature response of mesophyll conductance. None is assumed: published responses of
// gm run from none to a doubling between 15 and 30 degC, by species (von Caemmerer & Evans 2015,
// Plant Cell Environ. 38:629; from memory).
#pragma once

#include <string>

#include "base/error.hpp"
#include "fit/fit.hpp"
#include "leaf/response.hpp"

namespace leafwright {

/// "arrhenius:HA" or "peaked:HA,HD,DS" (kJ mol-1, kJ mol-1, J mol-1 K-1; forms as in
/// leaf/response.hpp). Error: usage, for another text, Ha outside 0..200 kJ mol-1, or a peaked form
/// without 0 < Ha < Hd <= 1000 and dS from 100 to 2000 J mol-1 K-1.
Result<Response> parse_gm_response(const std::string& text);

/// The gm that a curve at `tleaf` degC is fitted with: options.gm, which under a response is that
/// at 25 degC. Empty where gm is not held.
std::optional<double> gm_held_at(const C3FitOptions& options, double tleaf);

/// Under a response: gm25 of a fitted gm among the values at 25 degC, and a note of what a held one
/// was at the curve's leaf temperature.
void add_gm_at25(CurveFit& out, const C3FitOptions& options);

}  // namespace leafwright
