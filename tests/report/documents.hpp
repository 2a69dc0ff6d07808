// A small campaign written down by hand: a typical curve, one without TPU, one whose J is not
// identified, one that failed and one of which no row could be read.
#pragma once

#include "figure/fixtures.hpp"
#include "fit/fit.hpp"
#include "report/fit_document.hpp"

namespace leafwright::fixtures {

class Documents {
 public:
  Documents() : settings_(fit_settings()) {
    for (Sample sample : {typical(), without_tpu(), j_not_identified()}) add(sample);
    Curve failed;
    failed.curve_id = "a, \"b\"";
    failed.rows.push_back(row_at(0, 300, 12));
    curves_.push_back(failed);
    campaign_.failed.push_back({failed.curve_id, "only 1 distinct Ci; 4 are needed"});
    campaign_.fits.front().budget = {{"Tleaf", "+1 K", -5.2, -2.1, 0.4, 0.03}};
    campaign_.fits.front().runner_up = Alternative{
        "next local minimum", campaign_.fits.front().permitted, {58, 118, infinity, 1}, 4.5};
    document_.curves = curves_;
    document_.campaign = &campaign_;
    document_.settings = {&settings_};
    document_.inputs = {{"leaf.csv", 1234, "00ff"}};
    document_.unread_curves = {{"leaf.csv", "leaf 9", "no row could be read"}};
    document_.notes = {{NoteLevel::info, "assumed-unit", "Ci in umol mol-1"}};
  }

  CampaignFit& campaign() { return campaign_; }
  FitDocument& document() { return document_; }

 private:
  void add(const Sample& sample) {
    curves_.push_back(sample.curve);
    campaign_.fits.push_back(sample.fit);
  }

  Settings settings_;
  std::vector<Curve> curves_;
  CampaignFit campaign_;
  FitDocument document_;
};

}  // namespace leafwright::fixtures
