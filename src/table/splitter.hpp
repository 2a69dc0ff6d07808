// One record of delimited text at a time: fields as ranges of the text, quotes honoured.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

namespace leafwright {

struct Field {
  std::uint32_t begin = 0;
  std::uint32_t end = 0;
  bool quoted = false;
  bool doubled = false;  ///< holds doubled quotes, which stand for one
};

struct Record {
  std::vector<Field> fields;
  std::size_t begin = 0;
  std::size_t end = 0;   ///< without the line end
  std::size_t next = 0;  ///< where the next record begins
  bool has_line_end = true;
  bool bad_quote = false;  ///< a quote that was never closed, or text after the closing one
  std::size_t bad_quote_at = 0;
  [[nodiscard]] bool blank() const;  ///< no fields, or nothing but blanks in one unquoted field
};

/// Splits `text` by `delimiter` (' ' is a run of blanks and tabs). Quoted fields may hold
/// delimiters, line ends (up to 64 KiB in one field) and doubled quotes. A quote that is not
/// closed properly is read as a plain character, so that it cannot swallow the lines after it.
class Splitter {
 public:
  Splitter(std::string_view text, char delimiter);

  /// Fills `record` from the record that begins at `at`. False at the end of the text.
  /// `titles`: in a header split by blanks, keep "A (umol m-2 s-1)" together.
  bool next(std::size_t at, Record& record, bool titles = false) const;

  [[nodiscard]] std::string_view view(const Field& field) const {
    return text_.substr(field.begin, field.end - field.begin);
  }
  /// The field's text with doubled quotes undone.
  [[nodiscard]] std::string text(const Field& field) const;
  [[nodiscard]] char delimiter() const { return delimiter_; }

 private:
  void split_plain(Record& record) const;
  void split_quoted(Record& record) const;
  void split_blanks(Record& record, bool titles) const;
  bool quoted_field(std::size_t& at, std::size_t& line_end, Record& record) const;
  void add_plain(std::size_t begin, std::size_t end, Record& record) const;
  [[nodiscard]] bool separates(char c) const;
  [[nodiscard]] std::size_t line_end(std::size_t at) const;

  std::string_view text_;
  char delimiter_;
  std::size_t last_quote_;
};

}  // namespace leafwright
