#include "ramp/same_air.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/offset_table.hpp"

namespace leafwright {
namespace {

const std::array<Setting, 1>& declared() {
  static const std::array<Setting, 1> settings{{
      {.name = "same-air",
       .kind = SettingKind::list,
       .help = "a record of the same air in both cells, CO2 standing still; may be given several "
               "times, one CO2 each: held against the empty record, and the leak of the gasket "
               "told apart",
       .source = "the user's own",
       .value_name = "FILE"},
  }};
  return settings;
}

std::string plus_minus(const WithError& value) {
  return print_rounded(value.value, 3) + " +- " + print_rounded(value.se, 2);
}

Note not_compared(const Error& error) {
  return {NoteLevel::info, "same-air-not-compared",
          "the same air in both cells is not held against the empty record: " + error.text()};
}

}  // namespace

SettingTable same_air_settings() {
  return declared();
}

Notes compare_same_air(const GasPath& path, const std::vector<RampRecord>& levels) {
  // Dates are for the text only here: both were asked for in one call.
  const auto empty = offset_table(path, "the empty record");
  if (!empty) return {not_compared(empty.error())};
  Notes notes;
  for (const RampRecord& level : levels) {
    const auto same = offset_from_same_air({level}, 0.03, "the same air");
    if (!same) {
      notes.push_back(not_compared(same.error()));
      continue;
    }
    const double CO2 = (same->CO2_low + same->CO2_high) / 2;
    if (!empty->covers(CO2)) {
      notes.push_back({NoteLevel::info, "same-air-not-compared",
                       level.name + ": CO2 of " + print_rounded(CO2, 4) +
                           " umol/mol is outside the empty record"});
      continue;
    }
    const WithError measured = same->at(CO2);
    if (auto note = contradiction(*empty, CO2, measured, level.name)) {
      notes.push_back(std::move(*note));
    } else {
      notes.push_back({NoteLevel::info, "same-air-agrees",
                       level.name + ": at " + print_rounded(CO2, 4) +
                           " umol/mol the cells differ by " + plus_minus(measured) +
                           ", as the empty record says (" + plus_minus(empty->at(CO2)) + ")"});
    }
  }
  const auto all = offset_from_same_air(levels, 0.03, "the same air");
  if (!all || levels.size() < 2) return notes;
  const auto leak = leak_between(*empty, *all);
  if (!leak) {
    notes.push_back(not_compared(leak.error()));
    return notes;
  }
  notes.push_back({NoteLevel::info, "leak-told",
                   "what the empty chamber shows beyond the same air is a leak of K = " +
                       plus_minus(leak->K) + " umol/s per unit of mole fraction" +
                       (leak->K.value > 3 * leak->K.se
                            ? ", with " + plus_minus(leak->ambient) + " umol/mol round the gasket"
                            : ", which is not told apart from none")});
  return notes;
}

}  // namespace leafwright
