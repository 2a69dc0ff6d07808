#include "log/points.hpp"

#include <algorithm>
#include <map>
#include <tuple>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"
#include "log/points_screen.hpp"
#include "log/row_clock.hpp"
#include "log/select.hpp"

namespace leafwright {

namespace {

constexpr std::size_t listed_problems = 20;  // per file: a log of nonsense has thousands

/// A quantity that comes from a column or was given for all rows.
struct Source {
  std::string name;
  std::optional<QuantityColumn> column;
  std::optional<double> given;
};

class PointsCutter {
 public:
  PointsCutter(const Table& table, const PointsOptions& options)
      : table_(table), options_(options), clock_(table) {}

  Result<Points> cut();

 private:
  Result<void> find_columns();
  Result<void> find_source(Source& source, const char* name, std::optional<double> given,
                           bool needed);
  Result<void> find_grouping();
  Result<void> cut_file();
  void find_stomata();
  void read_stomata(std::size_t row, CurveRow& into);
  void note_units();
  void note_given(const Source& source, const char* unit);
  std::optional<std::string> curve_of(std::size_t row);
  void add_row(Curve& curve, std::size_t row);
  bool read(const Source& source, std::size_t row, double& out, CurveRow& into);
  bool read_use(std::size_t row, CurveRow& into, Curve& curve);
  void problem(Error error);
  void finish_curve(Curve curve);
  Result<void> find_named(Source& source, const std::optional<std::string>& name, const char* what);
  void read_named(const Source& source, std::size_t row, std::optional<double>& out, Curve& curve);
  std::string check_rday(const Curve& curve) const;
  std::string check_sd(const Curve& curve) const;
  std::string check_group(const Curve& curve) const;
  void flag_curve(Curve& curve) const;

