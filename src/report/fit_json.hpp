// The JSON of `leafwright fit --json`, schema 1.
#pragma once

#include <string>

#include "report/fit_document.hpp"

namespace leafwright {

/// {"leafwright", "schema", "command": "fit", "inputs", "settings", "correlation", "curves": [...],
/// "failed": [{"curve_id", "file", "why"}], "unread": [{"file", "why"}], "problems": [...],
/// "notes": [...]}.
///
/// Keys come in a fixed order. Missing is null. Numbers read back as the same doubles, so `ssr` can
/// be recomputed from `estimates`, `kinetics` and `rows`.
std::string fit_json(const FitDocument& document);

/// FILE.meta.json beside a CSV: what it was made from and with, and the units of its columns.
std::string fit_meta_json(const FitDocument& document);

}  // namespace leafwright
