#include "fit/operating.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/fitted.hpp"

namespace leafwright {
namespace {

using Kind = SettingKind;

constexpr double water_to_co2 = 1.6;  // diffusivity in air of water vapour over that of CO2
constexpr double milli = 1e-3;        // mmol -> mol
constexpr double bend = 0.01;         // slopes left and right that differ by more: a bend
constexpr double unlike_rows = 0.2;   // conductances of the rows that differ by more are told

/// CO2 of the air at the leaf in this row; empty where neither CO2s nor gsw tells it.
std::optional<double> outside(const CurveRow& row) {
  if (row.CO2s) return row.CO2s;
  if (row.gsw && *row.gsw > 0) return row.Ci + water_to_co2 * row.A / (*row.gsw * milli);
  return std::nullopt;
}

struct NearRow {
  const CurveRow* row = nullptr;
  double CO2 = 0;
};

/// Rows of the fit whose CO2 outside is known, with A > 0 and a gradient inwards.
std::vector<NearRow> supplied_rows(const CurveFit& fit, const Curve& curve) {
  std::vector<NearRow> out;
  for (const CurveRow& row : curve.rows) {
    const bool used = std::find(fit.used.begin(), fit.used.end(), row.row) != fit.used.end();
    const auto CO2 = outside(row);
    if (used && CO2 && row.A > 0 && *CO2 > row.Ci) out.push_back({&row, *CO2});
  }
  return out;
}

std::string lacking_columns(const CurveFit& fit, const Curve& curve) {
  const bool any = std::any_of(curve.rows.begin(), curve.rows.end(),
                               [](const CurveRow& row) { return row.CO2s || row.gsw; });
  if (!any) {
    return "no CO2s and no gsw in the rows: the conductance near that CO2 is not known; add one of "
           "them, or state the Ci with --operating-ci";
  }
  return fmt::format("none of the {} rows used has A above 0 and Ci below the CO2 outside",
                     fit.points);
}

/// Rows near the stated CO2 and what they say of conductance.
void take_conductance(OperatingPoint& out, const CurveFit& fit, const Curve& curve,
                      const OperatingChoice& choice) {
  const auto rows = supplied_rows(fit, curve);
  if (rows.empty()) {
    out.missing.push_back(lacking_columns(fit, curve));
    return;
  }
  const auto distance = [&](const NearRow& near) { return std::abs(near.CO2 - out.CO2); };
  double sum = 0, water = 0;
  std::size_t with_water = 0;
  for (const NearRow& near : rows) {
    if (distance(near) > choice.window * out.CO2) continue;
    const double g = near.row->A / (near.CO2 - near.row->Ci);
    out.rows.push_back(near.row->row);
    out.lines.push_back(near.row->place.line);
    out.conductance_low = out.conductance_low ? std::min(*out.conductance_low, g) : g;
    out.conductance_high = out.conductance_high ? std::max(*out.conductance_high, g) : g;
    sum += g;
    if (near.row->gsw && *near.row->gsw > 0) {
      water += *near.row->gsw;
      ++with_water;
    }
  }
  if (out.rows.empty()) {
    const auto nearest = std::min_element(
        rows.begin(), rows.end(),
        [&](const NearRow& a, const NearRow& b) { return distance(a) < distance(b); });
    out.missing.push_back(fmt::format(
        "no row was measured within {} % of {} umol mol-1 outside; the nearest is row {} at {}: "
        "widen --operating-window if it may stand for it, or state the Ci with --operating-ci",
        print_rounded(100 * choice.window, 3), print_rounded(out.CO2, 5), nearest->row->row,
        print_rounded(nearest->CO2, 4)));
    return;
  }
  out.conductance = sum / static_cast<double>(out.rows.size());
  if (with_water == out.rows.size()) {
    out.gsw = water / static_cast<double>(with_water);
  }
}

/// Where the supply line meets the fitted curve. Their difference rises with Ci wherever the curve
/// does not fall faster than the line.
std::optional<double> meeting_point(const CurveFit& fit, double CO2, double conductance) {
  const auto excess = [&](double Ci) { return fitted_rate(fit, Ci) - conductance * (CO2 - Ci); };
  double low = 1e-6 * CO2, high = CO2;
  if (!(excess(low) < 0 && excess(high) > 0)) return std::nullopt;
  for (int step = 0; step < 200 && high - low > 1e-13 * CO2; ++step) {
    const double middle = 0.5 * (low + high);
    (excess(middle) < 0 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

/// The estimate that the fitted rate at this Ci rests on.
const Estimate* governing(const CurveFit& fit, double Ci) {
  if (fit.c4) {
    const std::size_t side = c4_state_at(*fit.c4, Ci) == C4State::pep ? 0 : 1;
    return side < fit.more.size() ? &fit.more[side] : nullptr;
  }
  const C3Rate rate =
      fit.gm ? c3_assimilation_gm(Ci, *fit.gm, fit.leaf, fit.kinetics, fit.electrons, fit.alpha)
             : c3_assimilation(Ci, fit.leaf, fit.kinetics, fit.electrons, fit.alpha);
  switch (rate.limited_by) {
    case Limitation::rubisco:
      return &fit.Vcmax;
    case Limitation::rubp:
      return &fit.J;
    case Limitation::tpu:
      return &fit.TPU;
  }
  return nullptr;
}

/// False, with the reason, where the rate at this Ci rests on what the rows do not tell.
bool is_known(OperatingPoint& out, const CurveFit& fit, double Ci, const char* what) {
  const Estimate* e = governing(fit, Ci);
  if (e == nullptr || e->status == Status::estimated || e->status == Status::fixed) return true;
  out.missing.push_back(fmt::format(
      "A at Ci {} rests on {}, of which the rows give {}: {}", print_rounded(Ci, 4), e->symbol,
      e->status == Status::not_identified ? std::string("nothing (not identified)")
                                          : std::string("only a ") + status_name(e->status),
      what));
  return false;
}

void take_limitations(OperatingPoint& out, const CurveFit& fit) {
  const double Ci = *out.Ci;
  if (!is_known(out, fit, Ci, "no A, no limitation there")) return;
  out.A = fitted_rate(fit, Ci);
  if (is_known(out, fit, out.CO2, "no limitation by Farquhar & Sharkey")) {
    out.A_out = fitted_rate(fit, out.CO2);
  }
  if (out.A_out && *out.A_out > 0) {
    out.limitation = 1 - *out.A / *out.A_out;
  } else if (out.A_out) {
    out.missing.emplace_back("the fitted curve has no A above 0 at the CO2 outside: no limitation");
  }
  if (!(*out.A > 0)) {
    out.missing.emplace_back("A is not above 0 at this Ci: no relative limitation");
    return;
  }
  const double step = 1e-4 * Ci;
  const double left = (*out.A - fitted_rate(fit, Ci - step)) / step;
  const double right = (fitted_rate(fit, Ci + step) - *out.A) / step;
  const double slope = 0.5 * (left + right);
  const auto relative = [&](double s) {
    const double r = (out.CO2 - Ci) / *out.A;
    return r * s / (r * s + 1);
  };
  // Flat stretches differ by rounding only: judged against the chord from Ci outwards.
  const double chord = *out.A / Ci;
  if (std::abs(left - right) > bend * std::max(std::abs(slope), 1e-3 * chord)) {
    out.missing.push_back(fmt::format(
        "the fitted curve bends just there: the relative limitation is {} from the left and {} "
        "from the right",
        print_rounded(relative(left), 3), print_rounded(relative(right), 3)));
    return;
  }
  out.slope = std::abs(slope) < 1e-6 * chord ? 0 : slope;
  if (*out.slope < 0) {
    out.missing.emplace_back("A falls with Ci there: no relative limitation");
    return;
  }
  out.relative = relative(*out.slope);
}

void note_missing(CurveFit& fit) {
  const OperatingPoint& point = *fit.operating;
  if (!point.missing.empty()) {
    fit.notes.push_back({point.Ci ? NoteLevel::info : NoteLevel::caution, "operating-missing",
                         "operating point: " + join(point.missing, "; ")});
  }
}

void note_operating(CurveFit& fit, const Curve& curve) {
  const OperatingPoint& point = *fit.operating;
  note_missing(fit);
  if (!point.Ci || fit.rows.empty()) return;
  const double low = fit.rows.front().Ci, high = fit.rows.back().Ci;
  if (point.CO2 > high || *point.Ci < low) {
    fit.notes.push_back(
        {NoteLevel::caution, "operating-beyond",
         fmt::format("the operating point asks the curve for A at Ci {} and {}, but its rows go "
                     "from {} to {}: what lies beyond is extrapolated",
                     print_rounded(*point.Ci, 4), print_rounded(point.CO2, 4),
                     print_rounded(low, 4), print_rounded(high, 4))});
  }
  if (point.conductance &&
      *point.conductance_high - *point.conductance_low > unlike_rows * *point.conductance) {
    fit.notes.push_back(
        {NoteLevel::caution, "operating-rows-unlike",
         fmt::format("the {} rows near the operating CO2 have conductances from {} to {} mol m-2 "
                     "s-1: their mean stands for a leaf that was not steady",
                     point.rows.size(), print_rounded(*point.conductance_low, 3),
                     print_rounded(*point.conductance_high, 3))});
  }
  const bool implied = std::any_of(point.rows.begin(), point.rows.end(), [&](std::size_t row) {
    return row < curve.rows.size() && !curve.rows[row].CO2s;
  });
  if (implied) {
    fit.notes.push_back({NoteLevel::info, "operating-no-co2s",
                         "no CO2s: the CO2 outside each row was taken as Ci + 1.6 A/gsw, without "
                         "boundary layer and flow of vapour"});
  }
}

}  // namespace

SettingTable stomata_settings() {
  static const std::array<Setting, 4> settings{{
      {.name = "operating-co2",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .low = 50,
       .high = 2500,
       .help = "CO2 of the air outside the leaf for which the operating point and the limitation "
               "by stomata are given; without it they are not",
       .source = "no default: it is the air that the leaf lives in"},
      {.name = "operating-ci",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .low = 1,
       .high = 2500,
       .help = "Ci at the operating point; without it from the conductance of the rows measured "
               "near operating-co2",
       .source = "the user's own"},
      {.name = "operating-window",
       .kind = Kind::number,
       .unit = "%",
       .default_value = "10",
       .low = 0.1,
       .high = 100,
       .help = "rows whose CO2 outside is within this share of operating-co2 give the conductance",
       .source = "common practice, no source"},
      {.name = "gsw-steady",
       .kind = Kind::number,
       .unit = "%",
       .default_value = "10",
       .low = 0.1,
       .high = 1000,
       .help = "gsw that changes by no more over a curve is called steady, else drift is told; no "
               "row is left out for it",
       .source = "common practice, no source"},
  }};
  return settings;
}

Result<OperatingChoice> operating_choice(const Settings& settings) {
  OperatingChoice out;
  if (settings.is_set("operating-co2")) out.CO2 = settings.number("operating-co2");
  if (settings.is_set("operating-ci")) out.Ci = settings.number("operating-ci");
  out.window = settings.number("operating-window") / 100;
  if (out.Ci && !out.CO2) {
    return fail(ErrorCode::usage, "--operating-ci without --operating-co2", "both",
                "the limitation compares A at Ci with A at the CO2 outside the leaf");
  }
  if (out.Ci && *out.Ci >= *out.CO2) {
    return fail(ErrorCode::usage,
                fmt::format("--operating-ci {} with --operating-co2 {}", *out.Ci, *out.CO2),
                "a Ci below the CO2 outside");
  }
  return out;
}

OperatingPoint operating_point(const CurveFit& fit, const Curve& curve,
                               const OperatingChoice& choice) {
  OperatingPoint out;
  out.CO2 = choice.CO2.value();
  out.ci_given = choice.Ci.has_value();
  take_conductance(out, fit, curve, choice);
  if (out.ci_given) {
    // The rows then only give gsw for A/gsw.
    out.missing.clear();
    out.Ci = choice.Ci;
    out.conductance = out.conductance_low = out.conductance_high = std::nullopt;
  } else if (out.conductance) {
    out.Ci = meeting_point(fit, out.CO2, *out.conductance);
    if (!out.Ci) {
      out.missing.emplace_back("the supply line does not meet the fitted curve below that CO2");
    }
  }
  if (!out.Ci) return out;
  take_limitations(out, fit);
  if (!out.A) return out;
  if (out.gsw && *out.A > 0) {
    out.WUEi = *out.A / (*out.gsw * milli);
  } else if (!out.gsw) {
    const bool column = std::any_of(curve.rows.begin(), curve.rows.end(),
                                    [](const CurveRow& row) { return row.gsw.has_value(); });
    out.missing.emplace_back(column ? "no gsw in the rows near that CO2: no A/gsw"
                                    : "no gsw column: no A/gsw");
  }
  return out;
}

void find_operating_points(CampaignFit& campaign, std::span<const Curve> curves,
                           const OperatingChoice& choice) {
  if (!choice.CO2) return;
  auto from = curves.begin();  // fits stand in the order of the curves
  for (CurveFit& fit : campaign.fits) {
    const auto curve = std::find_if(from, curves.end(),
                                    [&](const Curve& one) { return one.curve_id == fit.curve_id; });
    if (curve == curves.end()) continue;
    from = curve;
    fit.operating = operating_point(fit, *curve, choice);
    note_operating(fit, *curve);
  }
}

}  // namespace leafwright
