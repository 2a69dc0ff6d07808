// Small helpers for text that several rooms need. ASCII only: names, keys and column titles of
// the open reporting format are ASCII.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace leafwright {

/// `text` without blanks (space, tab, CR, LF) at both ends.
std::string_view trim(std::string_view text);

/// ASCII letters in lower case; other bytes unchanged.
std::string lower_case(std::string_view text);

/// Equal but for the case of ASCII letters.
bool same_letters(std::string_view a, std::string_view b);

/// "a, b, c"; with `limit` > 0 at most that many, then ", ... (N more)".
std::string join(std::span<const std::string> parts, std::string_view between = ", ",
                 std::size_t limit = 0);

/// The known name that a reader most likely meant: the one with the fewest edits (insert, delete,
/// replace, swap of neighbours; case does not count), if that is at most a quarter of the length
/// (one edit from three letters on). Ties go to the first.
std::optional<std::string> nearest_name(std::string_view name, std::span<const std::string> known);

/// "did you mean 'x'?" where a name is near, else "known are a, b, c" (at most twelve).
std::string suggest_name(std::string_view name, std::span<const std::string> known);

/// The line-th line (from 1) of a text without its line end; "" where there is none.
std::string_view line_of(std::string_view text, std::size_t line);

/// "1 row", "2 rows".
std::string counted(std::size_t n, std::string_view one, std::string_view many = "");

/// The characters of a UTF-8 text cut to at most `most` bytes, with "..." where it was cut; control
/// characters become spaces. For quoting a user's own text in a message.
std::string shortened(std::string_view text, std::size_t most = 60);

}  // namespace leafwright
