// What went wrong, told so that the reader can mend it: where, what was found, what was expected,
// what to do. The core returns errors; it never prints and never aborts.
#pragma once

#include <cstddef>
#include <string>
#include <tl/expected.hpp>
#include <utility>

namespace leafwright {

/// Stable kinds of failure. The command line maps them to exit codes (docs/formats/exit-codes.md).
enum class ErrorCode {
  usage,       ///< wrong call, unknown key, option value out of range (exit 2)
  unreadable,  ///< input that cannot be read or understood (exit 3)
  refused,     ///< something would be lost or be wrong, so it was not done (exit 4)
  unfit,       ///< this curve cannot be fitted; the others go on (exit 1)
  internal,    ///< a broken promise inside Leafwright: please report (exit 5)
};

/// Stable text of a code, as used in JSON: "usage", "unreadable", "refused", "unfit", "internal".
const char* code_name(ErrorCode code);

/// A place in an input. Line and column are one-based; 0 means "does not apply".
struct Place {
  std::string file;
  std::size_t line = 0;
  std::size_t column = 0;
  std::string excerpt;  ///< the user's own line, shown with a caret under `column`
  /// A cell of a spreadsheet: `line` is its row, `column` its column, shown as "C7".
  bool cell = false;

  /// "points.csv:7:3", "points.xlsx [Sheet1] C7", as far as it applies; "" for no place.
  [[nodiscard]] std::string text() const;
};

/// What spreadsheets call a column: "A" for 1, "AA" for 27.
std::string column_letters(std::size_t column);

/// One failure. `found` is required; `expected` and `hint` may be empty.
struct Error {
  ErrorCode code = ErrorCode::internal;
  Place place;
  std::string found;
  std::string expected;
  std::string hint;

  /// `file:line:column: found; expected; hint` on one line, then the excerpt and caret if any.
  [[nodiscard]] std::string text() const;
};

/// A value or an Error (P0323 `expected`; the standard one is missing in C++20).
template <class T>
using Result = tl::expected<T, Error>;

/// Shorthand: `return fail(ErrorCode::usage, "found", "expected", "hint");`
inline tl::unexpected<Error> fail(ErrorCode code, std::string found, std::string expected = "",
                                  std::string hint = "", Place place = {}) {
  return tl::make_unexpected(
      Error{code, std::move(place), std::move(found), std::move(expected), std::move(hint)});
}
inline tl::unexpected<Error> fail(Error error) {
  return tl::make_unexpected(std::move(error));
}

}  // namespace leafwright
