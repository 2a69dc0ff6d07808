// What README and docs/ promise: links that resolve and commands that print what is shown.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "house/tree.hpp"

namespace leafwright::house {

/// Links and pictures in Markdown files whose target, or whose heading in it, does not exist.
Faults broken_links(const std::vector<File>& files, const std::filesystem::path& root);

/// One command of a ```console block with the output shown under it.
struct Shown {
  std::string path;
  std::size_t line = 0;  ///< of the command, one-based
  std::string command;   ///< after "$ "; a trailing backslash goes on in the next line
  std::vector<std::string> output;
};

/// The commands of all ```console blocks of a Markdown file, in order.
std::vector<Shown> shown_commands(const File& file);

/// The lines of all ```sh blocks that call the program, in order, without output.
std::vector<Shown> called_commands(const File& file);

/// Is `output` what is shown? A shown line of three dots stands for any number of lines.
bool same_output(const std::vector<std::string>& shown, const std::vector<std::string>& output);

}  // namespace leafwright::house
