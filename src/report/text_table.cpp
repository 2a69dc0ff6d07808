#include "report/text_table.hpp"

#include <algorithm>
#include <stdexcept>

namespace leafwright {
namespace {

std::string padded(const std::string& cell, std::size_t width, TextTable::Align align) {
  const std::size_t own = shown_width(cell);
  const std::string blanks(width > own ? width - own : 0, ' ');
  return align == TextTable::Align::right ? blanks + cell : cell + blanks;
}

}  // namespace

std::size_t shown_width(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U;
  }));
}

void TextTable::column(std::string head, Align align) {
  columns_.push_back({std::move(head), align});
}

void TextTable::row(std::vector<std::string> cells) {
  if (cells.size() > columns_.size()) throw std::logic_error("a row longer than its table");
  cells.resize(columns_.size());
  rows_.push_back(std::move(cells));
}

std::string TextTable::text(std::size_t indent) const {
  std::vector<std::size_t> width(columns_.size(), 0);
  for (std::size_t c = 0; c < columns_.size(); ++c) {
    for (const auto& cells : rows_) width[c] = std::max(width[c], shown_width(cells[c]));
    if (width[c] > 0) width[c] = std::max(width[c], shown_width(columns_[c].head));
  }
  std::string out;
  const auto line = [&](const auto& cell_of) {
    std::string text(indent, ' ');
    bool first = true;
    for (std::size_t c = 0; c < columns_.size(); ++c) {
      if (width[c] == 0) continue;
      if (!first) text += "  ";
      first = false;
      text += padded(cell_of(c), width[c], columns_[c].align);
    }
    text.erase(text.find_last_not_of(' ') + 1);
    out += text + "\n";
  };
  line([&](std::size_t c) -> const std::string& { return columns_[c].head; });
  for (const auto& cells : rows_) {
    line([&](std::size_t c) -> const std::string& { return cells[c]; });
  }
  return out;
}

std::string wrapped(std::string_view text, std::size_t indent, std::size_t hang,
                    std::size_t width) {
  std::string out;
  std::string line(indent, ' ');
  bool empty = true;
  std::size_t at = 0;
  while (at < text.size()) {
    const std::size_t end = std::min(text.find_first_of(" \n", at), text.size());
    const std::string_view word = text.substr(at, end - at);
    at = end + 1;
    if (word.empty()) continue;
    if (!empty && shown_width(line) + 1 + shown_width(word) > width) {
      out += line + "\n";
      line.assign(indent + hang, ' ');
      empty = true;
    }
    if (!empty) line += ' ';
    line += word;
    empty = false;
  }
  return empty ? out : out + line + "\n";
}

}  // namespace leafwright
