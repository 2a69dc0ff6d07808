#include "table/settings.hpp"

#include <array>
#include <cstddef>

namespace leafwright {

namespace {

constexpr const char* detected = "detected where it is not given";

struct NamedChar {
  const char* name;
  char mark;
};
constexpr std::array<NamedChar, 4> delimiters = {
    {{"comma", ','}, {"semicolon", ';'}, {"tab", '\t'}, {"blanks", ' '}}};

struct NamedEncoding {
  const char* name;
  Encoding encoding;
};
constexpr std::array<NamedEncoding, 4> encodings = {{{"utf-8", Encoding::utf8},
                                                     {"utf-16-le", Encoding::utf16_le},
                                                     {"utf-16-be", Encoding::utf16_be},
                                                     {"latin-1", Encoding::latin1}}};

}  // namespace

SettingTable layout_settings() {
  static const std::array<Setting, 6> settings{{
      {.name = "delimiter",
       .kind = SettingKind::choice,
       .choices = {"comma", "semicolon", "tab", "blanks"},
       .help = "what stands between the cells of a line",
       .source = detected},
      {.name = "decimal",
       .kind = SettingKind::choice,
       .choices = {"point", "comma"},
       .help = "the decimal mark of the numbers",
       .source = detected},
      {.name = "encoding",
       .kind = SettingKind::choice,
       .choices = {"utf-8", "utf-16-le", "utf-16-be", "latin-1"},
       .help = "the character encoding of the file",
       .source = detected},
      {.name = "header-row",
       .kind = SettingKind::whole,
       .low = 1,
       .high = 1000000,
       .help = "the line that holds the column titles, counted from 1",
       .source = detected,
       .value_name = "LINE"},
      {.name = "units-row",
       .kind = SettingKind::whole,
       .low = 0,
       .high = 1000000,
       .help = "the line that holds the units, counted from 1; 0 where there is none",
       .source = detected,
       .value_name = "LINE"},
      {.name = "sheet",
       .help = "the sheet of a spreadsheet to read, by its name",
       .source = "the first that is not hidden",
       .value_name = "NAME"},
  }};
  return settings;
}

LayoutChoice layout_choice(const Settings& settings) {
  LayoutChoice out;
  for (const NamedChar& one : delimiters) {
    if (settings.text("delimiter") == one.name) out.delimiter = one.mark;
  }
  if (settings.is_set("decimal")) out.decimal = settings.text("decimal") == "comma" ? ',' : '.';
  for (const NamedEncoding& one : encodings) {
    if (settings.text("encoding") == one.name) out.encoding = one.encoding;
  }
  if (settings.is_set("header-row")) {
    out.header_line = static_cast<std::size_t>(settings.whole("header-row"));
  }
  if (settings.is_set("units-row")) {
    out.units_line = static_cast<std::size_t>(settings.whole("units-row"));
  }
  if (settings.is_set("sheet")) out.sheet = settings.text("sheet");
  return out;
}

}  // namespace leafwright
