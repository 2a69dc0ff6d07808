#include "fit/jmax.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/number.hpp"
#include "leaf/at25.hpp"

namespace leafwright {
namespace {

constexpr double varying = 0.05;  // of Qin within a curve; common practice, no source

/// Mean and spread of Qin; the mean is empty where a row that it is taken over has none.
void take_light(JmaxOrigin& light, const CurveFit& fit, const UsableRows& usable) {
  const bool rubp = std::any_of(fit.rows.begin(), fit.rows.end(),
                                [](const FittedRow& row) { return row.state == Limitation::rubp; });
  double sum = 0, all = 0, low = std::numeric_limits<double>::infinity(), high = -low;
  std::size_t rows = 0;
  bool missing = false;
  for (const CurveRow* row : usable.rows) {
    if (!row->Qin) {
      missing = true;
      continue;
    }
    low = std::min(low, *row->Qin);
    high = std::max(high, *row->Qin);
    all += *row->Qin;
    const auto fitted = std::find_if(fit.rows.begin(), fit.rows.end(),
                                     [&](const FittedRow& f) { return f.row == row->row; });
    if (rubp && (fitted == fit.rows.end() || fitted->state != Limitation::rubp)) continue;
    sum += *row->Qin;
    ++rows;
  }
  if (missing || rows == 0 || !(sum > 0)) return;
  light.ppfd = sum / static_cast<double>(rows);
  light.ppfd_spread = (high - low) * static_cast<double>(usable.rows.size()) / all;
  light.I2 = photosystem_light(*light.ppfd, light.absorptance, light.loss);
}

std::string symbol_of(const CurveFit& fit) {
  return fit.J.symbol == "J_gm" ? "Jmax_gm" : "Jmax";
}

/// Jmax of an end of J's interval; empty where it is open or reaches I2.
std::optional<double> moved(const std::optional<double>& J, const JmaxOrigin& light) {
  if (!J || !(*J < *light.I2)) return {};
  return jmax_from_transport(*J, *light.I2, light.curvature);
}

Estimate estimate_of(const CurveFit& fit, const JmaxOrigin& light) {
  Estimate e;
  e.symbol = symbol_of(fit);
  if (!light.I2) return e;
  const Estimate& J = fit.J;
  const bool known = J.status == Status::estimated || J.status == Status::fixed;
  // A lower end at or above I2 says that these constants cannot hold: no bound is made of it.
  const bool possible = J.low ? *J.low < *light.I2 : known;
  if (!possible) return e;
  e.low = moved(J.low, light);
  e.high = moved(J.high, light);
  e.low_widened = moved(J.low_widened, light);
  e.high_widened = moved(J.high_widened, light);
  if (known) e.value = moved(J.value, light);
  if (e.value && J.se) e.se = *J.se * jmax_slope(*J.value, *light.I2, light.curvature);
  const bool intervals = J.low || J.high;
  if (e.value && (!intervals || e.high)) {
    e.status = Status::estimated;
  } else if (e.low && *e.low > 0) {
    e.status = Status::lower_bound;
    e.value.reset();
    e.se.reset();
  } else if (e.high) {
    e.status = Status::upper_bound;
  }
  return e;
}

At25 at_25(const CurveFit& fit, const Estimate& e, const ResponseSet& set) {
  At25 out{e.symbol + "25", {}, {}, {}};
  const auto move = move_to_25(set, Capacity::J, fit.Tleaf);
  if (!move) return out;
  const auto by_factor = [&](const std::optional<double>& v) {
    return v ? std::optional(*v / move->factor) : std::nullopt;
  };
  if (e.status == Status::estimated) out.value = by_factor(e.value);
  out.low = by_factor(e.low);
  out.high = by_factor(e.high);
  return out;
}

void add_notes(CurveFit& out, const Estimate& e) {
  const JmaxOrigin& light = *out.light;
  const auto note = [&](NoteLevel level, std::string about, std::string text) {
    out.notes.push_back({level, std::move(about), std::move(text)});
  };
  if (!light.ppfd) {
    note(NoteLevel::warning, "jmax-no-ppfd",
         "no Jmax: a used row has no light (column Qin, umol m-2 s-1, above 0)");
    return;
  }
  if (light.ppfd_spread > varying) {
    note(NoteLevel::caution, "ppfd-varies",
         fmt::format("Qin varies by {:.0f} % within the curve: J is not one number then, and {} "
                     "stands on the mean of {:.0f} (more than 5 %; common practice, no source)",
                     100 * light.ppfd_spread, e.symbol, *light.ppfd));
  }
  const std::string constants =
      fmt::format("absorptance {}, f {}, theta {}", light.absorptance, light.loss, light.curvature);
  const bool above = out.J.value && out.J.status == Status::estimated && *out.J.value >= *light.I2;
  if (above || e.status == Status::not_identified || e.status == Status::lower_bound) {
    const std::string why =
        above ? fmt::format("J {:.1f} is not below the light that photosystem II can use, {:.1f}",
                            *out.J.value, *light.I2)
        : e.status == Status::lower_bound
            ? fmt::format("J is not bounded below the light that photosystem II can use, {:.1f}",
                          *light.I2)
            : fmt::format("J is not known below the light that photosystem II can use, {:.1f}",
                          *light.I2);
    note(NoteLevel::warning, "jmax-not-identified",
         fmt::format("{} ({} at Qin {:.0f}): {} is {}{}", why, constants, *light.ppfd, e.symbol,
                     e.status == Status::lower_bound ? "bounded from below only" : "not identified",
                     above ? "; are absorptance and Qin those of this leaf?" : ""));
    return;
  }
  if (!light.J_to_Jmax) return;
  const bool saturates = *light.J_to_Jmax >= saturating_share;
  note(saturates ? NoteLevel::info : NoteLevel::caution,
       saturates ? "ppfd-saturating" : "ppfd-not-saturating",
       fmt::format("at Qin {:.0f} J is {:.2f} of {} ({}){}", *light.ppfd, *light.J_to_Jmax,
                   e.symbol, constants,
                   saturates ? ": the light saturates"
                             : ": the light does not saturate (below 0.95; common practice, no "
                               "source), so that Jmax stands on these constants as much as on J"));
}

}  // namespace

void update_jmax(CurveFit& fit) {
  if (!fit.light) return;
  JmaxOrigin& light = *fit.light;
  const Estimate e = estimate_of(fit, light);
  light.J_to_Jmax.reset();
  if (e.value && fit.J.value && *e.value > 0) light.J_to_Jmax = *fit.J.value / *e.value;
  const auto is = [&](const Estimate& other) { return other.symbol == e.symbol; };
  const auto old = std::find_if(fit.more.begin(), fit.more.end(), is);
  if (old != fit.more.end()) {
    *old = e;
  } else {
    fit.more.push_back(e);
  }
  const auto set = find_response(fit.response_set);
  if (fit.response_set.empty() || !set) return;
  const At25 at25 = at_25(fit, e, **set);
  const auto at = std::find_if(fit.at25.begin(), fit.at25.end(),
                               [&](const At25& other) { return other.symbol == at25.symbol; });
  if (at != fit.at25.end()) {
    *at = at25;
  } else {
    fit.at25.push_back(at25);
  }
}

void add_jmax(CurveFit& out, const UsableRows& usable, const C3FitOptions& options) {
  if (!options.light) return;
  JmaxOrigin light;
  light.absorptance = options.light->absorptance;
  light.loss = options.light->loss;
  light.curvature = options.light->curvature;
  take_light(light, out, usable);
  out.light = light;
  update_jmax(out);
  add_notes(out, out.more.back());
}

}  // namespace leafwright
