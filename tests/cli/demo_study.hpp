// The demo's study in a folder of its own.
#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {

/// Copies the demo's logs and study; what stands in the study from `from` on is replaced.
inline void copy_demo_study(const Folder& folder, const std::string& from,
                            const std::string& sections) {
  const auto demo = std::filesystem::path(LEAFWRIGHT_SOURCE_DIR) / "demo";
  for (const char* name :
       {"terrace-1.txt", "terrace-2.txt", "terrace-3.txt", "terrace-empty.txt", "terrace-ramps.txt",
        "terrace.toml", "terrace-ramps.toml", "recorder.toml", "samples.csv", "study.toml"}) {
    std::filesystem::copy_file(demo / name, folder.path() / name);
  }
  const std::string text = folder.read("study.toml");
  const std::size_t at = text.find(from);
  ASSERT_NE(at, std::string::npos);
  folder.write("study.toml", text.substr(0, at) + sections);
}

}  // namespace leafwright::cli_test
