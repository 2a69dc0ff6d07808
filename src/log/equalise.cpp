#include "log/equalise.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"

namespace leafwright {

namespace {

bool says_no(const CellValue& cell, std::string_view text) {
  if (cell.kind == CellKind::missing) return true;
  if (cell.kind == CellKind::number) return cell.number == 0;
  return same_letters(text, "false") || same_letters(text, "no") || same_letters(text, "off");
}

/// A counter or an amount: some value is neither 0 nor 1.
bool counts(const Table& table, std::size_t column) {
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const CellValue cell = table.value(column, row);
    if (cell.kind == CellKind::number && cell.number != 0 && cell.number != 1) return true;
  }
  return false;
}

Result<void> from_column(const Log& log, const TimeAxis& axis, const std::string& name,
                         Equalisations& out) {
  const Table& table = log.table();
  if (!table.has(name)) {
    Error error = missing_column(table, name, "the column that marks equalisations");
    error.code = ErrorCode::usage;
    return fail(std::move(error));
  }
  const auto column = table.find(name);
  if (!column) return fail(column.error());
  const auto add = [&](std::size_t row) {
    out.events.push_back(
        {axis.seconds[row], {}, {}, "column '" + name + "', " + line_text(table.row_place(row))});
  };
  if (counts(table, *column)) {
    std::optional<double> before;
    for (std::size_t row = 0; row < table.rows(); ++row) {
      const CellValue cell = table.value(*column, row);
      if (cell.kind != CellKind::number || std::isnan(axis.seconds[row])) continue;
      if (before && cell.number != *before) add(row);
      before = cell.number;
    }
    return {};
  }
  out.in_progress.assign(table.rows(), 0);
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const bool on = !says_no(table.value(*column, row), trim(table.text(*column, row)));
    out.in_progress[row] = on ? 1 : 0;
    if (row > 0 && !on && out.in_progress[row - 1] != 0 && !std::isnan(axis.seconds[row - 1])) {
      add(row - 1);
    }
  }
  return {};
}

Result<Equalisation> parse_event(const std::string& text, const TimeAxis& axis,
                                 const TimeChoice& time) {
  const std::size_t at = text.find('=');
  const auto when = moment(axis, std::string_view(text).substr(0, at), time);
  if (!when) return fail(when.error());
  Equalisation event{*when, {}, {}, "option or study"};
  if (at == std::string::npos) return event;
  const std::string amounts = text.substr(at + 1);
  const std::size_t comma = amounts.find(',');
  event.dCO2 = parse_number(trim(std::string_view(amounts).substr(0, comma)));
  if (comma != std::string::npos) {
    event.dH2O = parse_number(trim(std::string_view(amounts).substr(comma + 1)));
  }
  if (!event.dCO2 || (comma != std::string::npos && !event.dH2O)) {
    return fail(ErrorCode::usage, "'" + shortened(text) + "' for 'equalised'",
                "TIME, TIME=dCO2 or TIME=dCO2,dH2O (sample minus reference on the same air)");
  }
  return event;
}

}  // namespace

const Equalisation* Equalisations::last(double time_s) const {
  const auto after = std::upper_bound(
      events.begin(), events.end(), time_s,
      [](double wanted, const Equalisation& event) { return wanted < event.time_s; });
  return after == events.begin() ? nullptr : &*std::prev(after);
}

std::optional<double> Equalisations::age(double time_s) const {
  const Equalisation* event = last(time_s);
  if (event == nullptr) return std::nullopt;
  return time_s - event->time_s;
}

Result<Equalisations> find_equalisations(const Log& log, const TimeAxis& axis,
                                         const EqualiseChoice& choice, const TimeChoice& time) {
  Equalisations out;
  out.applied = choice.applied;
  if (choice.column.empty() && choice.events.empty()) return out;
  if (!axis.there()) {
    return fail(ErrorCode::usage, log.table().file() + " has no time for its equalisations",
                "time_s, elapsed_s, or date and time");
  }
  if (!choice.column.empty()) {
    if (auto ok = from_column(log, axis, choice.column, out); !ok) return fail(ok.error());
  }
  bool amount = false;
  for (const std::string& text : choice.events) {
    auto event = parse_event(text, axis, time);
    if (!event) return fail(event.error());
    amount = amount || event->dCO2 || event->dH2O;
    out.events.push_back(std::move(*event));
  }
  if (amount && !choice.applied) {
    return fail(ErrorCode::usage,
                "amounts of equalisations are given, and not whether the log has them already",
                "--equalised-applied yes or no",
                "a second correction of the same thing would be wrong by the whole amount");
  }
  std::stable_sort(
      out.events.begin(), out.events.end(),
      [](const Equalisation& a, const Equalisation& b) { return a.time_s < b.time_s; });
  out.notes.push_back({NoteLevel::info, "equalisations",
                       counted(out.events.size(), "equalisation") + " of the cells" +
                           (!amount           ? ""
                            : *choice.applied ? "; the log has them already, nothing is taken off"
                                              : "; their amounts are taken off the sample cell")});
  return out;
}

SettingTable equalise_settings() {
  constexpr const char* own = "the user's own";
  static const std::array<Setting, 3> settings{{
      {.name = "equalise-column",
       .kind = SettingKind::text,
       .help = "column that marks equalisations of the two cells: 1 or text while one goes on, or "
               "a counter that changes",
       .source = own,
       .value_name = "COLUMN"},
      {.name = "equalised",
       .kind = SettingKind::list,
       .help = "an equalisation that no column tells: when, and sample minus reference on the same "
               "air (umol mol-1, mmol mol-1)",
       .source = own,
       .value_name = "TIME[=CO2[,H2O]]"},
      {.name = "equalised-applied",
       .kind = SettingKind::choice,
       .choices = {"yes", "no"},
       .help = "are the amounts in the log's numbers already? no takes them off the sample cell",
       .source = "no default: a second correction of the same thing would be wrong"},
  }};
  return settings;
}

EqualiseChoice equalise_choice(const Settings& settings) {
  EqualiseChoice out;
  out.column = settings.text("equalise-column");
  out.events = settings.list("equalised");
  if (settings.is_set("equalised-applied")) {
    out.applied = settings.text("equalised-applied") == "yes";
  }
  return out;
}

}  // namespace leafwright
