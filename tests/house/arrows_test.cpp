// The arrows between the rooms, and what the core must not do.
#include "house/arrows.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <stdexcept>

namespace leafwright::house {
namespace {

const std::string drawing = R"(
leafwright_room(base)
# leafwright_room(ghost)
leafwright_room(table DEPS base LIBS Some::thing)
leafwright_room(fit
                DEPS table)
leafwright_room(files EDGE DEPS base)
leafwright_program(leafwright src/cli DEPS core files)
)";

std::string text_of(const std::vector<File>& files, const std::string& path) {
  const auto found =
      std::find_if(files.begin(), files.end(), [&](const File& file) { return file.path == path; });
  return found == files.end() ? "" : found->text;
}

class House : public testing::Test {
 protected:
  static void SetUpTestSuite() { tree() = read_tree(LEAFWRIGHT_SOURCE_DIR); }
  static std::vector<File>& tree() {
    static std::vector<File> files;
    return files;
  }
  static Rooms rooms() { return read_rooms(text_of(tree(), "CMakeLists.txt")); }
};

TEST_F(House, IncludesFollowTheArrows) {
  const Faults faults = wrong_arrows(tree(), rooms());
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST_F(House, CoreStartsNoThreadReadsNoFilePrintsNothing) {
  const Faults faults = impure_core(tree(), rooms());
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST_F(House, HeavyLibrariesStayOutOfHeaders) {
  const Faults faults = heavy_headers(tree());
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST_F(House, EveryRoomStandsInTheDesignPage) {
  const std::string design = text_of(tree(), "docs/design.md");
  for (const auto& [room, leans_on] : rooms().leans_on) {
    EXPECT_NE(design.find("\n   " + room + " "), std::string::npos) << room;
  }
}

TEST_F(House, TheTreeIsReallyRead) {
  EXPECT_FALSE(text_of(tree(), "src/base/error.hpp").empty());
  EXPECT_TRUE(rooms().core.contains("base"));
  EXPECT_TRUE(rooms().leans_on.at("fit").contains("base"));
  EXPECT_FALSE(rooms().leans_on.at("base").contains("fit"));
}

TEST(Rooms, AreReadWithWhatTheyLeanOnInTurn) {
  const Rooms rooms = read_rooms(drawing);
  EXPECT_EQ(rooms.core, (std::set<std::string>{"base", "fit", "table"}));
  EXPECT_EQ(rooms.leans_on.at("fit"), (std::set<std::string>{"base", "table"}));
  EXPECT_EQ(rooms.leans_on.at("cli"), (std::set<std::string>{"base", "files", "fit", "table"}));
  EXPECT_FALSE(rooms.leans_on.contains("ghost"));
}

TEST(Rooms, LeanOnlyOnRoomsDeclaredBefore) {
  EXPECT_THROW(read_rooms("leafwright_room(a DEPS b)\nleafwright_room(b DEPS a)"),
               std::runtime_error);
}

TEST(Arrows, AWrongIncludeIsFound) {
  const TemporaryTree planted;
  planted.write("src/base/x.hpp", "#pragma once\n");
  planted.write("src/table/good.cpp", "#include \"base/x.hpp\"\n// #include \"fit/x.hpp\"\n");
  planted.write("src/table/bad.cpp", "#include <string>\n#include \"fit/x.hpp\"\n");
  planted.write("src/base/up.hpp", "#include \"../fit/x.hpp\"\n");
  planted.write("src/attic/x.cpp", "");
  const Faults faults = wrong_arrows(read_tree(planted.root()), read_rooms(drawing));
  ASSERT_EQ(faults.size(), 3U) << joined(faults);
  EXPECT_EQ(faults[0], "src/attic/x.cpp: room attic is not declared in CMakeLists.txt");
  EXPECT_EQ(faults[1], "src/base/up.hpp:1: \"../fit/x.hpp\"; expected \"room/file.hpp\"");
  EXPECT_EQ(faults[2],
            "src/table/bad.cpp:2: table leans on fit, an arrow that CMakeLists.txt does not draw");
}

TEST(Arrows, TheEdgeMayUseTheCoreButNotTheOtherWayRound) {
  const TemporaryTree planted;
  planted.write("src/cli/main.cpp", "#include \"fit/x.hpp\"\n#include \"files/y.hpp\"\n");
  planted.write("src/fit/x.cpp", "#include \"files/y.hpp\"\n");
  const Faults faults = wrong_arrows(read_tree(planted.root()), read_rooms(drawing));
  ASSERT_EQ(faults.size(), 1U) << joined(faults);
  EXPECT_TRUE(faults[0].starts_with("src/fit/x.cpp:1: "));
}

TEST(Core, ThreadsFilesAndPrintingAreFound) {
  const TemporaryTree planted;
  planted.write("src/fit/a.cpp", "#include <thread>\nvoid f() { std::cout << 1; }\n");
  planted.write("src/fit/b.cpp",
                "// std::abort() is said here only\nconst char* t = \"exit(1)\";\nint texit = 0;\n"
                "int g(X x) { return x.exit() + f_exit(1); }\n");
  planted.write("src/files/c.cpp", "#include <fstream>\n");
  const Faults faults = impure_core(read_tree(planted.root()), read_rooms(drawing));
  ASSERT_EQ(faults.size(), 2U) << joined(faults);
  EXPECT_EQ(faults[0], "src/fit/a.cpp:1: <thread> in a core room");
  EXPECT_EQ(faults[1], "src/fit/a.cpp:2: cout in a core room");
}

TEST(Headers, AHeavyLibraryStaysPrivateToItsRoom) {
  const TemporaryTree planted;
  planted.write("src/fit/a.hpp", "#include <Eigen/Dense>\n");
  planted.write("src/fit/a.cpp", "#include \"fit/a.hpp\"\n");
  planted.write("src/fit/b.hpp", "#include \"fit/a.hpp\"\n");
  planted.write("src/cli/c.cpp", "#include \"fit/a.hpp\"\n#include <Eigen/Dense>\n");
  const Faults faults = heavy_headers(read_tree(planted.root()));
  ASSERT_EQ(faults.size(), 2U) << joined(faults);
  EXPECT_TRUE(faults[0].starts_with("src/cli/c.cpp:1: "));
  EXPECT_TRUE(faults[1].starts_with("src/fit/b.hpp:1: "));
}

TEST(Code, CommentsAndStringsAreBlankedLineForLine) {
  EXPECT_EQ(code_of("int a; // x\n/* y\nz */ int b;"), "int a;     \n    \n     int b;");
  EXPECT_EQ(code_of("f(\"a\\\"b\", 'c', 1'000);"), "f(      ,    , 1'000);");
  EXPECT_EQ(code_of("x = R\"(//)\"; y"), "x =        ; y");
}

}  // namespace
}  // namespace leafwright::house
