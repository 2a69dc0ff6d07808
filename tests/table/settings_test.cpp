#include "table/settings.hpp"

#include <gtest/gtest.h>

namespace leafwright {
namespace {

TEST(LayoutSettings, ForceWhatTheySay) {
  Settings settings(layout_settings());
  const LayoutChoice none = layout_choice(settings);
  EXPECT_FALSE(none.delimiter || none.decimal || none.encoding || none.header_line ||
               none.units_line);
  for (const auto& [name, value] : {std::pair{"delimiter", "tab"}, std::pair{"decimal", "comma"},
                                    std::pair{"encoding", "latin-1"}, std::pair{"header-row", "3"},
                                    std::pair{"units-row", "0"}}) {
    ASSERT_TRUE(settings.set(name, value, SettingOrigin::option));
  }
  const LayoutChoice all = layout_choice(settings);
  EXPECT_EQ(all.delimiter, '\t');
  EXPECT_EQ(all.decimal, ',');
  EXPECT_EQ(all.encoding, Encoding::latin1);
  EXPECT_EQ(all.header_line, 3U);
  EXPECT_EQ(all.units_line, 0U);
}

}  // namespace
}  // namespace leafwright
