// The record made ready for the corrections.
#include <algorithm>
#include <cmath>

#include "air/moist_air.hpp"
#include "base/number.hpp"
#include "base/text.hpp"
#include "ramp/correction_parts.hpp"
#include "ramp/identify.hpp"

namespace leafwright::correction_detail {

namespace {

ChannelTiming timing_of(const RampRecord& record, const char* symbol) {
  return record.instrument.timing(symbol).value_or(ChannelTiming{});
}

std::vector<double> shifted(const std::vector<double>& time, double by) {
  std::vector<double> out = time;
  for (double& t : out) t += by;
  return out;
}

bool has_numbers(const std::vector<double>& series) {
  return std::any_of(series.begin(), series.end(), [](double v) { return std::isfinite(v); });
}

/// What the record must hold; each with where it can be stated.
Result<void> check_series(const CorrectionInput& input) {
  const RampRecord& r = *input.leaf;
  struct Needed {
    const std::vector<double>* series;
    const char* what;
    const char* hint;
  };
  const Needed needed[] = {
      {&r.H2Or, "water in the reference air (H2Or)",
       "map its column; without water there is no gsw and no dilution"},
      {&r.H2Os, "water in the sample air (H2Os)",
       "map its column; without water there is no gsw and no dilution"},
      {&r.flow, "chamber flow (flow)",
       "map its column, or state it in the map: [constants] flow = \"... umol s-1\""},
      {&r.Tleaf, "leaf temperature (Tleaf)", "map its column"},
      {&r.Patm, "air pressure (Patm)",
       "map its column, or state it in the map: [constants] Patm = \"... kPa\""}};
  for (const Needed& one : needed) {
    if (has_numbers(*one.series)) continue;
    return fail(ErrorCode::usage, r.name + " has no " + one.what, "a column with it", one.hint);
  }
  if (!r.area || !(*r.area > 0)) {
    return fail(ErrorCode::usage, r.name + " has no leaf area", "an area above 0",
                "state it: a column area, area = \"... cm2\" in the instrument file");
  }
  if (!has_numbers(r.gbw) && !input.gbw) {
    return fail(ErrorCode::usage, r.name + " has no boundary layer conductance (gbw)",
                "gbw, without which there is no gsw and no Ci",
                "a column gbw, gbw = \"... mol m-2 s-1\" and gbw_is in the instrument file");
  }
  return {};
}

/// Logger means: both streams must be averaged alike before they are compared.
void take_streams(const RampRecord& record, Frame& frame) {
  const ChannelTiming of_R = timing_of(record, "CO2r"), of_S = timing_of(record, "CO2s");
  frame.time_R = shifted(record.time_s, of_R.to_middle());
  frame.time = shifted(record.time_s, of_S.to_middle());
  frame.R = bridged(frame.time_R, record.CO2r);
  frame.S = bridged(frame.time, record.CO2s);
  if (of_R.averaging_s == of_S.averaging_s) return;
  frame.averaging_s = of_S.averaging_s;
  if (of_R.averaging_s > 0) {
    frame.S = PathFilter(frame.time, frame.S, Interpolation::linear)
                  .apply(0, 0, frame.time, of_R.averaging_s);
  }
}

void take_conditions(const CorrectionInput& input, const CorrectionOptions& options, Frame& frame) {
  const RampRecord& record = *input.leaf;
  const auto mean = [&](const std::vector<double>& series) {
    return bridged(record.time_s, running_mean(record.time_s, series, options.water_mean_s));
  };
  const bool E = std::any_of(record.E_recorded.begin(), record.E_recorded.end(),
                             [](double v) { return std::isfinite(v); });
  if (options.look_at_alignment && E) frame.water = find_water_alignment(record);
  const bool late = frame.water && frame.water->found == WaterColumns::late;
  const auto water = [&](const std::vector<double>& series) {
    if (!late) return mean(series);
    return mean(PathFilter(record.time_s, bridged(record.time_s, series), Interpolation::linear)
                    .apply(-frame.water->late_s, 0, record.time_s));
  };
  frame.H2Or = water(record.H2Or);
  frame.H2Os = water(record.H2Os);
  frame.Tleaf = mean(record.Tleaf);
  frame.Patm = mean(record.Patm);
  frame.flow = mean(record.flow);
  frame.gbw = has_numbers(record.gbw) && !input.gbw
                  ? mean(record.gbw)
                  : std::vector<double>(record.size(), input.gbw.value_or(0));
  frame.area = *record.area;
  const bool dry = record.co2_per == Co2Per::dry_air;
  std::vector<double> dils;
  for (std::size_t i = 0; i < record.size(); ++i) {
    const double dil = (1000 - frame.H2Or[i]) / (1000 - frame.H2Os[i]);
    const double k = frame.flow[i] / (100 * frame.area);
    dils.push_back(dil);
    frame.gain.push_back(dry ? k * (1 - frame.H2Or[i] / 1000) : k);
    frame.dilution.push_back(dry ? 1 : dil);
  }
  frame.dil = median_of(dils).value_or(1);
  frame.median_flow = median_of(frame.flow).value_or(0);
  frame.median_gain = median_of(frame.gain).value_or(0);
}

/// How much later or earlier the leaf's air is, as the chamber is filled faster or slower.
double lag_change(const Frame& frame, const GasPath& path, const PathConditions& leaf) {
  const Instrument& instrument = frame.input->leaf->instrument;
  const auto air_leaf = air_per_volume(instrument, leaf);
  const auto air_path = air_per_volume(instrument, path.conditions);
  if (!air_leaf || !air_path || !(path.conditions.flow > 0) || !(leaf.flow > 0)) return 0;
  std::optional<double> volume;
  if (path.flow_law) {
    volume = path.flow_law->b.value / *air_path;
  } else if (instrument.chamber_volume) {
    volume = *instrument.chamber_volume + instrument.inlet_volume.value_or(0);
  }
  if (!volume) return 0;
  return *volume * (*air_leaf / leaf.flow - *air_path / path.conditions.flow);
}

Result<double> tau_of(const Frame& frame, const PathConditions& leaf, CorrectionUsed& used,
                      Notes& notes) {
  const RampRecord& record = *frame.input->leaf;
  if (const auto tau = chamber_time_constant(record.instrument, leaf)) {
    used.tau_from = "chamber volume";
    return *tau;
  }
  if (record.instrument.chamber_volume) {
    return fail(ErrorCode::usage, record.name + " has no air temperature (Tair)",
                "Tair, with which the chamber's volume gives its time constant",
                "map its column, or state it in the map: [constants] Tair = \"... degC\"");
  }
  const GasPath* path = frame.input->path;
  if (path != nullptr && path->mixing_s) {
    used.tau_from = "the path's mixing";
    notes.push_back(
        {NoteLevel::caution, "tau-from-path",
         "no chamber volume is stated: its time constant is taken from the path's "
         "mixing, " +
             print_rounded(path->mixing_s->value, 3) +
             " s, which holds other mixing than the chamber's and does not follow flow, "
             "pressure and temperature"});
    return path->mixing_s->value;
  }
  return fail(ErrorCode::usage, "the chamber's volume is not known",
              "chamber_volume = \"... mL\" in the instrument file",
              "it gives the time constant without which A and Ci cannot be put together");
}

}  // namespace

Result<Frame> make_frame(const CorrectionInput& input, const CorrectionOptions& options) {
  if (auto ok = check_series(input); !ok) return fail(ok.error());
  Frame frame;
  frame.input = &input;
  frame.options = &options;
  frame.programme = programme_of(*input.leaf);
  take_streams(*input.leaf, frame);
  frame.R_before = reference_before(*input.leaf, frame.programme);
  take_conditions(input, options, frame);
  if (!(frame.median_flow > 0)) {
    return fail(ErrorCode::usage, input.leaf->name + " has a chamber flow that is not above 0",
                "umol s-1 of air into the chamber", "map the column of the flow into the chamber");
  }
  return frame;
}

Result<PathNumbers> path_at_leaf(const Frame& frame, CorrectionUsed& used, Notes& notes) {
  PathNumbers out;
  const PathConditions leaf = conditions_of(*frame.input->leaf);
  const auto tau = tau_of(frame, leaf, used, notes);
  const bool needs_tau = frame.options->method != CorrectionMethod::none;
  if (!tau && needs_tau) return fail(tau.error());
  out.tau_s = tau.value_or(0);
  if (tau) used.tau_s = *tau;
  const GasPath* path = frame.input->path;
  if (path == nullptr || !takes_path(frame.options->method)) return out;
  out.offset = path->offset;
  used.offset_removed = true;
  if (!path->lag_s) return out;
  const double change = lag_change(frame, *path, leaf);
  out.lag_s = path->lag_s->value + change;
  used.lag_s = out.lag_s;
  used.delay_s = out.lag_s - out.tau_s;
  if (std::abs(change) > 0.005) {
    notes.push_back({NoteLevel::info, "lag-moved",
                     "the path's lag of " + print_rounded(path->lag_s->value, 4) + " s at " +
                         print_rounded(path->conditions.flow, 4) + " umol/s became " +
                         print_rounded(out.lag_s, 4) + " s at the leaf's flow of " +
                         print_rounded(leaf.flow, 4) + " umol/s, its pressure and temperature" +
                         (path->flow_law || frame.input->leaf->instrument.inlet_volume
                              ? ""
                              : " (the chamber alone: no inlet volume is stated)")});
  }
  return out;
}

std::vector<double> without_offset(const Frame& frame, const PathNumbers& path) {
  std::vector<double> out(frame.S.size());
  const auto& c = path.offset;
  const auto offset = [&c](double CO2) {
    const double x = CO2 / 1000;
    return c[0] + x * (c[1] + x * c[2]);
  };
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = frame.S[i] - offset(frame.S[i] - offset(frame.S[i]));
  }
  return out;
}

std::vector<double> filtered_R(const Frame& frame, double delay_s, double mixing_s) {
  return PathFilter(frame.time_R, frame.R, Interpolation::cubic, frame.R_before)
      .apply(delay_s, mixing_s, frame.time, frame.averaging_s);
}

std::vector<double> low_pass(const Frame& frame, const std::vector<double>& S, double tau_s) {
  return PathFilter(frame.time, S, Interpolation::cubic).apply(0, tau_s, frame.time);
}

double effective_tau(const Frame& frame, const PathNumbers& path) {
  return path.tau_s / frame.dil;
}

}  // namespace leafwright::correction_detail
