// What the reports of `leafwright agree` show: the comparison, how it was made, and what it is with
// nothing left out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "report/fit_document.hpp"
#include "stats/agreement.hpp"

namespace leafwright {

/// The comparison with nothing left out.
struct AgreementAgain {
  AgreementInput input;
  AgreementResult result;
  bool rows = false;    ///< rows marked as unused are in
  bool leaves = false;  ///< excluded leaves are in
};

struct AgreeDocument {
  AgreementInput input;
  AgreementRules rules;
  AgreementResult result;
  std::optional<AgreementAgain> without_exclusions;  ///< where anything was left out
  std::vector<const Settings*> settings;             ///< must outlive the document
  std::vector<InputFile> inputs;
  std::vector<std::string> not_compared;
  /// Rows that the fits behind the comparison leave out and that are not let in again either.
  std::vector<std::string> rows_out;
  std::vector<std::string> problems;
  Notes notes;
};

/// For a terminal.
std::string agree_text(const AgreeDocument& document);

/// {"leafwright", "schema": 1, "command": "agree", ...}: docs/formats/agree.md.
std::string agree_json(const AgreeDocument& document);

/// One row a leaf and parameter (RFC 4180, LF): docs/formats/agree.md.
std::string agree_csv(const AgreeDocument& document);
/// The FILE.meta.json beside it.
std::string agree_meta_json(const AgreeDocument& document);

}  // namespace leafwright
