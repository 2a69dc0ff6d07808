// Spreadsheets through the commands: the demo's log and samples table as .xlsx give what the text
// files give.
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <map>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "cli/program.hpp"
#include "files/xlsx_builder.hpp"

namespace leafwright::cli_test {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";

std::string text_of(const std::string& name) {
  std::ifstream file(demo / name, std::ios::binary);
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  for (std::size_t at = 0; (at = text.find(from, at)) != std::string::npos; at += to.size()) {
    text.replace(at, from.size(), to);
  }
  return text;
}

bool is_number(const std::string& cell) {
  return !cell.empty() && cell.find_first_not_of("0123456789.-") == std::string::npos &&
         cell.find('-', 1) == std::string::npos &&
         cell.find_first_of("0123456789") != std::string::npos;
}

/// The lines of a text file as rows of a sheet: numbers as numbers, all else as text.
std::string sheet_of(const std::string& text, char between, bool decimal_comma) {
  std::istringstream lines(text);
  std::string line, out;
  while (std::getline(lines, line)) {
    if (!line.empty() && line.back() == '\r') line.pop_back();
    out += "<row>";
    std::istringstream cells(line);
    std::string cell;
    while (std::getline(cells, cell, between)) {
      std::string number = decimal_comma ? replaced(cell, ",", ".") : cell;
      out += is_number(number) ? "<c><v>" + number + "</v></c>"
                               : "<c t=\"inlineStr\"><is><t>" + cell + "</t></is></c>";
    }
    out += "</row>";
  }
  return out;
}

void write_book(const Folder& folder, const std::string& name, const std::string& cells) {
  xlsx_test::Book book;
  book.sheets = R"(<sheet name="Terrace" sheetId="1" r:id="r1"/>)";
  book.cells = cells;
  folder.write(name, book.bytes());
}

class Spreadsheets : public ::testing::Test {
 protected:
  void SetUp() override {
    for (const char* name : {"terrace-1.txt", "samples.csv", "terrace.toml", "recorder.toml"}) {
      folder.write(name, text_of(name));
    }
    write_book(folder, "terrace-1.xlsx", sheet_of(text_of("terrace-1.txt"), ';', true));
    write_book(folder, "samples.xlsx", sheet_of(text_of("samples.csv"), ',', false));
  }

  json fits(const std::string& log, const std::string& samples) const {
    folder.write(
        "study.toml",
        "schema = 1\n[[log]]\nfile = \"" + log +
            "\"\nmap = \"terrace.toml\"\ninstrument = \"recorder.toml\"\nrole = \"steps\"\n"
            "[samples]\nfile = \"" +
            samples + "\"\n[fit]\npathway = \"c3\"\n");
    const Ended run = folder.run({"run", "study.toml", "--out", "o", "--force"});
    EXPECT_LE(run.code, 1) << run.err;
    return json::parse(folder.read("o/fits.json"));
  }

  Folder folder;
};

TEST_F(Spreadsheets, GiveTheFitsOfTheTextFiles) {
  const json text = fits("terrace-1.txt", "samples.csv");
  const json book = fits("terrace-1.xlsx", "samples.xlsx");
  ASSERT_GE(text["curves"].size(), 6U);
  ASSERT_EQ(book["curves"].size(), text["curves"].size());
  for (std::size_t i = 0; i < text["curves"].size(); ++i) {
    EXPECT_EQ(book["curves"][i]["curve_id"], text["curves"][i]["curve_id"]);
    EXPECT_EQ(book["curves"][i]["used"], text["curves"][i]["used"]);
    EXPECT_EQ(book["curves"][i]["estimates"], text["curves"][i]["estimates"]);
  }
}

TEST_F(Spreadsheets, LookProvesTheirColumns) {
  const Ended look = folder.run({"look", "terrace-1.xlsx", "--map", "terrace.toml", "--json", "-"});
  EXPECT_EQ(look.code, 0) << look.err;
  const json found = json::parse(look.out);
  EXPECT_TRUE(found.dump().find("\"proved\":true") != std::string::npos) << look.out;
}

TEST_F(Spreadsheets, AFormulaWithoutItsValueNamesItsCell) {
  write_book(folder, "broken.xlsx",
             replaced(sheet_of(text_of("terrace-1.txt"), ';', true), "<c><v>411.155</v></c>",
                      "<c r=\"D6\"><f>A1*2</f></c>"));
  const Ended flux = folder.run({"flux", "broken.xlsx", "--map", "terrace.toml", "--instrument",
                                 "recorder.toml", "--out", "points.csv"});
  EXPECT_EQ(flux.code, 3);
  EXPECT_NE(flux.err.find("D6"), std::string::npos) << flux.err;
  EXPECT_FALSE(folder.has("points.csv"));
}

TEST_F(Spreadsheets, ASheetThatIsNotThereIsRefusedWithThoseThatAre) {
  const Ended look = folder.run({"look", "terrace-1.xlsx", "--sheet", "Veranda"});
  EXPECT_EQ(look.code, 3);
  EXPECT_NE(look.err.find("Veranda"), std::string::npos) << look.err;
  EXPECT_NE(look.err.find("Terrace"), std::string::npos) << look.err;
}

}  // namespace
}  // namespace leafwright::cli_test
