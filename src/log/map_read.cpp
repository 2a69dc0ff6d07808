#define TOML_EXCEPTIONS 0
#include <toml++/toml.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/map.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

namespace {

std::string value_text(const toml::node& node) {
  if (const auto* text = node.as_string()) return "'" + shortened(text->get()) + "'";
  if (const auto* whole = node.as_integer()) return "the number " + std::to_string(whole->get());
  if (const auto* real = node.as_floating_point()) {
    return std::isfinite(real->get()) ? "the number " + print_number(real->get())
                                      : "no finite number";
  }
  if (const auto* truth = node.as_boolean()) return truth->get() ? "true" : "false";
  if (node.is_table()) return "a table";
  return node.is_array() ? "a list" : "a date or time";
}

class MapReader {
 public:
  MapReader(std::string_view bytes, const std::string& file) : bytes_(bytes) { out_.file = file; }
  Result<ColumnMap> read();

 private:
  using Take = Result<void> (MapReader::*)(const std::string& key, const toml::node& node,
                                           const Place& at);
  [[nodiscard]] Place place(const toml::source_region& at) const;
  [[nodiscard]] Error wrong(const toml::node& node, std::string found, std::string expected,
                            std::string hint = "") const;
  [[nodiscard]] Error unknown(const Place& at, const std::string& key, const std::string& where,
                              const std::vector<std::string>& known) const;
  Result<const Symbol*> symbol_of(const std::string& key, const Place& at) const;
  Result<void> take_section(const toml::table& all, const char* name, Take take);
  Result<void> take_column(const std::string& key, const toml::node& node, const Place& at);
  Result<void> take_column_key(MappedColumn& column, const Symbol& symbol, const std::string& key,
                               const toml::node& node, const Place& at) const;
  Result<void> check_unit(const Symbol& symbol, const toml::node& node) const;
  Result<void> check_title(const MappedColumn& column, const toml::node& node) const;
  Result<void> take_constant(const std::string& key, const toml::node& node, const Place& at);
  Result<void> take_layout(const std::string& key, const toml::node& node, const Place& at);
  Result<void> take_line(const std::string& key, const toml::node& node);

