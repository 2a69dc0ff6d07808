#include "table/table.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {

namespace {
constexpr std::uint32_t unescaped_mark = 0x80000000U;
}

bool is_missing(std::string_view text) {
  if (text.empty()) return true;
  const char c = text.front();
  if (text.size() > 4 || (c != 'N' && c != 'n')) return false;
  return same_letters(text, "NA") || same_letters(text, "N/A") || same_letters(text, "NaN") ||
         same_letters(text, "null");
}

const std::string& Table::title(std::size_t column) const {
  return columns_.at(column).title;
}
const std::string& Table::name(std::size_t column) const {
  return columns_.at(column).name;
}

std::vector<std::string> Table::names() const {
  std::vector<std::string> out;
  for (const Column& column : columns_) out.push_back(column.name);
  return out;
}

const std::string& Table::unit(std::size_t column, std::size_t block) const {
  return columns_.at(column).units.at(block);
}

Place Table::unit_place(std::size_t column, std::size_t block) const {
  return place_at(columns_.at(column).unit_offsets.at(block));
}

std::size_t Table::block_of(std::size_t row) const {
  const auto after = std::upper_bound(
      layout_.blocks.begin(), layout_.blocks.end(), row,
      [](std::size_t wanted, const Block& block) { return wanted < block.first_row; });
  return static_cast<std::size_t>(after - layout_.blocks.begin()) - 1;
}

Result<std::size_t> Table::find(std::string_view name) const {
  std::optional<std::size_t> first;
  for (std::size_t i = 0; i < columns_.size(); ++i) {
    if (columns_[i].name != name) continue;
    if (first) {
      Place place{file_, layout_.blocks.front().header_line, 0, ""};
      return fail(ErrorCode::unreadable,
                  "column '" + shortened(name) + "' is there twice (columns " +
                      std::to_string(*first + 1) + " and " + std::to_string(i + 1) + ")",
                  "one", "rename or remove one of them", place);
    }
    first = i;
  }
  if (first) return *first;
  return fail(ErrorCode::unreadable, "no column '" + shortened(name) + "'", "",
              suggest_name(name, names()), {file_, layout_.blocks.front().header_line, 0, ""});
}

bool Table::has(std::string_view name) const {
  return std::any_of(columns_.begin(), columns_.end(),
                     [&](const Column& column) { return column.name == name; });
}

std::string_view Table::text(std::size_t column, std::size_t row) const {
  const Cell cell = columns_[column].cells[row];
  if ((cell.length & unescaped_mark) == 0) {
    return {buffer_->data() + cell.offset, cell.length};
  }
  const auto found = std::lower_bound(
      unescaped_.begin(), unescaped_.end(), cell.offset,
      [](const auto& entry, std::uint32_t offset) { return entry.first < offset; });
  return found->second;
}

CellValue Table::value(std::size_t column, std::size_t row) const {
  const std::string_view cell = trim(text(column, row));
  if (is_missing(cell)) return {CellKind::missing, 0};
  if (const auto number = parse_number(cell, layout_.decimal)) return {CellKind::number, *number};
  return {CellKind::text, 0};
}

Result<std::optional<double>> Table::number(std::size_t column, std::size_t row) const {
  const CellValue cell = value(column, row);
  if (cell.kind == CellKind::number) return std::optional<double>(cell.number);
  if (cell.kind == CellKind::missing) return std::optional<double>();
  Error error = not_a_number(trim(text(column, row)), layout_.decimal);
  error.found += " (column '" + shortened(name(column)) + "')";
  error.place = place(column, row);
  return fail(std::move(error));
}

Place Table::place_at(std::size_t offset) const {
  const auto after = std::upper_bound(line_begin_.begin(), line_begin_.end(), offset);
  const auto line = static_cast<std::size_t>(after - line_begin_.begin());
  const std::size_t begin = line_begin_[line - 1];
  if (cells_) {
    const auto at = [&](std::size_t i) {
      return buffer_->begin() + static_cast<std::ptrdiff_t>(i);
    };
    const auto tabs = std::count(at(begin), at(offset), '\t');
    return {file_, line, static_cast<std::size_t>(tabs) + 1, "", true};
  }
  std::size_t end = std::min(buffer_->find('\n', begin), buffer_->size());
  while (end > begin && (*buffer_)[end - 1] == '\r') --end;
  // A "line" of this length is no text that a person could look at.
  constexpr std::size_t longest_excerpt = 20000;
  return {file_, line, offset - begin + 1,
          end - begin > longest_excerpt ? "" : buffer_->substr(begin, end - begin)};
}

Place Table::place(std::size_t column, std::size_t row) const {
  const Cell cell = columns_.at(column).cells.at(row);
  if (cell.offset == 0 && cell.length == 0) return row_place(row);
  return place_at(cell.offset);
}

Place Table::row_place(std::size_t row) const {
  Place place = place_at(row_begin_.at(row));
  place.column = 0;
  return place;
}

std::string Table::row_fault(std::size_t row) const {
  const auto found =
      std::lower_bound(row_faults_.begin(), row_faults_.end(), row,
                       [](const auto& entry, std::size_t wanted) { return entry.first < wanted; });
  return found != row_faults_.end() && found->first == row ? found->second : "";
}

}  // namespace leafwright
