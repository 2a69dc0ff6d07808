// Our simulator beside an independent simulation of the same chambers and leaves: six cases with
// known truth (data/ramps_simulated/README.md). Settings are read from its truth files; nothing is
// tuned. Its series are printed with six significant digits, which is the floor of agreement.
#include "plan/simulator.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <sstream>

#include "air/flux.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

const std::string folder = std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/ramps_simulated/";

std::string bytes_of(const std::string& name) {
  std::ifstream file(folder + name, std::ios::binary);
  if (!file) throw std::runtime_error("no file " + folder + name);
  std::ostringstream out;
  out << file.rdbuf();
  return out.str();
}

/// One number of a truth file; `after` narrows the search to what follows that text.
class Truth {
 public:
  explicit Truth(const std::string& name) : text_(bytes_of(name)) {}
  [[nodiscard]] double operator()(const std::string& key, const std::string& after = "{") const {
    return number_after(text_.substr(text_.find(after)), "\"" + key + "\": ");
  }
  [[nodiscard]] bool says(const std::string& text) const {
    return text_.find(text) != std::string::npos;
  }
  [[nodiscard]] std::vector<double> list(const std::string& key) const {
    const std::size_t open = text_.find("\"" + key + "\": [") + key.size() + 5;
    std::istringstream in(text_.substr(open, text_.find(']', open) - open));
    std::vector<double> out;
    for (std::string part; std::getline(in, part, ',');) {
      if (part.find_first_of("0123456789") != std::string::npos) out.push_back(std::stod(part));
    }
    return out;
  }

 private:
  std::string text_;
};

struct Series {
  std::vector<double> time, source, C, W, A, Ci;
};

Series read_series(const std::string& name) {
  std::istringstream in(bytes_of(name));
  Series out;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const std::vector<std::string> f = split_csv(line);
    const auto number = [&](std::size_t i) { return std::strtod(f[i].c_str(), nullptr); };
    out.time.push_back(number(0));
    out.source.push_back(number(1));
    out.C.push_back(number(2));
    out.W.push_back(number(3));
    out.A.push_back(number(4));
    out.Ci.push_back(number(5));
  }
  return out;
}

void take_leaf(const Truth& truth, SimulatorSettings& s) {
  s.leaf.c4 = truth.says("\"kind\": \"C4\"");
  s.leaf.c3 = {truth("Vcmax"), truth("J"), truth("TPU"), truth("Rd")};
  s.leaf.kinetics = {truth("Kc", "constants"), truth("Ko", "constants"), truth("O", "constants"),
                     truth("Gstar", "constants"), truth("Km", "constants")};
  RehearsedC4& c4 = s.leaf.as_c4;
  c4.leaf = {truth("Vpmax"), truth("Vpr"), truth("Vcmax4"), std::numeric_limits<double>::infinity(),
             truth("Rd")};
  c4.kinetics.Kp = truth("Kp");
  c4.kinetics.gbs = truth("gbs");
  c4.linear = true;  // the form that its A and Ci obey, with mole fractions for ubar
  s.stomata.gsw = 1000 * truth("gsw");
  s.stomata.layer = {1000 * truth("gbw"), GbwIs::whole_leaf, 1, TwoSides::exact};
}

/// The settings of a case; H2Or as the steady water balance of its own W and E gives it.
SimulatorSettings settings_of(const Truth& truth, double W, double E) {
  SimulatorSettings s;
  s.empty = truth.says("\"empty\": true");
  s.paths = {truth("v_chamber"), truth("v_in"),      truth("v_out"),    truth("v_cell_s"),
             truth("v_ref"),     truth("v_ref_mix"), truth("v_cell_r"), truth("cell_flow")};
  s.air.flow = truth("flow");
  s.air.Patm = truth("Patm");
  s.air.Tair = truth("Tair");
  s.air.Tleaf = truth("Tleaf");
  s.air.leak = truth("k_leak");
  s.air.CO2_ambient = truth("c_amb");
  s.area = truth("area");
  s.air.H2Or = W - E * s.area / s.air.flow * 1e2 * (1000 - W);
  take_leaf(truth, s);
  const std::vector<double> off = truth.list("off");
  s.offset = {off.at(0), off.at(1), off.at(2)};
  s.noise = {0, 0, 0, 1, 0, 0, 0};
  return s;
}

