#include "study/log_step.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "air/settings.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "files/read.hpp"
#include "files/xlsx.hpp"
#include "fit/fit.hpp"
#include "log/column.hpp"
#include "log/flux.hpp"
#include "log/plateau_flux.hpp"
#include "log/points.hpp"
#include "log/select.hpp"
#include "quantity/symbol.hpp"
#include "report/sha256.hpp"
#include "study/sections.hpp"

namespace leafwright {
namespace {

std::optional<double> known(double value) {
  return std::isfinite(value) ? std::optional<double>(value) : std::nullopt;
}

/// A file that the study names, as bytes; it becomes one of the outcome's inputs.
Result<std::string> read_named(const StudyPath& path, std::vector<InputFile>& inputs) {
  auto bytes = read_file(path.path);
  if (!bytes) {
    Error error = bytes.error();
    error.hint += (error.hint.empty() ? "" : "; ") + std::string("it is named in ") +
                  path.place.file + ":" + std::to_string(path.place.line);
    return fail(std::move(error));
  }
  inputs.push_back({path.path, bytes->size(), sha256(*bytes)});
  return bytes;
}

std::vector<std::string> texts_of(const std::vector<Error>& errors) {
  std::vector<std::string> out;
  out.reserve(errors.size());
  for (const Error& error : errors) out.push_back(error.text());
  return out;
}

void append(Notes& to, const Notes& more) {
  to.insert(to.end(), more.begin(), more.end());
}

SourceLine source_line(const ValueSource& source) {
  return {source.quantity, value_from_name(source.from),
          source.text,     source.others,
          source.disagree, source.curves};
}

/// What the settings of the fit take from columns: respiration of each row (--rday; of the samples
/// table too) and the sd of A (--sd-column; only where rows of the log are the points).
class NamedColumns {
 public:
  static Result<NamedColumns> find(const OpenedLog& opened, const StudyContext& context) {
    NamedColumns out;
    const FitColumns named = fit_columns(context.study->settings(fit_settings()));
    const Table& table = opened.log.table();
    if (named.sd) out.sd_name_ = *named.sd;
    if (named.sd && table.has(*named.sd)) {
      auto column = QuantityColumn::find(table, *named.sd, "umol m-2 s-1");
      if (!column) return fail(column.error());
      out.sd_ = std::move(*column);
    }
    if (!named.rday) return out;
    out.name_ = *named.rday;
    const bool in_samples = context.samples != nullptr &&
                            std::find(context.samples->other.begin(), context.samples->other.end(),
                                      out.name_) != context.samples->other.end();
    if (!table.has(out.name_) && in_samples) {
      out.samples_ = context.samples;
      out.log_ = opened.entry->file.path;
      return out;
    }
    auto column = QuantityColumn::find(table, out.name_, "umol m-2 s-1");
    if (!column) return fail(column.error());
    out.column_ = std::move(*column);
    return out;
  }
  [[nodiscard]] std::optional<double> at(const std::string& curve_id, std::size_t row) const {
    if (column_) {
      const auto value = column_->read(row);
      return value ? *value : std::nullopt;
    }
    const Sample* sample = samples_ == nullptr ? nullptr : samples_->find(curve_id, log_);
    if (sample == nullptr) return {};
    const auto found = sample->other.find(name_);
    return found == sample->other.end() ? std::nullopt : parse_number(found->second);
  }

  /// Title of the column of sd, such as the A_sd that means of holds have; "" where none was named.
  [[nodiscard]] const std::string& sd_name() const { return sd_name_; }
  [[nodiscard]] std::optional<double> sd_at(std::size_t row) const {
    if (!sd_) return {};
    const auto value = sd_->read(row);
    return value ? *value : std::nullopt;
  }

