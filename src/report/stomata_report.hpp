// What the outputs of `fit` and `run` say of the stomata: the operating point with its limitations,
// and how gsw changed during a curve.
#pragma once

#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "report/fit_document.hpp"
#include "report/json_writer.hpp"

namespace leafwright {

/// Does any fit have an operating point?
bool has_operating(const FitDocument& document);

/// "operating point at CO2 400: Ci 281.4, A 18.0, ..." of one curve, wrapped; "" without one.
std::string operating_words(const CurveFit& fit);

/// One row a curve, and what the columns are; "" where no curve has an operating point.
std::string operating_text(const FitDocument& document);
/// The same as a section of the report.
std::string operating_section(const FitDocument& document);

/// "operating": an object or null, into an open object.
void write_operating(JsonWriter& json, const CurveFit& fit);

/// A cell of the table of fits: its column's name, unit and meaning, and what it holds.
struct StomataCell {
  const char *name, *unit, *meaning;
  std::optional<double> number;
  std::optional<std::string> text;  ///< instead of a number
};
/// The cells of one fit, always the same columns; empty ones where it has no operating point.
std::vector<StomataCell> operating_cells(const CurveFit& fit);

/// "gsw steady over 0.9 h: ..." of one curve, wrapped; "" without.
std::string drift_words(const CurveFit& fit);
/// One row a curve, as a section of the report; "" where no curve has gsw.
std::string drift_section(const FitDocument& document);
/// "gsw_drift": an object or null, into an open object.
void write_gsw_drift(JsonWriter& json, const CurveFit& fit);
std::vector<StomataCell> drift_cells(const CurveFit& fit);
/// What was called steady, and that Ci follows gsw; "" where no curve has gsw.
std::string drift_methods(const FitDocument& document);

/// The paragraph for a paper; "" without operating points. What it cites goes into `references`.
std::string operating_methods(const FitDocument& document, std::set<std::string>& references);

}  // namespace leafwright
