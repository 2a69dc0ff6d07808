#include "leaf/c4_spread.hpp"

#include "leaf/c4_kinetics.hpp"

namespace leafwright {

C4ResponseSpread c4_response_spread(std::string_view symbol, double tleaf) {
  C4ResponseSpread out;
  for (const C4ResponseSet& set : c4_response_sets()) {
    const std::optional<Response>* response = symbol == "Vpmax"   ? &set.Vpmax
                                              : symbol == "Vcmax" ? &set.Vcmax
                                              : symbol == "J"     ? &set.J
                                              : symbol == "Rday"  ? &set.Rday
                                                                  : nullptr;
    if (response == nullptr || !*response) continue;
    const double factor = (*response)->factor(tleaf);
    if (out.sets == 0 || factor < out.lowest) {
      out.lowest = factor;
      out.lowest_set = set.name;
    }
    if (out.sets == 0 || factor > out.highest) {
      out.highest = factor;
      out.highest_set = set.name;
    }
    ++out.sets;
  }
  return out;
}

}  // namespace leafwright
