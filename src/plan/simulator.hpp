// A gas-exchange record with known truth: source, lines, chamber, leaf, analysers and logger.
//
// Chamber (moist air; u, s in mol s-1, m2; C umol mol-1, W mol mol-1; n = P V/(R Tair)):
//   n dC/dt = u Cin - (u + E s) C - A s + K (Camb - C) - n dq/dt
//   n dW/dt = u Win - (u + E s) W + E s + Kw (Wamb - W) - n dqw/dt
//   dq/dt = (kappa C - q)/tau_q                         walls: one reversible compartment per gas
//   E = gtw (wl - W)/[1 - (wl + W)/2]                   von Caemmerer & Farquhar 1981
//   dgsw/dt = (target - gsw)/tau_g,   target = gsw0 (1 + drift t) exp[-k (C - 400)/1000]
//   dA/dt = (demand(Ci) - A)/tau_up or tau_down         the leaf's own biochemical lag, if any
// Paths: reference R = source after a dead time and two mixed volumes; sample S = chamber after a
// dead time and one. A dead time is volume over actual volume flow (chamber flow for the inlet,
// cell flow elsewhere), a mixed volume's time constant likewise. Cells: S + off(S/1000) + drift,
// white noise in each, noise common to both. Logger: mean over a window, stamped at its start,
// middle or end.
//
// The source is exact (source.hpp), lines are exact for straight lines between grid points
// (gas_line.hpp), the chamber is a Runge-Kutta step of fourth order on the grid `step`. At the
// default step of 0.05 s a ramp is off by at most 0.0002 umol mol-1 in any column, and within
// seconds of a step of 400 umol mol-1 by 0.02 (docs/methods-simulator.md).
// Random numbers are keyed (seed, curve, purpose, replicate): order and threads do not matter.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "air/conductance.hpp"
#include "base/error.hpp"
#include "plan/gas_line.hpp"
#include "plan/rehearsed_leaf.hpp"
#include "plan/source.hpp"

