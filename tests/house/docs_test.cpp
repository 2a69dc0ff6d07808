// README and docs/ are true: links resolve, and every ```console block is run and compared.
#include "house/docs.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>

namespace leafwright::house {
namespace {
namespace fs = std::filesystem;

const fs::path source = LEAFWRIGHT_SOURCE_DIR;
const fs::path program = fs::path(LEAFWRIGHT_BINARY_DIR) / "leafwright";

/// What a shell prints on both streams in `folder`, with the program on the PATH.
std::string printed(const std::string& command, const fs::path& folder) {
  const std::string line = "cd '" + folder.string() + "' && export NO_COLOR=1 PATH='" +
                           program.parent_path().string() + "':\"$PATH\" && {\n" + command +
                           "\n} 2>&1";
  std::string out;
  FILE* pipe = popen(line.c_str(), "r");
  if (pipe == nullptr) return "cannot start a shell";
  std::array<char, 4096> buffer{};
  for (std::size_t n = 0; (n = fread(buffer.data(), 1, buffer.size(), pipe)) > 0;) {
    out.append(buffer.data(), n);
  }
  pclose(pipe);
  return out;
}

/// The file with the output of its commands replaced, for LEAFWRIGHT_REFRESH_DOCS=1.
std::string refreshed(const File& file, const std::vector<std::vector<std::string>>& outputs) {
  const std::vector<Shown> commands = shown_commands(file);
  const std::vector<std::string> lines = lines_of(file.text);
  std::string out;
  std::size_t next = 0;
  for (std::size_t k = 0; k < commands.size(); ++k) {
    const Shown& command = commands[k];
    const auto more = std::count(command.command.begin(), command.command.end(), '\n');
    const std::size_t end = command.line + static_cast<std::size_t>(more);
    for (; next < end; ++next) out += lines[next] + "\n";
    const bool keep = same_output(command.output, outputs[k]);
    for (const std::string& line : keep ? command.output : outputs[k]) out += line + "\n";
    next += command.output.size();
  }
  for (; next < lines.size(); ++next) out += lines[next] + "\n";
  return out;
}

TEST(Docs, LinksResolve) {
  const Faults faults = broken_links(read_tree(source), source);
  EXPECT_TRUE(faults.empty()) << joined(faults);
}

TEST(Docs, TheIndexNamesEveryPage) {
  const std::vector<File> files = read_tree(source / "docs");
  const auto index = std::find_if(files.begin(), files.end(),
                                  [](const File& file) { return file.path == "README.md"; });
  ASSERT_NE(index, files.end());
  for (const File& file : files) {
    if (!file.path.ends_with(".md") || file.path == "README.md") continue;
    EXPECT_NE(index->text.find("(" + file.path + ")"), std::string::npos) << file.path;
  }
}

TEST(Docs, ABrokenLinkIsFound) {
  const TemporaryTree planted;
  planted.write("README.md",
                "[a](docs/a.md) [b](docs/b.md) [c](docs/a.md#two-words) [d](docs/a.md#three)\n"
                "`[e](nowhere.md)` [f](https://doi.org/10.1000/1) ![g](docs/g.svg)\n");
  planted.write("docs/a.md", "## Two words\n[up](../README.md)\n```\n[h](nowhere.md)\n```\n");
  const Faults faults = broken_links(read_tree(planted.root()), planted.root());
  const Faults expected = {"README.md:1: nothing at docs/b.md",
                           "README.md:1: nothing at docs/a.md#three",
                           "README.md:2: nothing at docs/g.svg"};
  EXPECT_EQ(faults, expected);
}

TEST(Docs, ShownCommandsPrintWhatIsShown) {
  if (!fs::exists(program)) GTEST_SKIP() << "the program is not built here";
  for (const File& file : read_tree(source)) {
    if (!file.path.ends_with(".md")) continue;
    const std::vector<Shown> commands = shown_commands(file);
    if (commands.empty()) continue;
    // One folder a page, so that a later command finds what an earlier one wrote.
    const TemporaryTree folder;
    fs::create_directory_symlink(source / "demo", folder.root() / "demo");
    std::vector<std::vector<std::string>> outputs;
    for (const Shown& shown : commands) {
      outputs.push_back(lines_of(printed(shown.command, folder.root())));
      EXPECT_TRUE(same_output(shown.output, outputs.back()))
          << shown.path << ":" << shown.line << ": $ " << shown.command << "\nprints:\n"
          << joined(outputs.back()) << "(scripts/refresh-docs.sh writes this into the page)";
    }
    if (std::getenv("LEAFWRIGHT_REFRESH_DOCS") != nullptr) {
      std::ofstream(source / file.path, std::ios::binary) << refreshed(file, outputs);
    }
  }
}

TEST(Docs, CommandsWithoutOutputRunTooAndEndWell) {
  if (!fs::exists(program)) GTEST_SKIP() << "the program is not built here";
  for (const File& file : read_tree(source)) {
    if (!file.path.ends_with(".md")) continue;
    const TemporaryTree folder;
    fs::create_directory_symlink(source / "demo", folder.root() / "demo");
    for (const Shown& called : called_commands(file)) {
      const std::string output = printed(called.command + "\necho ended with $?", folder.root());
      EXPECT_TRUE(output.ends_with("\nended with 0\n"))
          << called.path << ":" << called.line << ": " << called.command << "\n"
          << output;
    }
  }
}

TEST(Docs, CommandsAreReadFromConsoleBlocksOnly) {
  const File page = {"README.md",
                     "```sh\n$ not me\n```\n```console\n$ a \\\n  b\nout 1\n...\n$ c\n```\n$ no\n"};
  const std::vector<Shown> commands = shown_commands(page);
  ASSERT_EQ(commands.size(), 2U);
  EXPECT_EQ(commands[0].command, "a \\\n  b");
  EXPECT_EQ(commands[0].output, (std::vector<std::string>{"out 1", "..."}));
  EXPECT_EQ(commands[1].line, 9U);
  const std::vector<Shown> called = called_commands({"a.md", "```sh\nleafwright x\nls\n```\n"});
  ASSERT_EQ(called.size(), 1U);
  EXPECT_EQ(called[0].command, "leafwright x");
  EXPECT_EQ(refreshed(page, {{"out 1", "x"}, {"new"}}),
            "```sh\n$ not me\n```\n```console\n$ a \\\n  b\nout 1\n...\n$ c\nnew\n```\n$ no\n");
  EXPECT_EQ(refreshed(page, {{"out 2", "x"}, {}}),
            "```sh\n$ not me\n```\n```console\n$ a \\\n  b\nout 2\nx\n$ c\n```\n$ no\n");
}

TEST(Docs, DotsStandForAnyLines) {
  using Lines = std::vector<std::string>;
  EXPECT_TRUE(same_output(Lines{"a", "...", "c"}, Lines{"a", "b", "b", "c"}));
  EXPECT_TRUE(same_output(Lines{"..."}, Lines{}));
  EXPECT_TRUE(same_output(Lines{"...", "b", "c"}, Lines{"b", "x", "b", "c"}));
  EXPECT_FALSE(same_output(Lines{"a", "...", "c"}, Lines{"a", "b"}));
  EXPECT_FALSE(same_output(Lines{"a"}, Lines{"a", "b"}));
  EXPECT_FALSE(same_output(Lines{"a", "b"}, Lines{"a"}));
}

}  // namespace
}  // namespace leafwright::house
