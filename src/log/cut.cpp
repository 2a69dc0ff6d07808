#include "log/cut.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"
#include "log/steps.hpp"

namespace leafwright {

namespace {

/// The median step of the time.
double usual_step(const std::vector<double>& seconds) {
  std::vector<double> steps;
  for (std::size_t i = 1; i < seconds.size(); ++i) {
    const double step = seconds[i] - seconds[i - 1];
    if (step > 0) steps.push_back(step);
  }
  if (steps.empty()) return 0;
  const auto middle = steps.begin() + static_cast<std::ptrdiff_t>(steps.size() / 2);
  std::nth_element(steps.begin(), middle, steps.end());
  return *middle;
}

class Cutter {
 public:
  Cutter(const Log& log, const TimeAxis& axis, const Samples* samples, const CutChoice& choice,
         const TimeChoice& time)
      : log_(log), axis_(axis), samples_(samples), choice_(choice), time_(time) {}

  Result<Cut> cut();

 private:
  Result<void> choose();
  Result<void> by_column();
  Result<void> by_windows();
  Result<void> by_remark_column();
  void by_remark_lines();
  void by_blocks();
  void by_gap();
  void by_starts(const std::vector<std::size_t>& starts, const std::string& how);
  void put(std::size_t row, std::string_view id);
  Result<void> read_renames();
  Result<void> rename();
  void look_at_pieces();

