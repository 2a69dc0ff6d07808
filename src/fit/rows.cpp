#include "fit/rows.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

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

namespace {

/// The one value that the column named by --rday has in this curve.
Result<double> column_value(const UsableRows& usable) {
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
  return *usable.rows.front()->rday;
}

/// A temperature that responses hold for.
Result<void> check_temperature(double t, const char* what) {
  if (t >= -10 && t <= 60) return {};
  return fail(ErrorCode::unfit, fmt::format("{} is {} degC", what, t), "-10 to 60 degC");
}

Result<RdayChoice> from_dark(const UsableRows& usable, const RdaySource& source, double measured) {
  DarkRespiration dark{measured, source.inhibition, source.dark_temperature, 1, ""};
  if (dark.temperature) {
    constexpr double same = 0.5;  // K; common practice, no source
    const double apart = usable.tleaf - *dark.temperature;
    if (!source.response && std::abs(apart) > same) {
      return fail(ErrorCode::unfit,
                  fmt::format("dark respiration was measured at {} degC, the leaf was at {:.1f}",
                              *dark.temperature, usable.tleaf),
                  "a response of Rday that moves it: --rday-response NAME, or --at25 NAME given",
                  "or a dark measurement at leaf temperature");
    }
    if (source.response) {
      for (const auto& [t, what] : {std::pair{*dark.temperature, "--rday-dark-temperature"},
                                    std::pair{usable.tleaf, "leaf temperature"}}) {
        if (auto ok = check_temperature(t, what); !ok) return fail(ok.error());
      }
      dark.factor =
          source.response->factor(usable.tleaf) / source.response->factor(*dark.temperature);
      dark.response = source.response_name;
    }
  }
  RdayChoice out{RdayMode::fixed, measured * (1 - dark.inhibition) * dark.factor, {}};
  out.dark = std::move(dark);
  return out;
}

}  // namespace

Result<RdayChoice> rday_of(const UsableRows& usable, const RdaySource& source) {
  using From = RdaySource::From;
  if (source.from == From::fitted) return RdayChoice{};
  if (source.from == From::value) return RdayChoice{RdayMode::fixed, source.value, {}};
  if (source.from == From::fraction) return RdayChoice{RdayMode::fraction, source.value, {}};
  if (source.from == From::dark) return from_dark(usable, source, source.value);
  const auto value = column_value(usable);
  if (!value) return fail(value.error());
  if (source.from == From::dark_column) return from_dark(usable, source, *value);
  return RdayChoice{RdayMode::fixed, *value, {}};
}

}  // namespace leafwright
