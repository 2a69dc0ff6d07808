#include "base/text.hpp"

#include <algorithm>

namespace leafwright {

namespace {

char lowered(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}

// Optimal string alignment distance; names are short, so three rows of a matrix do.
std::size_t edits(std::string_view a, std::string_view b) {
  std::vector<std::size_t> before(b.size() + 1), above(b.size() + 1), row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) above[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t differs = a[i - 1] == b[j - 1] ? 0 : 1;
      row[j] = std::min({above[j] + 1, row[j - 1] + 1, above[j - 1] + differs});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
        row[j] = std::min(row[j], before[j - 2] + 1);
      }
    }
    before.swap(above);
    above.swap(row);
  }
  return above[b.size()];
}

}  // namespace

std::string_view trim(std::string_view text) {
  const auto blank = [](char c) { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; };
  while (!text.empty() && blank(text.front())) text.remove_prefix(1);
  while (!text.empty() && blank(text.back())) text.remove_suffix(1);
  return text;
}

std::string lower_case(std::string_view text) {
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), lowered);
  return out;
}

bool same_letters(std::string_view a, std::string_view b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                    [](char x, char y) { return lowered(x) == lowered(y); });
}

std::string join(std::span<const std::string> parts, std::string_view between, std::size_t limit) {
  std::string out;
  const std::size_t shown = limit > 0 ? std::min(limit, parts.size()) : parts.size();
  for (std::size_t i = 0; i < shown; ++i) {
    if (i > 0) out += between;
    out += parts[i];
  }
  if (shown < parts.size()) {
    out += std::string(between) + "... (" + std::to_string(parts.size() - shown) + " more)";
  }
  return out;
}

std::optional<std::string> nearest_name(std::string_view name, std::span<const std::string> known) {
  const std::string wanted = lower_case(name.substr(0, 64));
  std::optional<std::string> best;
  std::size_t fewest = 0;
  for (const std::string& candidate : known) {
    const std::size_t longer = std::max(wanted.size(), candidate.size());
    const std::size_t allowed = std::max<std::size_t>(longer / 4, longer >= 3 ? 1 : 0);
    const std::size_t distance = edits(wanted, lower_case(candidate));
    if (distance > allowed) continue;
    if (!best || distance < fewest) {
      best = candidate;
      fewest = distance;
    }
  }
  return best;
}

std::string suggest_name(std::string_view name, std::span<const std::string> known) {
  if (const auto near = nearest_name(name, known)) return "did you mean '" + *near + "'?";
  if (known.empty()) return "";
  return "known are " + join(known, ", ", 12);
}

std::string counted(std::size_t n, std::string_view one, std::string_view many) {
  std::string out = std::to_string(n) + " ";
  if (n == 1) return out + std::string(one);
  return out + (many.empty() ? std::string(one) + "s" : std::string(many));
}

std::string shortened(std::string_view text, std::size_t most) {
  std::size_t end = std::min(text.size(), most);
  if (end < text.size()) {
    while (end > 0 && (static_cast<unsigned char>(text[end]) & 0xC0U) == 0x80U) --end;
  }
  std::string out(text.substr(0, end));
  for (char& c : out) {
    if (static_cast<unsigned char>(c) < 0x20 || c == 0x7F) c = ' ';
  }
  if (end < text.size()) out += "...";
  return out;
}

std::string_view line_of(std::string_view text, std::size_t line) {
  std::size_t begin = 0;
  for (std::size_t at = 1; at < line; ++at) {
    const std::size_t end = text.find('\n', begin);
    if (end == std::string_view::npos) return {};
    begin = end + 1;
  }
  std::string_view out = text.substr(begin, text.find('\n', begin) - begin);
  if (!out.empty() && out.back() == '\r') out.remove_suffix(1);
  return out;
}

}  // namespace leafwright
