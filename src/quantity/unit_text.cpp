#include "quantity/unit_text.hpp"

#include <array>
#include <cstdlib>

#include "base/text.hpp"

namespace leafwright {

namespace {

struct Spelling {
  std::string_view utf8;
  std::string_view ascii;
};

constexpr std::array<Spelling, 34> spellings = {{
    {"\xC2\xB5", "u"},             // micro sign U+00B5
    {"\xCE\xBC", "u"},             // Greek mu U+03BC
    {"\xC2\xB9", "1"},             // superscript digits and signs
    {"\xC2\xB2", "2"},             //
    {"\xC2\xB3", "3"},             //
    {"\xE2\x81\xB0", "0"},         //
    {"\xE2\x81\xB4", "4"},         //
    {"\xE2\x81\xB5", "5"},         //
    {"\xE2\x81\xB6", "6"},         //
    {"\xE2\x81\xB7", "7"},         //
    {"\xE2\x81\xB8", "8"},         //
    {"\xE2\x81\xB9", "9"},         //
    {"\xE2\x81\xBB", "-"},         // superscript minus U+207B
    {"\xE2\x81\xBA", "+"},         // superscript plus U+207A
    {"\xE2\x88\x92", "-"},         // minus U+2212
    {"\xE2\x80\x93", "-"},         // en dash U+2013
    {"\xE2\x80\x90", "-"},         // hyphen U+2010
    {"\xE2\x80\x91", "-"},         // non-breaking hyphen U+2011
    {"\xC2\xB7", "*"},             // middle dot U+00B7
    {"\xE2\x8B\x85", "*"},         // dot operator U+22C5
    {"\xE2\x88\x99", "*"},         // bullet operator U+2219
    {"\xC3\x97", "*"},             // multiplication sign U+00D7
    {"\xC2\xB0", "deg"},           // degree sign U+00B0
    {"\xC2\xBA", "deg"},           // masculine ordinal, often typed for a degree sign
    {"\xE2\x84\x83", "degC"},      // degree Celsius U+2103
    {"\xE2\x84\xAA", "K"},         // Kelvin sign U+212A
    {"\xE2\x82\x82", "2"},         // subscript two, as in CO2
    {"\xC2\xA0", " "},             // no-break space
    {"\xE2\x80\x89", " "},         // thin space
    {"\xE2\x80\xAF", " "},         // narrow no-break space
    {"\xE2\x80\xB0", "permille"},  // per mille sign U+2030
    {"\xE2\x88\x95", "/"},         // division slash U+2215
    {"\xE2\x81\x84", "/"},         // fraction slash U+2044
    {"\xEF\xBB\xBF", ""},          // byte order mark left over at the start of a file
}};

// What UTF-8 looks like after it was read as Latin-1 or Windows-1252, and what a decoder leaves in
// place of a byte it could not read.
bool looks_damaged(std::string_view text) {
  for (const std::string_view mark : {"\xC3\x82", "\xC3\x8E", "\xC3\xA2", "\xEF\xBF\xBD", "?"}) {
    if (text.find(mark) != std::string_view::npos) return true;
  }
  return false;
}

struct BaseUnit {
  std::string_view name;
  Dimension dimension;
  double scale;
  int power;
  std::string_view prefixes;  // those in use with this unit
};

constexpr Dimension amount = {.amount = 1};
constexpr Dimension length = {.length = 1};
constexpr Dimension time_dimension = {.time = 1};
constexpr Dimension volume = {.length = 3};
constexpr Dimension pressure = {.length = -1, .mass = 1, .time = -2};
constexpr Dimension energy = {.length = 2, .mass = 1, .time = -2};

constexpr std::array<BaseUnit, 22> base_units = {{
    {"mol", amount, 1, 0, "pnumkM"},
    {"m", length, 1, 0, "numcdk"},
    {"s", time_dimension, 1, 0, "num"},
    {"sec", time_dimension, 1, 0, ""},
    {"min", time_dimension, 60, 0, ""},
    {"h", time_dimension, 3600, 0, ""},
    {"hr", time_dimension, 3600, 0, ""},
    {"d", time_dimension, 86400, 0, ""},
    {"Pa", pressure, 1, 0, "umhkM"},
    {"bar", pressure, 1, 5, "um"},
    {"atm", pressure, 101.325, 3, ""},
    {"L", volume, 1, -3, "umcd"},
    {"l", volume, 1, -3, "umcd"},
    {"g", {.mass = 1}, 1, -3, "numk"},
    {"K", {.temperature = 1}, 1, 0, ""},
    {"J", energy, 1, 0, "mkM"},
    {"W", {.length = 2, .mass = 1, .time = -3}, 1, 0, "mk"},
    {"%", {}, 1, -2, ""},
    {"permille", {}, 1, -3, ""},
    {"ppm", {.fraction = true}, 1, -6, ""},
    {"ppb", {.fraction = true}, 1, -9, ""},
    {"1", {}, 1, 0, ""},
}};

int prefix_power(char prefix) {
  switch (prefix) {
    case 'p':
      return -12;
    case 'n':
      return -9;
    case 'u':
      return -6;
    case 'm':
      return -3;
    case 'c':
      return -2;
    case 'd':
      return -1;
    case 'h':
      return 2;
    case 'k':
      return 3;
    default:
      return 6;  // M
  }
}

const BaseUnit* find_base(std::string_view name, int& prefix) {
  prefix = 0;
  for (const BaseUnit& base : base_units) {
    if (base.name == name) return &base;
  }
  if (name.size() < 2) return nullptr;
  for (const BaseUnit& base : base_units) {
    if (base.name == name.substr(1) && base.prefixes.find(name[0]) != std::string_view::npos) {
      prefix = prefix_power(name[0]);
      return &base;
    }
  }
  return nullptr;
}

bool is_letter(char c) {
  return (c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || c == '%';
}
bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

class ProductParser {
 public:
  explicit ProductParser(std::string_view text) : text_(text) {}

  ProductOrProblem parse() {
    product(1, 0);
    if (fine() && at_ < text_.size()) out_.unknown = std::string(text_.substr(at_));
    // An amount over an amount is a fraction; "%" and 1 say nothing of amounts.
    Dimension& d = out_.unit.dimension;
    const bool none =
        d.amount == 0 && d.length == 0 && d.mass == 0 && d.time == 0 && d.temperature == 0;
    d.fraction = none && (fractions_ || amounts_ > 1);
    if (fine() && fractions_ && !(none && factors_ == 1)) {
      out_.problem = "combines 'ppm' or 'ppb' with other factors";
      out_.expected = "amounts, as in 'umol mol-1'";
    }
    return out_;
  }

 private:
  [[nodiscard]] bool fine() const { return out_.unknown.empty() && out_.problem.empty(); }

  bool skip_separators() {
    const std::size_t before = at_;
    while (at_ < text_.size() && (text_[at_] == ' ' || text_[at_] == '*' || text_[at_] == '.')) {
      ++at_;
    }
    return at_ > before;
  }

  void product(int sign, int depth) {
    bool first = true;
    bool after_slash = false;  // a slash came somewhere before in this group
    while (fine()) {
      skip_separators();
      bool divides = false;
      if (at_ < text_.size() && text_[at_] == '/') {
        if (first) return unknown_here();
        ++at_;
        skip_separators();
        divides = true;
      }
      if (at_ >= text_.size() || text_[at_] == ')') {
        if (divides || first) unknown_here();
        return;
      }
      if (skip_substance(first)) continue;
      const int factor_sign = divides ? -sign : sign;
      if (text_[at_] == '(') {
        if (!divides || depth > 2) return unknown_here();
        ++at_;
        product(factor_sign, depth + 1);
        if (!fine()) return;
        if (at_ >= text_.size()) return unknown_here();
        ++at_;  // the closing bracket
      } else {
        factor(factor_sign, after_slash && !divides);
      }
      after_slash = after_slash || divides;
      first = false;
    }
  }

  void unknown_here() {
    out_.unknown = std::string(at_ < text_.size() ? text_.substr(at_) : text_);
  }

  bool skip_substance(bool first) {
    static constexpr std::array<std::string_view, 11> substances = {
        "(CO2)",   "(H2O)",  "(O2)",   "CO2", "H2O",      "O2",
        "photons", "photon", "quanta", "air", "electrons"};
    for (const std::string_view substance : substances) {
      if (text_.substr(at_, substance.size()) != substance) continue;
      const std::size_t end = at_ + substance.size();
      if (end < text_.size() && (is_letter(text_[end]) || is_digit(text_[end]))) continue;
      if (first || !after_amount_) return false;
      at_ = end;
      return true;
    }
    return false;
  }

  void factor(int sign, bool negative_only) {
    const std::size_t begin = at_;
    if (text_[at_] == '1') {
      ++at_;
    } else {
      while (at_ < text_.size() && is_letter(text_[at_])) ++at_;
    }
    const std::string_view name = text_.substr(begin, at_ - begin);
    int prefix = 0;
    const BaseUnit* base = find_base(name, prefix);
    if (base == nullptr || ++factors_ > 16) {
      const std::size_t end = text_.find_first_of(" */", at_);
      out_.unknown = std::string(
          name.empty() ? text_.substr(begin, end == std::string_view::npos ? end : end - begin)
                       : name);
      if (out_.unknown.empty()) out_.unknown = std::string(text_);
      return;
    }
    const int power = exponent();
    if (!fine()) return;
    if (negative_only && power > 0) {
      out_.problem = "has two readings after the '/' (at '" + std::string(name) + "')";
      out_.expected = "each divisor with its own '/' or a negative power, as in 'mmol m-2 s-1'";
      return;
    }
    apply(*base, prefix, sign * power);
    after_amount_ = base->dimension.amount != 0;
    amounts_ += after_amount_ ? 1 : 0;
    if (base->dimension.fraction) {
      fractions_ = true;
      out_.unit.caution = "'" + std::string(base->name) +
                          "' does not say of what: read as an amount fraction (" +
                          (base->power == -6 ? "umol mol-1" : "nmol mol-1") + ")";
    }
  }

  int exponent() {
    const std::size_t begin = at_;
    bool marked = false;
    if (at_ < text_.size() && text_[at_] == '^') {
      ++at_;
      marked = true;
    } else if (text_.substr(at_, 2) == "**") {
      at_ += 2;
      marked = true;
    }
    char closing = '\0';
    if (marked && at_ < text_.size() && (text_[at_] == '{' || text_[at_] == '(')) {
      closing = text_[at_] == '{' ? '}' : ')';
      ++at_;
    }
    int sign = 1;
    if (at_ < text_.size() && (text_[at_] == '-' || text_[at_] == '+')) {
      sign = text_[at_] == '-' ? -1 : 1;
      marked = true;
      ++at_;
    }
    if (at_ >= text_.size() || !is_digit(text_[at_])) {
      if (marked) out_.unknown = std::string(text_.substr(begin));
      return 1;
    }
    const int value = text_[at_++] - '0';
    const bool closed = closing == '\0' || (at_ < text_.size() && text_[at_++] == closing);
    if (value == 0 || !closed || (at_ < text_.size() && is_digit(text_[at_]))) {
      out_.unknown = std::string(text_.substr(begin));
    }
    return sign * value;
  }

  void apply(const BaseUnit& base, int prefix, int power) {
    Unit& unit = out_.unit;
    unit.dimension.amount += base.dimension.amount * power;
    unit.dimension.length += base.dimension.length * power;
    unit.dimension.mass += base.dimension.mass * power;
    unit.dimension.time += base.dimension.time * power;
    unit.dimension.temperature += base.dimension.temperature * power;
    unit.power += (base.power + prefix) * power;
    for (int i = 0; i < std::abs(power); ++i) {
      unit.scale = power > 0 ? unit.scale * base.scale : unit.scale / base.scale;
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  int factors_ = 0;
  int amounts_ = 0;
  bool fractions_ = false;
  bool after_amount_ = false;
  ProductOrProblem out_;
};

}  // namespace

Result<std::string> unit_text_in_ascii(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size();) {
    const auto byte = static_cast<unsigned char>(text[i]);
    if (byte < 0x80 && byte >= 0x20 && text[i] != '?') {
      out += text[i++];
      continue;
    }
    if (byte == '\t' || byte == '\n' || byte == '\r') {
      out += ' ';
      ++i;
      continue;
    }
    const Spelling* found = nullptr;
    for (const Spelling& spelling : spellings) {
      if (text.substr(i, spelling.utf8.size()) == spelling.utf8) found = &spelling;
    }
    if (found == nullptr || looks_damaged(text)) {
      const bool damaged = looks_damaged(text) || byte < 0x20;
      return fail(ErrorCode::unreadable,
                  "unit '" + shortened(text) + "' " +
                      (damaged ? "was damaged by a wrong character encoding"
                               : "holds a character that no known unit has"),
                  "a unit such as " + join(example_units()),
                  damaged ? "state the file's encoding, or write 'u' for the micro sign" : "");
    }
    out += found->ascii;
    i += found->utf8.size();
  }
  return std::string(trim(out));
}

ProductOrProblem parse_unit_product(std::string_view ascii) {
  return ProductParser(ascii).parse();
}

}  // namespace leafwright
