#include "quantity/unit.hpp"

#include <array>
#include <cmath>
#include <optional>
#include <stdexcept>

#include "base/number.hpp"
#include "base/text.hpp"
#include "quantity/constants.hpp"
#include "quantity/unit_text.hpp"

namespace leafwright {

namespace {

struct NamedDimension {
  Dimension dimension;
  const char* name;
};

const std::array<NamedDimension, 18> dimension_names = {{
    {{.fraction = true}, "amount fraction"},
    {{}, "pure ratio"},
    {{.amount = 1, .length = -2, .time = -1}, "flux per area"},
    {{.amount = 1, .time = -1}, "amount flow"},
    {{.length = 3, .time = -1}, "volume flow"},
    {{.length = -1, .mass = 1, .time = -2}, "pressure"},
    {{.temperature = 1}, "temperature"},
    {{.length = 2}, "area"},
    {{.length = 3}, "volume"},
    {{.length = 1}, "length"},
    {{.time = 1}, "time"},
    {{.amount = -1, .length = 2, .mass = 1, .time = -2}, "energy per amount"},
    {{.amount = -1, .length = 2, .mass = 1, .time = -2, .temperature = -1}, "entropy per amount"},
    {{.mass = 1, .time = -3}, "power per area"},
    {{.amount = 1, .length = -3}, "amount per volume"},
    {{.amount = 1}, "amount"},
    {{.amount = 1, .length = -2}, "amount per area"},
    {{.time = -1}, "rate per time"},
}};

const Dimension fraction_dimension = {.fraction = true};
const Dimension pressure_dimension = {.length = -1, .mass = 1, .time = -2};
const Dimension volume_flow_dimension = {.length = 3, .time = -1};
const Dimension amount_flow_dimension = {.amount = 1, .time = -1};
const Dimension temperature_dimension = {.temperature = 1};
const Dimension flux_dimension = {.amount = 1, .length = -2, .time = -1};
const Dimension power_dimension = {.mass = 1, .time = -3};

tl::unexpected<Error> unknown_unit(std::string_view text, std::string_view part, std::string hint) {
  std::string found = "unit '" + shortened(text) + "' is not known";
  if (part != text && !part.empty()) found += " (at '" + shortened(part, 20) + "')";
  return fail(ErrorCode::unreadable, std::move(found), "a unit such as " + join(example_units()),
              std::move(hint));
}

std::string hint_for(std::string_view part) {
  if (part == "C" || part == "deg") return "write 'degC' if degrees Celsius are meant";
  if (part == "ppt") return "'ppt' may be a thousandth or 1e-12: write 'mmol mol-1'";
  if (part == "F" || part == "degF") return "convert to 'degC' first";
  if (part == "sccm" || part == "slm" || part == "slpm") {
    return "standard conditions differ between makers: write them, as in "
           "'mL/min at 0 degC, 101.325 kPa'";
  }
  static const std::vector<std::string> names = {
      "mol", "mmol",         "umol",      "nmol", "Pa",   "hPa", "kPa", "MPa", "mbar",
      "bar", "ubar",         "atm",       "m",    "cm",   "mm",  "cm2", "mL",  "L",
      "s",   "min",          "h",         "K",    "degC", "kJ",  "J",   "W",   "ppm",
      "ppb", "umol m-2 s-1", "umol mol-1"};
  const auto near = nearest_name(part, names);
  return near && *near != part ? "did you mean '" + *near + "'?" : "";
}

// "UNIT at T, P": the amount that a volume flow carries, by the ideal gas law.
Result<Unit> flow_with_reference(std::string_view text, std::string_view left,
                                 std::string_view right) {
  auto unit = parse_unit(left);
  if (!unit) return unit;
  if (unit->dimension != volume_flow_dimension) {
    return fail(ErrorCode::unreadable, "'" + shortened(left) + "' is not a volume flow",
                "'at TEMPERATURE, PRESSURE' only after a volume flow such as 'mL/min'");
  }
  std::optional<double> kelvin, pascal;
  while (!right.empty()) {
    const std::size_t comma = right.find(',');
    const std::size_t word = right.find(" and ");
    const std::size_t cut = std::min(comma, word);
    const std::string_view part = trim(right.substr(0, cut));
    right = cut == std::string_view::npos ? "" : right.substr(cut + (cut == comma ? 1 : 5));
    const auto measured = parse_measured(part);
    if (!measured) return fail(measured.error());
    const auto to_kelvin = conversion(measured->unit, known_unit("K"));
    const auto to_pascal = conversion(measured->unit, known_unit("Pa"));
    if (to_kelvin && !kelvin) {
      kelvin = (*to_kelvin)(measured->value);
    } else if (to_pascal && !pascal) {
      pascal = (*to_pascal)(measured->value);
    } else {
      return fail(ErrorCode::unreadable, "'" + shortened(part) + "' in '" + shortened(text) + "'",
                  "one temperature and one pressure, as in 'mL/min at 0 degC, 101.325 kPa'");
    }
  }
  if (!kelvin || !pascal || *kelvin <= 0 || *pascal <= 0) {
    return fail(ErrorCode::unreadable,
                "'" + shortened(text) + "' does not state a temperature and a pressure above zero",
                "a full reference, as in 'mL/min at 0 degC, 101.325 kPa'");
  }
  unit->text = std::string(trim(text));
  unit->dimension = amount_flow_dimension;
  unit->scale *= *pascal / (gas_constant * *kelvin);
  return unit;
}

std::optional<Unit> celsius(std::string_view ascii, std::string_view text) {
  for (const char* name : {"degC", "deg C", "deg_C", "deg.C", "celsius", "Celsius"}) {
    if (ascii == name) {
      return Unit{std::string(trim(text)), temperature_dimension, 1, 0, zero_celsius, ""};
    }
  }
  return std::nullopt;
}

double ten_to(int power) {
  double out = 1;
  for (int i = 0; i < power; ++i) out *= 10;
  return out;
}

std::string cannot_convert_hint(const Unit& from, const Unit& to) {
  const auto are = [&](const Dimension& a, const Dimension& b) {
    return (from.dimension == a && to.dimension == b) || (from.dimension == b && to.dimension == a);
  };
  if (are(fraction_dimension, pressure_dimension)) {
    return "an amount fraction and a partial pressure differ by the air pressure: convert with the "
           "pressure of each record first";
  }
  if (are(volume_flow_dimension, amount_flow_dimension)) {
    return "a volume flow must state its reference, as in 'mL/min at 0 degC, 101.325 kPa'";
  }
  if (are(flux_dimension, power_dimension)) {
    return "photons and watts differ by the lamp's spectrum: convert with the lamp's own factor";
  }
  if (are(fraction_dimension, Dimension{})) {
    return "'" + shortened(from.text) +
           "' does not say a fraction of what: write 'mol mol-1', "
           "'mmol mol-1' or 'umol mol-1' if amounts of gas are meant";
  }
  return "correct the unit, or the column it stands over";
}

}  // namespace

std::string Dimension::name() const {
  for (const NamedDimension& named : dimension_names) {
    if (named.dimension == *this) return named.name;
  }
  std::string out;
  const auto add = [&](const char* base, int power) {
    if (power != 0) out += (out.empty() ? "" : " ") + std::string(base) + std::to_string(power);
  };
  add("mol", amount);
  add("m", length);
  add("kg", mass);
  add("s", time);
  add("K", temperature);
  return "quantity in " + out;
}

const std::vector<std::string>& example_units() {
  static const std::vector<std::string> names = {"umol m-2 s-1", "mmol m-2 s-1", "umol mol-1",
                                                 "mmol mol-1",   "kPa",          "degC",
                                                 "cm2",          "umol s-1",     "s"};
  return names;
}

Result<Unit> parse_unit(std::string_view raw) {
  const std::string_view text = trim(raw);
  if (text.size() > 100) return unknown_unit(text, text, "");
  const auto ascii = unit_text_in_ascii(text);
  if (!ascii) return fail(ascii.error());
  if (ascii->empty()) {
    return fail(ErrorCode::unreadable, "the unit is empty",
                "a unit such as " + join(example_units()));
  }
  for (const std::string_view at : {" at ", " @ "}) {
    const std::size_t split = ascii->find(at);
    if (split != std::string::npos) {
      return flow_with_reference(text, std::string_view(*ascii).substr(0, split),
                                 std::string_view(*ascii).substr(split + at.size()));
    }
  }
  if (const auto unit = celsius(*ascii, text)) return *unit;
  if (*ascii == "N/A" || *ascii == "n/a" || *ascii == "1" || *ascii == "-") {
    return Unit{std::string(text), {}, 1, 0, 0, ""};
  }
  const ProductOrProblem product = parse_unit_product(*ascii);
  if (!product.problem.empty()) {
    return fail(ErrorCode::unreadable, "unit '" + shortened(text) + "' " + product.problem,
                product.expected);
  }
  if (!product.unknown.empty()) {
    return unknown_unit(text, product.unknown, hint_for(product.unknown));
  }
  Unit unit = product.unit;
  unit.text = std::string(text);
  return unit;
}

Unit known_unit(std::string_view text) {
  auto unit = parse_unit(text);
  if (!unit) throw std::logic_error("a unit of the program's own: " + unit.error().text());
  return *unit;
}

double Conversion::operator()(double value) const {
  const double scaled = (value + before_) * ratio_;
  return (divide_ ? scaled / tens_ : scaled * tens_) - after_;
}

bool Conversion::changes_nothing() const {
  return before_ == 0 && ratio_ == 1 && tens_ == 1 && after_ == 0;
}

Result<Conversion> conversion(const Unit& from, const Unit& to) {
  if (from.dimension != to.dimension) {
    return fail(ErrorCode::unreadable,
                "'" + shortened(from.text) + "' is a unit of " + from.dimension.name(),
                "a unit of " + to.dimension.name() + ", such as '" + shortened(to.text) + "'",
                cannot_convert_hint(from, to));
  }
  Conversion out;
  const int tens = from.power - to.power;
  const bool same_size = from.scale == to.scale && tens == 0;
  if (same_size && from.offset == to.offset) return out;
  out.before_ = from.offset;
  out.after_ = to.offset;
  out.ratio_ = from.scale / to.scale;
  out.divide_ = tens < 0;
  out.tens_ = ten_to(std::abs(tens));
  return out;
}

Result<Measured> parse_measured(std::string_view raw) {
  const std::string_view text = trim(raw);
  const std::size_t end = text.find_first_not_of("+-.0123456789");
  // An exponent belongs to the number only when digits follow it ("1e-3 m", but not "1 e").
  std::size_t stop = end == std::string_view::npos ? text.size() : end;
  if (stop < text.size() && stop > 0 && (text[stop] == 'e' || text[stop] == 'E')) {
    const std::size_t after = text.find_first_not_of("+-0123456789", stop + 1);
    const std::size_t tail = after == std::string_view::npos ? text.size() : after;
    if (parse_number(text.substr(0, tail))) stop = tail;
  }
  const auto number = parse_number(text.substr(0, stop));
  if (!number) {
    return fail(ErrorCode::unreadable, "'" + shortened(text) + "' does not begin with a number",
                "a number and its unit, as in '40 cm3'");
  }
  const std::string_view rest = trim(text.substr(stop));
  if (rest.empty()) {
    return fail(ErrorCode::unreadable, "'" + shortened(text) + "' has no unit",
                "a number and its unit, as in '40 cm3'");
  }
  auto unit = parse_unit(rest);
  if (!unit) return fail(unit.error());
  return Measured{*number, std::move(*unit)};
}

}  // namespace leafwright