  std::string_view bytes_;
  ColumnMap out_;
};

Place MapReader::place(const toml::source_region& at) const {
  return {out_.file, at.begin.line, at.begin.column, std::string(line_of(bytes_, at.begin.line))};
}

Error MapReader::wrong(const toml::node& node, std::string found, std::string expected,
                       std::string hint) const {
  return {ErrorCode::unreadable, place(node.source()), std::move(found), std::move(expected),
          std::move(hint)};
}

Error MapReader::unknown(const Place& at, const std::string& key, const std::string& where,
                         const std::vector<std::string>& known) const {
  return {ErrorCode::usage, at, "unknown key '" + shortened(key) + "' " + where,
          "one of " + join(known), suggest_name(key, known)};
}

Result<const Symbol*> MapReader::symbol_of(const std::string& key, const Place& at) const {
  if (const Symbol* symbol = find_symbol(key)) return symbol;
  return fail(ErrorCode::usage, "unknown symbol '" + shortened(key) + "'",
              "a symbol of the open reporting format or of Leafwright, such as A, CO2r or Tleaf",
              suggest_symbol(key), at);
}

/// The conversion of a unit of pressure to a mole fraction waits for each row's pressure.
bool is_partial_pressure(const Unit& from, const Unit& to) {
  return to.dimension.fraction && to.dimension == known_unit("mol mol-1").dimension &&
         from.dimension == known_unit("kPa").dimension;
}

Result<void> MapReader::check_unit(const Symbol& symbol, const toml::node& node) const {
  const auto unit = parse_unit(node.as_string()->get());
  if (unit && is_partial_pressure(*unit, known_unit(symbol.unit))) return {};
  const auto convert = unit ? conversion(*unit, known_unit(symbol.unit)) : fail(unit.error());
  if (convert) return {};
  Error error = convert.error();
  error.found = std::string(symbol.name) + ": " + error.found;
  error.place = place(node.source());
  return fail(std::move(error));
}

Result<void> MapReader::check_title(const MappedColumn& column, const toml::node& node) const {
  if (trim(column.title).empty()) {
    return fail(wrong(node, "the title of " + column.symbol + " is empty",
                      "the title that stands over the column",
                      "a column without a title is named by its position: \"#3\""));
  }
  for (const MappedColumn& other : out_.columns) {
    if (other.title != column.title) continue;
    return fail(wrong(node,
                      "column '" + shortened(column.title) + "' stands for " + other.symbol +
                          " and for " + column.symbol,
                      "one symbol for one column", "remove one of the two"));
  }
  return {};
}

Result<void> MapReader::take_column_key(MappedColumn& column, const Symbol& symbol,
                                        const std::string& key, const toml::node& node,
                                        const Place& at) const {
  if (key != "title" && key != "unit" && key != "factor") {
    return fail(unknown(at, key, "of " + column.symbol, {"title", "unit", "factor"}));
  }
  if (key != "title" && symbol.kind != SymbolKind::number) {
    return fail(wrong(node, column.symbol + " has a " + key, "a title alone",
                      column.symbol + " is " +
                          (symbol.kind == SymbolKind::text ? "text" : "a date or time") +
                          ", which is read as it stands"));
  }
  if (key == "factor") {
    const auto factor = node.value<double>();
    if (!node.is_number() || !factor || !std::isfinite(*factor) || *factor == 0) {
      return fail(wrong(node, "the factor of " + column.symbol + " is " + value_text(node),
                        "a number other than 0, such as -1 to turn the sign"));
    }
    column.factor = *factor;
    return {};
  }
  const auto* text = node.as_string();
  if (text == nullptr) {
    return fail(wrong(node, "the " + key + " of " + column.symbol + " is " + value_text(node),
                      "a text in quotes"));
  }
  if (key == "title") {
    column.title = text->get();
    return check_title(column, node);
  }
  column.unit = text->get();
  return check_unit(symbol, node);
}

Result<void> MapReader::take_column(const std::string& key, const toml::node& node,
                                    const Place& at) {
  const auto symbol = symbol_of(key, at);
  if (!symbol) return fail(symbol.error());
  MappedColumn column{key, "", "", at};
  if (const auto* title = node.as_string()) {
    column.title = title->get();
    if (auto ok = check_title(column, node); !ok) return ok;
  } else if (const auto* table = node.as_table()) {
    for (const auto& [inner, value] : *table) {
      auto ok =
          take_column_key(column, **symbol, std::string(inner.str()), value, place(inner.source()));
      if (!ok) return ok;
    }
    if (!table->contains("title")) {
      return fail(wrong(
          node, key + " has no title",
          "{title = \"the title in the log\", unit = \"" + std::string((*symbol)->unit) + "\"}"));
    }
  } else {
    return fail(wrong(node, key + " is " + value_text(node),
                      "the title in quotes, or {title = \"...\", unit = \"...\"}",
                      "a value for all rows belongs under [constants]"));
  }
  out_.columns.push_back(std::move(column));
  return {};
}

Result<void> MapReader::take_constant(const std::string& key, const toml::node& node,
                                      const Place& at) {
  const auto symbol = symbol_of(key, at);
  if (!symbol) return fail(symbol.error());
  const std::string unit((*symbol)->unit);
  if ((*symbol)->kind != SymbolKind::number) {
    return fail(wrong(node, key + " as a constant", "a quantity, such as area = \"6 cm2\"",
                      "map a column to " + key));
  }
  if (node.is_number()) {
    const double value = *node.value<double>();
    if (!std::isfinite(value)) return fail(wrong(node, key + " is not finite", "a number"));
    out_.constants.push_back({key, value, at});
    return {};
  }
  const auto* text = node.as_string();
  if (text == nullptr) {
    return fail(wrong(node, key + " is " + value_text(node),
                      "a number in " + unit + ", or a text with its unit: \"6 " + unit + "\""));
  }
  const auto measured = parse_measured(text->get());
  const auto convert =
      measured ? conversion(measured->unit, known_unit(unit)) : fail(measured.error());
  if (!convert) {
    Error error = convert.error();
    error.found = key + " = '" + shortened(text->get()) + "': " + error.found;
    error.place = place(node.source());
    return fail(std::move(error));
  }
  out_.constants.push_back({key, (*convert)(measured->value), at});
  return {};
}

Result<void> MapReader::take_line(const std::string& key, const toml::node& node) {
  const auto* whole = node.as_integer();
  const std::int64_t least = key == "header_row" ? 1 : 0;
  if (whole == nullptr || whole->get() < least) {
    return fail(wrong(
        node, key + " is " + value_text(node),
        least == 1 ? "a line of the file, from 1" : "a line of the file, or 0 for no units row"));
  }
  const auto line = static_cast<std::size_t>(whole->get());
  (key == "header_row" ? out_.layout.header_line : out_.layout.units_line) = line;
  return {};
}

template <class T>
struct Named {
  const char* name;
  T value;
};
constexpr Named<char> delimiters[] = {{"comma", ','},  {"semicolon", ';'}, {"tab", '\t'},
                                      {"blanks", ' '}, {",", ','},         {";", ';'},
                                      {"\t", '\t'},    {" ", ' '}};
constexpr Named<char> decimals[] = {{".", '.'}, {",", ','}, {"point", '.'}, {"comma", ','}};
constexpr Named<Encoding> encodings[] = {{"utf-8", Encoding::utf8},
                                         {"utf-16-le", Encoding::utf16_le},
                                         {"utf-16-be", Encoding::utf16_be},
                                         {"latin-1", Encoding::latin1}};

template <class T, std::size_t N>
std::optional<T> named(const Named<T> (&names)[N], const std::string& text) {
  for (const Named<T>& entry : names) {
    if (same_letters(text, entry.name)) return entry.value;
  }
  return std::nullopt;
}

Result<void> MapReader::take_layout(const std::string& key, const toml::node& node,
                                    const Place& at) {
  if (key == "header_row" || key == "units_row") return take_line(key, node);
  const bool known = key == "delimiter" || key == "decimal" || key == "encoding" || key == "sheet";
  if (!known) {
    return fail(unknown(at, key, "in [layout]",
                        {"delimiter", "decimal", "header_row", "units_row", "encoding", "sheet"}));
  }
  const auto* value = node.as_string();
  if (value == nullptr) {
    return fail(wrong(node, key + " is " + value_text(node), "a text in quotes"));
  }
  const std::string& text = value->get();
  if (key == "sheet") {
    out_.sheet = text;
    return {};
  }
  const auto refuse = [&](const char* expected) {
    return fail(wrong(node, key + " is '" + shortened(text) + "'", expected));
  };
  if (key == "delimiter") {
    out_.layout.delimiter = named(delimiters, text);
    if (!out_.layout.delimiter) return refuse("comma, semicolon, tab or blanks");
  } else if (key == "decimal") {
    out_.layout.decimal = named(decimals, text);
    if (!out_.layout.decimal) return refuse("\".\" or \",\"");
  } else {
    out_.layout.encoding = named(encodings, text);
    if (!out_.layout.encoding) return refuse("utf-8, utf-16-le, utf-16-be or latin-1");
  }
  return {};
}

Result<void> MapReader::take_section(const toml::table& all, const char* name, Take take) {
  const toml::node* node = all.get(name);
  if (node == nullptr) return {};
  const auto* table = node->as_table();
  if (table == nullptr) {
    return fail(wrong(*node, std::string(name) + " is " + value_text(*node),
                      "a table: [" + std::string(name) + "]"));
  }
  // The order of the file, not of the alphabet: messages and the written map follow it.
  std::vector<std::pair<const toml::key*, const toml::node*>> entries;
  for (const auto& [key, value] : *table) entries.emplace_back(&key, &value);
  std::stable_sort(entries.begin(), entries.end(), [](const auto& a, const auto& b) {
    return a.first->source().begin < b.first->source().begin;
  });
  for (const auto& [key, value] : entries) {
    auto ok = (this->*take)(std::string(key->str()), *value, place(key->source()));
    if (!ok) return ok;
  }
  return {};
}

Result<ColumnMap> MapReader::read() {
  const toml::parse_result parsed = toml::parse(bytes_, out_.file);
  if (!parsed) {
    return fail(ErrorCode::unreadable, "not TOML: " + std::string(parsed.error().description()),
                "TOML with titles in quotes, such as A = \"net flux\"", "see docs/formats/maps.md",
                place(parsed.error().source()));
  }
  const toml::table& all = parsed.table();
  for (const auto& [key, value] : all) {
    const std::string name(key.str());
    if (name != "columns" && name != "constants" && name != "layout") {
      return fail(unknown(place(key.source()), name, "of a column map",
                          {"columns", "constants", "layout"}));
    }
  }
  if (auto ok = take_section(all, "columns", &MapReader::take_column); !ok) return fail(ok.error());
  if (auto ok = take_section(all, "constants", &MapReader::take_constant); !ok) {
    return fail(ok.error());
  }
  if (auto ok = take_section(all, "layout", &MapReader::take_layout); !ok) return fail(ok.error());
  for (const MappedConstant& constant : out_.constants) {
    for (const MappedColumn& column : out_.columns) {
      if (column.symbol != constant.symbol) continue;
      return fail(ErrorCode::unreadable, constant.symbol + " is both a column and a constant",
                  "one of the two", "remove one of them from the map", constant.place);
    }
  }
  if (out_.columns.empty() && out_.constants.empty() && all.empty()) {
    return fail(ErrorCode::unreadable, "the map is empty", "[columns] with at least one entry",
                "docs/formats/maps.md shows one", {out_.file, 0, 0, ""});
  }
  return std::move(out_);
}

}  // namespace

Result<ColumnMap> read_map(std::string_view toml, const std::string& file) {
  return MapReader(toml, file).read();
}

}  // namespace leafwright
