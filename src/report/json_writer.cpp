#include "report/json_writer.hpp"

#include <fmt/compile.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <stdexcept>

#include "figure/text.hpp"

namespace leafwright {
namespace {

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '"' || c == '\\') {
      out += '\\';
      out += c;
    } else if (c == '\n') {
      out += "\\n";
    } else if (c == '\t') {
      out += "\\t";
    } else if (byte < 0x20 || byte == 0x7F) {
      fmt::format_to(std::back_inserter(out), "\\u{:04x}", byte);
    } else {
      out += c;
    }
  }
  // After control characters: clean_utf8 would drop them, JSON can carry them.
  return clean_utf8(out);
}

}  // namespace

JsonWriter& JsonWriter::open(char bracket, Shape shape) {
  before_value();
  // What stands inside a line stays on that line.
  if (!levels_.empty() && levels_.back().shape == Shape::line) shape = Shape::line;
  out_ += bracket;
  levels_.push_back({bracket == '{' ? '}' : ']', shape});
  return *this;
}

JsonWriter& JsonWriter::close() {
  if (levels_.empty() || after_key_) throw std::logic_error("JSON: nothing to close here");
  const Level level = levels_.back();
  levels_.pop_back();
  if (level.shape == Shape::block && !level.empty) {
    new_line();
  }
  out_ += level.closing;
  return *this;
}

void JsonWriter::new_line() {
  out_ += '\n';
  out_.append(2 * levels_.size(), ' ');
}

void JsonWriter::next_member() {
  if (levels_.empty()) {
    if (!out_.empty()) throw std::logic_error("JSON: a second document");
    return;
  }
  Level& level = levels_.back();
  if (!level.empty) out_ += ',';
  if (level.shape == Shape::block) {
    new_line();
  } else if (!level.empty) {
    out_ += ' ';
  }
  level.empty = false;
}

void JsonWriter::before_value() {
  if (after_key_) {
    after_key_ = false;
    return;
  }
  if (!levels_.empty() && levels_.back().closing == '}') {
    throw std::logic_error("JSON: a value without a key");
  }
  next_member();
}

JsonWriter& JsonWriter::key(std::string_view key) {
  if (levels_.empty() || levels_.back().closing != '}' || after_key_) {
    throw std::logic_error("JSON: a key outside an object");
  }
  next_member();
  quoted(key);
  out_ += ": ";
  after_key_ = true;
  return *this;
}

JsonWriter& JsonWriter::null() {
  before_value();
  out_ += "null";
  return *this;
}

JsonWriter& JsonWriter::value(double number) {
  if (!std::isfinite(number)) return null();
  before_value();
  // The shortest text that reads back as the same double; -0 is 0.
  std::array<char, 32> digits{};
  const char* end = fmt::format_to(digits.data(), FMT_COMPILE("{}"), number == 0 ? 0 : number);
  out_.append(digits.data(), static_cast<std::size_t>(end - digits.data()));
  return *this;
}

JsonWriter& JsonWriter::value(std::size_t number) {
  before_value();
  const fmt::format_int digits(number);
  out_.append(digits.data(), digits.size());
  return *this;
}

JsonWriter& JsonWriter::value(bool truth) {
  before_value();
  out_ += truth ? "true" : "false";
  return *this;
}

JsonWriter& JsonWriter::value(std::string_view text) {
  before_value();
  quoted(text);
  return *this;
}

void JsonWriter::quoted(std::string_view text) {
  const bool plain = std::all_of(text.begin(), text.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return byte >= 0x20 && byte < 0x7F && c != '"' && c != '\\';
  });
  out_ += '"';
  if (plain) {
    out_ += text;
  } else {
    out_ += escaped(text);
  }
  out_ += '"';
}

std::string JsonWriter::finish() {
  if (!levels_.empty() || after_key_ || out_.empty()) {
    throw std::logic_error("JSON: the document is not complete");
  }
  out_ += '\n';
  return std::move(out_);
}

}  // namespace leafwright
