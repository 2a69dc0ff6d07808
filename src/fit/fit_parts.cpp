#include "fit/fit_parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
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

namespace {

/// "Ci 412 (line 7) to 0.31, ...", the lowest first.
std::string rows_weighted_down(const CurveFit& out, const UsableRows& usable) {
  std::vector<const FittedRow*> down;
  for (const FittedRow& row : out.rows) {
    if (row.huber < 1) down.push_back(&row);
  }
  std::stable_sort(down.begin(), down.end(),
                   [](const FittedRow* a, const FittedRow* b) { return a->huber < b->huber; });
  constexpr std::size_t told = 6;
  std::string text;
  for (std::size_t i = 0; i < std::min(told, down.size()); ++i) {
    text += (i == 0 ? "" : ", ") + fmt::format("Ci {:.0f}", down[i]->Ci);
    for (const CurveRow* row : usable.rows) {
      if (row->row == down[i]->row && row->place.line > 0) {
        text += fmt::format(" (line {})", row->place.line);
      }
    }
    text += " to " + print_rounded(down[i]->huber, 2);
  }
  return text + (down.size() > told ? ", ..." : "");
}

}  // namespace

void note_dark(CurveFit& out, const RdayChoice& rday) {
  if (!rday.dark) return;
  out.dark = rday.dark;
  const DarkRespiration& d = *rday.dark;
  std::string text = fmt::format("Rday {} is respiration in the dark, {}",
                                 print_rounded(rday.value, 3), print_rounded(d.dark, 3));
  text += d.temperature ? fmt::format(" at {} degC", print_rounded(*d.temperature, 4))
                        : fmt::format(", taken as measured at {:.1f} degC", out.Tleaf);
  text += fmt::format(", of which light is said to inhibit {:.6g} %", 100 * d.inhibition);
  if (!d.response.empty()) {
    text +=
        fmt::format(", moved to {:.1f} degC by {} (times {:.3f})", out.Tleaf, d.response, d.factor);
  }
  // 2 K: common practice, no source.
  const bool far = d.temperature && std::abs(out.Tleaf - *d.temperature) >= 2;
  out.notes.push_back({far || !d.temperature ? NoteLevel::caution : NoteLevel::info,
                       "rday-from-dark", std::move(text)});
}

Result<std::vector<double>> weights_of(const std::vector<const CurveRow*>& rows,
                                       const std::string& sd_column) {
  std::vector<double> out;
  double sum = 0;
  for (const CurveRow* row : rows) {
    const double sd = row->sd.value_or(0);
    if (!(sd > 0) || !std::isfinite(sd)) {
      return fail(
          ErrorCode::unfit,
          "a row without an sd of A in '" + sd_column + "', which sd-column names",
          "a column with a standard deviation above 0 in every row that is used",
          "is it spelt as in the log? Means of holds and corrected ramps have A_sd; or leave "
          "sd-column out",
          row->place);
    }
    out.push_back(1 / (sd * sd));
    sum += out.back();
  }
  for (double& w : out) w *= static_cast<double>(rows.size()) / sum;
  return out;
}

std::optional<double> residual_to_sd(const CurveFit& fit) {
  if (fit.df == 0) return {};
  double sum = 0;
  for (const FittedRow& row : fit.rows) sum += std::pow(row.residual / *row.sd, 2);
  return std::sqrt(sum / static_cast<double>(fit.df));
}

void note_weights(CurveFit& out, const UsableRows& usable) {
  const Weighting& w = *out.weighting;
  if (w.residual_to_sd) {
    const bool far = *w.residual_to_sd > 2 || *w.residual_to_sd < 0.5;
    out.notes.push_back(
        {far ? NoteLevel::caution : NoteLevel::info, "sd-relative",
         fmt::format("residuals are {} times the sd in column '{}'; only the ratios of the sd "
                     "enter, intervals come from the residuals",
                     print_rounded(*w.residual_to_sd, 2), w.sd_column)});
  }
  if (!w.huber) return;
  const HuberOutcome& h = *w.huber;
  if (!h.converged) {
    out.notes.push_back({NoteLevel::warning, "huber-not-converged",
                         "the weights of Huber's loss had not settled after 400 steps"});
  }
  if (h.down == 0) return;
  out.notes.push_back({h.least < 0.5 ? NoteLevel::caution : NoteLevel::info, "rows-weighted-down",
                       fmt::format("Huber's loss (k {}, scale {}) weighs down {} of {} rows: {}",
                                   h.k, print_rounded(h.scale, 2), h.down, out.points,
                                   rows_weighted_down(out, usable))});
}

}  // namespace leafwright
