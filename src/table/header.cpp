#include "table/header.hpp"

#include <algorithm>
#include <vector>

#include "base/text.hpp"
#include "quantity/symbol.hpp"

namespace leafwright {

namespace {

struct Words {
  std::size_t begin = 0;
  std::size_t fields = 0;
  bool units = false;
};

struct Walk {
  std::vector<Words> words;
  bool found_known = false;  // the last of `words` is a header: it holds two known names, or
                             // stands right above rows of numbers of its own width
  bool found_data = false;
  std::size_t data_line = 0;
};

bool mostly_numbers(const Splitter& splitter, const Record& record, const Marks& marks,
                    std::size_t fields) {
  return record.fields.size() == fields &&
         count_cells(splitter, record, marks.decimal).numbers * 2 > fields;
}

// Rows narrower or wider than the usual ones may be an earlier block. "Area,6" in a preamble is
// none: of two such rows in a row more than half of the cells must be numbers.
bool begins_other_block(const Splitter& splitter, const Record& record, const Marks& marks,
                        const Words& above) {
  Record after;
  return above.fields >= 2 && mostly_numbers(splitter, record, marks, above.fields) &&
         splitter.next(record.next, after) && mostly_numbers(splitter, after, marks, above.fields);
}

Walk walk_to_data(std::string_view text, const Splitter& splitter, const Marks& marks) {
  constexpr std::size_t longest_preamble = 2000;
  Walk out;
  Record record;
  bool touching = false;  // the record before was one of words
  for (std::size_t at = 0; splitter.next(at, record); at = record.next) {
    if (record.blank() || is_comment(text, record.begin)) continue;
    const bool numbers = has_number(splitter, record, marks.decimal);
    if (numbers && (record.fields.size() == marks.fields || marks.fields == 1)) {
      out.found_data = true;
      out.data_line = static_cast<std::size_t>(
          1 +
          std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(record.begin), '\n'));
      break;
    }
    if (numbers) {
      while (touching && !out.words.empty() && out.words.back().units) out.words.pop_back();
      if (touching && !out.words.empty() &&
          begins_other_block(splitter, record, marks, out.words.back())) {
        out.found_known = true;
        break;
      }
      touching = false;
      continue;
    }
    if (count_cells(splitter, record, marks.decimal).words == 0) continue;
    // A header split by blanks is looked at once more with its brackets kept together.
    splitter.next(record.begin, record, true);
    out.words.push_back(
        {record.begin, record.fields.size(), is_units_row(splitter, record, marks.decimal)});
    touching = true;
    if (known_titles(splitter, record) >= 2) {
      out.found_known = true;
      break;
    }
    if (out.words.size() >= longest_preamble) break;
  }
  return out;
}

}  // namespace

std::size_t known_titles(const Splitter& splitter, const Record& record) {
  std::size_t known = 0;
  for (const Field& field : record.fields) {
    const std::string_view cell = splitter.view(field);
    if (cell.size() <= 80 && find_symbol(parse_title(cell).name) != nullptr) ++known;
  }
  return known;
}

Result<std::size_t> find_header(std::string_view text, const Splitter& splitter,
                                const Marks& marks) {
  const Walk walk = walk_to_data(text, splitter, marks);
  if (walk.found_known) return walk.words.back().begin;
  const auto usual = [&](const Words& words) { return words.fields == marks.fields; };
  if (!walk.found_data) {
    const auto first = std::find_if(walk.words.begin(), walk.words.end(), usual);
    if (first != walk.words.end()) return first->begin;
    if (!walk.words.empty()) return walk.words.front().begin;
  }
  for (auto words = walk.words.rbegin(); words != walk.words.rend(); ++words) {
    if (usual(*words) && !words->units) return words->begin;
  }
  for (auto words = walk.words.rbegin(); words != walk.words.rend(); ++words) {
    if (!words->units) return words->begin;
  }
  return fail(ErrorCode::unreadable, "numbers begin here, with no line of column titles above",
              "a header row with names such as A, Ci, Tleaf, Patm", "add one above the numbers",
              {"", walk.data_line, 0, ""});
}

}  // namespace leafwright
