#include <algorithm>

#include "base/number.hpp"
#include "log/map.hpp"
#include "quantity/symbol.hpp"

namespace leafwright {

namespace {

/// A basic string of TOML.
std::string quoted(std::string_view text) {
  constexpr const char* hex = "0123456789abcdef";
  std::string out = "\"";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (byte < 0x20 || byte == 0x7F) {
      out += "\\u00";
      out += hex[byte >> 4U];
      out += hex[byte & 0xFU];
    } else {
      out += c;
    }
  }
  return out + '"';
}

/// A comment may not hold a line end.
std::string comment_text(std::string_view text) {
  std::string out;
  for (const char c : text) out += static_cast<unsigned char>(c) < 0x20 ? ' ' : c;
  return out;
}

std::string column_toml(const MappedColumn& column) {
  if (column.unit.empty() && column.factor == 1) return quoted(column.title);
  std::string out = "{title = " + quoted(column.title);
  if (!column.unit.empty()) out += ", unit = " + quoted(column.unit);
  if (column.factor != 1) out += ", factor = " + print_number(column.factor);
  return out + "}";
}

const char* toml_encoding(Encoding encoding) {
  switch (encoding) {
    case Encoding::utf8:
      return "utf-8";
    case Encoding::utf16_le:
      return "utf-16-le";
    case Encoding::utf16_be:
      return "utf-16-be";
    case Encoding::latin1:
      return "latin-1";
  }
  return "utf-8";
}

std::string layout_toml(const ColumnMap& map) {
  const LayoutChoice& layout = map.layout;
  std::string out;
  const auto add = [&out](const char* key, const std::string& value) {
    out += std::string(key) + " = " + value + "\n";
  };
  if (layout.delimiter) add("delimiter", quoted(delimiter_name(*layout.delimiter)));
  if (layout.decimal) add("decimal", quoted(std::string(1, *layout.decimal)));
  if (layout.header_line) add("header_row", std::to_string(*layout.header_line));
  if (layout.units_line) add("units_row", std::to_string(*layout.units_line));
  if (layout.encoding) add("encoding", quoted(toml_encoding(*layout.encoding)));
  if (map.sheet) add("sheet", quoted(*map.sheet));
  return out.empty() ? "" : "\n[layout]\n" + out;
}

}  // namespace

std::string map_toml(const ColumnMap& map, const std::map<std::string, std::string>& comments) {
  std::string out;
  const auto comment = [&](const std::string& key) {
    const auto found = comments.find(key);
    return found == comments.end() || found->second.empty()
               ? std::string("\n")
               : "  # " + comment_text(found->second) + "\n";
  };
  if (const auto head = comments.find(""); head != comments.end()) {
    std::size_t begin = 0;
    while (begin < head->second.size()) {
      const std::size_t end = std::min(head->second.find('\n', begin), head->second.size());
      out += "# " + comment_text(head->second.substr(begin, end - begin)) + "\n";
      begin = end + 1;
    }
    out += "\n";
  }
  out += "[columns]\n";
  for (const MappedColumn& column : map.columns) {
    out += column.symbol + " = " + column_toml(column) + comment(column.symbol);
  }
  if (!map.constants.empty()) out += "\n[constants]\n";
  for (const MappedConstant& constant : map.constants) {
    const Symbol* symbol = find_symbol(constant.symbol);
    const bool pure = symbol == nullptr || symbol->unit.empty() || symbol->unit == "1";
    const std::string number = print_number(constant.value);
    out += constant.symbol + " = " +
           (pure ? number : quoted(number + " " + std::string(symbol->unit))) +
           comment(constant.symbol);
  }
  return out + layout_toml(map);
}

}  // namespace leafwright
