// The quantities Leafwright knows by name: the variables of the open reporting format for leaf gas
// exchange (Ely et al. 2021, Ecological Informatics 61:101232; names, units and definitions are
// those of its dictionary, CC BY 4.0), and a few columns of Leafwright's own formats.
//
// Inside the program every quantity has one unit, the one given here; tables are converted once,
// where they are read.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <string_view>

#include "base/error.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

enum class SymbolKind {
  number,  ///< a real number in `unit`
  date,    ///< YYYY-MM-DD
  time,    ///< HH:MM:SS
  text,    ///< free text, an identifier or a mark
};

enum class SymbolSource {
  reporting_format,  ///< Ely et al. 2021
  leafwright,        ///< a column of Leafwright's own formats (docs/formats)
};

/// Values outside [low, high] are flagged, never changed or removed. The ranges are common
/// practice, no source.
struct PlausibleRange {
  double low = 0;
  double high = 0;
};

struct Symbol {
  std::string_view name;
  std::string_view unit;  ///< internal unit; "" for text, date and time
  SymbolKind kind = SymbolKind::number;
  SymbolSource source = SymbolSource::reporting_format;
  std::string_view meaning;
  std::optional<PlausibleRange> plausible;
  bool varies = false;  ///< a column of it that never changes is suspicious (A, Ci, CO2s, ...)
};

/// All symbols, in the order of docs/formats.
std::span<const Symbol> symbols();

/// The symbol with exactly this name (case-sensitive), or null.
const Symbol* find_symbol(std::string_view name);

/// "did you mean 'Ci'?" or "".
std::string suggest_symbol(std::string_view name);

/// A column title taken apart: "A (umol m-2 s-1)" and "A [umol m-2 s-1]" have the name "A" and the
/// unit text "umol m-2 s-1". Only a bracket that ends the title counts; everything else is name.
struct Title {
  std::string name;
  std::string unit;
};
Title parse_title(std::string_view title);

}  // namespace leafwright
