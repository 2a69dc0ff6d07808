// The layout of a text as settings, for those who know better than the detection.
#pragma once

#include "base/setting.hpp"
#include "table/layout.hpp"

namespace leafwright {

/// The settings `delimiter`, `decimal`, `encoding`, `header-row`, `units-row` and `sheet`.
SettingTable layout_settings();

/// What of the layout is forced; a setting that is not set is detected.
LayoutChoice layout_choice(const Settings& settings);

}  // namespace leafwright
