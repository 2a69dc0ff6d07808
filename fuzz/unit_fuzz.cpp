// Any text as a unit: a unit or an Error; what is read converts to itself without a change.
#include <cstdint>
#include <cstdlib>
#include <string_view>

#include "quantity/unit.hpp"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  const auto unit = leafwright::parse_unit(text);
  if (unit) {
    const auto same = leafwright::conversion(*unit, *unit);
    if (same && !same->changes_nothing()) std::abort();
  }
  (void)leafwright::parse_measured(text);
  return 0;
}
