#include "ramp/offset_table.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {

namespace {

using Eigen::Index;
using Eigen::MatrixXd;
using Eigen::VectorXd;

/// Mean CO2r, mean S - R and its variance, of one record of steady air.
struct Level {
  double CO2 = 0, difference = 0, variance = 0;
};

Result<Level> level_of(const RampRecord& record, double drift_sd) {
  double n = 0, R = 0, D = 0, DD = 0, low = 1e300, high = -1e300;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (!std::isfinite(record.CO2r[i]) || !std::isfinite(record.CO2s[i])) continue;
    const double difference = record.CO2s[i] - record.CO2r[i];
    n += 1;
    R += record.CO2r[i];
    D += difference;
    DD += difference * difference;
    low = std::min(low, record.CO2r[i]);
    high = std::max(high, record.CO2r[i]);
  }
  if (n < 3 || high - low > 5) {
    return fail(
        ErrorCode::unfit,
        record.name + (n < 3 ? ": fewer than 3 rows with both streams"
                             : ": CO2r moves by " + print_rounded(high - low, 3) + " umol mol-1"),
        "the same steady air in both cells, one level a record",
        "cut the record to a stretch in which CO2 stands still");
  }
  const double mean = D / n, variance = std::max((DD - n * mean * mean) / (n - 1), 0.0);
  return Level{R / n, mean, variance / n + drift_sd * drift_sd};
}

void take_levels(const std::vector<Level>& levels, OffsetTable& table) {
  const Index n = static_cast<Index>(levels.size()), p = std::min<Index>(n, 3);
  MatrixXd X(n, p), W = MatrixXd::Zero(n, n);
  VectorXd y(n);
  table.CO2_low = table.CO2_high = levels.front().CO2;
  for (Index i = 0; i < n; ++i) {
    const Level& level = levels[static_cast<std::size_t>(i)];
    for (Index k = 0; k < p; ++k) X(i, k) = std::pow(level.CO2 / 1000, static_cast<double>(k));
    y[i] = level.difference;
    W(i, i) = 1 / std::max(level.variance, 1e-12);
    table.CO2_low = std::min(table.CO2_low, level.CO2);
    table.CO2_high = std::max(table.CO2_high, level.CO2);
  }
  const MatrixXd covariance = (X.transpose() * W * X).inverse();
  const VectorXd c = covariance * X.transpose() * W * y;
  for (Index i = 0; i < p; ++i) {
    table.c[static_cast<std::size_t>(i)] = c[i];
    for (Index j = 0; j < p; ++j) {
      table.covariance[static_cast<std::size_t>(3 * i + j)] = covariance(i, j);
    }
  }
}

std::string span_text(const OffsetTable& table) {
  return print_rounded(table.CO2_low, 4) + " to " + print_rounded(table.CO2_high, 4) +
         " umol mol-1";
}

Error no_date(const std::string& name) {
  return {ErrorCode::usage,
          {},
          name + " has no date",
          "the date of the record, YYYY-MM-DD: offsets drift",
          "add a column 'date', or state it"};
}

}  // namespace

WithError OffsetTable::at(double CO2) const {
  const double x = CO2 / 1000;
  const std::array<double, 3> power = {1, x, x * x};
  WithError out;
  double variance = 0;
  for (std::size_t i = 0; i < 3; ++i) {
    out.value += c[i] * power[i];
    for (std::size_t j = 0; j < 3; ++j) variance += power[i] * power[j] * covariance[3 * i + j];
  }
  out.se = std::sqrt(std::max(variance, 0.0));
  return out;
}

