// The files of an `agree` call -> pairs of curves, one leaf a pair.
//
// Files are tables of points (fitted here), or what `leafwright fit` wrote (JSON with rows, CSV
// with parameters only); both are recognised by what they hold.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "cli/command.hpp"
#include "cli/console.hpp"
#include "report/fit_document.hpp"
#include "stats/agreement.hpp"

namespace leafwright::cli {

struct AgreeInputs {
  AgreementInput input;
  /// The same with rows that the file marks as unused let in again; empty where there are none.
  std::optional<AgreementInput> unmarked;
  std::vector<InputFile> files;
  std::vector<std::string> not_compared;  ///< "leaf 'x': no curve by steady"
  std::vector<std::string> rows_out;
  std::vector<std::string> problems;
  Notes notes;
};

/// Groups of `call.settings`, in this order.
enum AgreeGroup : std::size_t { of_agree, of_leaves, of_points, of_layout, of_fit, of_figures };

/// Reads, labels, fits and pairs. Errors: usage, unreadable; refused, where no leaf has both
/// methods (all are named).
Result<AgreeInputs> read_agree_inputs(const Call& call, Console& console);

}  // namespace leafwright::cli
