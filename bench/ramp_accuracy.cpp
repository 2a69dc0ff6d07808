// How near corrected ramps come to the truth: ramp_accuracy [DRAWS [CORRECTION]]
// Simulated leaf and empty records (ramp_study.hpp), each draw with noise of its own in both; the
// path identified from the empty record, the leaf corrected, the points fitted with all three
// limitations and Rday free. Percent of the true value; standard errors are those of ramps
// (ramp/covariance.hpp), not from residuals.
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <functional>
#include <limits>
#include <optional>

#include "fit/fit.hpp"
#include "ramp/correction.hpp"
#include "ramp/identify.hpp"
#include "ramp_study.hpp"

namespace {

using namespace leafwright;
using namespace leafwright::bench;

constexpr double missing = std::numeric_limits<double>::quiet_NaN();
std::vector<CorrectionMethod> methods = {CorrectionMethod::none,      CorrectionMethod::subtract,
                                         CorrectionMethod::equal_lag, CorrectionMethod::forward,
                                         CorrectionMethod::balance,   CorrectionMethod::joint};

bool wanted(CorrectionMethod method) {
  return std::find(methods.begin(), methods.end(), method) != methods.end();
}

/// What is done with the two records.
struct Way {
  CorrectionMethod method = CorrectionMethod::forward;
  bool pairing = true;
  bool rday_fixed = false;
};

std::string name_of(const Way& way) {
  return std::string(correction_name(way.method)) + (way.pairing ? "" : ", no low-pass") +
         (way.rday_fixed ? ", Rday fixed" : "");
}

struct Outcome {
  double Vcmax = missing, J = missing, Rday = missing;  // error: %, %, umol
  double Vcmax_se = missing, J_se = missing;            // %
  double A_worst = missing, A_mean = missing;  // error of A at its Ci: largest, mean of |error|
};

C3FitOptions fit_options_of(const SimulatorSettings& s) {
  C3FitOptions out;
  out.kinetics = *find_kinetics("bernacchi-2001");
  out.overrides = {s.leaf.kinetics.Kc, s.leaf.kinetics.Ko, s.leaf.kinetics.O,
                   s.leaf.kinetics.gamma_star, s.leaf.kinetics.Km};
  out.limitations = LimitationSet{true, true, true};
  out.intervals = IntervalMethod::none;
  out.correlation.from = CorrelationSource::From::none;
  out.budget = false;
  return out;
}

/// Columns of dA/d(Vcmax, J, TPU, Rday) for the states of the fit, those that limit no row left
/// out; `which` says which they are.
struct Design {
  std::vector<double> values, slope;
  std::vector<std::size_t> which;
};

Design design_of(const CurveFit& fit, const Kinetics& k) {
  std::array<bool, 4> present = {false, false, false, true};
  for (const FittedRow& row : fit.rows) present[static_cast<std::size_t>(row.state)] = true;
  Design out;
  for (std::size_t p = 0; p < 4; ++p) {
    if (present[p]) out.which.push_back(p);
  }
  for (const FittedRow& row : fit.rows) {
    const double C = row.Ci, G = k.gamma_star;
    const std::array<double, 4> by = {row.state == Limitation::rubisco ? (C - G) / (C + k.Km) : 0,
                                      row.state == Limitation::rubp ? (C - G) / (4 * C + 8 * G) : 0,
                                      row.state == Limitation::tpu ? 3.0 : 0, -1};
    for (const std::size_t p : out.which) out.values.push_back(by[p]);
    const double slope =
        row.state == Limitation::rubisco ? fit.leaf.Vcmax * (k.Km + G) / ((C + k.Km) * (C + k.Km))
        : row.state == Limitation::rubp  ? fit.leaf.J * 12 * G / ((4 * C + 8 * G) * (4 * C + 8 * G))
                                         : 0;
    out.slope.push_back(slope);
  }
  return out;
}

void add_errors(Outcome& out, const CorrectedRamp& ramp, const CurveFit& fit,
                const SimulatorSettings& s) {
  if (!ramp.errors) return;
  // The rows of the fit are in order of Ci; errors are wanted in order of time.
  CurveFit in_time = fit;
  std::sort(in_time.rows.begin(), in_time.rows.end(),
            [](const FittedRow& a, const FittedRow& b) { return a.row < b.row; });
  const Design design = design_of(in_time, s.leaf.kinetics);
  std::vector<std::size_t> used;
  for (const FittedRow& row : in_time.rows) used.push_back(row.row);
  const std::size_t p = design.which.size();
  const auto covariance =
      ramp_parameter_covariance(*ramp.errors, used, design.slope, design.values, p);
  if (!covariance) return;
  for (std::size_t i = 0; i < p; ++i) {
    const double se = std::sqrt((*covariance)[i * p + i]);
    if (design.which[i] == 0) out.Vcmax_se = 100 * se / s.leaf.c3.Vcmax;
    if (design.which[i] == 1) out.J_se = 100 * se / s.leaf.c3.J;
  }
}

void take_joint(Outcome& out, const JointFit& joint, const SimulatorSettings& s) {
  for (const JointParameter& p : joint.parameters) {
    if (p.symbol == "Vcmax") {
      out.Vcmax = 100 * (p.value / s.leaf.c3.Vcmax - 1);
      out.Vcmax_se = 100 * p.se / s.leaf.c3.Vcmax;
    }
    if (p.symbol == "J") {
      out.J = 100 * (p.value / s.leaf.c3.J - 1);
      out.J_se = 100 * p.se / s.leaf.c3.J;
    }
    if (p.symbol == "Rday") out.Rday = p.value - s.leaf.c3.Rday;
  }
}

void fit_points(Outcome& out, const CorrectedRamp& ramp, const SimulatorSettings& s,
                const Way& way) {
  Curve curve;
  for (std::size_t i = 0; i < ramp.A.size(); ++i) {
    CurveRow row;
    row.row = i;
    row.A = ramp.A[i];
    row.Ci = ramp.Ci[i];
    row.Tleaf = s.air.Tleaf;
    row.Patm = s.air.Patm;
    row.use = ramp.use[i] != 0;
    curve.rows.push_back(row);
  }
  C3FitOptions options = fit_options_of(s);
  if (way.rday_fixed) options.rday = {RdaySource::From::value, s.leaf.c3.Rday};
  const auto fit = fit_curve(curve, options);
  if (!fit) return;
  out.Vcmax = 100 * (fit->leaf.Vcmax / s.leaf.c3.Vcmax - 1);
  out.J = 100 * (fit->leaf.J / s.leaf.c3.J - 1);
  out.Rday = fit->Rday.value.value_or(missing) - s.leaf.c3.Rday;
  add_errors(out, ramp, *fit, s);
}

CorrectionOptions options_of(const Way& way, const SimulatorSettings& s) {
  CorrectionOptions out;
  out.method = way.method;
  out.pairing = way.pairing;
  out.drift_sd = s.noise.drift;
  out.drift_time_s = s.noise.drift_time;
  out.tau_error = 0;  // the simulated volume is exact
  if (way.method == CorrectionMethod::joint) {
    out.joint = JointOptions{c3_ramp_model({80, 150, 10, 0.5}, s.leaf.kinetics, {}, true)};
  }
  return out;
}

Outcome outcome(const Simulation& leaf, const RampRecord& empty, const GasPath& path,
                const Way& way, std::string* why = nullptr) {
  Outcome out;
  const SimulatorSettings& s = leaf.settings;
  const RampRecord record = simulated_record(leaf);
  CorrectionInput input;
  input.leaf = &record;
  input.path = &path;
  input.empties = {&empty, 1};
  input.air.gbw_is = s.stomata.layer.is;
  input.air.stomatal_ratio = 1;
  const auto ramp = correct(input, options_of(way, s));
  if (!ramp) {
    if (why != nullptr) *why = ramp.error().text();
    return out;
  }
  if (ramp->joint) {
    take_joint(out, *ramp->joint, s);
  } else {
    fit_points(out, *ramp, s, way);
  }
  double sum = 0, count = 0;
  out.A_worst = 0;
  for (std::size_t i = 0; i < ramp->A.size(); ++i) {
    if (ramp->use[i] == 0 || ramp->Ci[i] < (s.source.rate > 300 ? 150 : 100)) continue;
    const double error = ramp->A[i] - demand(s.leaf, ramp->Ci[i]);
    if (std::abs(error) > std::abs(out.A_worst)) out.A_worst = error;
    sum += std::abs(error);
    count += 1;
  }
  out.A_mean = sum / count;
  return out;
}

/// Lags made equal in hardware, for `equal-lag`.
SimulatorSettings settled(SimulatorSettings s, const Way& way) {
  if (way.method == CorrectionMethod::equal_lag) {
    s.paths.reference_line += true_lags(s).difference * s.paths.cell_flow / 60;
  }
  return s;
}

struct Records {
  Simulation leaf, empty;
};

Records quiet_records(const RampCase& leaf, const RampCase& empty, const Way& way,
                      const std::function<void(SimulatorSettings&)>& change = {}) {
  SimulatorSettings a = study_settings(leaf, false), b = study_settings(empty, true);
  if (change) {
    change(a);
    change(b);
  }
  return {simulate_quiet(settled(a, way)).value(), simulate_quiet(settled(b, way)).value()};
}

std::vector<Outcome> draws_of(const Records& quiet, const Way& way, std::uint32_t draws) {
  std::vector<Outcome> out;
  std::string why;
  for (std::uint32_t i = 0; i < draws; ++i) {
    const RampRecord empty = simulated_record(with_noise(quiet.empty, 1, i));
    const auto path = identify({empty});
    if (!path) continue;
    out.push_back(outcome(with_noise(quiet.leaf, 1, i), empty, *path, way, &why));
  }
  if (!why.empty()) std::printf("<!-- %s -->\n", why.c_str());
  return out;
}

Moments of(const std::vector<Outcome>& outcomes, double Outcome::*what) {
  std::vector<double> values;
  for (const Outcome& o : outcomes) values.push_back(o.*what);
  return moments(values);
}

std::string bias_cell(const Moments& m) {
  char text[64];
  std::snprintf(text, sizeof text, "%.2f ± %.2f", m.mean, m.se());
  return text;
}

void print_row(const std::string& name, const std::vector<Outcome>& o) {
  const Moments V = of(o, &Outcome::Vcmax), J = of(o, &Outcome::J);
  const Moments R = of(o, &Outcome::Rday);
  std::printf("| %s | %zu | %s | %.2f | %.2f | %s | %.2f | %.2f | %.3f |\n", name.c_str(), V.n,
              bias_cell(V).c_str(), V.sd, of(o, &Outcome::Vcmax_se).mean / V.sd,
              bias_cell(J).c_str(), J.sd, of(o, &Outcome::J_se).mean / J.sd, R.mean);
  std::fflush(stdout);
}

void print_head(const char* title) {
  std::printf(
      "\n### %s\n\n| | draws | Vcmax: bias, %% | SD, %% | SE/SD | J: bias, %% | SD, %% | SE/SD | "
      "Rday: bias |\n|---|---|---|---|---|---|---|---|---|\n",
      title);
}

/// Without noise: the bias of the correction itself.
void quiet_table() {
  std::printf(
      "\n### Without noise\n\nVcmax %% / J %% / Rday umol m-2 s-1 / A at its Ci: largest error, "
      "mean of |error| (Ci >= 100, at 400 >= 150)\n\n| correction | up 100 | up 200 | down 200 | "
      "up 400 | down 400 |\n|---|---|---|---|---|---|\n");
  std::vector<Way> ways;
  for (const CorrectionMethod m : methods) ways.push_back({m, true});
  ways.push_back({CorrectionMethod::subtract, false});
  ways.push_back({CorrectionMethod::equal_lag, false});
  ways.push_back({CorrectionMethod::subtract, false, true});
  ways.push_back({CorrectionMethod::forward, true, true});
  for (const Way& way : ways) {
    if (!wanted(way.method)) continue;
    std::printf("| %s |", name_of(way).c_str());
    for (const RampCase& base :
         {RampCase{100, true, 0, 0}, RampCase{200, true, 0, 0}, RampCase{200, false, 0, 0},
          RampCase{400, true, 0, 0}, RampCase{400, false, 0, 0}}) {
      Records quiet = quiet_records(base, base, way, [](SimulatorSettings& s) {
        s.noise = {1e-4, 0, 0, 400, 0, 0, 0};  // a trace, so that errors can be estimated
      });
      const std::vector<Outcome> o = draws_of(quiet, way, 1);
      std::printf(" %.2f / %.2f / %.2f / %.2f, %.3f |", o[0].Vcmax, o[0].J, o[0].Rday, o[0].A_worst,
                  o[0].A_mean);
      std::fflush(stdout);
    }
    std::printf("\n");
  }
}

void noisy_tables(std::uint32_t draws) {
  for (const double rate : {100.0, 200.0, 400.0}) {
    char title[64];
    std::snprintf(title, sizeof title, "Noise 0.1 umol mol-1, rate %g", rate);
    print_head(title);
    for (const CorrectionMethod m : methods) {
      if (m == CorrectionMethod::none) continue;
      for (const bool up : {true, false}) {
        const RampCase c{rate, up, 0.1, 0.03};
        const Way way{m, true};
        print_row(name_of(way) + (up ? ", up" : ", down"),
                  draws_of(quiet_records(c, c, way), way, draws));
      }
    }
  }
  print_head("Noise 0.3 umol mol-1, up 200");
  for (const CorrectionMethod m : methods) {
    if (m == CorrectionMethod::none) continue;
    const RampCase c{200, true, 0.3, 0.03};
    print_row(correction_name(m), draws_of(quiet_records(c, c, {m, true}), {m, true}, draws));
  }
}

void other_empties(std::uint32_t draws) {
  print_head("Leaf up 200, noise 0.1; the empty record at another rate or direction");
  for (const CorrectionMethod m :
       {CorrectionMethod::forward, CorrectionMethod::balance, CorrectionMethod::joint}) {
    if (!wanted(m)) continue;
    for (const RampCase& empty : {RampCase{200, true}, RampCase{120, true}, RampCase{400, true},
                                  RampCase{200, false}, RampCase{100, false}}) {
      print_row(std::string(correction_name(m)) + ", empty " + name_of(empty),
                draws_of(quiet_records({200, true}, empty, {m, true}), {m, true}, draws));
    }
  }
}

void other_sources(std::uint32_t draws) {
  print_head("Leaf and empty up 200, noise 0.1; a source that is not straight");
  for (const CorrectionMethod m : {CorrectionMethod::subtract, CorrectionMethod::forward,
                                   CorrectionMethod::balance, CorrectionMethod::joint}) {
    if (!wanted(m)) continue;
    const Way way{m, true};
    print_row(std::string(correction_name(m)) + ", leaf bowed by 20",
              draws_of(quiet_records({200, true}, {200, true}, way,
                                     [](SimulatorSettings& s) { s.source.bow = s.empty ? 0 : 20; }),
                       way, draws));
    print_row(
        std::string(correction_name(m)) + ", leaf rippled by 3",
        draws_of(quiet_records({200, true}, {200, true}, way,
                               [](SimulatorSettings& s) { s.source.ripple = s.empty ? 0 : 3; }),
                 way, draws));
  }
}

}  // namespace

int main(int argc, char** argv) {
  const auto draws = static_cast<std::uint32_t>(argc > 1 ? std::atoi(argv[1]) : 400);
  if (argc > 2) methods = {find_correction(argv[2]).value()};
  quiet_table();
  noisy_tables(draws);
  other_empties(draws);
  other_sources(draws / 2);
  return 0;
}
