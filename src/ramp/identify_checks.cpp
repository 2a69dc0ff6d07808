#include "ramp/identify_checks.hpp"

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/record_programme.hpp"

namespace leafwright::identify_detail {

namespace {

// A leaf of 1 cm2 adds about this much water; two cells of one analyser seldom differ by as much
// (common practice, no source).
constexpr double leaf_water = 1.0;   // mmol mol-1: refused
constexpr double odd_water = 0.3;    // mmol mol-1: told
constexpr double odd_offset = 3.0;   // umol mol-1: told
constexpr double leaf_uptake = 4.0;  // umol mol-1: refused where it is shaped like A(C)

std::string place_of(const RampRecord& record, std::size_t at) {
  return "at " + print_rounded(record.time_s[at], 6) + " s (row " +
         std::to_string(record.rows.at(at) + 1) + ")";
}

std::optional<double> water_added(const RampRecord& record) {
  if (record.H2Or.empty() || record.H2Os.empty()) return std::nullopt;
  std::vector<double> differences;
  for (std::size_t i = 0; i < record.size(); ++i) {
    differences.push_back(record.H2Os[i] - record.H2Or[i]);
  }
  return median_of(differences);
}

Error leaf_error(const std::string& name, const std::string& sign) {
  return {ErrorCode::refused,
          {},
          name + ": " + sign,
          "an empty chamber",
          "record it again without a leaf, with walls dry; if it was empty, say so with "
          "--empty-check off"};
}

double offset_at(const GasPath& path, double CO2) {
  const double x = CO2 / 1000;
  return path.offset[0] + x * (path.offset[1] + x * path.offset[2]);
}

}  // namespace

Result<void> check_record(const RampRecord& record, const IdentifyOptions& options) {
  if (const auto step = flow_step(record, options.max_flow_step)) {
    return fail(ErrorCode::refused,
                record.name + ": the chamber flow steps from " + print_rounded(step->before, 5) +
                    " to " + print_rounded(step->after, 5) + " umol s-1 " +
                    place_of(record, step->at),
                "one flow in a record: the lag depends on it",
                "cut the record there; two records at two flows also show the null flow");
  }
  const auto water = water_added(record);
  if (options.refuse_leaf && water && *water > leaf_water) {
    return fail(leaf_error(record.name, "the air leaves the chamber with " +
                                            print_rounded(*water, 3) +
                                            " mmol mol-1 more water than it came with"));
  }
  const Programme programme = programme_of(record);
  if (programme.CO2_high - programme.CO2_low < 20 * noise_of(record.CO2r) + 1) {
    return fail(ErrorCode::unfit,
                record.name + ": CO2r stays between " + print_rounded(programme.CO2_low, 5) +
                    " and " + print_rounded(programme.CO2_high, 5) + " umol mol-1",
                "a ramp or steps of CO2", "a record of steady air shows the offset only");
  }
  return {};
}

void note_programmes(const std::vector<const RampRecord*>& records, GasPath& path) {
  for (const RampRecord* record : records) {
    if (programme_of(*record).turns) {
      path.notes.push_back({NoteLevel::info, "turns",
                            record->name + ": CO2 turns round within the record; both directions "
                                           "are fitted together"});
    }
    const auto water = water_added(*record);
    if (water && std::abs(*water) > odd_water) {
      path.notes.push_back(
          {NoteLevel::caution, "water-differs",
           record->name + ": the sample stream has " + print_rounded(*water, 3) +
               " mmol mol-1 more water than the reference, in an empty chamber. It is taken as "
               "real and its dilution of CO2 counted; two water cells that were not equalised look "
               "the same"});
    }
    if (!median_of(record->flow)) {
      path.notes.push_back({NoteLevel::warning, "no-flow",
                            record->name + " has no chamber flow: the path holds for the flow it "
                                           "was recorded at, whatever that was"});
    }
  }
}

void note_misfit(double misfit, GasPath& path) {
  if (misfit <= 2) return;
  path.notes.push_back(
      {NoteLevel::caution, "misfit",
       "the residuals wander " + print_rounded(std::sqrt(misfit), 2) +
           " times more than noise and drift explain: one dead time and one mixing volume do not "
           "describe this record; standard errors are widened by that factor"});
}

Result<void> check_path(const std::vector<const RampRecord*>& records,
                        const IdentifyOptions& options, GasPath& path) {
  const PathConditions& c = path.conditions;
  const double middle = (c.CO2_low + c.CO2_high) / 2;
  const double low = offset_at(path, c.CO2_low), half = offset_at(path, middle);
  const double high = offset_at(path, c.CO2_high);
  const double largest = std::max({std::abs(low), std::abs(half), std::abs(high)});
  const bool falls = low - high > leaf_uptake;
  const bool saturates = low - half > 2 * std::max(half - high, 0.0);
  const auto water = water_added(*records.front());
  const bool moist = water && *water > odd_water;
  if (path.lag_s && falls && (saturates || moist)) {
    const std::string sign =
        "S - R falls from " + print_rounded(low, 3) + " to " + print_rounded(half, 3) + " and " +
        print_rounded(high, 3) + " umol mol-1 between " + print_rounded(c.CO2_low, 4) + ", " +
        print_rounded(middle, 4) + " and " + print_rounded(c.CO2_high, 4) +
        (saturates ? ", as uptake by a leaf does" : ", with water added, as a leaf does");
    if (options.refuse_leaf) return fail(leaf_error(records.front()->name, sign));
    path.notes.push_back({NoteLevel::warning, "looks-like-a-leaf", sign});
  } else if (path.lag_s && largest > odd_offset) {
    path.notes.push_back({NoteLevel::caution, "offset-large",
                          "the offset reaches " + print_rounded(largest, 3) +
                              " umol mol-1: equalise the cells, or look for a leak"});
  }
  if (path.lag_s && c.rate && path.lag_s->se * std::abs(*c.rate) > 0.1) {
    path.notes.push_back({NoteLevel::caution, "lag-poorly-known",
                          "the lag is known to " + print_rounded(path.lag_s->se, 2) +
                              " s only: longer holds or a pair of ramps would help"});
  }
  if (path.mixing_s && path.chamber_tau_s) {
    const double apart = std::abs(path.mixing_s->value - *path.chamber_tau_s);
    if (apart > 0.1 * *path.chamber_tau_s && apart > 3 * path.mixing_s->se) {
      path.notes.push_back({NoteLevel::caution, "chamber-disagrees",
                            "the record mixes with " + print_rounded(path.mixing_s->value, 3) +
                                " s, the chamber's volume, flow, pressure and temperature give " +
                                print_rounded(*path.chamber_tau_s, 3) +
                                " s: one of them is not as stated, or other volumes mix too"});
    }
  }
  return {};
}

}  // namespace leafwright::identify_detail
