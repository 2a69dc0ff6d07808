// Bytes of unknown encoding -> UTF-8 text with LF or CRLF line ends.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/error.hpp"
#include "base/note.hpp"
#include "table/layout.hpp"

namespace leafwright {

struct Decoded {
  std::string text;  ///< UTF-8, without byte order mark; a lone CR has become LF
  Encoding encoding = Encoding::utf8;
  bool byte_order_mark = false;
  LineEnd line_end = LineEnd::lf;
  bool cut = false;  ///< the bytes ended inside a character
  std::vector<Error> problems;
  Notes notes;
};

/// UTF-8 where the bytes are valid UTF-8, UTF-16 where a byte order mark or the pattern of zero
/// bytes says so, else Latin-1. Zero bytes at the end (a power cut while writing) are dropped and
/// told. Errors: unreadable, for no bytes, zero bytes inside (not a text), more than 4 GB.
Result<Decoded> decode_text(std::string bytes, std::optional<Encoding> forced);

/// One-based line starts: offsets of the first character of each line of `text`.
std::vector<std::uint32_t> line_starts(const std::string& text);

}  // namespace leafwright
