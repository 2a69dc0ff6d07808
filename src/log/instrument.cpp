#include "log/instrument.hpp"

#define TOML_EXCEPTIONS 0
#include <toml++/toml.h>

#include <array>
#include <cmath>
#include <limits>

#include "base/number.hpp"
#include "base/text.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

namespace {

constexpr double infinite = std::numeric_limits<double>::infinity();

/// A number with a unit that stands under a key.
struct Slot {
  const char* key;
  const char* unit;
  double low, high;  ///< low itself is refused where `open`
  bool open;
  std::optional<double> Instrument::*value;
  const char* example;
};

constexpr std::array<Slot, 9> slots{{
    {"chamber_volume", "cm3", 0, infinite, true, &Instrument::chamber_volume, "80 mL"},
    {"inlet_volume", "cm3", 0, infinite, false, &Instrument::inlet_volume, "5 mL"},
    {"cell_flow", "cm3 min-1", 0, infinite, true, &Instrument::cell_flow, "150 mL/min"},
    {"leak", "umol s-1", 0, infinite, false, &Instrument::leak, "0.4 umol s-1"},
    {"water_leak", "umol s-1", 0, infinite, false, &Instrument::water_leak, "3 umol s-1"},
    {"overpressure", "kPa", -5, 20, false, &Instrument::overpressure, "0.1 kPa"},
    {"gbw", "mmol m-2 s-1", 0, infinite, true, &Instrument::gbw, "2.5 mol m-2 s-1"},
    {"area", "cm2", 0, infinite, true, &Instrument::area, "6 cm2"},
    {"coolest_wall", "degC", -20, 80, false, &Instrument::coolest_wall, "24 degC"},
}};

const std::vector<std::string>& known_keys() {
  static const std::vector<std::string> keys = [] {
    std::vector<std::string> out{"serial"};
    for (const Slot& slot : slots) out.emplace_back(slot.key);
    for (const char* key :
         {"gbw_is", "vapour_pressure", "stomatal_ratio", "co2_per", "noise", "channels"}) {
      out.emplace_back(key);
    }
    return out;
  }();
  return keys;
}

constexpr std::array<const char*, 9> noisy = {"CO2r", "CO2s",  "H2Or", "H2Os", "flow",
                                              "area", "Tleaf", "Patm", "gbw"};

class InstrumentReader {
 public:
  InstrumentReader(std::string_view bytes, const std::string& file) : bytes_(bytes) {
    out_.file = file;
  }
  Result<Instrument> read();

 private:
  [[nodiscard]] Place place(const toml::source_region& at) const;
  [[nodiscard]] Error wrong(const toml::node& node, std::string found, std::string expected,
                            std::string hint = "") const;
  Result<void> take(const std::string& key, const toml::node& node);
  Result<double> measured(const std::string& key, const toml::node& node, std::string_view unit,
                          const std::string& example) const;
  Result<std::string> text(const std::string& key, const toml::node& node) const;
  Result<void> take_slot(const Slot& slot, const toml::node& node);
  Result<void> take_ratio(const toml::node& node);
  Result<void> take_noise(const toml::node& node);
  Result<void> take_channels(const toml::node& node);
  Result<void> take_channel(const std::string& symbol, const toml::node& node);
  template <class T, class Find>
  Result<void> take_choice(const std::string& key, const toml::node& node, std::optional<T>& into,
                           Find find);

  std::string_view bytes_;
  Instrument out_;
};

Place InstrumentReader::place(const toml::source_region& at) const {
  return {out_.file, at.begin.line, at.begin.column, std::string(line_of(bytes_, at.begin.line))};
}

Error InstrumentReader::wrong(const toml::node& node, std::string found, std::string expected,
                              std::string hint) const {
  return {ErrorCode::unreadable, place(node.source()), std::move(found), std::move(expected),
          std::move(hint)};
}

std::string type_text(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::integer:
      return "the number " + std::to_string(node.as_integer()->get());
    case toml::node_type::floating_point: {
      const double value = node.as_floating_point()->get();
      return std::isfinite(value) ? "the number " + print_number(value) : "no finite number";
    }
    case toml::node_type::string:
      return "'" + shortened(node.as_string()->get()) + "'";
    case toml::node_type::boolean:
      return node.as_boolean()->get() ? "true" : "false";
    case toml::node_type::array:
      return "a list";
    case toml::node_type::table:
      return "a table";
    default:
      return "a date or time";
  }
}

