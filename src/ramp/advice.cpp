#include "ramp/advice.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/number.hpp"
#include "log/instrument.hpp"
#include "quantity/constants.hpp"
#include "ramp/identify.hpp"

namespace leafwright {

namespace {

constexpr double molar_mass_air = 28.9644e-3;  // kg mol-1, U.S. Standard Atmosphere 1976
constexpr double unknown_inlet = 0.25;         // of the chamber's volume, at most: an assumption
constexpr double one_flow_doubt = 0.07;        // found by simulation of an inlet left out
constexpr double much_pressure = 0.5;          // kPa

void advise_volume(const GasPath& path, const Instrument& instrument, const AdviceOptions& options,
                   MatchingAdvice& out) {
  if (!instrument.cell_flow) {
    out.missing.emplace_back(
        "cell_flow of the instrument file: without it no volume or length can be given");
    return;
  }
  const WithError lag = *path.lag_s;
  const double f = *instrument.cell_flow, mL = lag.value * f / 60, se = lag.se * f / 60;
  const bool longer = mL >= 0;
  out.advice.push_back(
      {"reference volume", mL, se, "mL",
       longer ? "add between the split and the reference cell; counted at the flow through the "
                "cell of " +
                    print_rounded(f, 4) + " mL min-1"
              : "take away from the reference path, or add as much to the sample path; counted at "
                "the flow through the cell of " +
                    print_rounded(f, 4) + " mL min-1"});
  const double t = path.conditions.Tair.value_or(25);
  const double P = path.conditions.Patm > 0 ? path.conditions.Patm : 101.325;
  std::vector<double> bores = options.bores_mm;
  if (bores.empty()) bores = {1.59, 3.18, 4.76};
  for (const double bore : bores) {
    const double per_mL = 4 / (std::numbers::pi * bore * bore / 100), cm = mL * per_mL;
    const double drop = tube_pressure_drop(std::abs(cm), bore, f, t);
    std::string note = "of " + print_rounded(bore, 3) + " mm bore; its pressure drop is " +
                       print_rounded(drop, 2) + " kPa";
    if (longer && drop > much_pressure) {
      note +=
          ": that changes the reference cell's flow and pressure, so take a wider tube or a "
          "small vessel";
    }
    if (tube_reynolds(bore, f, t, P) > 2000) note += "; the flow is not laminar, so it is more";
    out.advice.push_back({"reference tube", cm, se * per_mL, "cm", std::move(note)});
  }
}

/// The chamber flow at which L = a + b/u is 0, and how it was found.
void advise_flow(const GasPath& path, const Instrument& instrument, MatchingAdvice& out) {
  const std::string none =
      "no chamber flow makes the lags equal: the reference path must get longer";
  if (path.flow_law) {
    if (path.flow_law->null_flow) {
      out.advice.push_back({"chamber flow", path.flow_law->null_flow->value,
                            path.flow_law->null_flow->se, "umol s-1",
                            "set instead of changing the tubes; from records at " +
                                std::to_string(path.flow_law->flows.size()) + " flows"});
    } else {
      out.missing.push_back(none);
    }
    return;
  }
  const auto air = air_per_volume(instrument, path.conditions);
  if (!air || !instrument.chamber_volume || !(path.conditions.flow > 0)) {
    out.missing.emplace_back(
        "a record at a second flow, or chamber_volume with Tair and Patm: without them the flow at "
        "which the lags are equal cannot be given");
    return;
  }
  const double u = path.conditions.flow, L = path.lag_s->value, V = *instrument.chamber_volume;
  const bool known = instrument.inlet_volume.has_value();
  const auto null_flow = [&](double inlet) {
    const double b = *air * (V + inlet);
    return -b / (L - b / u);  // < 0: a >= 0, no such flow
  };
  const double inlet = known ? *instrument.inlet_volume : unknown_inlet * V / 2;
  const double u0 = null_flow(inlet), b = *air * (V + inlet);
  if (!(u0 > 0) || (!known && !(null_flow(0) > 0))) {
    out.missing.push_back(none);
    return;
  }
  // u0 = b/(b/u - L), so du0/dL = u0^2/b.
  double se = path.lag_s->se * u0 * u0 / b;
  std::string note = "set instead of changing the tubes; from one flow and the stated volumes";
  if (!known) {
    const double doubt =
        std::max(std::abs(null_flow(0) - null_flow(unknown_inlet * V)) / 2, one_flow_doubt * u0);
    se = std::hypot(se, doubt);
    note =
        "set instead of changing the tubes; from one flow with the inlet volume not known: about " +
        print_rounded(100 * doubt / u0, 1) +
        " % uncertain for that alone. A record at a second flow tells it";
  }
  if (u0 > 2 * u || u0 < u / 2) note += "; far from the flow of the record, so check it there";
  out.advice.push_back({"chamber flow", u0, se, "umol s-1", std::move(note)});
}

}  // namespace

double air_viscosity(double t) {
  const double T = t + zero_celsius;
  return 1.458e-6 * T * std::sqrt(T) / (T + 110.4);
}

double tube_pressure_drop(double length_cm, double bore_mm, double flow, double t) {
  const double Q = flow * 1e-6 / 60, l = length_cm / 100, d = bore_mm / 1000;
  return 128 * air_viscosity(t) * l * Q / (std::numbers::pi * d * d * d * d) / 1000;
}

double tube_reynolds(double bore_mm, double flow, double t, double P) {
  const double density = 1000 * P * molar_mass_air / (gas_constant * (t + zero_celsius));
  return 4 * density * flow * 1e-6 / 60 / (std::numbers::pi * bore_mm / 1000 * air_viscosity(t));
}

MatchingAdvice advise(const GasPath& path, const Instrument& instrument,
                      const AdviceOptions& options) {
  MatchingAdvice out;
  out.rate = options.rate ? options.rate : path.conditions.rate;
  if (!path.lag_s) {
    out.missing.emplace_back("a record with holds, or an up and a down ramp: the lag is not known");
    return out;
  }
  if (!out.rate) {
    out.missing.emplace_back("the rate of the ramp to come: the records have none of their own");
  } else {
    const double rate = *out.rate;
    out.residual_differential =
        WithError{path.lag_s->value * rate, path.lag_s->se * std::abs(rate)};
    out.equal_lag = std::abs(out.residual_differential->value) <= equal_differential;
    if (*out.equal_lag) return out;
  }
  advise_volume(path, instrument, options, out);
  advise_flow(path, instrument, out);
  return out;
}

}  // namespace leafwright
