// The ranges behind the flags against data/reference/07_ranges.csv, and the page that lists them.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <sstream>

#include "base/number.hpp"
#include "fit/plausible.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

ReferenceRow row_of(const std::string& quantity) {
  for (const ReferenceRow& row : read_reference("07_ranges.csv")) {
    if (row.quantity == quantity) return row;
  }
  throw std::runtime_error("no row '" + quantity + "'");
}

double value_of(const std::string& quantity) {
  return row_of(quantity).number();
}

const PublishedRange& range_of(const std::string& key) {
  for (const PublishedRange& range : published_ranges()) {
    if (key == range.key) return range;
  }
  throw std::runtime_error("no range " + key);
}

TEST(Ranges, EndsAreThePublishedOnes) {
  const struct {
    const char *key, *low, *high;
  } direct[] = {{"range-vcmax", "Vcmax range, minimum", "Vcmax range, maximum"},
                {"range-j", "Jmax range, minimum", "Jmax range, maximum"},
                {"range-jmax", "Jmax range, minimum", "Jmax range, maximum"},
                {"range-tpu", "TPU range, minimum", "TPU range, maximum"},
                {"range-gm", "gm, C3, minimum", "gm, C3, maximum"},
                {"range-initial-slope", "initial slope dA/dCi C4, minimum",
                 "initial slope dA/dCi C4, maximum"}};
  for (const auto& d : direct) {
    EXPECT_EQ(range_of(d.key).low, value_of(d.low)) << row_of(d.low).where();
    EXPECT_EQ(range_of(d.key).high, value_of(d.high)) << row_of(d.high).where();
  }
}

TEST(Ranges, RatiosFollowFromPublishedNumbers) {
  const double tpu = value_of("TPU:Vcmax");
  EXPECT_NEAR(range_of("range-tpu-vcmax").low.value(), tpu / 2, 5e-4 + 1e-12);
  EXPECT_NEAR(range_of("range-tpu-vcmax").high.value(), tpu * 2, 5e-4);
  const double rday =
      value_of("Rd25 trees, maximum") / value_of("Vcmax25 temperate trees, minimum");
  EXPECT_NEAR(range_of("range-rday-vcmax").high.value(), rday, 5e-4);
  // 2.59-0.035*Tg, Tg 11-35 degC
  bool found = false;
  for (const ReferenceRow& row : read_reference("07_ranges.csv")) {
    if (row.value != "2.59-0.035*Tg") continue;
    found = true;
    EXPECT_EQ(row.condition, "Tg 11-35 degC");
    for (const char* key : {"range-j-vcmax", "range-jmax-vcmax"}) {
      EXPECT_NEAR(range_of(key).low.value(), (2.59 - 0.035 * 35) / 1.5, 5e-3);
      EXPECT_NEAR(range_of(key).high.value(), (2.59 - 0.035 * 11) * 1.5, 5e-3);
    }
  }
  EXPECT_TRUE(found);
}

TEST(Ranges, RulesOfCiAreThePublishedOnes) {
  EXPECT_EQ(std::stod(row_of("Ci below which Rubisco limits (rule)").value), rubisco_below_pa);
  EXPECT_EQ(std::stod(row_of("Ci above which RuBP regeneration limits (rule)").value),
            rubp_above_pa);
}

TEST(Ranges, ThePageListsEachWithItsEnds) {
  std::ifstream file(std::string(LEAFWRIGHT_SOURCE_DIR) + "/docs/methods-ranges.md");
  ASSERT_TRUE(file);
  std::string line;
  std::vector<std::string> lines;
  while (std::getline(file, line)) lines.push_back(line);
  for (const PublishedRange& range : published_ranges()) {
    const std::string begin = std::string("| `") + range.key + "` | " + range.quantity + " | ";
    const std::string ends = (range.low ? print_number(*range.low) : "") + " | " +
                             (range.high ? print_number(*range.high) : "") + " |";
    const bool listed = std::any_of(lines.begin(), lines.end(), [&](const std::string& l) {
      return l.starts_with(begin) && l.find(ends) != std::string::npos;
    });
    EXPECT_TRUE(listed) << begin << "... | " << ends;
  }
}

}  // namespace
}  // namespace leafwright::published
