// Aligned columns and wrapped lines for a terminal. Widths count characters of UTF-8, not bytes.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace leafwright {

/// Characters of a UTF-8 text (East Asian wide forms count as one).
std::size_t shown_width(std::string_view text);

/// Rows of cells under a head. Numbers are aligned to the right, words to the left.
class TextTable {
 public:
  enum class Align { left, right };
  /// Declares the next column.
  void column(std::string head, Align align);
  /// Adds a row; missing cells are empty, more cells than columns throw std::logic_error.
  void row(std::vector<std::string> cells);
  [[nodiscard]] std::size_t rows() const { return rows_.size(); }
  /// The table, every line indented by `indent` and without trailing blanks. A column whose cells
  /// are all empty is left out.
  [[nodiscard]] std::string text(std::size_t indent = 0) const;

 private:
  struct Column {
    std::string head;
    Align align;
  };
  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
};

/// `text` in lines of at most `width` characters, all indented, the later ones by `hang` more. A
/// word too long for a line stays whole.
std::string wrapped(std::string_view text, std::size_t indent, std::size_t hang = 0,
                    std::size_t width = 100);

}  // namespace leafwright
