// Size, names and places: the rules of CONTRIBUTING.md that a machine can see.
#include <gtest/gtest.h>

#include <algorithm>
#include <regex>

#include "house/tree.hpp"

namespace leafwright::house {
namespace {

/// CONTRIBUTING asks for 500 lines and 200 in a header; past this it is no longer one thing.
constexpr std::size_t longest_source = 600;
constexpr std::size_t longest_header = 260;

Faults long_files(const std::vector<File>& files) {
  Faults faults;
  for (const File& file : files) {
    const bool header = file.path.ends_with(".hpp");
    if (!file.path.starts_with("src/") || !ends_in(file.path, {".cpp", ".hpp"})) continue;
    const std::size_t lines = lines_of(file.text).size();
    const std::size_t limit = header ? longest_header : longest_source;
    if (lines > limit) {
      faults.push_back(file.path + ": " + std::to_string(lines) + " lines; expected at most " +
                       std::to_string(limit));
    }
  }
  return faults;
}

/// Folders of one person's machine mean nothing on another's.
Faults machine_paths(const std::vector<File>& files) {
  static const std::regex form(R"re((^|[^A-Za-z0-9_.}/*])/(work|home|Users|root|tmp)/)re");
  Faults faults;
  for (const File& file : files) {
    if (ends_in(file.path, {".csv", ".svg", ".json", ".sha256"})) continue;
    const std::vector<std::string> lines = lines_of(file.text);
    for (std::size_t i = 0; i < lines.size(); ++i) {
      if (std::regex_search(lines[i], form)) {
        faults.push_back(file.path + ":" + std::to_string(i + 1) +
                         ": a path of one machine: " + lines[i]);
      }
    }
  }
  return faults;
}

/// Folders and files are named in small letters with _, - and dots, so that they are the same file
/// on a disk that does not tell capitals apart. Data keep their published names.
Faults odd_names(const std::vector<File>& files) {
  static const std::regex plain("[a-z0-9_.-]+");
  static const std::vector<std::string> customary = {
      "README.md",      "CHANGELOG.md", "CONTRIBUTING.md",   "LICENSE",
      "CMakeLists.txt", "CITATION.cff", "CMakePresets.json", "LeafwrightConfig.cmake.in"};
  Faults faults;
  for (const File& file : files) {
    const std::size_t slash = file.path.rfind('/');
    const std::string name = slash == std::string::npos ? file.path : file.path.substr(slash + 1);
    const bool known = std::find(customary.begin(), customary.end(), name) != customary.end();
    if (known || file.path.find("/data/") != std::string::npos) continue;
    if (!std::regex_match(name, plain)) faults.push_back(file.path + ": an odd file name");
  }
  return faults;
}

class Rules : public testing::Test {
 protected:
  std::vector<File> tree = read_tree(LEAFWRIGHT_SOURCE_DIR);
};

TEST_F(Rules, NoFileIsGrosslyLong) {
  const Faults faults = long_files(tree);
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST_F(Rules, NoPathOfOneMachine) {
  const Faults faults = machine_paths(tree);
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST_F(Rules, FileNamesAreOneKind) {
  const Faults faults = odd_names(tree);
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST_F(Rules, HeadersGuardThemselves) {
  for (const File& file : tree) {
    if (!file.path.ends_with(".hpp")) continue;
    EXPECT_NE(file.text.find("#pragma once"), std::string::npos) << file.path;
  }
}

TEST(PlantedFaults, AreFound) {
  std::string text;
  for (int i = 0; i < 601; ++i) text += "int a;\n";
  const std::string place = std::string("see ") + "/ho" + "me/someone/x\n";
  const std::vector<File> files = {{"src/fit/a.cpp", text}, {"src/fit/Odd.cpp", place}};
  EXPECT_EQ(long_files(files).size(), 1U);
  EXPECT_EQ(machine_paths(files).size(), 1U);
  EXPECT_EQ(odd_names(files).size(), 1U);
}

}  // namespace
}  // namespace leafwright::house