  const Log& log_;
  const TimeAxis& axis_;
  const Samples* samples_;
  const CutChoice& choice_;
  const TimeChoice& time_;
  std::optional<std::size_t> column_;
  Cut out_;
  std::map<std::string, std::uint32_t, std::less<>> index_;
  std::uint32_t last_ = Cut::no_curve;
  struct Rename {
    std::string to, why;
    bool met = false;
    bool must = false;  ///< an option's: one that meets no row is an error
  };
  std::map<std::string, Rename, std::less<>> renames_;
};

void Cutter::put(std::size_t row, std::string_view id) {
  if (last_ == Cut::no_curve || out_.curves[last_].recorded_id != id) {
    const auto found = index_.find(id);
    if (found != index_.end()) {
      last_ = found->second;
    } else {
      last_ = static_cast<std::uint32_t>(out_.curves.size());
      index_.emplace(std::string(id), last_);
      out_.curves.push_back({std::string(id), std::string(id), {}, {}});
    }
  }
  out_.curve_of[row] = last_;
  out_.curves[last_].rows.push_back(row);
}

Result<void> Cutter::choose() {
  const Table& table = log_.table();
  const std::string name = choice_.column.value_or("curve_id");
  const bool wants_column = !choice_.by || *choice_.by == CutBy::column;
  const auto mapped = choice_.column ? std::nullopt : log_.text_column("curve_id");
  if (wants_column && mapped) {
    column_ = *mapped;
    out_.by = CutBy::column;
    return {};
  }
  if (wants_column && table.has(name)) {
    const auto column = table.find(name);
    if (!column) return fail(column.error());
    column_ = *column;
    out_.by = CutBy::column;
    return {};
  }
  if (choice_.column || choice_.by == CutBy::column) {
    Error error = missing_column(table, name, "the column that names the curves");
    error.code = ErrorCode::usage;
    return fail(std::move(error));
  }
  if (choice_.by) {
    out_.by = *choice_.by;
    return {};
  }
  const bool windows = samples_ != nullptr && !samples_->windows(table.file()).empty();
  out_.by = windows                            ? CutBy::samples
            : table.layout().blocks.size() > 1 ? CutBy::blocks
            : axis_.there()                    ? CutBy::gap
                                               : CutBy::file;
  return {};
}

Result<void> Cutter::by_column() {
  const Table& table = log_.table();
  std::size_t without = 0;
  std::size_t first = 0;
  for (std::size_t row = 0; row < log_.rows(); ++row) {
    const std::string_view text = trim(table.text(*column_, row));
    if (!is_missing(text)) {
      put(row, text);
    } else if (++without == 1) {
      first = row;
    }
  }
  if (without > 0) {
    out_.notes.push_back({NoteLevel::caution, "rows-without-curve",
                          counted(without, "row") + " have no " + table.name(*column_) +
                              " (first: " + line_text(table.row_place(first)) +
                              ") and belong to no curve"});
  }
  return {};
}

Result<void> Cutter::by_windows() {
  const auto windows =
      samples_ == nullptr ? std::vector<const Sample*>() : samples_->windows(log_.table().file());
  if (windows.empty()) {
    return fail(ErrorCode::usage, "no window of time for " + log_.table().file(),
                "a samples table with the columns from and to (and file)",
                "docs/formats/samples.md shows one");
  }
  if (!axis_.there()) {
    return fail(ErrorCode::usage, log_.table().file() + " has no time to cut by",
                "time_s, elapsed_s, or date and time");
  }
  struct Window {
    double from, to;
    const Sample* sample;
  };
  std::vector<Window> spans;
  for (const Sample* sample : windows) {
    Window window{-std::numeric_limits<double>::infinity(), std::numeric_limits<double>::infinity(),
                  sample};
    for (const auto& [text, slot] :
         {std::pair{&sample->from, &window.from}, std::pair{&sample->to, &window.to}}) {
      if (text->empty()) continue;
      const auto value = moment(axis_, *text, time_);
      if (!value) {
        Error error = value.error();
        error.place = sample->place;
        return fail(std::move(error));
      }
      *slot = *value;
    }
    if (!(window.from < window.to)) {
      return fail(ErrorCode::usage,
                  "curve '" + sample->curve_id + "' ends (" + sample->to + ") before it begins (" +
                      sample->from + ")",
                  "from before to", "", sample->place);
    }
    spans.push_back(window);
  }
  std::stable_sort(spans.begin(), spans.end(),
                   [](const Window& a, const Window& b) { return a.from < b.from; });
  for (std::size_t i = 1; i < spans.size(); ++i) {
    if (spans[i].from >= spans[i - 1].to) continue;
    return fail(ErrorCode::refused,
                "the windows of '" + spans[i - 1].sample->curve_id + "' and '" +
                    spans[i].sample->curve_id + "' overlap",
                "each row in one curve", "correct from or to", spans[i].sample->place);
  }
  std::size_t outside = 0;
  for (std::size_t row = 0; row < log_.rows(); ++row) {
    const double t = axis_.seconds[row];
    const auto inside = std::find_if(spans.begin(), spans.end(), [&](const Window& window) {
      return t >= window.from && t < window.to;
    });
    if (inside == spans.end()) {
      ++outside;
    } else {
      put(row, inside->sample->curve_id);
    }
  }
  if (outside > 0) {
    out_.notes.push_back({NoteLevel::info, "rows-without-curve",
                          counted(outside, "row") + " lie in no window of " + samples_->file +
                              " and belong to no curve"});
  }
  for (const Window& window : spans) {
    if (index_.contains(window.sample->curve_id)) continue;
    out_.notes.push_back({NoteLevel::caution, "window-empty",
                          "no row lies in the window of curve '" + window.sample->curve_id + "' (" +
                              line_text(window.sample->place) + ")"});
  }
  return {};
}

void Cutter::by_starts(const std::vector<std::size_t>& starts, const std::string& how) {
  const std::string stem = file_stem(log_.table().file());
  for (std::size_t i = 0; i < starts.size(); ++i) {
    const std::size_t end = i + 1 < starts.size() ? starts[i + 1] : log_.rows();
    const std::string id = starts.size() == 1 ? stem : stem + "-" + std::to_string(i + 1);
    for (std::size_t row = starts[i]; row < end; ++row) put(row, id);
  }
  const std::string named = ", named after the file";
  out_.notes.push_back(
      {NoteLevel::info, "curves-from-file",
       starts.size() == 1
           ? "no column 'curve_id': the whole file is one curve" + named
           : "no column 'curve_id': " + how + ": " + counted(starts.size(), "curve") + named});
}

void Cutter::by_blocks() {
  std::vector<std::size_t> starts;
  for (const Block& block : log_.table().layout().blocks) {
    if (block.rows > 0) starts.push_back(block.first_row);
  }
  if (starts.empty()) starts.push_back(0);
  by_starts(starts,
            "each of the " + std::to_string(starts.size()) + " blocks of the file is one curve");
}

void Cutter::by_gap() {
  std::vector<std::size_t> starts = {0};
  double before = std::numeric_limits<double>::quiet_NaN();
  for (std::size_t row = 0; row < log_.rows(); ++row) {
    const double now = axis_.seconds[row];
    if (std::isnan(now)) continue;
    if (std::abs(now - before) > choice_.gap_s) starts.push_back(row);
    before = now;
  }
  by_starts(starts, "cut where more than " + print_number(choice_.gap_s) + " s pass between rows");
}

void Cutter::by_remark_lines() {
  std::vector<std::pair<std::size_t, std::string>> marks;
  for (const KeptLine& line : log_.table().kept_lines()) {
    if (line.kind == LineKind::remark) marks.emplace_back(line.before_row, line.text);
  }
  const std::string stem = file_stem(log_.table().file());
  std::map<std::string, std::size_t> seen;
  std::string id = stem + "-0";
  std::size_t next = 0;
  for (std::size_t row = 0; row < log_.rows(); ++row) {
    bool begins = false;
    while (next < marks.size() && marks[next].first <= row) {
      id = shortened(marks[next++].second);
      begins = true;
    }
    if (begins && ++seen[id] > 1) id += " (" + std::to_string(seen[id]) + ")";
    put(row, id);
  }
  out_.notes.push_back({NoteLevel::info, "curves-from-remarks",
                        "cut at the remarks of the log: " + counted(out_.curves.size(), "curve") +
                            ", each named by the remark above it"});
}

Result<void> Cutter::by_remark_column() {
  const Table& table = log_.table();
  std::optional<std::size_t> column = log_.text_column("remark");
  if (!choice_.remark_column.empty()) {
    if (!table.has(choice_.remark_column)) {
      Error error = missing_column(table, choice_.remark_column, "the column of remarks");
      error.code = ErrorCode::usage;
      return fail(std::move(error));
    }
    const auto found = table.find(choice_.remark_column);
    if (!found) return fail(found.error());
    column = *found;
  }
  std::string id = file_stem(table.file()) + "-0";
  for (std::size_t row = 0; row < log_.rows(); ++row) {
    const std::string_view text = trim(table.text(*column, row));
    if (!is_missing(text)) id = shortened(text);
    put(row, id);
  }
  out_.notes.push_back({NoteLevel::info, "curves-from-remarks",
                        "cut by the column '" + table.name(*column) +
                            "': " + counted(out_.curves.size(), "curve") +
                            ", each named by its remark; a row without one follows the row above"});
  return {};
}

Result<void> Cutter::read_renames() {
  if (samples_ != nullptr) {
    for (const Sample& sample : samples_->rows) {
      if (sample.rename.empty()) continue;
      if (!sample.file.empty() && !same_log(sample.file, log_.table().file())) continue;
      renames_[sample.curve_id] = {
          sample.rename,
          line_text(sample.place) + (sample.reason.empty() ? "" : ": " + sample.reason)};
    }
  }
  for (const std::string& text : choice_.renames) {
    const std::size_t at = text.find('=');
    if (at == std::string::npos || at == 0 || at + 1 == text.size()) {
      return fail(ErrorCode::usage, "'" + shortened(text) + "' for 'rename'",
                  "OLD=NEW, two curve ids");
    }
    renames_[text.substr(0, at)] = {text.substr(at + 1), "decided by option or study", false, true};
  }
  return {};
}

// Rows of a mistyped id join the curve that has the right one.
Result<void> Cutter::rename() {
  if (auto ok = read_renames(); !ok) return ok;
  if (renames_.empty()) return {};
  std::vector<CutCurve> old;
  old.swap(out_.curves);
  index_.clear();
  for (CutCurve& curve : old) {
    const auto decided = renames_.find(curve.recorded_id);
    if (decided != renames_.end()) {
      decided->second.met = true;
      curve.curve_id = decided->second.to;
      out_.notes.push_back({NoteLevel::info, "curve-renamed",
                            "curve '" + curve.recorded_id + "' of " + log_.table().file() +
                                " is called '" + curve.curve_id + "' (" + decided->second.why +
                                "); the log is unchanged"});
    }
    const auto [at, is_new] =
        index_.emplace(curve.curve_id, static_cast<std::uint32_t>(out_.curves.size()));
    if (is_new) {
      out_.curves.push_back(std::move(curve));
    } else {
      auto& rows = out_.curves[at->second].rows;
      rows.insert(rows.end(), curve.rows.begin(), curve.rows.end());
      std::sort(rows.begin(), rows.end());
    }
  }
  for (std::uint32_t i = 0; i < out_.curves.size(); ++i) {
    for (const std::size_t row : out_.curves[i].rows) out_.curve_of[row] = i;
  }
  std::vector<std::string> ids;
  for (const CutCurve& curve : out_.curves) ids.push_back(curve.recorded_id);
  for (const auto& [from, decided] : renames_) {
    if (decided.met || !decided.must) continue;
    return fail(ErrorCode::usage,
                "no curve '" + shortened(from) + "' to rename in " + log_.table().file(), "",
                suggest_name(from, ids));
  }
  return {};
}

void Cutter::look_at_pieces() {
  if (out_.by != CutBy::column) return;
  for (CutCurve& curve : out_.curves) {
    for (std::size_t i = 1; i < curve.rows.size(); ++i) {
      // Rows without a curve between two rows of one curve are no other curve.
      bool other = false;
      for (std::size_t row = curve.rows[i - 1] + 1; row < curve.rows[i] && !other; ++row) {
        other = out_.curve_of[row] != Cut::no_curve;
      }
      if (!other) continue;
      curve.notes.push_back({NoteLevel::caution, "curve-in-pieces",
                             "its rows stand in separate stretches of the file (again at " +
                                 line_text(log_.table().row_place(curve.rows[i])) +
                                 "); they were put together: is the name used twice?"});
      break;
    }
  }
}

Result<Cut> Cutter::cut() {
  out_.curve_of.assign(log_.rows(), Cut::no_curve);
  if (auto ok = choose(); !ok) return fail(ok.error());
  const std::string& file = log_.table().file();
  Result<void> done;
  switch (out_.by) {
    case CutBy::column:
      done = by_column();
      break;
    case CutBy::samples:
      done = by_windows();
      break;
    case CutBy::blocks:
      by_blocks();
      break;
    case CutBy::gap:
      if (!axis_.there()) {
        return fail(ErrorCode::usage, file + " has no time to cut by",
                    "time_s, elapsed_s, or date and time", "name its column in a map");
      }
      by_gap();
      break;
    case CutBy::programme:
      if (log_.find("CO2r") == nullptr) {
        return fail(ErrorCode::usage, file + " has no CO2r to cut by", "the column CO2r",
                    "name its column in a map");
      }
      by_starts(programme_starts(log_, axis_, choice_),
                "cut where the first two set-points of CO2r come again");
      break;
    case CutBy::remarks:
      if (!choice_.remark_column.empty() || log_.text_column("remark")) {
        done = by_remark_column();
        break;
      }
      if (std::none_of(log_.table().kept_lines().begin(), log_.table().kept_lines().end(),
                       [](const KeptLine& line) { return line.kind == LineKind::remark; })) {
        return fail(ErrorCode::usage, file + " has no remark between its rows",
                    "lines of text between the rows",
                    "if a column holds the remarks, name it with --remark-column");
      }
      by_remark_lines();
      break;
    case CutBy::file:
      by_starts({0}, "");
      break;
  }
  if (!done) return fail(done.error());
  if (auto ok = rename(); !ok) return fail(ok.error());
  look_at_pieces();
  return std::move(out_);
}

}  // namespace

const char* cut_by_name(CutBy by) {
  switch (by) {
    case CutBy::column:
      return "column";
    case CutBy::samples:
      return "samples";
    case CutBy::blocks:
      return "blocks";
    case CutBy::gap:
      return "gap";
    case CutBy::programme:
      return "programme";
    case CutBy::remarks:
      return "remarks";
    case CutBy::file:
      return "file";
  }
  return "file";
}

std::string file_stem(const std::string& file) {
  const std::size_t slash = file.find_last_of("/\\");
  std::string name = slash == std::string::npos ? file : file.substr(slash + 1);
  const std::size_t dot = name.rfind('.');
  if (dot != std::string::npos && dot > 0) name.resize(dot);
  return name.empty() ? "curve" : name;
}

std::vector<std::size_t> programme_starts(const Log& log, const TimeAxis& axis,
                                          const CutChoice& choice) {
  std::vector<std::size_t> starts = {0};
  const Channel* CO2r = log.find("CO2r");
  if (CO2r == nullptr) return starts;
  const auto holds =
      find_holds(CO2r->values, axis.seconds, choice.setpoint_tolerance, choice.hold_shortest_s);
  if (holds.size() < 4) return starts;
  const auto same = [&](double a, double b) {
    return std::abs(a - b) <= std::max(2 * choice.setpoint_tolerance, 0.03 * std::abs(b));
  };
  const double usual = usual_step(axis.seconds);
  for (std::size_t i = 2; i + 1 < holds.size(); ++i) {
    if (!same(holds[i].level, holds[0].level) || !same(holds[i + 1].level, holds[1].level)) {
      continue;
    }
    // The last point of one curve and the first of the next may be at one set-point: a pause within
    // the hold is the change of leaves.
    std::size_t start = holds[i - 1].last + 1;
    double longest = 2 * usual;
    for (std::size_t row = holds[i].first + 1; row <= holds[i].last && axis.there(); ++row) {
      const double pause = axis.seconds[row] - axis.seconds[row - 1];
      if (!(pause > longest)) continue;
      longest = pause;
      start = row;
    }
    starts.push_back(start);
  }
  return starts;
}

Result<Cut> cut_log(const Log& log, const TimeAxis& axis, const Samples* samples,
                    const CutChoice& choice, const TimeChoice& time) {
  return Cutter(log, axis, samples, choice, time).cut();
}

}  // namespace leafwright
