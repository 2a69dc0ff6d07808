#include "report/settings_report.hpp"

#include <gtest/gtest.h>

#include <nlohmann/json.hpp>

namespace leafwright {
namespace {

const Setting level = {.name = "level",
                       .kind = SettingKind::number,
                       .unit = "%",
                       .default_value = "95",
                       .low = 50,
                       .high = 99,
                       .help = "confidence | level",
                       .source = "common practice, no source"};
const Setting only = {.name = "only", .kind = SettingKind::list, .help = "rows"};

TEST(SettingsReport, TheMarkdownTableEscapesItsBars) {
  const std::vector<Setting> table = {level, only};
  const SettingGroup group = {"Fit", "How.", table};
  const std::string page = settings_markdown({&group, 1});
  EXPECT_NE(page.find("\n## Fit\n\nHow.\n"), std::string::npos) << page;
  EXPECT_NE(page.find("| `level` | `95` | 50 to 99 | % | confidence \\| level | common practice, "
                      "no source |\n"),
            std::string::npos)
      << page;
  EXPECT_NE(page.find("| `only` |  |  |  | rows (may be repeated) |  |\n"), std::string::npos)
      << page;
}

TEST(SettingsReport, JsonHasEverySetting) {
  const std::vector<Setting> table = {level, only};
  const SettingGroup group = {"Fit", "How.", table};
  const auto all = nlohmann::json::parse(settings_json({&group, 1}));
  const auto& settings = all["groups"][0]["settings"];
  ASSERT_EQ(settings.size(), 2U);
  EXPECT_EQ(settings[0]["high"], 99);
  EXPECT_EQ(settings[1]["kind"], "list");
  EXPECT_TRUE(settings[1]["default"].is_null());
}

}  // namespace
}  // namespace leafwright
