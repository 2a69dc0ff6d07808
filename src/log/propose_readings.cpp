#include "log/propose_readings.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>
#include <span>
#include <string_view>

#include "quantity/unit.hpp"

namespace leafwright {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

/// A unit that a column may be in: internal = raw * scale + offset; `low` and `high` bound the
/// median of what comes out (common practice, no source).
struct UnitOption {
  std::string_view text;
  double scale = 1, offset = 0;
  bool partial = false;
  double low = 0, high = 0;
};

// Molar volumes of an ideal gas, L mol-1: R T/p, R of CODATA 2018.
constexpr double litre_0 = 8.314462618 * 273.15 / 101.325;
constexpr double litre_20 = 8.314462618 * 293.15 / 101.325;
constexpr double litre_25 = 8.314462618 * 298.15 / 101.325;
constexpr double litre_bar = 8.314462618 * 273.15 / 100;

constexpr double per_minute(double litres, double litre_per_unit) {
  return litre_per_unit / litres * 1e6 / 60;
}

std::span<const UnitOption> options_of(ReadAs what) {
  static const std::array<UnitOption, 4> A{{{"umol m-2 s-1", 1, 0, false, 0.3, 120},
                                            {"mmol m-2 s-1", 1e3, 0, false, 0.3, 120},
                                            {"mol m-2 s-1", 1e6, 0, false, 0.3, 120},
                                            {"nmol m-2 s-1", 1e-3, 0, false, 0.3, 120}}};
  static const std::array<UnitOption, 3> E{{{"mmol m-2 s-1", 1, 0, false, 0.02, 25},
                                            {"mol m-2 s-1", 1e3, 0, false, 0.02, 25},
                                            {"umol m-2 s-1", 1e-3, 0, false, 0.02, 25}}};
  static const std::array<UnitOption, 3> gsw{{{"mmol m-2 s-1", 1, 0, false, 2, 3000},
                                              {"mol m-2 s-1", 1e3, 0, false, 2, 3000},
                                              {"umol m-2 s-1", 1e-3, 0, false, 2, 3000}}};
  static const std::array<UnitOption, 3> gbw{{{"mmol m-2 s-1", 1, 0, false, 200, 20000},
                                              {"mol m-2 s-1", 1e3, 0, false, 200, 20000},
                                              {"umol m-2 s-1", 1e-3, 0, false, 200, 20000}}};
  static const std::array<UnitOption, 6> co2{{{"umol mol-1", 1, 0, false, 10, 3000},
                                              {"mmol mol-1", 1e3, 0, false, 10, 3000},
                                              {"mol mol-1", 1e6, 0, false, 10, 3000},
                                              {"Pa", 1e-3, 0, true, 1e-3, 0.3},
                                              {"hPa", 0.1, 0, true, 1e-3, 0.3},
                                              {"kPa", 1, 0, true, 1e-3, 0.3}}};
  static const std::array<UnitOption, 6> h2o{{{"mmol mol-1", 1, 0, false, 0.1, 80},
                                              {"mol mol-1", 1e3, 0, false, 0.1, 80},
                                              {"umol mol-1", 1e-3, 0, false, 0.1, 80},
                                              {"kPa", 1, 0, true, 0.01, 8},
                                              {"hPa", 0.1, 0, true, 0.01, 8},
                                              {"Pa", 1e-3, 0, true, 0.01, 8}}};
  static const std::array<UnitOption, 11> flow{
      {{"umol s-1", 1, 0, false, 15, 5000},
       {"mmol s-1", 1e3, 0, false, 15, 5000},
       {"mol s-1", 1e6, 0, false, 15, 5000},
       {"mL/min at 0 degC, 101.325 kPa", per_minute(litre_0, 1e-3), 0, false, 15, 5000},
       {"L/min at 0 degC, 101.325 kPa", per_minute(litre_0, 1), 0, false, 15, 5000},
       {"mL/min at 20 degC, 101.325 kPa", per_minute(litre_20, 1e-3), 0, false, 15, 5000},
       {"L/min at 20 degC, 101.325 kPa", per_minute(litre_20, 1), 0, false, 15, 5000},
       {"mL/min at 25 degC, 101.325 kPa", per_minute(litre_25, 1e-3), 0, false, 15, 5000},
       {"L/min at 25 degC, 101.325 kPa", per_minute(litre_25, 1), 0, false, 15, 5000},
       {"mL/min at 0 degC, 100 kPa", per_minute(litre_bar, 1e-3), 0, false, 15, 5000},
       {"L/min at 0 degC, 100 kPa", per_minute(litre_bar, 1), 0, false, 15, 5000}}};
  static const std::array<UnitOption, 3> area{{{"cm2", 1, 0, false, 0.3, 400},
                                               {"mm2", 0.01, 0, false, 0.3, 400},
                                               {"m2", 1e4, 0, false, 0.3, 400}}};
  static const std::array<UnitOption, 4> pressure{{{"kPa", 1, 0, false, 45, 110},
                                                   {"hPa", 0.1, 0, false, 45, 110},
                                                   {"Pa", 1e-3, 0, false, 45, 110},
                                                   {"bar", 100, 0, false, 45, 110}}};
  static const std::array<UnitOption, 2> temperature{
      {{"degC", 1, 0, false, 1, 55}, {"K", 1, -273.15, false, 1, 55}}};
  static const std::array<UnitOption, 3> deficit{{{"kPa", 1, 0, false, 0.02, 8},
                                                  {"hPa", 0.1, 0, false, 0.02, 8},
                                                  {"Pa", 1e-3, 0, false, 0.02, 8}}};
  static const std::array<UnitOption, 2> humidity{
      {{"%", 1, 0, false, 3, 100}, {"1", 100, 0, false, 3, 100}}};
  static const std::array<UnitOption, 1> ratio{{{"1", 1, 0, false, 0, 1.5}}};
  switch (what) {
    case ReadAs::A:
      return A;
    case ReadAs::E:
      return E;
    case ReadAs::gsw:
      return gsw;
    case ReadAs::gbw:
      return gbw;
    case ReadAs::co2:
      return co2;
    case ReadAs::h2o:
      return h2o;
    case ReadAs::flow:
      return flow;
    case ReadAs::area:
      return area;
    case ReadAs::pressure:
      return pressure;
    case ReadAs::temperature:
      return temperature;
    case ReadAs::deficit:
      return deficit;
    case ReadAs::humidity:
      return humidity;
    case ReadAs::ratio:
      return ratio;
  }
  return {};
}

/// Decimals and significant digits that a number's text shows.
struct Digits {
  int decimals = 0, significant = 0;
};
Digits digits_of(std::string_view text, char decimal) {
  Digits out;
  bool behind = false, leading = true;
  std::size_t i = 0;
  for (; i < text.size(); ++i) {
    const char c = text[i];
    if (c == 'e' || c == 'E') break;
    if (c == decimal) behind = true;
    if (c < '0' || c > '9') continue;
    if (behind) ++out.decimals;
    if (c != '0') leading = false;
    if (!leading) ++out.significant;
  }
  if (i < text.size()) {
    const int exponent = std::atoi(std::string(text.substr(i + 1)).c_str());
    out.decimals -= exponent;
  }
  return out;
}

/// See Reading::stated. A volume flow that states no reference suits one that does.
int stated_level(const std::string& text, const std::string& unit) {
  if (text.empty()) return 0;
  const auto stated = parse_unit(text);
  if (!stated) return 0;
  const bool volume = unit.find(" at ") != std::string::npos;
  const auto read = parse_unit(volume ? unit.substr(0, unit.find(" at ")) : unit);
  const auto with_reference = parse_unit(unit);
  for (const auto& target : {with_reference, read}) {
    const auto between = target ? conversion(*stated, *target) : fail(Error());
    if (between) return between->changes_nothing() ? 2 : 1;
  }
  return -1;
}

bool may_be_constant(ReadAs what) {
  return what != ReadAs::A && what != ReadAs::E && what != ReadAs::gsw;
}

bool must_be_positive(ReadAs what) {
  return what == ReadAs::flow || what == ReadAs::area || what == ReadAs::pressure ||
         what == ReadAs::gbw;
}

}  // namespace

