// One self-contained HTML page about a campaign: what was read, all curves at a glance, parameters
// with intervals, a panel and a budget per curve, flags, settings with their sources, methods text.
#pragma once

#include <string>

#include "base/error.hpp"
#include "report/fit_document.hpp"

namespace leafwright {

struct CampaignReportOptions {
  std::string title = "A-Ci curves";
};

/// The page as UTF-8 bytes. It needs no script and fetches nothing. Errors: those of the figures.
Result<std::string> campaign_report(const FitDocument& document,
                                    const CampaignReportOptions& options = {});

}  // namespace leafwright