Result<double> InstrumentReader::measured(const std::string& key, const toml::node& node,
                                          std::string_view unit, const std::string& example) const {
  const std::string expected = "a text with a unit, such as \"" + example + "\"";
  if (node.type() != toml::node_type::string) {
    const bool number = node.is_number();
    return fail(wrong(node, key + " is " + type_text(node) + (number ? ", without a unit" : ""),
                      expected, number ? "write the unit with the number, in quotes" : ""));
  }
  const std::string& written = node.as_string()->get();
  const auto parsed = parse_measured(written);
  if (!parsed) {
    Error error = parsed.error();
    return fail(wrong(node, key + " = '" + shortened(written) + "': " + error.found,
                      error.expected.empty() ? expected : error.expected, error.hint));
  }
  const auto convert = conversion(parsed->unit, known_unit(unit));
  if (!convert) {
    Error error = convert.error();
    return fail(wrong(node, key + " = '" + shortened(written) + "': " + error.found,
                      error.expected.empty() ? expected : error.expected, error.hint));
  }
  return (*convert)(parsed->value);
}

Result<std::string> InstrumentReader::text(const std::string& key, const toml::node& node) const {
  if (const auto* string = node.as_string()) return string->get();
  return fail(wrong(node, key + " is " + type_text(node), "a text in quotes"));
}

Result<void> InstrumentReader::take_slot(const Slot& slot, const toml::node& node) {
  const auto value = measured(slot.key, node, slot.unit, slot.example);
  if (!value) return fail(value.error());
  if (*value < slot.low || (slot.open && *value == slot.low) || *value > slot.high) {
    std::string expected = slot.open ? "more than 0 " : "at least " + print_number(slot.low) + " ";
    if (slot.high < infinite)
      expected = print_number(slot.low) + " to " + print_number(slot.high) + " ";
    return fail(
        wrong(node, std::string(slot.key) + " is " + type_text(node), expected + slot.unit));
  }
  out_.*slot.value = *value;
  return {};
}

Result<void> InstrumentReader::take_ratio(const toml::node& node) {
  const auto value = node.value<double>();
  if (!node.is_number() || !value || !(*value >= 0) || !std::isfinite(*value)) {
    return fail(wrong(node, "stomatal_ratio is " + type_text(node),
                      "a number of at least 0 without quotes: the stomata of one side of the leaf "
                      "on those of the other"));
  }
  out_.stomatal_ratio = *value;
  return {};
}

template <class T, class Find>
Result<void> InstrumentReader::take_choice(const std::string& key, const toml::node& node,
                                           std::optional<T>& into, Find find) {
  const auto written = text(key, node);
  if (!written) return fail(written.error());
  const auto found = find(*written);
  if (!found) {
    Error error = found.error();
    return fail(wrong(node, key + ": " + error.found, error.expected, error.hint));
  }
  into = *found;
  return {};
}

Result<void> InstrumentReader::take_noise(const toml::node& node) {
  const auto* table = node.as_table();
  if (table == nullptr) {
    return fail(wrong(node, "noise is " + type_text(node), "a table: [noise]"));
  }
  for (const auto& [key, value] : *table) {
    const std::string name(key.str());
    const Symbol* symbol = find_symbol(name);
    const std::vector<std::string> known(noisy.begin(), noisy.end());
    if (symbol == nullptr || std::find(known.begin(), known.end(), name) == known.end()) {
      return fail(ErrorCode::usage, "unknown key '" + shortened(name) + "' in [noise]",
                  "one of " + join(known), suggest_name(name, known), place(key.source()));
    }
    // A spread of temperatures is a difference: K and degC are the same, and 273.15 stays out.
    const bool temperature = name == "Tleaf";
    const auto sd = measured(name, value, temperature ? "K" : symbol->unit,
                             temperature ? "0.1 K" : "0.1 " + std::string(symbol->unit));
    if (!sd) return fail(sd.error());
    if (!(*sd >= 0)) {
      return fail(wrong(value, "the noise of " + name + " is " + type_text(value),
                        "a standard deviation of at least 0"));
    }
    out_.noise[name] = *sd;
  }
  return {};
}