Sampling::Sampling(const Table& table, std::size_t most) {
  std::vector<std::size_t> sound;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (table.row_fault(row).empty()) sound.push_back(row);
  }
  const std::size_t take = std::min(most, sound.size());
  for (std::size_t i = 0; i < take; ++i) {
    // Visited in steps of 37 modulo `take` where that reaches all, else one after the other.
    const std::size_t at = take % 37 == 0 ? i : (i * 37) % take;
    rows_.push_back(sound[at * sound.size() / take]);
  }
  sample(table);
  read_all(table);
}

std::optional<Sampling> Sampling::suited() const {
  Sampling out = *this;
  std::size_t against = 0;
  for (std::vector<Reading>& readings : out.readings_) {
    against += std::erase_if(readings, [](const Reading& one) { return one.stated < 0; });
  }
  if (against == 0) return std::nullopt;
  return out;
}

void Sampling::sample(const Table& table) {
  const char decimal = table.layout().decimal;
  for (std::size_t c = 0; c < table.columns(); ++c) {
    SampledColumn out;
    out.column = c;
    int decimals = -400, significant = 0;
    double low = std::numeric_limits<double>::infinity(), high = -low;
    Series size, shown_values;
    for (const std::size_t row : rows_) {
      const CellValue cell = table.value(c, row);
      const bool number = cell.kind == CellKind::number && std::abs(cell.number) < 1e12;
      out.raw.push_back(number ? cell.number : missing);
      if (!number) continue;
      const Digits shown = digits_of(table.text(c, row), decimal);
      decimals = std::max(decimals, shown.decimals);
      significant = std::max(significant, shown.significant);
      low = std::min(low, cell.number);
      high = std::max(high, cell.number);
      size.push_back(std::abs(cell.number));
      shown_values.push_back(cell.number);
    }
    out.there = size.size();
    if (3 * out.there < 2 * rows_.size() || out.there < 8) continue;
    out.constant = low == high;
    // A column of few levels (an area a leaf, a setting) was typed, not rounded.
    const bool typed =
        8 * std::set<double>(shown_values.begin(), shown_values.end()).size() <= rows_.size();
    out.median = median_of(size);
    for (const double v : out.raw) {
      const int before =
          v == 0 || std::isnan(v) ? 1 : static_cast<int>(std::floor(std::log10(std::abs(v)))) + 1;
      // No number holds more than a double does.
      const int shown = std::min({decimals, significant - before, 15 - before});
      out.step.push_back(typed ? 0 : std::pow(10.0, -shown));
    }
    columns_.push_back(std::move(out));
  }
}

