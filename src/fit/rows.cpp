#include "fit/rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <limits>

namespace leafwright {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

tl::unexpected<Error> none_usable(const Curve& curve) {
  std::string why;
  for (const CurveRow& row : curve.rows) {
    if (!row.why.empty()) why = row.why;
  }
  return fail(ErrorCode::unfit,
              why.empty() ? "no row can be used" : "no row can be used, the last because: " + why,
              "rows with A, and Ci above 0");
}

}  // namespace

Result<UsableRows> usable_rows(const Curve& curve) {
  UsableRows out;
  std::size_t marked = 0, below_zero = 0;
  double warmest = -infinity, coolest = infinity;
  for (const CurveRow& row : curve.rows) {
    if (!row.use) {
      ++marked;
      continue;
    }
    if (!(row.Ci > 0)) {
      ++below_zero;
      continue;
    }
    out.rows.push_back(&row);
    out.tleaf += row.Tleaf;
    out.patm += row.Patm;
    warmest = std::max(warmest, row.Tleaf);
    coolest = std::min(coolest, row.Tleaf);
  }
  if (out.rows.empty()) return none_usable(curve);
  const auto n = static_cast<double>(out.rows.size());
  out.tleaf /= n;
  out.patm /= n;
  out.tleaf_spread = warmest - coolest;
  if (marked > 0) {
    out.notes.push_back(
        {NoteLevel::info, "rows-not-used",
         fmt::format("{} row{} not used (marked or unreadable)", marked, marked == 1 ? "" : "s")});
  }
  if (below_zero > 0) {
    out.notes.push_back(
        {NoteLevel::caution, "ci-not-positive",
         fmt::format("{} row{} with Ci at or below 0 left out: carboxylation has no meaning there",
                     below_zero, below_zero == 1 ? "" : "s")});
  }
  return out;
}

Result<RdayChoice> rday_of(const UsableRows& usable, const RdaySource& source) {
  using From = RdaySource::From;
  if (source.from == From::fitted) return RdayChoice{};
  if (source.from == From::value) return RdayChoice{RdayMode::fixed, source.value};
  if (source.from == From::fraction) return RdayChoice{RdayMode::fraction, source.value};
  for (const CurveRow* row : usable.rows) {
    if (!row->rday) {
      return fail(ErrorCode::unfit, "no Rday in the column named by --rday",
                  "a number in every row", "", row->place);
    }
    if (*row->rday != *usable.rows.front()->rday) {
      return fail(ErrorCode::unfit,
                  fmt::format("Rday {} here and {} above", *row->rday, *usable.rows.front()->rday),
                  "one Rday per curve", "", row->place);
    }
  }
  if (*usable.rows.front()->rday < 0) {
    return fail(ErrorCode::unfit, fmt::format("Rday {}", *usable.rows.front()->rday),
                "0 or more: respiration is positive", "change the sign",
                usable.rows.front()->place);
  }
  return RdayChoice{RdayMode::fixed, *usable.rows.front()->rday};
}

}  // namespace leafwright
