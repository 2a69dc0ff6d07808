// The methods paragraph of a paper, made from the settings that were really used, and the
// references that it cites.
#pragma once

#include <string>
#include <vector>

#include "report/fit_document.hpp"

namespace leafwright {

struct MethodsText {
  std::vector<std::string> paragraphs;
  std::vector<std::string> references;  ///< only what the paragraphs cite, alphabetical
};

/// Describes how the curves of the document were fitted. Numbers of curves and rows are those of
/// the document.
MethodsText methods_text(const FitDocument& document);

}  // namespace leafwright
