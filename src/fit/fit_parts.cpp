#include "fit/fit_parts.hpp"

#include <fmt/format.h>

#include <cmath>

#include "leaf/at25.hpp"

namespace leafwright {

void add_at25(CurveFit& out, const ResponseSet* set) {
  if (set == nullptr) return;
  out.response_set = set->name;
  bool noted = false;
  for (const auto& [estimate, capacity] :
       {std::pair{&out.Vcmax, Capacity::Vcmax}, std::pair{&out.J, Capacity::J},
        std::pair{&out.TPU, Capacity::TPU}, std::pair{&out.Rday, Capacity::Rday}}) {
    At25 moved{estimate->symbol + "25", {}, {}, {}};
    if (const auto move = move_to_25(*set, capacity, out.Tleaf)) {
      const auto by_factor = [&](const std::optional<double>& v) {
        return v ? std::optional(*v / move->factor) : std::nullopt;
      };
      // A best-fit number behind a bound is not an estimate, and does not become one at 25 degC.
      if (estimate->status == Status::estimated || estimate->status == Status::fixed) {
        moved.value = by_factor(estimate->value);
      }
      moved.low = by_factor(estimate->low);
      moved.high = by_factor(estimate->high);
      // Half a kelvin moves a value by a few percent at most, under any response.
      if (!noted && capacity == Capacity::Vcmax && std::abs(out.Tleaf - 25) >= 0.5) {
        out.notes.push_back(move->note);
        noted = true;
      }
    }
    out.at25.push_back(std::move(moved));
  }
}

/// Rows measured one by one in a curve are fewer (common practice, no source).
constexpr std::size_t most_separate_rows = 60;

void note_degrees_of_freedom(CurveFit& out) {
  if (out.df == 0) {
    out.notes.push_back({NoteLevel::warning, "no-degrees-of-freedom",
                         "as many parameters as rows: the fit cannot be judged and has no "
                         "intervals"});
  } else if (out.df < 3) {
    out.notes.push_back(
        {NoteLevel::caution, "few-degrees-of-freedom",
         fmt::format("only {} degree{} of freedom", out.df, out.df == 1 ? "" : "s")});
  } else if (out.points > most_separate_rows) {
    out.notes.push_back({NoteLevel::caution, "many-rows",
                         fmt::format("{} rows: such as come from a ramp share noise, and standard "
                                     "errors and intervals from their residuals are too short, for "
                                     "ramps 2 to 3 times; 'run' counts the ramp's own errors",
                                     out.points)});
  }
}

}  // namespace leafwright
