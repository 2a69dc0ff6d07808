#include "table/reader.hpp"

#include <algorithm>
#include <unordered_map>
#include <unordered_set>

#include "base/text.hpp"
#include "quantity/symbol.hpp"
#include "table/header.hpp"

namespace leafwright {

namespace {

std::string one_line(std::string text) {
  for (char& c : text) {
    if (c == '\n' || c == '\r' || c == '\t') c = ' ';
  }
  return std::string(trim(text));
}

}  // namespace

Result<Table> read_table(std::string bytes, std::string file, const LayoutChoice& choice) {
  return TableReader(std::move(file), choice).read(std::move(bytes));
}

Result<Table> TableReader::read(std::string bytes) {
  const auto with_file = [this](Error error) {
    error.place.file = table_.file_;
    if (error.place.line > 0 && error.place.excerpt.empty() && buffer_ != nullptr) {
      const auto column = error.place.column;
      error.place = line_place(table_.line_begin_[error.place.line - 1]);
      error.place.column = column;
    }
    return fail(std::move(error));
  };
  if (const auto ok = take_text(std::move(bytes)); !ok) return with_file(ok.error());
  const auto marks = detect_marks(text_, choice_);
  if (!marks) return with_file(marks.error());
  marks_ = *marks;
  table_.layout_.delimiter = marks_.delimiter;
  table_.layout_.decimal = marks_.decimal;
  splitter_ = std::make_unique<Splitter>(text_, marks_.delimiter);
  const auto header = header_offset();
  if (!header) return with_file(header.error());
  keep_preamble(*header);
  const auto body = begin_block(*header);
  if (!body) return with_file(body.error());
  take_rows(*body);
  finish();
  return std::move(table_);
}

Result<void> TableReader::take_text(std::string bytes) {
  auto decoded = decode_text(std::move(bytes), choice_.encoding);
  if (!decoded) return fail(decoded.error());
  buffer_ = std::make_shared<const std::string>(std::move(decoded->text));
  text_ = *buffer_;
  cut_ = decoded->cut;
  table_.buffer_ = buffer_;
  table_.line_begin_ = line_starts(*buffer_);
  table_.layout_.encoding = decoded->encoding;
  table_.layout_.byte_order_mark = decoded->byte_order_mark;
  table_.layout_.line_end = decoded->line_end;
  table_.notes_ = std::move(decoded->notes);
  table_.problems_ = std::move(decoded->problems);
  for (Error& error : table_.problems_) error.place.file = table_.file_;
  return {};
}

Result<std::size_t> TableReader::header_offset() {
  const auto lines = table_.line_begin_.size();
  for (const auto& [line, what] :
       {std::pair{choice_.header_line, "header-row"}, std::pair{choice_.units_line, "units-row"}}) {
    if (!line || (*line == 0 && line == choice_.units_line) || (*line >= 1 && *line <= lines)) {
      continue;
    }
    return fail(ErrorCode::usage,
                std::string(what) + " " + std::to_string(*line) + " is not in the file",
                "a line from 1 to " + std::to_string(lines));
  }
  if (choice_.header_line) return table_.line_begin_[*choice_.header_line - 1];
  return find_header(text_, *splitter_, marks_);
}

void TableReader::keep_preamble(std::size_t header_at) {
  for (const std::uint32_t begin : table_.line_begin_) {
    if (begin >= header_at) break;
    const std::size_t end = std::min(text_.find('\n', begin), text_.size());
    if (trim(text_.substr(begin, end - begin)).empty()) continue;
    keep_line(is_comment(text_, begin) ? LineKind::comment : LineKind::preamble, begin, end);
  }
}

void TableReader::keep_line(LineKind kind, std::size_t begin, std::size_t end) {
  const Place place = line_place(begin);
  table_.kept_lines_.push_back({kind, place.line, table_.row_begin_.size(),
                                std::string(trim(text_.substr(begin, end - begin)))});
}

// The header at `at` and the units row that may follow. Returns where the rows begin.
Result<std::size_t> TableReader::begin_block(std::size_t at) {
  Record record;
  splitter_->next(at, record, true);
  if (record.blank()) {
    return fail(ErrorCode::usage, "the line given as header is blank", "a line of column titles",
                "", line_place(at));
  }
  Block block;
  block.header_line = line_place(at).line;
  block.first_row = table_.row_begin_.size();
  table_.layout_.blocks.push_back(block);
  map_titles(record);
  const std::size_t body = take_units(record.next, record);
  const bool first = table_.layout_.blocks.size() == 1;
  Record row;
  for (std::size_t next = body; splitter_->next(next, row); next = row.next) {
    if (row.blank() || is_comment(text_, row.begin)) continue;
    // Row names without a title would shift every value by one column.
    if (row.fields.size() > columns_.size() && first &&
        count_cells(*splitter_, row, marks_.decimal).numbers > 0 &&
        !splitter_->view(row.fields.back()).empty()) {
      return fail(ErrorCode::unreadable,
                  "the header has " + counted(columns_.size(), "title") + ", this row has " +
                      counted(row.fields.size(), "cell"),
                  "one title for each column", "add the missing title", line_place(row.begin));
    }
    break;
  }
  return body;
}

std::size_t TableReader::new_column(const std::string& title) {
  Table::Column column;
  column.title = title;
  column.name = parse_title(title).name;
  column.cells.resize(table_.row_begin_.size());
  column.units.resize(table_.layout_.blocks.size());
  column.unit_offsets.resize(table_.layout_.blocks.size());
  table_.columns_.push_back(std::move(column));
  return table_.columns_.size() - 1;
}

// Columns of a later block are those of the same title; a title that is there twice keeps two
// columns, in order.
void TableReader::map_titles(const Record& record) {
  std::unordered_map<std::string, std::vector<std::size_t>>
      free;  // columns not yet met, last first
  for (std::size_t i = table_.columns_.size(); i-- > 0;) {
    Table::Column& column = table_.columns_[i];
    column.units.emplace_back();
    column.unit_offsets.push_back(static_cast<std::uint32_t>(record.begin));
    free[column.name].push_back(i);
  }
  columns_.clear();
  titles_.clear();
  std::unordered_set<std::string> met;
  for (const Field& field : record.fields) {
    std::string title = one_line(splitter_->text(field));
    if (titles_.empty() && !title.empty() && title.front() == '#') {
      title = one_line(title.substr(1));
    }
    const Title parts = parse_title(title);
    auto& known = free[parts.name];
    const std::size_t at = known.empty() ? new_column(title) : known.back();
    if (!known.empty()) known.pop_back();
    columns_.push_back(at);
    titles_.push_back(title);
    table_.columns_[at].units.back() = parts.unit;
    table_.columns_[at].unit_offsets.back() = field.begin;
    if (!met.insert(parts.name).second && !parts.name.empty()) {
      fault(twice_, "column title '" + shortened(parts.name) + "' is there twice",
            "each title once", "both columns are kept; rename one if it is needed", field.begin);
    }
  }
}

// In a text split by blanks "umol m-2 s-1  kPa" has two units: a single blank joins.
void TableReader::join_single_blanks(Record& record) const {
  std::vector<Field> joined;
  for (const Field& field : record.fields) {
    if (!joined.empty() && field.begin == joined.back().end + 1 &&
        text_[joined.back().end] == ' ') {
      joined.back().end = field.end;
    } else {
      joined.push_back(field);
    }
  }
  record.fields = std::move(joined);
}

std::size_t TableReader::take_units(std::size_t at, const Record& header) {
  std::size_t body = at;
  const bool first = table_.layout_.blocks.size() == 1;
  if (first && choice_.units_line == std::size_t{0}) return body;
  Record record;
  if (first && choice_.units_line) {
    at = table_.line_begin_[*choice_.units_line - 1];
    if (!splitter_->next(at, record)) return body;
    if (at > header.begin) body = std::max(body, record.next);
  } else {
    while (splitter_->next(at, record) && (record.blank() || is_comment(text_, record.begin))) {
      at = record.next;
    }
    if (marks_.delimiter == ' ' && record.fields.size() > columns_.size()) {
      join_single_blanks(record);
    }
    if (record.fields.size() > columns_.size() || !is_units_row(*splitter_, record, marks_.decimal))
      return body;
    body = record.next;
  }
  table_.layout_.blocks.back().units_line = line_place(record.begin).line;
  for (std::size_t i = 0; i < record.fields.size() && i < columns_.size(); ++i) {
    const std::string unit(without_brackets(splitter_->text(record.fields[i])));
    if (unit.empty()) continue;
    Table::Column& column = table_.columns_[columns_[i]];
    std::string& held = column.units.back();
    if (!held.empty() && held != unit) {
      table_.problems_.push_back({ErrorCode::unreadable, table_.place_at(record.fields[i].begin),
                                  "the units row says '" + shortened(unit) + "' for column '" +
                                      shortened(column.name) + "', its title says '" +
                                      shortened(held) + "'",
                                  "one unit", "the units row was taken; correct one of them"});
    }
    held = unit;
    column.unit_offsets.back() = record.fields[i].begin;
  }
  return body;
}

// Two known names, or the titles of the block at hand again.
bool TableReader::begins_block(const Record& record) const {
  if (record.fields.size() == titles_.size() &&
      std::equal(titles_.begin(), titles_.end(), record.fields.begin(),
                 [&](const std::string& title, const Field& field) {
                   return title == splitter_->view(field);
                 })) {
    return true;
  }
  if (words_table_) return false;
  if (known_titles(*splitter_, record) >= 2) return true;
  if (record.fields.size() == columns_.size() || record.fields.size() < 2) return false;
  if (count_cells(*splitter_, record, marks_.decimal).missing > 0) return false;
  // Other titles, of another width: the two records after them must be numbers of that width.
  Record row;
  std::size_t at = record.next;
  for (int i = 0; i < 2; ++i) {
    if (!splitter_->next(at, row)) return false;
    if (i == 0 && is_units_row(*splitter_, row, marks_.decimal))
      --i;
    else if (row.fields.size() != record.fields.size() ||
             !has_number(*splitter_, row, marks_.decimal))
      return false;
    at = row.next;
  }
  return true;
}

void TableReader::take_rows(std::size_t at) {
  Record record;
  std::size_t probe = at;
  std::size_t probed = 0;
  words_table_ = true;
  while (words_table_ && probed < 2000 && splitter_->next(probe, record)) {
    words_table_ = !has_number(*splitter_, record, marks_.decimal);
    probe = record.next;
    ++probed;
  }
  while (splitter_->next(at, record)) {
    at = record.next;
    if (record.bad_quote) {
      fault(quotes_, "a quote that is not closed", "a closing quote before the next delimiter",
            "read as a plain character", record.bad_quote_at);
    }
    if (record.blank()) continue;
    if (is_comment(text_, record.begin)) {
      keep_line(LineKind::comment, record.begin, record.end);
      continue;
    }
    if (has_number(*splitter_, record, marks_.decimal)) {
      add_row(record);
      continue;
    }
    if (begins_block(record)) {
      return_short_rows();
      table_.layout_.blocks.back().rows =
          table_.row_begin_.size() - table_.layout_.blocks.back().first_row;
      if (const auto body = begin_block(record.begin)) at = *body;
    } else {
      words_only(record);
    }
  }
}

void TableReader::words_only(const Record& record) {
  const Cells cells = count_cells(*splitter_, record, marks_.decimal);
  if (cells.words == 0 && cells.missing == record.fields.size() &&
      std::all_of(record.fields.begin(), record.fields.end(),
                  [](const Field& field) { return field.begin == field.end; })) {
    return;  // delimiters only, as spreadsheets write below their data
  }
  const bool cut = !record.has_line_end && record.fields.size() < columns_.size();
  if (record.fields.size() < columns_.size() && !words_table_ && !cut) {
    keep_line(LineKind::remark, record.begin, record.end);
    return;
  }
  add_row(record);
}

void TableReader::add_row(const Record& record) {
  look_at_width(record);
  table_.row_begin_.push_back(static_cast<std::uint32_t>(record.begin));
  const std::size_t rows = table_.row_begin_.size();
  const std::size_t shared = std::min(record.fields.size(), columns_.size());
  for (std::size_t i = 0; i < shared; ++i) {
    const Field& field = record.fields[i];
    Table::Cell cell{field.begin, field.end - field.begin};
    if (field.doubled) {
      table_.unescaped_.emplace_back(field.begin, splitter_->text(field));
      cell.length |= 0x80000000U;
    }
    table_.columns_[columns_[i]].cells.push_back(cell);
  }
  if (shared == table_.columns_.size()) return;
  for (Table::Column& column : table_.columns_) column.cells.resize(rows);
}

void TableReader::look_at_width(const Record& record) {
  const std::size_t cells = record.fields.size();
  const std::size_t titles = columns_.size();
  const std::size_t row = table_.row_begin_.size();
  const std::string counts =
      counted(cells, "cell") + " where the header has " + counted(titles, "title");
  const bool preamble_like =
      cells <= 2 && (cells < titles || !has_number(*splitter_, record, marks_.decimal));
  short_rows_ = preamble_like ? short_rows_ + 1 : 0;
  if (cells == titles) {
    if (record.has_line_end) return;
    if (cut_) {
      table_.row_faults_.emplace_back(row, "the file was cut inside this line");
    } else {
      table_.notes_.push_back({NoteLevel::info, "last-line-open",
                               "the last line has no line end; if the writing was broken off, its "
                               "last number may be cut"});
    }
    return;
  }
  if (cells < titles && !record.has_line_end) {
    table_.row_faults_.emplace_back(row, "the file was cut inside this line");
    table_.problems_.push_back({ErrorCode::unreadable, line_place(record.begin),
                                "the last line is cut: " + counts, "a whole line",
                                "it is kept, but its numbers are not used"});
    return;
  }
  if (cells < titles) {
    const bool shifted = marks_.delimiter == ' ';
    if (shifted) table_.row_faults_.emplace_back(row, counts);
    fault(short_, counts, "one cell for each title",
          shifted ? "not used: which cell is missing cannot be told"
                  : "the cells at its end are taken as missing",
          record.begin);
    return;
  }
  const bool empty =
      std::all_of(record.fields.begin() + static_cast<std::ptrdiff_t>(titles), record.fields.end(),
                  [](const Field& field) { return field.begin == field.end; });
  if (empty) return;
  table_.row_faults_.emplace_back(row, counts);
  fault(extra_, counts, "one cell for each title",
        "not used: put text that holds the delimiter between quotes", record.begin);
}

// Rows of one or two cells right above a header are the preamble of its block.
void TableReader::return_short_rows() {
  for (; short_rows_ > 0; --short_rows_) {
    const std::size_t begin = table_.row_begin_.back();
    const std::size_t end = std::min(text_.find('\n', begin), text_.size());
    table_.row_begin_.pop_back();
    for (Table::Column& column : table_.columns_) column.cells.pop_back();
    keep_line(LineKind::preamble, begin, end);
    const auto line = line_place(begin).line;
    auto& problems = table_.problems_;
    const auto same = [&](const Error& error) { return error.place.line == line; };
    const auto kept = std::remove_if(problems.begin(), problems.end(), same);
    if (kept != problems.end()) --short_.seen;
    problems.erase(kept, problems.end());
    auto& faults = table_.row_faults_;
    if (!faults.empty() && faults.back().first == table_.row_begin_.size()) faults.pop_back();
  }
}

void TableReader::finish() {
  Block& last = table_.layout_.blocks.back();
  last.rows = table_.row_begin_.size() - last.first_row;
  for (const Faults* faults : {&extra_, &short_, &quotes_, &twice_}) {
    if (faults->seen <= 10) continue;
    table_.notes_.push_back(
        {NoteLevel::caution, faults->about,
         std::to_string(faults->seen) + " " + faults->what + "; the first ten are listed"});
  }
  const auto remarks =
      std::count_if(table_.kept_lines_.begin(), table_.kept_lines_.end(),
                    [](const KeptLine& kept) { return kept.kind == LineKind::remark; });
  if (remarks > 0) {
    const auto first =
        std::find_if(table_.kept_lines_.begin(), table_.kept_lines_.end(),
                     [](const KeptLine& kept) { return kept.kind == LineKind::remark; });
    table_.notes_.push_back({NoteLevel::info, "remarks",
                             counted(static_cast<std::size_t>(remarks), "line") +
                                 " between the rows hold text only (first: line " +
                                 std::to_string(first->line) + "); kept as remarks"});
  }
  if (table_.row_begin_.empty()) {
    table_.problems_.push_back({ErrorCode::unreadable,
                                {table_.file_, last.header_line, 0, ""},
                                "no rows below the header",
                                "at least one row of numbers",
                                ""});
  }
  drop_untitled_empty_columns();
}

void TableReader::drop_untitled_empty_columns() {
  auto& columns = table_.columns_;
  columns.erase(
      std::remove_if(columns.begin(), columns.end(),
                     [](const Table::Column& column) {
                       return column.title.empty() &&
                              std::all_of(column.cells.begin(), column.cells.end(),
                                          [](const Table::Cell& cell) { return cell.length == 0; });
                     }),
      columns.end());
}

void TableReader::fault(Faults& faults, std::string found, std::string expected, std::string hint,
                        std::size_t offset) {
  constexpr std::size_t kept = 10;
  if (++faults.seen > kept) return;
  table_.problems_.push_back({ErrorCode::unreadable, line_place(offset), std::move(found),
                              std::move(expected), std::move(hint)});
}

Place TableReader::line_place(std::size_t offset) const {
  Place place = table_.place_at(offset);
  const std::size_t begin = table_.line_begin_[place.line - 1];
  if (offset == begin) place.column = 0;
  return place;
}

}  // namespace leafwright
