#include "report/json_writer.hpp"

#include <fmt/format.h>

#include <cmath>
#include <iterator>
#include <stdexcept>

#include "figure/text.hpp"

namespace leafwright {

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
    out_ += '\n';
    out_.append(2 * levels_.size(), ' ');
  }
  out_ += level.closing;
  return *this;
}

void JsonWriter::next_member() {
  if (levels_.empty()) {
    if (!out_.empty()) throw std::logic_error("JSON: a second document");
    return;
  }
  Level& level = levels_.back();
  if (!level.empty) out_ += ',';
  if (level.shape == Shape::block) {
    out_ += '\n';
    out_.append(2 * levels_.size(), ' ');
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
  fmt::format_to(std::back_inserter(out_), "{}", number == 0 ? 0 : number);
  return *this;
}

JsonWriter& JsonWriter::value(std::size_t number) {
  before_value();
  fmt::format_to(std::back_inserter(out_), "{}", number);
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
  bool plain = true;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte > 0x7E || c == '"' || c == '\\') plain = false;
  }
  out_ += '"';
  if (plain) {
    out_ += text;
  } else {
    // Control characters first: clean_utf8 drops those that XML forbids, JSON can carry them.
    std::string escaped;
    for (const char c : text) {
      const auto byte = static_cast<unsigned char>(c);
      if (c == '"' || c == '\\') {
        escaped += '\\';
        escaped += c;
      } else if (c == '\n') {
        escaped += "\\n";
      } else if (c == '\t') {
        escaped += "\\t";
      } else if (byte < 0x20 || byte == 0x7F) {
        fmt::format_to(std::back_inserter(escaped), "\\u{:04x}", byte);
      } else {
        escaped += c;
      }
    }
    out_ += clean_utf8(escaped);
  }
  out_ += '"';
}

std::string JsonWriter::finish() {
  if (!levels_.empty() || after_key_ || out_.empty()) {
    throw std::logic_error("JSON: the document is not complete");
  }
  return std::move(out_) + "\n";
}

}  // namespace leafwright
