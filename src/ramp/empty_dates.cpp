#include "ramp/empty_dates.hpp"

#include <map>
#include <optional>
#include <set>

#include "base/text.hpp"
#include "ramp/conditions.hpp"

namespace leafwright {

namespace {

constexpr const char* state_date = "a column 'date', or date and time of each row";

std::set<std::string> dates_of(const std::vector<RampRecord>& records) {
  std::set<std::string> out;
  for (const RampRecord& record : records) {
    if (record.date) out.insert(*record.date);
  }
  return out;
}

/// As in a study: the nearest, the earlier of two equally near, since it was known at the leaf.
std::string nearest_date(const std::set<std::string>& dates, const std::string& leaf) {
  std::string best;
  double nearest = 1e9;
  for (const std::string& date : dates) {
    const double days = days_between(date, leaf).value_or(1e8);
    const double distance = days < 0 ? 0.5 - days : days;
    if (distance >= nearest) continue;
    best = date;
    nearest = distance;
  }
  return best;
}

}  // namespace

std::vector<OffsetChange> offset_changes(const std::vector<RampRecord>& empties,
                                         const IdentifyOptions& options, Notes& notes) {
  std::map<std::string, std::vector<RampRecord>> by_date;
  for (const RampRecord& record : empties) {
    if (record.date) by_date[*record.date].push_back(record);
  }
  std::vector<OffsetChange> out;
  std::optional<GasPath> before;
  const auto skip = [&notes](const std::string& why) {
    notes.push_back({NoteLevel::info, "cell-difference-not-compared", why});
  };
  for (const auto& [date, of_date] : by_date) {
    if (by_date.size() < 2) break;
    auto path = identify(of_date, options);
    if (!path) {
      skip("the cells on " + date + " are not compared: " + path.error().text());
      continue;
    }
    if (before) {
      auto change = offset_change(*before, *path);
      if (change) {
        notes.push_back(change_note(*change));
        out.push_back(std::move(*change));
      } else {
        skip(change.error().text());
      }
    }
    before = std::move(*path);
  }
  return out;
}

Result<EmptiesOfDate> empties_of_date(const std::vector<RampRecord>& empties,
                                      const RampRecord& leaf, const IdentifyOptions& options) {
  EmptiesOfDate out;
  const std::set<std::string> dates = dates_of(empties);
  if (dates.size() < 2) {
    for (std::size_t i = 0; i < empties.size(); ++i) out.use.push_back(i);
    return out;
  }
  const std::string all = join(std::vector<std::string>(dates.begin(), dates.end()), ", ", 4);
  for (const RampRecord& empty : empties) {
    if (empty.date) continue;
    return fail(ErrorCode::usage,
                "empty records of several dates (" + all + "), and " + empty.name + " has none",
                state_date, "or give empty records of one date only");
  }
  if (!leaf.date) {
    return fail(ErrorCode::usage,
                "empty records of several dates (" + all + "), and " + leaf.name +
                    " has none, so that it is not known which of them belong to it",
                state_date, "or give empty records of one date only");
  }
  const std::string chosen = nearest_date(dates, *leaf.date);
  for (std::size_t i = 0; i < empties.size(); ++i) {
    if (*empties[i].date == chosen) out.use.push_back(i);
  }
  const bool later = chosen > *leaf.date;
  out.notes.push_back({later ? NoteLevel::caution : NoteLevel::info, "empty-of-date",
                       "empty records of " + all + ": those of " + chosen +
                           ", nearest in date to the leaf of " + *leaf.date + ", are used" +
                           (later ? "; they were made after it" : "")});
  offset_changes(empties, options, out.notes);
  return out;
}

}  // namespace leafwright
