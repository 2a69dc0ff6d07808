// The screening on the demo: it marks the two rows that are faulty and not marked in the log, and
// no other (demo/truth.csv: unmarked_faults).
#include <gtest/gtest.h>

#include <filesystem>
#include <set>
#include <sstream>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

TEST(RunScreen, TheDemosTwoUnmarkedFaultsAreFlaggedAndNoOtherRow) {
  namespace fs = std::filesystem;
  const Folder folder;
  const fs::path demo = fs::path(LEAFWRIGHT_SOURCE_DIR) / "demo";
  const Ended run =
      folder.run({"fit", (demo / "points.csv").string(), "--pathway", "c3", "--json", "f.json"});
  ASSERT_EQ(run.code, 0) << run.err;
  const std::string text = folder.read("f.json");
  std::set<std::string> flagged;
  const std::string mark = "A is far from what its neighbours in Ci say (first: ";
  for (std::size_t at = text.find(mark); at != std::string::npos; at = text.find(mark, at + 1)) {
    const std::size_t from = at + mark.size();
    const std::string place = text.substr(from, text.find(": A = ", from) - from);
    flagged.insert(place.substr(place.rfind(':') + 1));
  }
  EXPECT_EQ(flagged, (std::set<std::string>{"5", "264"}));
}

}  // namespace
}  // namespace leafwright::cli_test