namespace leafwright {

/// Volumes in cm3; the instrument is invented.
struct SimulatedPaths {
  double chamber = 62, inlet = 7;
  double sample_line = 4, sample_cell = 6.5;
  double reference_line = 9, reference_mixed = 0, reference_cell = 5.5;
  double cell_flow = 260;  ///< cm3 min-1, actual volume, through each cell
};

struct SimulatedAir {
  double flow = 420;                           ///< umol s-1, moist air into the chamber
  double flow_gain = 1;                        ///< recorded over true flow
  double Patm = 97.2;                          ///< kPa
  double Tair = 24, Tleaf = 25;                ///< degC
  double H2Or = 16;                            ///< mmol mol-1
  double Qin = 1400;                           ///< umol m-2 s-1, recorded only
  double leak = 0, water_leak = 0;             ///< K, umol s-1 per unit of mole fraction
  double CO2_ambient = 430, H2O_ambient = 13;  ///< umol, mmol mol-1 round the gasket
  double wall_CO2 = 0, wall_H2O = 0;           ///< kappa, wall content over chamber content
  double wall_time = 60;                       ///< tau_q, s
};

struct SimulatedStomata {
  double gsw = 240;            ///< mmol m-2 s-1, settled at chamber CO2 of 400 umol mol-1
  double drift = 0;            ///< share of gsw per minute
  double response = 0;         ///< k, per 1000 umol mol-1
  double response_time = 600;  ///< tau_g, s; 0: at once
  BoundaryLayer layer = {2400, GbwIs::whole_leaf, 1, TwoSides::exact};  ///< gbw of each gsw
};

struct SimulatedNoise {
  double CO2 = 0.08;        ///< umol mol-1, white, each cell, SD over 1 s
  double CO2_common = 0;    ///< the same in both cells
  double drift = 0.02;      ///< SD of a slow drift of S against R (stationary, first order)
  double drift_time = 300;  ///< its correlation time, s
  double H2O = 0.008;       ///< mmol mol-1, white, each cell, SD over 1 s
  double Tleaf = 0.01;      ///< degC per row
  double flow = 0.05;       ///< umol s-1 per row
};

struct SimulatorSettings {
  std::string curve = "rehearsal";
  std::uint64_t seed = 1;
  std::uint32_t replicate = 0;
  bool empty = false;  ///< no leaf in the chamber
  SourceSettings source;
  SimulatedPaths paths;
  SimulatedAir air;
  double area = 4;  ///< cm2
  RehearsedLeaf leaf;
  double lag_up = 0, lag_down = 0;  ///< tau_up, tau_down, s; 0: the leaf follows at once
  SimulatedStomata stomata;
  std::array<double, 3> offset = {0.3, -0.9, 0.5};  ///< of S - R in CO2/1000
  SimulatedNoise noise;
  double interval = 1;  ///< s between rows
  ChannelLogging CO2r, CO2s, H2Or, H2Os;
  double step = 0.05;          ///< of the integration, s
  std::string date;            ///< YYYY-MM-DD of every row; "": no column
  std::string start_time;      ///< HH:MM:SS of the first row; "": no column
  bool steady_fluxes = false;  ///< also columns E, A, gsw, Ci as if every row were at rest
};

/// One column of the record, in the unit of quantity/symbol.hpp.
struct SimulatedColumn {
  std::string_view symbol;
  std::vector<double> values;
};

/// The truth at the times of the rows: E, gsw mmol m-2 s-1, W mmol mol-1. Leaf series are empty
/// for an empty chamber.
struct TrueSeries {
  std::vector<double> time_s, source, C, W, A, Ci, E, gsw;
};

/// Lags that follow from the parts, s. L = dead times + time constants; difference = sample -
/// reference, what an empty chamber shows.
struct TrueLags {
  double chamber = 0;  ///< n/u
  double inlet = 0, sample_line = 0, sample_cell = 0;
  double reference_line = 0, reference_mixed = 0, reference_cell = 0;
  double sample = 0, reference = 0, difference = 0;
};

struct Simulation {
  SimulatorSettings settings;
  std::vector<SimulatedColumn> columns;  ///< time_s first
  TrueSeries truth;
  TrueLags lags;
  double moles = 0;  ///< n, mol
};

/// Lags from the parts. Chamber walls are not in them.
TrueLags true_lags(const SimulatorSettings& settings);

/// The record without noise or drift. Errors: usage, for a programme that cannot be run or a value
/// out of range; unfit, for a leaf or chamber without a steady state to begin from, or one whose
/// water condenses (chamber air beyond saturation at Tair).
Result<Simulation> simulate_quiet(const SimulatorSettings& settings);
/// The same with a programme of one's own in place of settings.source.
Result<Simulation> simulate_quiet(const SimulatorSettings& settings, SourceProgramme programme);

/// The record with noise, from a quiet one (which stays as it is: one physics, many draws). Steady
/// fluxes, where asked for, are those of the noisy record.
Simulation with_noise(const Simulation& quiet, std::uint64_t seed, std::uint32_t replicate = 0);

/// Both.
Result<Simulation> simulate(const SimulatorSettings& settings);

/// Values of one column; throws std::logic_error for a symbol that is not there.
const std::vector<double>& column(const Simulation& simulation, std::string_view symbol);

/// HH:MM:SS of a row, whole seconds; the record must have a start time.
std::string time_of_row(const SimulatorSettings& settings, double seconds);

/// The record as CSV, with names of the open reporting format; date and time (where set) first,
/// curve_id last.
std::string simulation_csv(const Simulation& simulation);
/// Every setting, lag and constant, JSON.
std::string truth_json(const Simulation& simulation);
/// time_s, source, C, W, A, Ci, E, gsw as CSV.
std::string truth_series_csv(const Simulation& simulation);

}  // namespace leafwright
