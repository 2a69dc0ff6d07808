#include "plan/simulator.hpp"

#include <algorithm>
#include <cmath>
#include <optional>
#include <stdexcept>
#include <utility>

#include "air/balance.hpp"
#include "air/flux.hpp"
#include "air/moist_air.hpp"
#include "air/vapour.hpp"
#include "base/number.hpp"
#include "base/random.hpp"
#include "plan/chamber_model.hpp"

namespace leafwright {
namespace {

/// The physics runs from this long before time 0, so that lines and walls are settled, s.
constexpr double run_in = 30;

struct Positive {
  const char* what;
  double value;
  bool may_be_zero;
};

Result<void> check(const SimulatorSettings& s) {
  const Positive all[] = {{"chamber volume", s.paths.chamber, false},
                          {"inlet volume", s.paths.inlet, true},
                          {"sample line", s.paths.sample_line, true},
                          {"sample cell", s.paths.sample_cell, true},
                          {"reference line", s.paths.reference_line, true},
                          {"mixed volume of the reference", s.paths.reference_mixed, true},
                          {"reference cell", s.paths.reference_cell, true},
                          {"cell flow", s.paths.cell_flow, false},
                          {"flow", s.air.flow, false},
                          {"flow gain", s.air.flow_gain, false},
                          {"pressure", s.air.Patm, false},
                          {"H2Or", s.air.H2Or, true},
                          {"leak", s.air.leak, true},
                          {"water leak", s.air.water_leak, true},
                          {"wall CO2", s.air.wall_CO2, true},
                          {"wall H2O", s.air.wall_H2O, true},
                          {"wall time", s.air.wall_time, false},
                          {"leaf area", s.area, false},
                          {"gsw", s.stomata.gsw, false},
                          {"gbw", s.stomata.layer.gbw, false},
                          {"biochemical lag up", s.lag_up, true},
                          {"biochemical lag down", s.lag_down, true},
                          {"stomatal response time", s.stomata.response_time, true},
                          {"drift time", s.noise.drift_time, false},
                          {"interval", s.interval, false},
                          {"step of the integration", s.step, false}};
  for (const Positive& p : all) {
    if (std::isfinite(p.value) && (p.value > 0 || (p.may_be_zero && p.value == 0))) continue;
    return fail(ErrorCode::usage, std::string(p.what) + " of " + print_number(p.value),
                p.may_be_zero ? "a number of 0 or more" : "a number above 0");
  }
  const double fastest = moles_of_air(s.paths.chamber, s.air.Tair, s.air.Patm) / s.air.flow * 1e6;
  if (s.step > fastest / 4) {
    return fail(
        ErrorCode::usage, "a step of " + print_number(s.step) + " s",
        "at most a quarter of the chamber's time constant, " + print_rounded(fastest, 3) + " s");
  }
  return {};
}

double cell_seconds(const SimulatorSettings& s, double volume) {
  return volume / (s.paths.cell_flow / 60);
}

/// Everything on the grid, before the lines behind the chamber.
struct Physics {
  GridSignal source, C, W, A, Ci, E, gsw;
};

std::vector<GridSignal*> signals(Physics& p) {
  return {&p.source, &p.C, &p.W, &p.A, &p.Ci, &p.E, &p.gsw};
}

Result<Physics> run_chamber(const SimulatorSettings& s, const Source& source,
                            const ChamberModel& model, double until) {
  const double late = true_lags(s).inlet;
  const auto at_inlet = [&](double t) { return source.at(t - late); };
  const double begin = -std::ceil(run_in / s.step) * s.step;
  auto state = model.steady(at_inlet(begin));
  if (!state) return fail(state.error());
  const double saturated =
      saturation_pressure(VapourPressure::leaf_common, s.air.Tair) / s.air.Patm;
  if (state->W > saturated) {
    return fail(ErrorCode::unfit,
                "water condenses: the chamber would hold " + print_rounded(1000 * state->W, 4) +
                    " mmol mol-1 H2O, saturated air holds " + print_rounded(1000 * saturated, 4),
                "a lower H2Or, a higher flow or a warmer chamber");
  }
  Physics out;
  const auto count = static_cast<std::size_t>((until - begin) / s.step) + 2;
  for (GridSignal* signal : signals(out)) {
    signal->begin = begin;
    signal->h = s.step;
    signal->values.reserve(count);
  }
  ChamberState x = *state;
  for (std::size_t k = 0; k < count; ++k) {
    const double t = out.source.time(k);
    const LeafNow now = model.leaf(t, x);
    out.source.values.push_back(source.at(t));
    out.C.values.push_back(x.C);
    out.W.values.push_back(1000 * x.W);
    out.A.values.push_back(now.A);
    out.Ci.values.push_back(now.Ci);
    out.E.values.push_back(1000 * now.E);
    out.gsw.values.push_back(now.gsw);
    x = model.step(t, s.step, x, {at_inlet(t), at_inlet(t + s.step / 2), at_inlet(t + s.step)});
  }
  return out;
}

TrueSeries truth_at(const Physics& p, const std::vector<double>& times, bool empty) {
  TrueSeries out;
  out.time_s = times;
  const auto take = [&](const GridSignal& signal, std::vector<double>& to) {
    to.reserve(times.size());
    for (const double t : times) to.push_back(signal.at(t));
  };
  take(p.source, out.source);
  take(p.C, out.C);
  take(p.W, out.W);
  if (empty) return out;
  take(p.A, out.A);
  take(p.Ci, out.Ci);
  take(p.E, out.E);
  take(p.gsw, out.gsw);
  return out;
}

double offset_at(const std::array<double, 3>& offset, double CO2) {
  const double x = CO2 / 1000;
  return offset[0] + x * (offset[1] + x * offset[2]);
}

void add_columns(Simulation& out, Physics& p, const Source& source,
                 const std::vector<double>& times) {
  const SimulatorSettings& s = out.settings;
  const TrueLags& lags = out.lags;
  GridSignal reference = p.source;
  for (std::size_t k = 0; k < reference.values.size(); ++k) {
    reference.values[k] = source.at(reference.time(k) - lags.reference_line);
  }
  mix_first_order(reference, lags.reference_mixed);
  mix_first_order(reference, lags.reference_cell);
  mix_first_order(p.C, lags.sample_cell);
  mix_first_order(p.W, lags.sample_cell);
  const std::size_t n = times.size();
  std::vector<double> CO2s = logged(p.C, lags.sample_line, s.CO2s, times);
  for (double& value : CO2s) value += offset_at(s.offset, value);
  const auto constant = [n](double value) { return std::vector<double>(n, value); };
  out.columns.push_back({"time_s", times});
  out.columns.push_back({"CO2r", logged(reference, 0, s.CO2r, times)});
  out.columns.push_back({"CO2s", std::move(CO2s)});
  out.columns.push_back({"H2Or", constant(s.air.H2Or)});
  out.columns.push_back({"H2Os", logged(p.W, lags.sample_line, s.H2Os, times)});
  out.columns.push_back({"flow", constant(s.air.flow * s.air.flow_gain)});
  out.columns.push_back({"Patm", constant(s.air.Patm)});
  out.columns.push_back({"Tair", constant(s.air.Tair)});
  out.columns.push_back({"Tleaf", constant(s.air.Tleaf)});
  out.columns.push_back({"Qin", constant(s.air.Qin)});
  if (s.empty) return;
  out.columns.push_back({"area", constant(s.area)});
  out.columns.push_back({"gbw", constant(s.stomata.layer.gbw)});
}

std::vector<double>& writable(Simulation& simulation, std::string_view symbol) {
  for (SimulatedColumn& c : simulation.columns) {
    if (c.symbol == symbol) return c.values;
  }
  throw std::logic_error("simulation: no column " + std::string(symbol));
}

/// Adds white noise of one purpose to several columns, the same to each.
void add_white(Simulation& out, std::initializer_list<std::string_view> symbols, double sd,
               std::string_view purpose) {
  if (sd <= 0) return;
  const SimulatorSettings& s = out.settings;
  RandomStream draw(s.seed, s.curve, purpose, s.replicate);
  std::vector<double> noise(out.truth.time_s.size());
  for (double& value : noise) value = sd * draw.normal();
  for (const std::string_view symbol : symbols) {
    std::vector<double>& values = writable(out, symbol);
    for (std::size_t i = 0; i < values.size(); ++i) values[i] += noise[i];
  }
}

/// A stationary first-order process (Ornstein & Uhlenbeck) on S: exact at the rows' spacing.
void add_drift(Simulation& out) {
  const SimulatorSettings& s = out.settings;
  if (s.noise.drift <= 0) return;
  RandomStream draw(s.seed, s.curve, "rehearse drift", s.replicate);
  const double keep = std::exp(-s.interval / s.noise.drift_time);
  const double fresh = s.noise.drift * std::sqrt(1 - keep * keep);
  double x = s.noise.drift * draw.normal();
  for (double& value : writable(out, "CO2s")) {
    value += x;
    x = keep * x + fresh * draw.normal();
  }
}

/// What a log would show that takes every row for one at rest: on a ramp A is then wrong by the lag
/// of one path behind the other. A value that cannot be computed is not a number.
void add_steady_fluxes(Simulation& out) {
  const SimulatorSettings& s = out.settings;
  if (!s.steady_fluxes || s.empty) return;
  FluxOptions options;
  options.gbw_is = s.stomata.layer.is;
  options.stomatal_ratio = s.stomata.layer.stomatal_ratio;
  std::vector<double> E, A, gsw, Ci;
  const double none = std::nan("");
  for (std::size_t i = 0; i < out.truth.time_s.size(); ++i) {
    FluxInput in;
    in.flow = column(out, "flow")[i];
    in.area = s.area;
    in.CO2r = column(out, "CO2r")[i];
    in.CO2s = column(out, "CO2s")[i];
    in.H2Or = column(out, "H2Or")[i];
    in.H2Os = column(out, "H2Os")[i];
    in.Tleaf = column(out, "Tleaf")[i];
    in.Patm = s.air.Patm;
    in.gbw = s.stomata.layer.gbw;
    const auto row = flux(in, options);
    E.push_back(row ? row->E : none);
    A.push_back(row ? row->A : none);
    gsw.push_back(row ? row->leaf.gsw.value_or(none) : none);
    Ci.push_back(row ? row->leaf.Ci.value_or(none) : none);
  }
  out.columns.push_back({"E", std::move(E)});
  out.columns.push_back({"A", std::move(A)});
  out.columns.push_back({"gsw", std::move(gsw)});
  out.columns.push_back({"Ci", std::move(Ci)});
}

/// Seconds of the day; empty where the text is no HH:MM:SS.
std::optional<long> seconds_of_day(const std::string& text) {
  if (text.size() != 8 || text[2] != ':' || text[5] != ':') return {};
  for (const std::size_t i : {0U, 1U, 3U, 4U, 6U, 7U}) {
    if (text[i] < '0' || text[i] > '9') return {};
  }
  const auto two = [&](std::size_t i) { return 10L * (text[i] - '0') + (text[i + 1] - '0'); };
  if (two(0) > 23 || two(3) > 59 || two(6) > 59) return {};
  return 3600 * two(0) + 60 * two(3) + two(6);
}

Result<void> check_clock(const SimulatorSettings& s, double length) {
  if (s.start_time.empty()) return {};
  const auto start = seconds_of_day(s.start_time);
  if (!start) {
    return fail(ErrorCode::usage, "'" + s.start_time + "' for the start time", "HH:MM:SS");
  }
  if (static_cast<double>(*start) + length >= 86400) {
    return fail(ErrorCode::usage, "a record from " + s.start_time + " on passes midnight",
                "a start " + print_rounded(length, 6) + " s or more before midnight");
  }
  return {};
}

}  // namespace

std::string time_of_row(const SimulatorSettings& s, double seconds) {
  const long t = seconds_of_day(s.start_time).value_or(0) + static_cast<long>(seconds);
  std::string out = "00:00:00";
  const auto put = [&out](std::size_t at, long value) {
    out[at] = static_cast<char>('0' + value / 10);
    out[at + 1] = static_cast<char>('0' + value % 10);
  };
  put(0, t / 3600 % 24);
  put(3, t / 60 % 60);
  put(6, t % 60);
  return out;
}

TrueLags true_lags(const SimulatorSettings& s) {
  TrueLags lags;
  const double by_volume = flow_by_volume(s.air.flow, s.air.Tair, s.air.Patm) / 60;  // cm3 s-1
  lags.chamber = time_constant(moles_of_air(s.paths.chamber, s.air.Tair, s.air.Patm), s.air.flow);
  lags.inlet = s.paths.inlet / by_volume;
  lags.sample_line = cell_seconds(s, s.paths.sample_line);
  lags.sample_cell = cell_seconds(s, s.paths.sample_cell);
  lags.reference_line = cell_seconds(s, s.paths.reference_line);
  lags.reference_mixed = cell_seconds(s, s.paths.reference_mixed);
  lags.reference_cell = cell_seconds(s, s.paths.reference_cell);
  lags.sample = lags.inlet + lags.chamber + lags.sample_line + lags.sample_cell;
  lags.reference = lags.reference_line + lags.reference_mixed + lags.reference_cell;
  lags.difference = lags.sample - lags.reference;
  return lags;
}

Result<Simulation> simulate_quiet(const SimulatorSettings& settings) {
  if (auto ok = check(settings); !ok) return fail(ok.error());
  auto programme = source_programme(settings.source);
  if (!programme) return fail(programme.error());
  return simulate_quiet(settings, std::move(*programme));
}

Result<Simulation> simulate_quiet(const SimulatorSettings& settings, SourceProgramme programme) {
  if (auto ok = check(settings); !ok) return fail(ok.error());
  Simulation out;
  out.settings = settings;
  out.lags = true_lags(settings);
  const Source source(std::move(programme));
  if (auto ok = check_clock(settings, source.length()); !ok) return fail(ok.error());
  const ChamberModel model(settings);
  out.moles = model.moles();
  std::vector<double> times;
  const auto rows = static_cast<std::size_t>(source.length() / settings.interval + 1e-9) + 1;
  for (std::size_t i = 0; i < rows; ++i) {
    times.push_back(static_cast<double>(i) * settings.interval);
  }
  const double ahead = std::max({settings.CO2r.averaging, settings.CO2s.averaging,
                                 settings.H2Or.averaging, settings.H2Os.averaging});
  auto physics = run_chamber(settings, source, model, source.length() + ahead);
  if (!physics) return fail(physics.error());
  out.truth = truth_at(*physics, times, settings.empty);
  add_columns(out, *physics, source, times);
  return out;
}

Simulation with_noise(const Simulation& quiet, std::uint64_t seed, std::uint32_t replicate) {
  Simulation out = quiet;
  out.settings.seed = seed;
  out.settings.replicate = replicate;
  const SimulatedNoise& noise = out.settings.noise;
  const double per_row = 1 / std::sqrt(out.settings.interval);
  add_white(out, {"CO2r"}, noise.CO2 * per_row, "rehearse CO2r");
  add_white(out, {"CO2s"}, noise.CO2 * per_row, "rehearse CO2s");
  add_white(out, {"CO2r", "CO2s"}, noise.CO2_common * per_row, "rehearse CO2 common");
  add_white(out, {"H2Or"}, noise.H2O * per_row, "rehearse H2Or");
  add_white(out, {"H2Os"}, noise.H2O * per_row, "rehearse H2Os");
  add_white(out, {"Tleaf"}, noise.Tleaf, "rehearse Tleaf");
  add_white(out, {"flow"}, noise.flow, "rehearse flow");
  add_drift(out);
  add_steady_fluxes(out);
  return out;
}

Result<Simulation> simulate(const SimulatorSettings& settings) {
  auto quiet = simulate_quiet(settings);
  if (!quiet) return quiet;
  return with_noise(*quiet, settings.seed, settings.replicate);
}

const std::vector<double>& column(const Simulation& simulation, std::string_view symbol) {
  for (const SimulatedColumn& c : simulation.columns) {
    if (c.symbol == symbol) return c.values;
  }
  throw std::logic_error("simulation: no column " + std::string(symbol));
}

}  // namespace leafwright