Result<void> InstrumentReader::take_channel(const std::string& symbol, const toml::node& node) {
  const auto* table = node.as_table();
  if (table == nullptr) {
    return fail(wrong(node, symbol + " is " + type_text(node),
                      "{averaging = \"1 s\", stamp = \"start\"|\"middle\"|\"end\"}"));
  }
  ChannelTiming timing{symbol, 0, Stamp::end};
  for (const auto& [key, value] : *table) {
    if (key.str() == "averaging") {
      const auto seconds = measured("averaging", value, "s", "1 s");
      if (!seconds) return fail(seconds.error());
      if (!(*seconds >= 0)) {
        return fail(wrong(value, "averaging is " + type_text(value), "at least 0 s"));
      }
      timing.averaging_s = *seconds;
    } else if (key.str() == "stamp") {
      const auto written = text("stamp", value);
      if (!written) return fail(written.error());
      if (*written != "start" && *written != "middle" && *written != "end") {
        return fail(wrong(value, "stamp is '" + shortened(*written) + "'", "start, middle or end"));
      }
      timing.stamp = *written == "start"    ? Stamp::start
                     : *written == "middle" ? Stamp::middle
                                            : Stamp::end;
    } else {
      return fail(ErrorCode::usage, "unknown key '" + shortened(key.str()) + "' of " + symbol,
                  "averaging, stamp", "", place(key.source()));
    }
  }
  if (!table->contains("averaging") || !table->contains("stamp")) {
    return fail(wrong(node, symbol + " lacks " + (table->contains("stamp") ? "averaging" : "stamp"),
                      "both averaging and stamp: one without the other moves no record"));
  }
  out_.channels.push_back(timing);
  return {};
}

Result<void> InstrumentReader::take_channels(const toml::node& node) {
  const auto* table = node.as_table();
  if (table == nullptr) {
    return fail(wrong(node, "channels is " + type_text(node), "a table: [channels]"));
  }
  for (const auto& [key, value] : *table) {
    const std::string name(key.str());
    if (name != "all" && find_symbol(name) == nullptr) {
      return fail(ErrorCode::usage, "unknown key '" + shortened(name) + "' in [channels]",
                  "a symbol of the open reporting format, or all", suggest_symbol(name),
                  place(key.source()));
    }
    if (auto ok = take_channel(name, value); !ok) return ok;
  }
  return {};
}

Result<void> InstrumentReader::take(const std::string& key, const toml::node& node) {
  for (const Slot& slot : slots) {
    if (key == slot.key) return take_slot(slot, node);
  }
  if (key == "serial") {
    auto serial = text(key, node);
    if (!serial) return fail(serial.error());
    out_.serial = std::move(*serial);
    return {};
  }
  if (key == "stomatal_ratio") return take_ratio(node);
  if (key == "gbw_is") return take_choice(key, node, out_.gbw_is, find_gbw_is);
  if (key == "co2_per") return take_choice(key, node, out_.co2_per, find_co2_per);
  if (key == "vapour_pressure") {
    return take_choice(key, node, out_.vapour_pressure, find_vapour_pressure);
  }
  if (key == "noise") return take_noise(node);
  return take_channels(node);
}

Result<Instrument> InstrumentReader::read() {
  const toml::parse_result parsed = toml::parse(bytes_);
  if (!parsed) {
    return fail(ErrorCode::unreadable, "no TOML: " + std::string(parsed.error().description()), "",
                "texts stand in quotes: chamber_volume = \"80 mL\"",
                place(parsed.error().source()));
  }
  for (const auto& [key, value] : parsed.table()) {
    const std::string name(key.str());
    const auto& known = known_keys();
    if (std::find(known.begin(), known.end(), name) == known.end()) {
      return fail(ErrorCode::usage, "unknown key '" + shortened(name) + "' of an instrument", "",
                  suggest_name(name, known), place(key.source()));
    }
    if (auto ok = take(name, value); !ok) return fail(ok.error());
  }
  return std::move(out_);
}

}  // namespace

const char* stamp_name(Stamp stamp) {
  switch (stamp) {
    case Stamp::start:
      return "start";
    case Stamp::middle:
      return "middle";
    case Stamp::end:
      return "end";
  }
  return "end";
}

double ChannelTiming::to_middle() const {
  switch (stamp) {
    case Stamp::start:
      return averaging_s / 2;
    case Stamp::middle:
      return 0;
    case Stamp::end:
      return -averaging_s / 2;
  }
  return 0;
}

std::optional<ChannelTiming> Instrument::timing(std::string_view symbol) const {
  std::optional<ChannelTiming> all;
  for (const ChannelTiming& channel : channels) {
    if (channel.symbol == symbol) return channel;
    if (channel.symbol == "all") all = channel;
  }
  return all;
}

Result<Instrument> read_instrument(std::string_view bytes, const std::string& file) {
  return InstrumentReader(bytes, file).read();
}

}  // namespace leafwright
