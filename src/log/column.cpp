#include "log/column.hpp"

#include <algorithm>

#include "base/text.hpp"

namespace leafwright {

std::string line_text(const Place& place) {
  return place.file + ":" + std::to_string(place.line);
}

Error missing_column(const Table& table, std::string_view name, std::string expected) {
  Error error{ErrorCode::unreadable,
              {table.file(), table.layout().blocks.front().header_line, 0, ""},
              "no column '" + shortened(name) + "'",
              std::move(expected),
              ""};
  const std::vector<std::string> names = table.names();
  // One letter is near to every other one: only its own other case is worth a question.
  const auto other_case = std::find_if(names.begin(), names.end(), [&](const std::string& other) {
    return same_letters(other, name);
  });
  if (other_case != names.end()) {
    error.hint = "there is '" + *other_case + "': names are case-sensitive, rename it";
  } else if (const auto near = nearest_name(name, names)) {
    error.hint = "if '" + *near + "' is meant, rename it";
  } else {
    error.hint = "the file has " + join(names, ", ", 12);
  }
  return error;
}

Result<QuantityColumn> QuantityColumn::find(const Table& table, std::string_view name,
                                            std::string_view unit) {
  if (!table.has(name)) {
    return fail(missing_column(table, name,
                               "one with this name of the open reporting format" +
                                   std::string(unit.empty() ? "" : ", in ") + std::string(unit)));
  }
  const auto column = table.find(name);
  if (!column) return fail(column.error());
  QuantityColumn out(table, *column);
  const Unit target = known_unit(unit);
  for (std::size_t block = 0; block < table.layout().blocks.size(); ++block) {
    const std::string& stated = table.unit(*column, block);
    if (stated.empty()) {
      out.assumed_ = true;
      out.conversions_.emplace_back();
      continue;
    }
    auto parsed = parse_unit(stated);
    auto convert = parsed ? conversion(*parsed, target) : fail(parsed.error());
    if (!convert) {
      Error error = convert.error();
      error.found = "column '" + shortened(name) + "': " + error.found;
      error.place = table.unit_place(*column, block);
      return fail(std::move(error));
    }
    out.conversions_.push_back(*convert);
    if (!parsed->caution.empty() && out.notes_.empty()) {
      out.notes_.push_back({NoteLevel::caution, "unit-open",
                            "column '" + std::string(name) + "': " + parsed->caution});
    }
  }
  return out;
}

Result<std::optional<double>> QuantityColumn::read(std::size_t row) const {
  auto number = table_->number(column_, row);
  if (!number || !*number) return number;
  return std::optional<double>(conversions_[table_->block_of(row)](**number));
}

}  // namespace leafwright
