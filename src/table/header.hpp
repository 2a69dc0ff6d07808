// Where the header of a text is.
#pragma once

#include <cstddef>
#include <string_view>

#include "base/error.hpp"
#include "table/detect.hpp"
#include "table/splitter.hpp"

namespace leafwright {

/// How many titles of a record are names of the open reporting format, units in brackets aside.
std::size_t known_titles(const Splitter& splitter, const Record& record);

/// Offset of the first header. It is the first record of words that holds two known names; else the
/// last record of words above the numbers (a units row aside) with as many fields as they have;
/// else, in a table of words only, the first record of the usual width. Error: unreadable, where
/// numbers begin without a line of titles above them (place without file name).
Result<std::size_t> find_header(std::string_view text, const Splitter& splitter,
                                const Marks& marks);

}  // namespace leafwright
