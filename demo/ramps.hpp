// Fast CO2 ramps on four leaves of the campaign, a day after its step curves, and a record of the
// empty chamber: what the terrace's recorder writes in its second mode, a row a second. The
// simulator of src/plan makes them from the leaves' truth. Nothing in it was measured.
#pragma once

#include <cstdint>
#include <string>

#include "campaign.hpp"

namespace leafwright::demo {

/// The leaves: two of each species, two of each treatment. lt-a2-1 was ramped up and down.
struct RampDay {
  std::string empty;    ///< terrace-empty.txt: up and down with the chamber empty
  std::string ramps;    ///< terrace-ramps.txt: five ramps, told apart by the leaf mark
  std::string samples;  ///< rows for samples.csv
  std::string truth;    ///< rows for truth.csv, that of the empty chamber among them
};
RampDay make_ramp_day(const Campaign& campaign, std::uint64_t seed);

}  // namespace leafwright::demo