  const Table& table_;
  const PointsOptions& options_;
  Points out_;
  RowClock clock_;
  Source A_, Ci_, Tleaf_, Patm_, Qin_, rday_, sd_, gsw_, CO2s_;
  std::optional<std::size_t> of_group_;
  std::optional<std::size_t> use_, why_, group_;
  std::optional<Cut> cut_;                     // where no column alone says it
  std::map<std::string, std::string> broken_;  // curve_id -> why the whole curve fails
  std::size_t problems_ = 0;
  std::size_t ungrouped_ = 0;
};

Result<void> PointsCutter::find_source(Source& source, const char* name,
                                       std::optional<double> given, bool needed) {
  source.name = name;
  source.given = given;
  const Symbol* symbol = find_symbol(name);
  if (!table_.has(name)) {
    if (given || !needed) return {};
    Error error = QuantityColumn::find(table_, name, symbol->unit).error();
    if (table_.has("CO2r") && table_.has("CO2s")) {
      error.hint = "this is a log without it: 'leafwright flux' makes A and Ci from its columns";
    }
    const std::string option = source.name == "Tleaf" ? "--tleaf" : "--patm";
    if (source.name == "Tleaf" || source.name == "Patm") {
      error.hint += "; or give one value for all rows with " + option;
    }
    return fail(std::move(error));
  }
  auto column = QuantityColumn::find(table_, name, symbol->unit);
  if (!column) return fail(column.error());
  source.column = std::move(*column);
  return {};
}

/// A column of fluxes that the user named.
Result<void> PointsCutter::find_named(Source& source, const std::optional<std::string>& name,
                                      const char* what) {
  if (!name) return {};
  auto column = QuantityColumn::find(table_, *name, "umol m-2 s-1");
  if (!column) {
    Error error = column.error();
    if (!table_.has(*name)) {
      error = missing_column(table_, *name, what);
      error.code = ErrorCode::usage;
    }
    return fail(std::move(error));
  }
  source.name = *name;
  source.column = std::move(*column);
  return {};
}

Result<void> PointsCutter::find_columns() {
  for (const auto& [source, name, given, needed] :
       {std::tuple{&A_, "A", std::optional<double>(), true},
        std::tuple{&Ci_, "Ci", std::optional<double>(), true},
        std::tuple{&Tleaf_, "Tleaf", options_.tleaf, true},
        std::tuple{&Patm_, "Patm", options_.patm, true},
        std::tuple{&Qin_, "Qin", std::optional<double>(), false}}) {
    if (auto ok = find_source(*source, name, given, needed); !ok) return ok;
  }
  find_stomata();
  for (const auto& [source, name, what] :
       {std::tuple{&rday_, &options_.rday_column, "the column named for Rday"},
        std::tuple{&sd_, &options_.sd_column, "the column named for the sd of A"}}) {
    if (auto ok = find_named(*source, *name, what); !ok) return ok;
  }
  if (options_.group_column) {
    const auto column = table_.find(*options_.group_column);
    if (!column) {
      Error error = missing_column(table_, *options_.group_column, "the column named for groups");
      error.code = ErrorCode::usage;
      return fail(table_.has(*options_.group_column) ? column.error() : error);
    }
    of_group_ = *column;
  }
  for (const auto& [name, slot] : {std::pair{"use", &use_}, std::pair{"why", &why_}}) {
    if (!table_.has(name)) continue;
    const auto column = table_.find(name);
    if (!column) return fail(column.error());
    *slot = *column;
  }
  return find_grouping();
}

// No number of the fit rests on these: a column that cannot be read is left out, and said.
void PointsCutter::find_stomata() {
  for (const auto& [source, name] : {std::pair{&gsw_, "gsw"}, std::pair{&CO2s_, "CO2s"}}) {
    source->name = name;
    if (!table_.has(name)) continue;
    auto column = QuantityColumn::find(table_, name, find_symbol(name)->unit);
    if (column) {
      source->column = std::move(*column);
      continue;
    }
    out_.notes.push_back({NoteLevel::caution, "column-not-read",
                          std::string(name) + " was not read: " + column.error().text()});
  }
}

void PointsCutter::read_stomata(std::size_t row, CurveRow& into) {
  for (const auto& [source, to] : {std::pair{&gsw_, &into.gsw}, std::pair{&CO2s_, &into.CO2s}}) {
    if (!source->column) continue;
    if (const auto value = source->column->read(row)) {
      *to = *value;
    } else {
      problem(value.error());
    }
  }
  into.seconds = clock_.at(row);
}

Result<void> PointsCutter::find_grouping() {
  const std::string name = options_.curve_column.value_or("curve_id");
  const bool by_column = !options_.cut.by || *options_.cut.by == CutBy::column;
  if (by_column && options_.cut.renames.empty() && table_.has(name)) {
    const auto column = table_.find(name);
    if (!column) return fail(column.error());
    group_ = *column;
    return {};
  }
  return cut_file();
}

// No column, or one whose names are corrected: as logs are cut.
Result<void> PointsCutter::cut_file() {
  const std::shared_ptr<const Table> borrowed(std::shared_ptr<const Table>(), &table_);
  const auto log = read_log(borrowed);
  if (!log) return fail(log.error());
  const auto axis = time_axis(*log, options_.time);
  if (axis) {
    out_.notes.insert(out_.notes.end(), axis->notes.begin(), axis->notes.end());
  } else if (options_.cut.by == CutBy::gap) {
    return fail(axis.error());
  }
  CutChoice choice = options_.cut;
  if (options_.by_row && !choice.by && !options_.curve_column) choice.by = CutBy::file;
  choice.column = options_.curve_column;
  auto cut = cut_log(*log, axis ? *axis : TimeAxis{}, nullptr, choice, options_.time);
  if (!cut) return fail(cut.error());
  out_.notes.insert(out_.notes.end(), cut->notes.begin(), cut->notes.end());
  cut_ = std::move(*cut);
  return {};
}

void PointsCutter::note_units() {
  std::vector<std::string> assumed;
  for (const Source* source : {&A_, &Ci_, &Tleaf_, &Patm_, &Qin_, &rday_, &sd_}) {
    if (!source->column || source->given) continue;
    for (const Note& note : source->column->notes()) out_.notes.push_back(note);
    if (!source->column->assumed_unit()) continue;
    const Symbol* symbol = find_symbol(source->name);
    assumed.push_back(source->name + " in " +
                      std::string(symbol != nullptr && source != &rday_ && source != &sd_
                                      ? symbol->unit
                                      : "umol m-2 s-1"));
  }
  if (assumed.empty()) return;
  out_.notes.push_back(
      {NoteLevel::info, "units-assumed",
       "no unit is stated; those of the open reporting format were assumed: " + join(assumed)});
}

// A value given for all rows stands above the column; what it replaces is said.
void PointsCutter::note_given(const Source& source, const char* unit) {
  if (!source.given) return;
  std::string text =
      source.name + " = " + print_number(*source.given) + " " + unit + " was given for all rows";
  if (source.column) {
    std::optional<double> low, high;
    for (std::size_t row = 0; row < table_.rows(); ++row) {
      const auto value = source.column->read(row);
      if (!value || !*value) continue;
      low = low ? std::min(*low, **value) : **value;
      high = high ? std::max(*high, **value) : **value;
    }
    text += "; the file's own column";
    if (low) text += " (" + print_rounded(*low, 6) + " to " + print_rounded(*high, 6) + ")";
    text += " is not used";
  }
  out_.notes.push_back({NoteLevel::info, lower_case(source.name) + "-given", std::move(text)});
}

void PointsCutter::problem(Error error) {
  if (++problems_ <= listed_problems) out_.problems.push_back(std::move(error));
}

// The curve's name, or nothing where the cell is empty (the row is then in no curve).
std::optional<std::string> PointsCutter::curve_of(std::size_t row) {
  if (!group_) {
    const std::uint32_t at = cut_->curve_of[row];
    if (at == Cut::no_curve) return std::nullopt;
    return cut_->curves[at].curve_id;
  }
  const std::string_view text = trim(table_.text(*group_, row));
  if (!is_missing(text)) return std::string(text);
  if (++ungrouped_ == 1) {
    problem({ErrorCode::unreadable, table_.place(*group_, row),
             "no " + table_.name(*group_) + " in this row", "the name of its curve",
             "rows without one belong to no curve"});
  }
  return std::nullopt;
}

bool PointsCutter::read(const Source& source, std::size_t row, double& out, CurveRow& into) {
  if (source.given) {
    out = *source.given;
    return true;
  }
  const auto value = source.column->read(row);
  if (value && *value) {
    out = **value;
    return true;
  }
  if (!into.use) return false;  // one reason is enough
  into.use = false;
  if (value) {
    into.why = source.name + " is missing";
    return false;
  }
  Error error = value.error();
  into.why = error.found + " at " + error.place.text();
  problem(std::move(error));
  return false;
}

// `use` decides what enters a fit: a mark that cannot be read fails its curve, for either reading
// of it would change the result unseen.
bool PointsCutter::read_use(std::size_t row, CurveRow& into, Curve& curve) {
  if (!use_) return true;
  const std::string_view text = trim(table_.text(*use_, row));
  const CellValue cell = table_.value(*use_, row);
  if (same_letters(text, "true") || (cell.kind == CellKind::number && cell.number == 1)) {
    return true;
  }
  if (same_letters(text, "false") || (cell.kind == CellKind::number && cell.number == 0)) {
    into.use = false;
    const std::string_view why = why_ ? trim(table_.text(*why_, row)) : std::string_view();
    into.why = why.empty() ? "use is 0 in the file" : std::string(why);
    return true;
  }
  Error error{ErrorCode::unreadable, table_.place(*use_, row),
              text.empty() ? "column 'use' is empty in this row"
                           : "'" + shortened(text) + "' in column 'use'",
              "1, 0, true or false", "mark the row, or remove the column to use all rows"};
  Error brief = error;
  brief.place.excerpt.clear();
  broken_.emplace(curve.curve_id, brief.text());
  problem(std::move(error));
  return false;
}

// A cell of a named column that cannot be read fails its curve: its value cannot be guessed.
void PointsCutter::read_named(const Source& source, std::size_t row, std::optional<double>& out,
                              Curve& curve) {
  if (!source.column) return;
  const auto value = source.column->read(row);
  if (value) {
    out = *value;
    return;
  }
  Error brief = value.error();
  brief.place.excerpt.clear();
  broken_.emplace(curve.curve_id, brief.text());
  problem(value.error());
}

void PointsCutter::add_row(Curve& curve, std::size_t row) {
  CurveRow into;
  into.row = curve.rows.size();
  into.place = table_.row_place(row);
  into.place.excerpt.clear();
  const std::string fault = table_.row_fault(row);
  if (!fault.empty()) {
    into.use = false;
    into.why = fault;
    curve.rows.push_back(std::move(into));
    return;
  }
  if (of_group_) into.group = table_.text(*of_group_, row);
  read_use(row, into, curve);
  read(A_, row, into.A, into);
  read(Ci_, row, into.Ci, into);
  read(Tleaf_, row, into.Tleaf, into);
  read(Patm_, row, into.Patm, into);
  if (Qin_.column) {
    const auto value = Qin_.column->read(row);
    if (value) {
      into.Qin = *value;
    } else {
      problem(value.error());
    }
  }
  read_stomata(row, into);
  read_named(rday_, row, into.rday, curve);
  read_named(sd_, row, into.sd, curve);
  curve.rows.push_back(std::move(into));
}

std::string PointsCutter::check_group(const Curve& curve) const {
  if (!of_group_) return "";
  const CurveRow* first = nullptr;
  for (const CurveRow& row : curve.rows) {
    if (!row.use) continue;
    if (first == nullptr) first = &row;
    if (row.group != first->group) {
      return "column '" + *options_.group_column + "' changes within the curve: '" + first->group +
             "' at " + line_text(first->place) + ", '" + row.group + "' at " +
             line_text(row.place) + "; one group for the whole curve";
    }
  }
  return "";
}

std::string PointsCutter::check_rday(const Curve& curve) const {
  if (!rday_.column || options_.by_row) return "";
  const CurveRow* first = nullptr;
  for (const CurveRow& row : curve.rows) {
    if (!row.use) continue;
    if (!row.rday) {
      return "column '" + rday_.name + "' is empty at " + line_text(row.place) +
             "; one value for the whole curve";
    }
    if (first == nullptr) first = &row;
    if (*row.rday != *first->rday) {
      return "column '" + rday_.name +
             "' is not constant within the curve: " + print_number(*first->rday) + " at " +
             line_text(first->place) + ", " + print_number(*row.rday) + " at " +
             line_text(row.place) + "; one value for the whole curve";
    }
  }
  return "";
}

std::string PointsCutter::check_sd(const Curve& curve) const {
  if (!sd_.column) return "";
  for (const CurveRow& row : curve.rows) {
    if (!row.use || (row.sd && *row.sd > 0)) continue;
    return "column '" + sd_.name + "' " + (row.sd ? "is " + print_number(*row.sd) : "is empty") +
           " at " + line_text(row.place) +
           "; a standard deviation above 0 in every row that is used (or use = 0 there)";
  }
  return "";
}

// Flags, never changes: values outside the plausible range, and numbers that often stand for
// "missing".
void PointsCutter::flag_curve(Curve& curve) const {
  struct Flag {
    const Source& source;
    double CurveRow::*value;
  };
  for (const Flag& flag : {Flag{A_, &CurveRow::A}, Flag{Ci_, &CurveRow::Ci},
                           Flag{Tleaf_, &CurveRow::Tleaf}, Flag{Patm_, &CurveRow::Patm}}) {
    const Symbol* symbol = find_symbol(flag.source.name);
    std::size_t outside = 0;
    const CurveRow* first = nullptr;
    for (const CurveRow& row : curve.rows) {
      const double value = row.*flag.value;
      if (!row.use || (value >= symbol->plausible->low && value <= symbol->plausible->high)) {
        continue;
      }
      if (++outside == 1) first = &row;
    }
    if (outside == 0) continue;
    curve.notes.push_back(
        {NoteLevel::caution, "implausible-" + lower_case(flag.source.name),
         flag.source.name + " is outside " + print_number(symbol->plausible->low) + " to " +
             print_number(symbol->plausible->high) + " " + std::string(symbol->unit) + " in " +
             counted(outside, "row") + " (first: " + print_rounded(first->*flag.value, 6) + " at " +
             line_text(first->place) +
             "); used as it stands: check the unit, or mark the rows with use = 0"});
  }
}

void PointsCutter::finish_curve(Curve curve) {
  if (options_.screen) screen_points(curve, *options_.screen);
  const auto broken = broken_.find(curve.curve_id);
  if (broken != broken_.end()) {
    out_.failed.push_back({curve.curve_id, broken->second});
    return;
  }
  const CurveRow* first_out = nullptr;
  std::size_t used = 0;
  for (const CurveRow& row : curve.rows) {
    used += row.use ? 1U : 0U;
    if (!row.use && first_out == nullptr) first_out = &row;
  }
  if (used == 0) {
    out_.failed.push_back({curve.curve_id, "none of its " + counted(curve.rows.size(), "row") +
                                               " can be used; the first, " +
                                               line_text(first_out->place) + ": " +
                                               first_out->why});
    return;
  }
  if (const std::string why = check_group(curve); !why.empty()) {
    out_.failed.push_back({curve.curve_id, why});
    return;
  }
  for (const std::string& why : {check_rday(curve), check_sd(curve)}) {
    if (why.empty()) continue;
    out_.failed.push_back({curve.curve_id, why});
    return;
  }
  if (first_out != nullptr) {
    curve.notes.push_back({NoteLevel::info, "rows-not-used",
                           std::to_string(curve.rows.size() - used) + " of " +
                               counted(curve.rows.size(), "row") + " not used; the first, " +
                               line_text(first_out->place) + ": " + first_out->why});
  }
  flag_curve(curve);
  out_.curves.push_back(std::move(curve));
}

Result<Points> PointsCutter::cut() {
  out_.problems = table_.problems();
  out_.notes = table_.notes();
  if (const auto ok = find_columns(); !ok) return fail(ok.error());
  const auto rows = select_rows(table_, options_.only);
  if (!rows) return fail(rows.error());
  note_units();
  note_given(Tleaf_, "degC");
  note_given(Patm_, "kPa");
  std::vector<Curve> curves;
  std::map<std::string, std::size_t> index;
  std::string previous;
  for (const std::size_t row : *rows) {
    const auto id = curve_of(row);
    if (!id) continue;
    const auto [entry, is_new] = index.emplace(*id, curves.size());
    if (is_new) {
      curves.push_back({*id, {}, {}});
    } else if (*id != previous && group_) {
      Curve& again = curves[entry->second];
      if (again.notes.empty()) {
        again.notes.push_back({NoteLevel::caution, "curve-in-pieces",
                               "its rows stand in separate stretches of the file (again at " +
                                   line_text(table_.row_place(row)) +
                                   "); they were put together: is the name used twice?"});
      }
    }
    previous = *id;
    add_row(curves[entry->second], row);
  }
  if (ungrouped_ > 1) {
    out_.notes.push_back({NoteLevel::caution, "rows-without-curve",
                          counted(ungrouped_, "row") + " have no " + table_.name(*group_) +
                              " and belong to no curve"});
  }
  for (Curve& curve : curves) finish_curve(std::move(curve));
  if (problems_ > listed_problems) {
    out_.notes.push_back(
        {NoteLevel::caution, "more-problems",
         std::to_string(problems_ - listed_problems) + " further cells could not be read"});
  }
  return std::move(out_);
}

}  // namespace

Result<Points> cut_points(const Table& table, const PointsOptions& options) {
  return PointsCutter(table, options).cut();
}

}  // namespace leafwright