void Sampling::read_all(const Table& table) {
  for (const SampledColumn& column : columns_) {
    for (std::size_t what = 0; what < read_as_count; ++what) {
      read_column(table, column, static_cast<ReadAs>(what));
    }
  }
}

void Sampling::read_column(const Table& table, const SampledColumn& column, ReadAs what) {
  if (column.constant && !may_be_constant(what)) return;
  const bool positive = must_be_positive(what);
  if (positive &&
      std::any_of(column.raw.begin(), column.raw.end(), [](double v) { return v <= 0; })) {
    return;
  }
  for (const UnitOption& option : options_of(what)) {
    const double median =
        option.offset != 0 ? column.median + option.offset : column.median * option.scale;
    if (median < option.low || median > option.high) continue;
    Reading reading;
    reading.column = column.column;
    reading.unit = option.text;
    reading.partial = option.partial;
    reading.constant = column.constant;
    reading.stated = stated_level(table.unit(column.column, 0), reading.unit);
    for (std::size_t i = 0; i < column.raw.size(); ++i) {
      reading.values.push_back(column.raw[i] * option.scale + option.offset);
      reading.slack.push_back(0.5 * column.step[i] * option.scale);
    }
    auto& out = readings_[static_cast<std::size_t>(what)];
    const bool stream = what == ReadAs::co2 || what == ReadAs::h2o;
    out.push_back(reading);
    if (stream && !option.partial) {
      reading.dry = true;
      out.push_back(std::move(reading));
    }
  }
}

}  // namespace leafwright