/// Its steps take one of its own time steps (0.1 s), straight, and end at the stated time.
SourceProgramme programme_of(const Truth& truth) {
  SourceProgramme out;
  const std::vector<double> steps = truth.list("steps");
  out.time_constant = truth("tau_src");
  if (steps.empty()) {
    SourceSettings ramp;
    ramp.start = truth("c_start");
    ramp.end = truth("c_end");
    ramp.rate = truth("rate");
    ramp.hold_before = truth("hold_pre");
    ramp.hold_after = truth("hold_post");
    out = source_programme(ramp).value();
    out.time_constant = truth("tau_src");
    return out;
  }
  out.segments.push_back({0, steps.front(), 0, 0});
  const double dt = truth("dt");
  for (std::size_t i = 1; i < steps.size(); ++i) {
    const double at = static_cast<double>(i) * truth("step_s");
    out.segments.push_back({at - dt, steps[i - 1], (steps[i] - steps[i - 1]) / dt, 0});
    out.segments.push_back({at, steps[i], 0, 0});
  }
  out.length = static_cast<double>(steps.size()) * truth("step_s");
  return out;
}

double largest(const std::vector<double>& ours, const std::vector<double>& theirs) {
  double most = 0;
  for (std::size_t i = 0; i < std::min(ours.size(), theirs.size()); ++i) {
    most = std::max(most, std::abs(ours[i] - theirs[i]));
  }
  return most;
}

class SimulatedCase : public testing::TestWithParam<const char*> {};

/// Their first E, mol m-2 s-1.
double first_E(const std::string& name) {
  std::istringstream in(bytes_of(name + "_truth_series.csv"));
  std::string line;
  std::getline(in, line);
  std::getline(in, line);
  return std::strtod(split_csv(line)[6].c_str(), nullptr);
}

// Ramps agree to 0.0017 umol mol-1 of C and 0.0001 of A: their kinks fall on no grid point of
// theirs (0.1 s). Steps agree to 0.051 of C and 0.0032 of A, for 6 s after a step: see
// TheirGridExplainsTheDifference.
TEST_P(SimulatedCase, TrueSeriesAgree) {
  const std::string name = GetParam();
  const Truth truth(name + "_truth.json");
  const Series theirs = read_series(name + "_truth_series.csv");
  const SimulatorSettings s = settings_of(truth, theirs.W.front(), first_E(name));
  const auto ours = simulate_quiet(s, programme_of(truth));
  ASSERT_TRUE(ours) << ours.error().text();
  ASSERT_EQ(ours->truth.time_s.size(), theirs.time.size());
  const bool steps = !truth.list("steps").empty();
  EXPECT_LE(largest(ours->truth.source, theirs.source), 0.0005);
  EXPECT_LE(largest(ours->truth.C, theirs.C), steps ? 0.06 : 0.002);
  EXPECT_LE(largest(ours->truth.W, theirs.W), 0.0001);
  EXPECT_LE(largest(ours->truth.A, theirs.A), steps ? 0.004 : 0.00015);
  EXPECT_LE(largest(ours->truth.Ci, theirs.Ci), steps ? 0.04 : 0.002);
  EXPECT_NEAR(ours->lags.difference, truth("dL", "lags_s"), 1e-9);
  EXPECT_NEAR(ours->lags.chamber, truth("tau_ch", "lags_s"), 1e-9);
  EXPECT_NEAR(ours->lags.reference, truth("L_ref", "lags_s"), 1e-9);
}

class EmptyCase : public testing::TestWithParam<const char*> {};

