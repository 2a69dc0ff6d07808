// Which of several sources a value comes from. Used by flux.cpp only.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "log/flux.hpp"

namespace leafwright {

/// One quantity for the rows of one curve.
struct ChosenValue {
  ValueFrom from = ValueFrom::nowhere;
  double value = 0;
  const Channel* column = nullptr;  ///< where `from` is log_column

  [[nodiscard]] bool known() const { return from != ValueFrom::nowhere; }
  /// Not a number where the column's cell is missing.
  [[nodiscard]] double at(std::size_t row) const {
    return column != nullptr ? column->values[row] : value;
  }
};

/// What may be said about a quantity.
struct ValueOffers {
  const char* quantity = "";
  const char* unit = "";
  std::optional<double> option, samples;
  const Channel* column = nullptr;
  std::optional<double> instrument, default_value;
};

/// Chooses for the rows of one curve and reports it to `sources`: curves for which the same was
/// said are put together.
ChosenValue choose(const ValueOffers& offers, std::span<const std::size_t> rows,
                   const std::string& curve_id, std::vector<ValueSource>& sources);

}  // namespace leafwright