Result<OffsetTable> offset_table(const GasPath& path, const std::string& date) {
  const std::string name = join(path.records, ", ", 3);
  if (!path.lag_s) {
    return fail(ErrorCode::refused, name + ": lag and zero offset are one number in this record",
                "a record with holds, or an up and a down ramp",
                "hold CO2 for 20 s before and after the ramp");
  }
  OffsetTable table;
  table.source = name;
  table.date = date.empty() ? path.conditions.date.value_or("") : date;
  if (table.date.empty()) return fail(no_date(name));
  table.c = path.offset;
  for (std::size_t i = 0; i < 3; ++i) {
    for (std::size_t j = 0; j < 3; ++j) {
      table.covariance[3 * i + j] = path.covariance[4 * (i + 1) + j + 1];
    }
  }
  table.CO2_low = path.conditions.CO2_low;
  table.CO2_high = path.conditions.CO2_high;
  table.with_leak = !path.leak_apart;
  table.flow = path.leak_apart ? 0 : path.conditions.flow;
  return table;
}

Result<OffsetTable> offset_from_same_air(const std::vector<RampRecord>& levels, double drift_sd,
                                         const std::string& date) {
  if (levels.empty()) {
    return fail(ErrorCode::usage, "no record of the same air in both cells", "one or more");
  }
  OffsetTable table;
  table.with_leak = false;
  table.date = date.empty() ? levels.front().date.value_or("") : date;
  if (table.date.empty()) return fail(no_date(levels.front().name));
  std::vector<Level> found;
  std::vector<std::string> names;
  for (const RampRecord& record : levels) {
    const auto level = level_of(record, drift_sd);
    if (!level) return fail(level.error());
    found.push_back(*level);
    names.push_back(record.name);
  }
  table.source = join(names, ", ", 3);
  take_levels(found, table);
  return table;
}

Result<void> apply_offset(RampRecord& record, const OffsetTable& table) {
  if (record.cell_difference) {
    return fail(ErrorCode::refused,
                record.name + ": the cell difference of " + *record.cell_difference +
                    " was taken out already",
                "one table for a record", "use the raw log with the table of " + table.date);
  }
  if (record.equalised && record.equalised->in_log && record.equalised->date >= table.date) {
    return fail(ErrorCode::refused,
                record.name + ": the cells were equalised on " + record.equalised->date +
                    ", which the log already contains, and the table is of " + table.date,
                "a table found after the cells were equalised",
                "find a new table, or use the record as it is");
  }
  std::size_t outside = 0;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (!std::isfinite(record.CO2s[i]) || !std::isfinite(record.CO2r[i])) continue;
    // The difference belongs to the air in the sample cell.
    if (!table.covers(record.CO2s[i])) ++outside;
    record.CO2s[i] -= table.at(record.CO2s[i]).value;
  }
  record.cell_difference = table.date;
  record.notes.push_back({NoteLevel::info, "cell-difference",
                          "the cell difference of " + table.date + " (" +
                              (table.with_leak ? "offset + leak" : "offset") + ", from " +
                              table.source + ") was taken from CO2s"});
  if (outside > 0) {
    record.notes.push_back({NoteLevel::caution, "cell-difference-extrapolated",
                            counted(outside, "row") + " lie outside " + span_text(table) +
                                ", where the cell difference was measured"});
  }
  return {};
}

Result<OffsetChange> compare_offsets(const OffsetTable& earlier, const OffsetTable& later,
                                     std::size_t points) {
  const double low = std::max(earlier.CO2_low, later.CO2_low);
  const double high = std::min(earlier.CO2_high, later.CO2_high);
  if (low > high) {
    return fail(ErrorCode::unfit,
                "the tables share no CO2: " + span_text(earlier) + " and " + span_text(later),
                "tables over the same CO2");
  }
  const double flows = std::max(earlier.flow, later.flow);
  if (earlier.with_leak != later.with_leak ||
      (earlier.with_leak && std::abs(earlier.flow - later.flow) > 0.05 * flows)) {
    return fail(ErrorCode::refused,
                "one table is offset + leak of an empty chamber, the other is not, or its flow is "
                "another",
                "two tables of one kind and flow",
                "a leak would be taken for drift; compare like with like");
  }
  OffsetChange out{earlier.date, later.date, {}, {}, 0, false};
  for (std::size_t k = 0; k < std::max<std::size_t>(points, 2); ++k) {
    const double part =
        static_cast<double>(k) / static_cast<double>(std::max<std::size_t>(points, 2) - 1);
    const double CO2 = low + (high - low) * part;
    const WithError a = earlier.at(CO2), b = later.at(CO2);
    const OffsetChange::Point point{CO2, {b.value - a.value, std::hypot(a.se, b.se)}};
    const double in_errors = point.change.se > 0 ? std::abs(point.change.value) / point.change.se
                                                 : (point.change.value == 0 ? 0 : 1e9);
    if (out.points.empty() || in_errors > out.in_errors) {
      out.largest = point;
      out.in_errors = in_errors;
    }
    out.points.push_back(point);
  }
  out.different = out.in_errors > 3;
  return out;
}