// Their inlet air on a grid of their time step with the dead time by straight lines, then an empty
// chamber: what is left is their printing (six digits).
TEST_P(EmptyCase, TheirGridExplainsTheDifference) {
  const std::string name = GetParam();
  const Truth truth(name + "_truth.json");
  const Series theirs = read_series(name + "_truth_series.csv");
  const Source source(programme_of(truth));
  GridSignal sent{-30, truth("dt"), {}};
  const auto count = static_cast<std::size_t>((theirs.time.back() + 31) / sent.h);
  for (std::size_t k = 0; k < count; ++k) sent.values.push_back(source.at(sent.time(k)));
  GridSignal chamber = sent;
  for (std::size_t k = 0; k < count; ++k) {
    chamber.values[k] = sent.at(sent.time(k) - truth("d_in", "lags_s"));
  }
  mix_first_order(chamber, truth("tau_ch", "lags_s"));
  double most = 0;
  for (std::size_t i = 0; i < theirs.time.size(); ++i) {
    most = std::max(most, std::abs(chamber.at(theirs.time[i]) - theirs.C[i]));
  }
  EXPECT_LE(most, 0.0006);
}

struct Spread {
  double mean = 0, sd = 0;
};
Spread spread(const std::vector<double>& a, const std::vector<double>& b) {
  const auto n = static_cast<double>(a.size());
  Spread out;
  for (std::size_t i = 0; i < a.size(); ++i) out.mean += (a[i] - b[i]) / n;
  for (std::size_t i = 0; i < a.size(); ++i) {
    out.sd += std::pow(a[i] - b[i] - out.mean, 2) / (n - 1);
  }
  out.sd = std::sqrt(out.sd);
  return out;
}

// The records: what is left against our quiet record must be their noise (white 0.1; drift of SD
// 0.03 in S), so lines, cells and offset agree too.
TEST_P(SimulatedCase, RecordsDifferByTheirNoise) {
  const std::string name = GetParam();
  const Truth truth(name + "_truth.json");
  const Series theirs = read_series(name + "_truth_series.csv");
  const SimulatorSettings s = settings_of(truth, theirs.W.front(), first_E(name));
  const auto ours = simulate_quiet(s, programme_of(truth));
  ASSERT_TRUE(ours) << ours.error().text();
  std::istringstream in(bytes_of(name + ".csv"));
  std::vector<double> CO2r, CO2s, H2Os;
  std::string line;
  std::getline(in, line);
  while (std::getline(in, line)) {
    const std::vector<std::string> f = split_csv(line);
    CO2r.push_back(std::strtod(f[1].c_str(), nullptr));
    CO2s.push_back(std::strtod(f[2].c_str(), nullptr));
    H2Os.push_back(std::strtod(f[4].c_str(), nullptr));
  }
  const auto n = static_cast<double>(CO2r.size());
  const double sigma = truth("sigma");
  const Spread r = spread(CO2r, column(*ours, "CO2r"));
  EXPECT_NEAR(r.mean, 0, 4 * sigma / std::sqrt(n));
  EXPECT_NEAR(r.sd, sigma, 4 * sigma / std::sqrt(2 * n));
  const Spread d = spread(CO2s, column(*ours, "CO2s"));
  EXPECT_NEAR(d.mean, 0, 4 * std::hypot(sigma / std::sqrt(n), truth("drift_sd")));
  EXPECT_NEAR(d.sd, sigma, 4 * sigma / std::sqrt(2 * n) + 0.01);
  EXPECT_NEAR(spread(H2Os, column(*ours, "H2Os")).mean, 0, 4 * truth("sigma_w") / std::sqrt(n));
}

INSTANTIATE_TEST_SUITE_P(Ramps, SimulatedCase,
                         testing::Values("up200_leaf", "up200_empty", "matched_up200_leaf",
                                         "matched_up200_empty", "up150_smallflow_leaf",
                                         "up150_smallflow_empty", "up200_empty_other_rate_leaf",
                                         "up200_empty_other_rate_empty", "down150_c4_leaf",
                                         "down150_c4_empty", "steps_leaf", "steps_empty"));

INSTANTIATE_TEST_SUITE_P(Ramps, EmptyCase,
                         testing::Values("up200_empty", "matched_up200_empty",
                                         "up150_smallflow_empty", "up200_empty_other_rate_empty",
                                         "down150_c4_empty", "steps_empty"));

}  // namespace
}  // namespace leafwright::published
