#include "table/splitter.hpp"

#include <algorithm>
#include <cstring>

#include "base/text.hpp"

namespace leafwright {

namespace {

constexpr std::size_t longest_quoted = 65536;

bool blank_char(char c) {
  return c == ' ' || c == '\t' || c == '\r';
}

}  // namespace

bool Record::blank() const {
  if (fields.empty()) return true;
  return fields.size() == 1 && !fields[0].quoted && fields[0].begin == fields[0].end;
}

Splitter::Splitter(std::string_view text, char delimiter)
    : text_(text), delimiter_(delimiter), last_quote_(text.rfind('"')) {}

std::string Splitter::text(const Field& field) const {
  const std::string_view raw = view(field);
  if (!field.doubled) return std::string(raw);
  std::string out;
  for (std::size_t i = 0; i < raw.size(); ++i) {
    out += raw[i];
    if (raw[i] == '"' && i + 1 < raw.size() && raw[i + 1] == '"') ++i;
  }
  return out;
}

std::size_t Splitter::line_end(std::size_t at) const {
  const void* found = std::memchr(text_.data() + at, '\n', text_.size() - at);
  if (found == nullptr) return text_.size();
  return static_cast<std::size_t>(static_cast<const char*>(found) - text_.data());
}

bool Splitter::separates(char c) const {
  return delimiter_ == ' ' ? c == ' ' || c == '\t' : c == delimiter_;
}

void Splitter::add_plain(std::size_t begin, std::size_t end, Record& record) const {
  while (begin < end && blank_char(text_[begin])) ++begin;
  while (end > begin && blank_char(text_[end - 1])) --end;
  record.fields.push_back(
      {static_cast<std::uint32_t>(begin), static_cast<std::uint32_t>(end), false, false});
}

bool Splitter::next(std::size_t at, Record& record, bool titles) const {
  record.fields.clear();
  record.bad_quote = false;
  if (at >= text_.size()) return false;
  record.begin = at;
  record.end = line_end(at);
  const bool quotes = last_quote_ != std::string_view::npos && at <= last_quote_ &&
                      std::memchr(text_.data() + at, '"', record.end - at) != nullptr;
  if (delimiter_ == ' ') {
    split_blanks(record, titles);
  } else if (quotes) {
    split_quoted(record);
  } else {
    split_plain(record);
  }
  record.has_line_end = record.end < text_.size();
  record.next = record.end + 1;
  while (record.end > record.begin && text_[record.end - 1] == '\r') --record.end;
  return true;
}

void Splitter::split_plain(Record& record) const {
  std::size_t at = record.begin;
  while (true) {
    const void* found = std::memchr(text_.data() + at, delimiter_, record.end - at);
    if (found == nullptr) break;
    const auto end = static_cast<std::size_t>(static_cast<const char*>(found) - text_.data());
    add_plain(at, end, record);
    at = end + 1;
  }
  add_plain(at, record.end, record);
}

// `at` stands on an opening quote. Adds the field and moves `at` behind the closing quote and the
// blanks after it; false (and nothing moved) where the quote is not closed properly.
bool Splitter::quoted_field(std::size_t& at, std::size_t& line, Record& record) const {
  const std::size_t limit = std::min(text_.size(), at + 1 + longest_quoted);
  bool doubled = false;
  std::size_t close = at + 1;
  while (true) {
    if (close > last_quote_ || close >= limit) return false;
    const void* found = std::memchr(text_.data() + close, '"', limit - close);
    if (found == nullptr) return false;
    close = static_cast<std::size_t>(static_cast<const char*>(found) - text_.data());
    if (close + 1 < text_.size() && text_[close + 1] == '"') {
      doubled = true;
      close += 2;
      continue;
    }
    break;
  }
  std::size_t after = close + 1;
  while (after < text_.size() && blank_char(text_[after]) && !separates(text_[after])) ++after;
  if (after < text_.size() && text_[after] != '\n' && !separates(text_[after])) return false;
  record.fields.push_back(
      {static_cast<std::uint32_t>(at + 1), static_cast<std::uint32_t>(close), true, doubled});
  if (close > line) line = line_end(close);
  at = after;
  return true;
}

void Splitter::split_quoted(Record& record) const {
  std::size_t at = record.begin;
  while (true) {
    std::size_t start = at;
    while (start < record.end && blank_char(text_[start]) && text_[start] != delimiter_) ++start;
    std::size_t after = start;
    if (start < record.end && text_[start] == '"') {
      if (!quoted_field(after, record.end, record)) {
        if (!record.bad_quote) record.bad_quote_at = start;
        record.bad_quote = true;
        after = start;
      }
    }
    if (after == start) {
      const void* found = std::memchr(text_.data() + start, delimiter_, record.end - start);
      after = found == nullptr
                  ? record.end
                  : static_cast<std::size_t>(static_cast<const char*>(found) - text_.data());
      add_plain(start, after, record);
    }
    if (after >= record.end) break;
    at = after + 1;
  }
}

void Splitter::split_blanks(Record& record, bool titles) const {
  std::size_t at = record.begin;
  while (true) {
    while (at < record.end && blank_char(text_[at])) ++at;
    if (at >= record.end) break;
    if (text_[at] == '"' && quoted_field(at, record.end, record)) continue;
    if (text_[at] == '"') {
      record.bad_quote = true;
      record.bad_quote_at = at;
    }
    const std::size_t begin = at;
    const char open = text_[at];
    if (titles && (open == '(' || open == '[')) {
      const std::size_t close = text_.find(open == '(' ? ')' : ']', at);
      if (close < record.end) at = close + 1;
    }
    while (at < record.end && !blank_char(text_[at])) {
      const char c = text_[at];
      if (titles && (c == '(' || c == '[')) {
        const std::size_t close = text_.find(c == '(' ? ')' : ']', at);
        if (close < record.end) at = close;
      }
      ++at;
    }
    if (titles && (open == '(' || open == '[') && !record.fields.empty() &&
        !record.fields.back().quoted) {
      record.fields.back().end = static_cast<std::uint32_t>(at);
    } else {
      add_plain(begin, at, record);
    }
  }
}

}  // namespace leafwright