Note change_note(const OffsetChange& change) {
  const OffsetChange::Point &first = change.points.front(), &last = change.points.back();
  const auto at = [](const OffsetChange::Point& point) {
    return print_rounded(point.change.value, 3) + " +- " + print_rounded(point.change.se, 2) +
           " umol/mol at " + print_rounded(point.CO2, 4);
  };
  std::string text = "from " + change.from + " to " + change.to +
                     " the difference of the cells changed by " + at(first) + " and " + at(last) +
                     " umol/mol; where it is clearest by " + at(change.largest) + ", " +
                     print_rounded(change.in_errors, 2) + " standard errors";
  if (!change.different) {
    return {NoteLevel::info, "cell-difference-held",
            text + ": no change beyond 3 of them, which is not proof of none"};
  }
  return {NoteLevel::warning, "cell-difference-changed",
          text +
              ": the cells drifted, were equalised, or the gasket leaks otherwise; use the empty "
              "record of the leaf's own day"};
}

Result<OffsetChange> offset_change(const GasPath& earlier, const GasPath& later) {
  const auto from = offset_table(earlier);
  if (!from) return fail(from.error());
  const auto to = offset_table(later);
  if (!to) return fail(to.error());
  return compare_offsets(*from, *to);
}

std::optional<Note> contradiction(const OffsetTable& table, double CO2, const WithError& measured,
                                  const std::string& source) {
  const WithError said = table.at(CO2);
  const double apart = measured.value - said.value, se = std::hypot(said.se, measured.se);
  if (std::abs(apart) <= std::max(3 * se, 0.1)) return std::nullopt;
  return Note{NoteLevel::warning, "cell-difference-contradicted",
              source + " shows a cell difference of " + print_rounded(measured.value, 3) +
                  " umol mol-1 at " + print_rounded(CO2, 4) + ", the table of " + table.date +
                  " says " + print_rounded(said.value, 3) + ": apart by " +
                  print_rounded(apart, 2) + " +- " + print_rounded(se, 2) +
                  ". The cells drifted, or were equalised since: find a new table"};
}

Result<PathLeak> leak_between(const OffsetTable& empty, const OffsetTable& same_air) {
  if (!empty.with_leak || same_air.with_leak || !(empty.flow > 0)) {
    return fail(ErrorCode::refused,
                "a leak is the difference of 'offset + leak' and the offset alone",
                "a table of an empty chamber with its flow, and one of the same air in both cells");
  }
  const double low = std::max(empty.CO2_low, same_air.CO2_low);
  const double high = std::min(empty.CO2_high, same_air.CO2_high);
  if (high - low < 50) {
    return fail(ErrorCode::unfit,
                "the tables share CO2 from " + print_rounded(low, 4) + " to " +
                    print_rounded(high, 4) + " umol mol-1",
                "at least 50 umol mol-1", "send the same air to both cells at two levels of CO2");
  }
  const auto excess = [&](double CO2) {
    const WithError a = empty.at(CO2), b = same_air.at(CO2);
    return WithError{a.value - b.value, std::hypot(a.se, b.se)};
  };
  const WithError below = excess(low), above = excess(high);
  const double u = empty.flow, span = high - low;
  PathLeak leak;
  leak.K = {u * (below.value - above.value) / span, u * std::hypot(below.se, above.se) / span};
  if (leak.K.value != 0) {
    leak.ambient = {low + u * below.value / leak.K.value, u * below.se / std::abs(leak.K.value)};
  }
  return leak;
}

}  // namespace leafwright