 private:
  std::string name_, log_, sd_name_;
  std::optional<QuantityColumn> column_, sd_;
  const Samples* samples_ = nullptr;
};

/// Symbols that become columns of the points, in the order of the symbol table: what the log has
/// and what was computed.
const std::vector<std::string>& computed_symbols() {
  static const std::vector<std::string> names = {"A",       "Ci",    "gsw",  "E",
                                                 "VPDleaf", "Tleaf", "Patm", "area"};
  return names;
}

struct PointColumn {
  std::string name;
  const std::vector<double>* values = nullptr;
};

std::vector<PointColumn> point_columns(const Log& log, const FluxRows& rows) {
  std::vector<PointColumn> out;
  const auto add = [&](const std::string& name, const std::vector<double>& values) {
    if (!values.empty()) out.push_back({name, &values});
  };
  add("A", rows.A);
  add("A_sd", rows.A_sd);
  add("Ci", rows.Ci);
  add("Ci_sd", rows.Ci_sd);
  add("gsw", rows.gsw);
  add("gsw_sd", rows.gsw_sd);
  add("E", rows.E);
  add("E_sd", rows.E_sd);
  add("VPDleaf", rows.VPDleaf);
  add("Tleaf", rows.Tleaf);
  add("Patm", rows.Patm);
  add("area", rows.area);
  const auto& computed = computed_symbols();
  for (const Symbol& symbol : symbols()) {
    const Channel* channel = log.find(symbol.name);
    if (channel == nullptr) continue;
    const std::string name(symbol.name);
    const bool twice = std::find(computed.begin(), computed.end(), name) != computed.end();
    add(twice ? name + "_recorded" : name, channel->values);
  }
  return out;
}

CurveRow curve_row(const Log& log, const FluxRows& rows, std::size_t row, std::size_t number) {
  CurveRow out;
  out.row = number;
  out.place = log.table().row_place(row);
  out.A = rows.A[row];
  out.Ci = rows.Ci[row];
  out.Tleaf = rows.Tleaf[row];
  out.Patm = rows.Patm[row];
  out.Qin = log.value("Qin", row);
  if (row < rows.gsw.size()) out.gsw = known(rows.gsw[row]);
  if (row < rows.CO2s.size()) out.CO2s = known(rows.CO2s[row]);
  out.use = rows.use[row] != 0;
  if (out.use) return out;
  out.why = rows.reason(row).empty() ? "marked as not to be used" : rows.reason(row);
  // A row that is out may lack any of them; the fit and the figures must not meet such a value.
  for (double* value : {&out.A, &out.Ci, &out.Tleaf, &out.Patm}) {
    if (!std::isfinite(*value)) *value = 0;
  }
  return out;
}

/// Rows that become points: of the log itself, or of its plateaus.
struct PointRows {
  const Log* log = nullptr;
  const Cut* cut = nullptr;
  const FluxRows* rows = nullptr;
  const std::vector<char>* chosen = nullptr;       ///< null: all
  const std::vector<std::size_t>* from = nullptr;  ///< rows of the opened log; null: the same ones
  const std::vector<double>* seconds = nullptr;    ///< of the rows of the opened log; null: none
  /// Does a row stand for itself (not for a hold's mean or a corrected ramp)? Its sd is then its
  /// own.
  bool rows_are_points = false;
  [[nodiscard]] std::size_t origin(std::size_t row) const {
    return from == nullptr ? row : (*from)[row];
  }
};

LogPoints take_points(const OpenedLog& opened, const PointRows& source, const NamedColumns& rday) {
  LogPoints out;
  const FluxRows& rows = *source.rows;
  const auto columns = point_columns(*source.log, rows);
  for (const PointColumn& column : columns) out.columns.push_back(column.name);
  for (const CutCurve& cut_curve : source.cut->curves) {
    Curve curve;
    curve.curve_id = cut_curve.curve_id;
    curve.notes = cut_curve.notes;
    std::vector<double> values;
    std::vector<std::string> flags;
    bool any = false;
    for (const std::size_t row : cut_curve.rows) {
      if (source.chosen != nullptr && (*source.chosen)[row] == 0) continue;
      curve.rows.push_back(curve_row(*source.log, rows, row, curve.rows.size()));
      curve.rows.back().place = opened.log.table().row_place(source.origin(row));
      curve.rows.back().rday = rday.at(cut_curve.recorded_id, source.origin(row));
      if (source.seconds != nullptr && source.origin(row) < source.seconds->size()) {
        curve.rows.back().seconds = known((*source.seconds)[source.origin(row)]);
      }
      if (source.rows_are_points) curve.rows.back().sd = rday.sd_at(source.origin(row));
      for (const PointColumn& column : columns) {
        values.push_back((*column.values)[row]);
        if (column.name == rday.sd_name()) curve.rows.back().sd = known((*column.values)[row]);
      }
      flags.push_back(rows.flag_names(row));
      any = any || known(rows.A[row]).has_value();
    }
    if (curve.rows.empty()) continue;
    if (!any) {
      const std::string& why = curve.rows.front().why;
      out.failed.push_back({opened.entry->file.path, curve.curve_id,
                            "no row gives a flux" + (why.empty() ? "" : "; the first: " + why)});
      continue;
    }
    out.curves.push_back(std::move(curve));
    out.values.push_back(std::move(values));
    out.flags.push_back(std::move(flags));
  }
  return out;
}

void tally_rules(const FluxRows& rows, LogOutcome& outcome) {
  for (const ScreenRuleInfo& info : screen_rules()) {
    ScreenTally tally{std::string(info.name), info.excludes, 0, std::string(info.meaning),
                      std::string(info.source)};
    const unsigned bit = 1U << (screen_flag_shift + static_cast<unsigned>(info.rule));
    for (const std::uint32_t flags : rows.flags) tally.rows += (flags & bit) != 0 ? 1 : 0;
    outcome.rules.push_back(std::move(tally));
  }
}

/// A row that the fit could use but that lacks a number is out, with the reason.
void leave_out_incomplete(FluxRows& rows) {
  for (std::size_t row = 0; row < rows.size(); ++row) {
    if (rows.use[row] == 0) continue;
    struct Needed {
      const char* name;
      double value;
    };
    for (const Needed& needed :
         {Needed{"A", rows.A[row]}, Needed{"Ci", rows.Ci[row]}, Needed{"Tleaf", rows.Tleaf[row]},
          Needed{"Patm", rows.Patm[row]}}) {
      if (known(needed.value)) continue;
      rows.leave_out(row, std::string(needed.name) + " is missing");
      rows.use[row] = 0;
      break;
    }
  }
}

/// The last steps that all rows take, and what the record says of them.
void tell_rows(FluxRows& rows, LogOutcome& outcome) {
  leave_out_incomplete(rows);
  tally_rules(rows, outcome);
  append(outcome.record.notes, rows.notes);
  for (std::string& text : texts_of(rows.problems)) {
    outcome.record.problems.push_back(std::move(text));
  }
  for (const ValueSource& from : rows.sources) {
    outcome.record.sources.push_back(source_line(from));
  }
}

}  // namespace

Result<OpenedLog> open_log(const StudyLog& entry, LogOutcome& outcome) {
  OpenedLog out;
  out.entry = &entry;
  ColumnMap map;
  if (entry.map.given()) {
    const auto bytes = read_named(entry.map, outcome.inputs);
    if (!bytes) return fail(bytes.error());
    auto read = read_map(*bytes, entry.map.path);
    if (!read) return fail(read.error());
    map = std::move(*read);
  }
  if (entry.instrument.given()) {
    const auto bytes = read_named(entry.instrument, outcome.inputs);
    if (!bytes) return fail(bytes.error());
    auto read = read_instrument(*bytes, entry.instrument.path);
    if (!read) return fail(read.error());
    out.instrument = std::move(*read);
  }
  auto bytes = read_named(entry.file, outcome.inputs);
  if (!bytes) return fail(bytes.error());
  out.bytes = outcome.inputs.back();
  outcome.record.bytes = out.bytes.bytes;
  outcome.record.sha256 = out.bytes.sha256;
  LayoutChoice layout = map.layout;
  if (map.sheet) layout.sheet = map.sheet;
  if (entry.sheet) layout.sheet = entry.sheet;
  auto table = open_table(std::move(*bytes), entry.file.path, layout);
  if (!table) return fail(table.error());
  outcome.record.problems = texts_of(table->problems());
  append(outcome.record.notes, table->notes());
  auto log = read_log(std::make_shared<const Table>(std::move(*table)), map);
  if (!log) return fail(log.error());
  out.log = std::move(*log);
  outcome.record.rows = out.log.rows();
  outcome.record.proof = prove(out.log);
  append(outcome.record.notes, out.log.notes());
  for (std::string& text : texts_of(out.log.problems())) {
    outcome.record.problems.push_back(std::move(text));
  }
  return out;
}

Result<void> add_points(const OpenedLog& opened, const Cut& cut, FluxRows& rows,
                        const StudyContext& context, const std::vector<double>* seconds,
                        LogOutcome& outcome) {
  const auto rday = NamedColumns::find(opened, context);
  if (!rday) return fail(rday.error());
  leave_out_incomplete(rows);
  LogPoints points =
      take_points(opened, {&opened.log, &cut, &rows, nullptr, nullptr, seconds, false}, *rday);
  if (outcome.points) {
    std::move(outcome.points->failed.begin(), outcome.points->failed.end(),
              std::back_inserter(points.failed));
  }
  outcome.points = std::move(points);
  return {};
}

Result<LogPoints> points_of_steps(const OpenedLog& opened, const StudyContext& context,
                                  LogOutcome& outcome) {
  const Study& study = *context.study;
  const Settings& points = study.settings(points_settings());
  const auto axis = time_axis(opened.log, context.time);
  if (!axis) return fail(axis.error());
  append(outcome.record.notes, axis->notes);
  for (std::string& text : texts_of(axis->problems)) {
    outcome.record.problems.push_back(std::move(text));
  }
  const PointsOptions choice = points_options(points);
  const auto cut =
      cut_log(opened.log, *axis, context.samples,
              cut_choice(study.settings(cut_settings()), choice.curve_column), context.time);
  if (!cut) return fail(cut.error());
  outcome.record.cut = cut_by_name(cut->by);
  append(outcome.record.notes, cut->notes);
  const auto equalised = find_equalisations(
      opened.log, *axis, equalise_choice(study.settings(equalise_settings())), context.time);
  if (!equalised) return fail(equalised.error());
  append(outcome.record.notes, equalised->notes);
  std::vector<char> chosen(opened.log.rows(), choice.only.empty() ? 1 : 0);
  if (!choice.only.empty()) {
    const auto rows = select_rows(opened.log.table(), choice.only);
    if (!rows) return fail(rows.error());
    for (const std::size_t row : *rows) chosen[row] = 1;
  }
  const auto rday = NamedColumns::find(opened, context);
  if (!rday) return fail(rday.error());

  FluxSource source;
  source.log = &opened.log;
  source.axis = &*axis;
  source.cut = &*cut;
  source.samples = context.samples;
  source.instrument = opened.instrument ? &*opened.instrument : nullptr;
  source.equalisations = &*equalised;
  const FluxChoice flux = flux_choice(study.settings(flux_settings()), points);
  const StepChoice steps = step_choice(study.settings(step_settings()));
  const ScreenChoice screen = screen_choice(study.settings(screen_settings()));
  outcome.record.did = flux.recorded ? "E and A as recorded, gsw and Ci recomputed"
                                     : "E, A, gsw and Ci from mole fractions";
  auto rows = flux_rows(source, flux);
  if (!rows) return fail(rows.error());
  const std::string& continuous = study.settings(continuous_settings()).text("continuous");
  if (continuous == "on" || (continuous == "auto" && is_continuous(source, steps))) {
    for (std::size_t row = 0; row < chosen.size(); ++row) {
      if (chosen[row] == 0) rows->leave_out(row, "left out by only");
    }
    auto means = plateau_flux(source, *rows, flux, steps, screen);
    if (!means) return fail(means.error());
    PlateauFlux& plateaus = **means;
    append(outcome.record.notes, plateaus.notes);
    outcome.record.did += ", of the mean of each hold of CO2 (a continuous log)";
    tell_rows(plateaus.rows, outcome);
    return take_points(opened,
                       {&*plateaus.log, &plateaus.cut, &plateaus.rows, nullptr, &plateaus.from,
                        &axis->seconds, false},
                       *rday);
  }
  screen_flux(source, screen, *rows);
  tell_rows(*rows, outcome);
  return take_points(opened, {&opened.log, &*cut, &*rows, &chosen, nullptr, &axis->seconds, true},
                     *rday);
}

LogOutcome process_steps_log(const StudyLog& entry, const StudyContext& context) {
  LogOutcome outcome;
  outcome.record.file = entry.file.path;
  outcome.record.role = role_name(entry.role);
  outcome.record.map = entry.map.path;
  outcome.record.instrument = entry.instrument.path;
  const auto opened = open_log(entry, outcome);
  if (!opened) {
    outcome.failed = opened.error();
    return outcome;
  }
  auto points = points_of_steps(*opened, context, outcome);
  if (!points) {
    outcome.failed = points.error();
    return outcome;
  }
  outcome.record.curves = points->curves.size() + points->failed.size();
  outcome.points = std::move(*points);
  return outcome;
}

}  // namespace leafwright
