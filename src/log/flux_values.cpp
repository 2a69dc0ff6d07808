#include "log/flux_values.hpp"

#include <algorithm>
#include <cmath>

#include "base/number.hpp"

namespace leafwright {

namespace {

struct Range {
  double low = 0, high = 0;
  bool any = false;
};

Range range_of(const Channel* column, std::span<const std::size_t> rows) {
  Range out;
  if (column == nullptr) return out;
  for (const std::size_t row : rows) {
    const double value = column->values[row];
    if (std::isnan(value)) continue;
    out.low = out.any ? std::min(out.low, value) : value;
    out.high = out.any ? std::max(out.high, value) : value;
    out.any = true;
  }
  return out;
}

std::string text_of(const Range& range, const std::string& unit) {
  std::string text = print_rounded(range.low, 7);
  if (range.high != range.low) text += " to " + print_rounded(range.high, 7);
  return unit.empty() ? text : text + " " + unit;
}

/// Equal but for rounding: numbers that went through a unit are.
bool same(double a, double b) {
  return std::abs(a - b) <= 1e-9 * std::max(std::abs(a), std::abs(b));
}

/// Curves of which the same is said stand together; a column that is alone in what it says is told
/// once, with its range over all curves.
void report(ValueSource source, const std::string& unit, const std::string& curve_id,
            std::vector<ValueSource>& sources) {
  for (ValueSource& known : sources) {
    if (known.quantity != source.quantity || known.from != source.from ||
        known.others != source.others) {
      continue;
    }
    const bool column = source.from == ValueFrom::log_column && source.others.empty();
    if (known.text != source.text && !column) continue;
    known.low = std::min(known.low, source.low);
    known.high = std::max(known.high, source.high);
    known.text = text_of({known.low, known.high, true}, unit);
    known.curves.push_back(curve_id);
    return;
  }
  source.curves.push_back(curve_id);
  sources.push_back(std::move(source));
}

}  // namespace

const char* value_from_name(ValueFrom from) {
  switch (from) {
    case ValueFrom::option:
      return "option";
    case ValueFrom::samples:
      return "samples table";
    case ValueFrom::log_column:
      return "log column";
    case ValueFrom::instrument:
      return "instrument";
    case ValueFrom::default_value:
      return "default";
    case ValueFrom::nowhere:
      return "nowhere";
  }
  return "nowhere";
}

ChosenValue choose(const ValueOffers& offers, std::span<const std::size_t> rows,
                   const std::string& curve_id, std::vector<ValueSource>& sources) {
  const Range column = range_of(offers.column, rows);
  ChosenValue chosen;
  ValueSource source{offers.quantity, ValueFrom::nowhere, "", {}, false, 0, 0, {}};
  Range first;
  const auto offer = [&](ValueFrom from, const Range& range) {
    if (!range.any) return;
    const std::string text = text_of(range, offers.unit);
    if (source.from == ValueFrom::nowhere) {
      source.from = from;
      source.text = text;
      first = range;
      source.low = range.low;
      source.high = range.high;
      chosen.from = from;
      chosen.value = range.low;
      if (from == ValueFrom::log_column) chosen.column = offers.column;
      return;
    }
    if (from == ValueFrom::default_value) return;  // a default disagrees with nobody
    source.others.push_back(std::string(value_from_name(from)) + ": " + text);
    if (!same(range.low, first.low) || !same(range.high, first.high)) source.disagree = true;
  };
  const auto one = [](const std::optional<double>& value) {
    return value ? Range{*value, *value, true} : Range{};
  };
  offer(ValueFrom::option, one(offers.option));
  offer(ValueFrom::samples, one(offers.samples));
  offer(ValueFrom::log_column, column);
  offer(ValueFrom::instrument, one(offers.instrument));
  offer(ValueFrom::default_value, one(offers.default_value));
  if (chosen.known()) report(std::move(source), offers.unit, curve_id, sources);
  return chosen;
}

}  // namespace leafwright
