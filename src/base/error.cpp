#include "base/error.hpp"

namespace leafwright {

const char* code_name(ErrorCode code) {
  switch (code) {
    case ErrorCode::usage:
      return "usage";
    case ErrorCode::unreadable:
      return "unreadable";
    case ErrorCode::refused:
      return "refused";
    case ErrorCode::unfit:
      return "unfit";
    case ErrorCode::internal:
      return "internal";
  }
  return "internal";
}

std::string Error::text() const {
  std::string out;
  if (!place.file.empty()) out += place.file + ":";
  if (place.line > 0) out += std::to_string(place.line) + ":";
  if (place.column > 0) out += std::to_string(place.column) + ":";
  if (!out.empty()) out += " ";
  out += found;
  if (!expected.empty()) out += "; " + expected;
  if (!hint.empty()) out += "; " + hint;
  if (!place.excerpt.empty()) {
    out += "\n  " + place.excerpt;
    if (place.column > 0) {
      out += "\n  ";
      // Tabs are kept so that the caret stands under the same column on a terminal; bytes that
      // continue a UTF-8 character take no room of their own.
      for (std::size_t i = 0; i + 1 < place.column && i < place.excerpt.size(); ++i) {
        const auto byte = static_cast<unsigned char>(place.excerpt[i]);
        if ((byte & 0xC0U) == 0x80U) continue;
        out += byte == '\t' ? '\t' : ' ';
      }
      out += "^";
    }
  }
  return out;
}

}  // namespace leafwright
