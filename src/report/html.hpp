// HTML as bytes: escaping, and the frame of a page that needs nothing from outside.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/note.hpp"

namespace leafwright {

/// Text for element content and quoted attributes.
std::string html_escaped(std::string_view text);

/// A table with a caption, heads with scope, in a box of its own that scrolls sideways on a narrow
/// screen. Cells are text (escaped here). `numeric` columns are set flush right.
struct HtmlTable {
  std::string caption;
  std::vector<std::string> heads;
  std::vector<bool> numeric;
  std::vector<std::vector<std::string>> rows;  ///< the first cell of a row is its head
};
std::string html_table(const HtmlTable& table);

/// Notes as a list, each marked by its level; "" without any.
std::string html_notes(const Notes& notes);

/// A complete page: light and dark by the reader's preference, A4 in print, 320 CSS px and up on
/// screen, no script, nothing fetched. `body` is HTML.
std::string html_page(std::string_view title, std::string_view body);

}  // namespace leafwright
