// Spreadsheets made by hand, so that any part of them can be wrong: a zip archive without
// compression, and the few parts that a workbook needs.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace leafwright::xlsx_test {

using Parts = std::vector<std::pair<std::string, std::string>>;

inline std::uint32_t crc32(std::string_view bytes) {
  std::uint32_t crc = 0xFFFFFFFFU;
  for (const char c : bytes) {
    crc ^= static_cast<unsigned char>(c);
    for (int bit = 0; bit < 8; ++bit) crc = (crc >> 1U) ^ ((crc & 1U) != 0 ? 0xEDB88320U : 0U);
  }
  return ~crc;
}

inline void add_number(std::string& out, std::uint32_t value, int bytes) {
  for (int i = 0; i < bytes; ++i) out += static_cast<char>((value >> (8 * i)) & 0xFFU);
}

/// A zip archive (PKWARE APPNOTE 6.3, stored entries). `flags` are those of every entry.
inline std::string zip(const Parts& parts, std::uint32_t flags = 0) {
  std::string out, directory;
  for (const auto& [name, body] : parts) {
    std::string common;
    for (const auto& [value, size] :
         std::array<std::pair<std::uint32_t, int>, 9>{{{20, 2},
                                                       {flags, 2},
                                                       {0, 2},
                                                       {0, 4},
                                                       {crc32(body), 4},
                                                       {static_cast<std::uint32_t>(body.size()), 4},
                                                       {static_cast<std::uint32_t>(body.size()), 4},
                                                       {static_cast<std::uint32_t>(name.size()), 2},
                                                       {0, 2}}}) {
      add_number(common, value, size);
    }
    directory += "PK\x01\x02";
    add_number(directory, 20, 2);
    directory += common;
    add_number(directory, 0, 2);  // comment
    add_number(directory, 0, 4);  // disk, attributes
    add_number(directory, 0, 4);
    add_number(directory, static_cast<std::uint32_t>(out.size()), 4);
    directory += name;
    out += "PK\x03\x04" + common + name + body;
  }
  const auto begin = static_cast<std::uint32_t>(out.size());
  out += directory + "PK\x05\x06";
  add_number(out, 0, 4);
  add_number(out, static_cast<std::uint32_t>(parts.size()), 2);
  add_number(out, static_cast<std::uint32_t>(parts.size()), 2);
  add_number(out, static_cast<std::uint32_t>(directory.size()), 4);
  add_number(out, begin, 4);
  add_number(out, 0, 2);
  return out;
}

/// What a workbook is made of; each piece may be replaced.
struct Book {
  std::string sheets = R"(<sheet name="Points" sheetId="1" r:id="r1"/>)";
  std::string properties;
  std::string relations;
  std::string styles = "<styleSheet/>";
  std::string texts = "<sst/>";
  std::string cells;   ///< what stands in <sheetData>
  std::string behind;  ///< what follows it
  std::string before;  ///< what stands before it

  [[nodiscard]] Parts parts() const {
    const std::string kind = "http://schemas.openxmlformats.org/officeDocument/2006/relationships/";
    const auto relation = [&](const char* id, const char* type, const char* target) {
      return std::string("<Relationship Id=\"") + id + "\" Type=\"" + kind + type + "\" Target=\"" +
             target + "\"/>";
    };
    return {
        {"_rels/.rels", "<Relationships>" + relation("r1", "officeDocument", "xl/workbook.xml") +
                            "</Relationships>"},
        {"xl/workbook.xml", "<workbook xmlns:r=\"" + kind + "\">" + properties + "<sheets>" +
                                sheets + "</sheets></workbook>"},
        {"xl/_rels/workbook.xml.rels",
         "<Relationships>" + relation("r1", "worksheet", "worksheets/sheet1.xml") +
             relation("r2", "sharedStrings", "sharedStrings.xml") +
             relation("r3", "styles", "/xl/styles.xml") + relations + "</Relationships>"},
        {"xl/styles.xml", styles},
        {"xl/sharedStrings.xml", texts},
        {"xl/worksheets/sheet1.xml", "<worksheet>" + before + "<sheetData>" + cells +
                                         "</sheetData>" + behind + "</worksheet>"}};
  }
  [[nodiscard]] std::string bytes() const { return zip(parts()); }
};

/// A row of inline texts and numbers: those that begin with a digit or '-' are numbers.
inline std::string row(const std::vector<std::string>& cells) {
  std::string out = "<row>";
  for (const std::string& cell : cells) {
    const bool number =
        !cell.empty() && (cell.front() == '-' || (cell.front() >= '0' && cell.front() <= '9'));
    out += number ? "<c><v>" + cell + "</v></c>"
                  : "<c t=\"inlineStr\"><is><t>" + cell + "</t></is></c>";
  }
  return out + "</row>";
}

}  // namespace leafwright::xlsx_test
