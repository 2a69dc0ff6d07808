#include "table/decode.hpp"

#include <algorithm>
#include <cstring>
#include <limits>

#include "base/text.hpp"

namespace leafwright {

namespace {

unsigned char byte_at(const std::string& s, std::size_t i) {
  return static_cast<unsigned char>(s[i]);
}

bool continues(unsigned char byte) {
  return (byte & 0xC0U) == 0x80U;
}

// Length of the UTF-8 character at `i`; 0 where the bytes are none. `cut` is set where the text
// ends inside a character that was right so far.
std::size_t character_length(const std::string& s, std::size_t i, bool& cut) {
  const unsigned char lead = byte_at(s, i);
  std::size_t length = 0;
  unsigned char low = 0x80, high = 0xBF;  // limits of the second byte (Unicode 15, table 3-7)
  if (lead < 0x80) return 1;
  if (lead >= 0xC2 && lead <= 0xDF) length = 2;
  if (lead >= 0xE0 && lead <= 0xEF) length = 3;
  if (lead >= 0xF0 && lead <= 0xF4) length = 4;
  if (length == 0) return 0;
  if (lead == 0xE0) low = 0xA0;
  if (lead == 0xED) high = 0x9F;
  if (lead == 0xF0) low = 0x90;
  if (lead == 0xF4) high = 0x8F;
  for (std::size_t k = 1; k < length; ++k) {
    if (i + k >= s.size()) {
      cut = true;
      return 0;
    }
    const unsigned char byte = byte_at(s, i + k);
    if (k == 1 ? (byte < low || byte > high) : !continues(byte)) return 0;
  }
  return length;
}

struct Utf8Check {
  bool valid = true;
  bool cut = false;           // ends inside a character
  std::size_t end = 0;        // where the last whole character ends
  std::size_t multibyte = 0;  // characters of more than one byte
};

Utf8Check check_utf8(const std::string& s) {
  Utf8Check out;
  std::size_t i = 0;
  while (i < s.size()) {
    // Most of a log is ASCII: eight bytes at a time while none has its top bit set.
    std::uint64_t eight = 0;
    while (i + 8 <= s.size()) {
      std::memcpy(&eight, s.data() + i, 8);
      if ((eight & 0x8080808080808080ULL) != 0) break;
      i += 8;
    }
    if (i >= s.size()) break;
    bool cut = false;
    const std::size_t length = character_length(s, i, cut);
    if (length == 0) {
      out.cut = cut;
      out.valid = false;
      break;
    }
    if (length > 1) ++out.multibyte;
    i += length;
  }
  out.end = std::min(i, s.size());
  return out;
}

void append_utf8(std::string& out, std::uint32_t code) {
  const auto put = [&](std::uint32_t byte) { out += static_cast<char>(byte); };
  if (code < 0x80) {
    put(code);
  } else if (code < 0x800) {
    put(0xC0U | (code >> 6U));
    put(0x80U | (code & 0x3FU));
  } else if (code < 0x10000) {
    put(0xE0U | (code >> 12U));
    put(0x80U | ((code >> 6U) & 0x3FU));
    put(0x80U | (code & 0x3FU));
  } else {
    put(0xF0U | (code >> 18U));
    put(0x80U | ((code >> 12U) & 0x3FU));
    put(0x80U | ((code >> 6U) & 0x3FU));
    put(0x80U | (code & 0x3FU));
  }
}

Error problem(std::string found, std::string expected, std::string hint) {
  return Error{ErrorCode::unreadable, {}, std::move(found), std::move(expected), std::move(hint)};
}

void decode_utf16(const std::string& bytes, std::size_t begin, bool big, Decoded& out) {
  const auto unit = [&](std::size_t i) -> std::uint32_t {
    const std::uint32_t a = byte_at(bytes, i);
    const std::uint32_t b = byte_at(bytes, i + 1);
    return big ? (a << 8U) | b : (b << 8U) | a;
  };
  std::size_t lone = 0;
  std::size_t i = begin;
  out.text.reserve((bytes.size() - begin) / 2);
  for (; i + 2 <= bytes.size(); i += 2) {
    std::uint32_t code = unit(i);
    if (code >= 0xD800 && code <= 0xDBFF && i + 4 <= bytes.size() && unit(i + 2) >= 0xDC00 &&
        unit(i + 2) <= 0xDFFF) {
      code = 0x10000 + ((code - 0xD800) << 10U) + (unit(i + 2) - 0xDC00);
      i += 2;
    } else if (code >= 0xD800 && code <= 0xDFFF) {
      code = 0xFFFD;
      ++lone;
    }
    append_utf8(out.text, code);
  }
  out.cut = i < bytes.size();
  if (lone > 0) {
    out.problems.push_back(problem(counted(lone, "broken character") + " in a UTF-16 text",
                                   "whole UTF-16 characters",
                                   "shown as U+FFFD; check the text columns"));
  }
}

void decode_latin1(const std::string& bytes, Decoded& out) {
  out.text.reserve(bytes.size() + bytes.size() / 16);
  for (const char c : bytes) append_utf8(out.text, static_cast<unsigned char>(c));
}

// Without a byte order mark UTF-16 shows by its zero bytes: ASCII text has one in every pair,
// always on the same side.
std::optional<Encoding> utf16_by_zeros(const std::string& bytes) {
  const std::size_t sample = std::min<std::size_t>(bytes.size(), 4096) & ~std::size_t{1};
  if (sample < 4) return std::nullopt;
  std::size_t even = 0, odd = 0;
  for (std::size_t i = 0; i < sample; i += 2) {
    if (bytes[i] == '\0') ++even;
    if (bytes[i + 1] == '\0') ++odd;
  }
  const std::size_t pairs = sample / 2;
  if (odd * 2 > pairs && even * 20 < pairs) return Encoding::utf16_le;
  if (even * 2 > pairs && odd * 20 < pairs) return Encoding::utf16_be;
  return std::nullopt;
}

void decode_utf8(std::string bytes, std::size_t begin, bool forced, Decoded& out) {
  if (begin > 0) bytes.erase(0, begin);
  const Utf8Check check = check_utf8(bytes);
  // One odd byte at the very end of an otherwise plain text says nothing: Latin-1 loses nothing.
  if (check.valid || (check.cut && check.multibyte > 0)) {
    out.cut = check.cut;
    bytes.resize(check.end);
    out.text = std::move(bytes);
    return;
  }
  if (!forced && begin == 0) {
    out.encoding = Encoding::latin1;
    if (check.multibyte > 0) {
      out.notes.push_back({NoteLevel::caution, "encoding-mixed",
                           "the text is UTF-8 at first and something else later: it was read as "
                           "Latin-1, and characters beyond ASCII may be wrong"});
    }
    decode_latin1(bytes, out);
    return;
  }
  std::size_t broken = 0;
  for (std::size_t i = 0; i < bytes.size();) {
    bool cut = false;
    const std::size_t length = character_length(bytes, i, cut);
    if (length == 0) {
      append_utf8(out.text, 0xFFFD);
      ++broken;
    } else {
      out.text.append(bytes, i, length);
    }
    i += std::max<std::size_t>(length, 1);
  }
  out.problems.push_back(problem(counted(broken, "byte is", "bytes are") + " not UTF-8",
                                 "UTF-8, as the byte order mark or the given encoding says",
                                 "shown as U+FFFD; give another encoding if units look wrong"));
}

void settle_line_ends(Decoded& out) {
  const std::size_t lf = out.text.find('\n');
  if (lf != std::string::npos) {
    out.line_end = lf > 0 && out.text[lf - 1] == '\r' ? LineEnd::crlf : LineEnd::lf;
    return;
  }
  if (out.text.find('\r') == std::string::npos) return;
  out.line_end = LineEnd::cr;
  std::replace(out.text.begin(), out.text.end(), '\r', '\n');
}

}  // namespace

const char* encoding_name(Encoding encoding) {
  switch (encoding) {
    case Encoding::utf8:
      return "UTF-8";
    case Encoding::utf16_le:
      return "UTF-16 LE";
    case Encoding::utf16_be:
      return "UTF-16 BE";
    case Encoding::latin1:
      return "Latin-1";
  }
  return "UTF-8";
}

const char* line_end_name(LineEnd end) {
  switch (end) {
    case LineEnd::lf:
      return "LF";
    case LineEnd::crlf:
      return "CRLF";
    case LineEnd::cr:
      return "CR";
  }
  return "LF";
}

const char* delimiter_name(char delimiter) {
  switch (delimiter) {
    case ',':
      return "comma";
    case ';':
      return "semicolon";
    case '\t':
      return "tab";
    default:
      return "blanks";
  }
}

Result<Decoded> decode_text(std::string bytes, std::optional<Encoding> forced) {
  if (bytes.empty()) {
    return fail(ErrorCode::unreadable, "the file is empty", "a table with a header row");
  }
  // Offsets are kept in 32 bits; Latin-1 and UTF-16 may grow by half when decoded.
  if (bytes.size() > std::numeric_limits<std::uint32_t>::max() / 2) {
    return fail(ErrorCode::unreadable, "the file is larger than 2 GB", "a log of one day or so",
                "split it");
  }
  Decoded out;
  const auto starts = [&](std::string_view mark) {
    return bytes.compare(0, mark.size(), mark) == 0;
  };
  const bool mark8 = starts("\xEF\xBB\xBF");
  const bool mark_le = starts("\xFF\xFE");
  const bool mark_be = starts("\xFE\xFF");
  out.encoding = Encoding::utf8;
  if (mark_le) out.encoding = Encoding::utf16_le;
  if (mark_be) out.encoding = Encoding::utf16_be;
  if (!mark8 && !mark_le && !mark_be) {
    if (const auto guessed = utf16_by_zeros(bytes)) out.encoding = *guessed;
  }
  if (forced) out.encoding = *forced;
  const bool wide = out.encoding == Encoding::utf16_le || out.encoding == Encoding::utf16_be;
  const bool marked = wide ? mark_le || mark_be : mark8 && out.encoding == Encoding::utf8;
  out.byte_order_mark = marked;
  if (wide) {
    decode_utf16(bytes, marked ? 2 : 0, out.encoding == Encoding::utf16_be, out);
  } else if (out.encoding == Encoding::latin1) {
    decode_latin1(bytes, out);
  } else {
    decode_utf8(std::move(bytes), marked ? 3 : 0, forced.has_value(), out);
  }
  std::size_t zeros = 0;
  while (!out.text.empty() && out.text.back() == '\0') {
    out.text.pop_back();
    ++zeros;
  }
  if (const std::size_t at = out.text.find('\0'); at != std::string::npos) {
    const auto line =
        1 + std::count(out.text.begin(), out.text.begin() + static_cast<std::ptrdiff_t>(at), '\n');
    return fail(ErrorCode::unreadable, "the file holds zero bytes: it is not a text",
                "delimited text (or a spreadsheet saved as .xlsx)", "",
                {"", static_cast<std::size_t>(line), 0, ""});
  }
  if (zeros > 0) {
    out.cut = true;
    out.problems.push_back(problem("the file ends with " + counted(zeros, "zero byte"),
                                   "text up to the end",
                                   "they were left out; the writing was probably broken off"));
  }
  if (trim(out.text).empty()) {
    return fail(ErrorCode::unreadable, "the file holds nothing but blanks",
                "a table with a header row");
  }
  settle_line_ends(out);
  return out;
}

std::vector<std::uint32_t> line_starts(const std::string& text) {
  std::vector<std::uint32_t> out = {0};
  const char* begin = text.data();
  const char* end = begin + text.size();
  for (const char* at = begin; at < end;) {
    const void* found = std::memchr(at, '\n', static_cast<std::size_t>(end - at));
    if (found == nullptr) break;
    at = static_cast<const char*>(found) + 1;
    out.push_back(static_cast<std::uint32_t>(at - begin));
  }
  return out;
}

}  // namespace leafwright
