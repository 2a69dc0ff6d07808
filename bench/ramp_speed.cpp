// How long a path, a correction and a simulation take: ramp_speed
// Beside them the naive way in the same run: the empty record's differential interpolated at the
// leaf's CO2r, subtracted, and the flux equations row by row; no filter, no standard error.
// CPU time of one thread, the median of several passes over records of different noise.
#include <algorithm>
#include <array>
#include <cstdio>
#include <ctime>
#include <functional>

#include "ramp/correction.hpp"
#include "ramp/identify.hpp"
#include "ramp_study.hpp"

namespace {

using namespace leafwright;
using namespace leafwright::bench;

double milliseconds(int passes, const std::function<void(std::size_t)>& work, std::size_t items) {
  std::vector<double> times;
  for (int pass = 0; pass < passes; ++pass) {
    const std::clock_t start = std::clock();
    for (std::size_t i = 0; i < items; ++i) work(i);
    times.push_back(1e3 * static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC /
                    static_cast<double>(items));
  }
  std::sort(times.begin(), times.end());
  return times[times.size() / 2];
}

/// Differentials of an empty record by rising CO2r.
std::vector<std::pair<double, double>> table_of(const RampRecord& empty) {
  std::vector<std::pair<double, double>> out;
  for (std::size_t i = 0; i < empty.size(); ++i) {
    out.emplace_back(empty.CO2r[i], empty.CO2s[i] - empty.CO2r[i]);
  }
  std::sort(out.begin(), out.end());
  return out;
}

double interpolated(const std::vector<std::pair<double, double>>& table, double x) {
  const auto at = std::lower_bound(table.begin(), table.end(), std::pair{x, -1e9});
  if (at == table.begin()) return at->second;
  if (at == table.end()) return table.back().second;
  const auto before = at - 1;
  const double width = at->first - before->first;
  return before->second +
         (width > 0 ? (x - before->first) / width : 0) * (at->second - before->second);
}

double naive(const RampRecord& leaf, const RampRecord& empty, const FluxOptions& options) {
  const auto table = table_of(empty);
  double sum = 0;
  for (std::size_t i = 0; i < leaf.size(); ++i) {
    FluxInput in;
    in.flow = leaf.flow[i];
    in.area = *leaf.area;
    in.CO2r = leaf.CO2r[i];
    in.CO2s = leaf.CO2s[i] - interpolated(table, leaf.CO2r[i]);
    in.H2Or = leaf.H2Or[i];
    in.H2Os = leaf.H2Os[i];
    in.Tleaf = leaf.Tleaf[i];
    in.Patm = leaf.Patm[i];
    in.gbw = leaf.gbw[i];
    const auto out = flux(in, options);
    if (out && out->leaf.Ci) sum += *out->leaf.Ci;
  }
  return sum;
}

/// Records of an instrument whose lags were made equal, which `equal-lag` wants.
SimulatorSettings settled(SimulatorSettings s) {
  s.paths.reference_line += true_lags(s).difference * s.paths.cell_flow / 60;
  return s;
}

struct Records {
  std::vector<RampRecord> leaves, empties;
  std::vector<GasPath> paths;
};

Records records_of(const SimulatorSettings& leaf, const SimulatorSettings& empty,
                   std::uint32_t items) {
  const Simulation quiet_leaf = simulate_quiet(leaf).value();
  const Simulation quiet_empty = simulate_quiet(empty).value();
  Records out;
  for (std::uint32_t i = 0; i < items; ++i) {
    out.leaves.push_back(simulated_record(with_noise(quiet_leaf, 1, i)));
    out.empties.push_back(simulated_record(with_noise(quiet_empty, 1, i)));
    out.paths.push_back(identify({out.empties.back()}).value());
  }
  return out;
}

}  // namespace

int main() {
  const RampCase c;
  const SimulatorSettings leaf_settings = study_settings(c, false);
  constexpr std::size_t items = 12;
  constexpr int passes = 7;
  const SimulatorSettings empty_settings = study_settings(c, true);
  const Records usual = records_of(leaf_settings, empty_settings, items);
  const Records equal = records_of(settled(leaf_settings), settled(empty_settings), items);
  FluxOptions air;
  air.gbw_is = GbwIs::whole_leaf;
  air.stomatal_ratio = 1;
  double sink = 0;
  const double peer = milliseconds(
      passes, [&](std::size_t i) { sink += naive(usual.leaves[i], usual.empties[i], air); }, items);
  std::printf("One ramp of %zu rows.\n\n| what | ms | over naive |\n|---|---|---|\n",
              usual.leaves.front().size());
  const auto row = [peer](const char* name, double ms) {
    std::printf("| %s | %.3f | %.1f |\n", name, ms, ms / peer);
    std::fflush(stdout);
  };
  row("naive: subtract and flux equations, no errors", peer);
  for (const CorrectionMethod m :
       {CorrectionMethod::none, CorrectionMethod::subtract, CorrectionMethod::equal_lag,
        CorrectionMethod::forward, CorrectionMethod::balance, CorrectionMethod::joint}) {
    CorrectionOptions options;
    options.method = m;
    if (m == CorrectionMethod::joint) {
      options.joint =
          JointOptions{c3_ramp_model({80, 150, 10, 0.5}, leaf_settings.leaf.kinetics, {}, true)};
    }
    const Records& of = m == CorrectionMethod::equal_lag ? equal : usual;
    row(correction_name(m), milliseconds(
                                passes,
                                [&](std::size_t i) {
                                  CorrectionInput in;
                                  in.leaf = &of.leaves[i];
                                  in.path = &of.paths[i];
                                  in.empties = {&of.empties[i], 1};
                                  in.air = air;
                                  const auto ramp = correct(in, options);
                                  sink += ramp.value().A[100];  // a refusal would look fast
                                },
                                items));
  }
  row("identify a path", milliseconds(
                             passes,
                             [&](std::size_t i) {
                               const auto path = identify({usual.empties[i]});
                               if (path) sink += path->noise_sd;
                             },
                             items));
  row("simulate a ramp (step 0.1 s)", milliseconds(
                                          passes,
                                          [&](std::size_t) {
                                            const auto run = simulate(leaf_settings);
                                            if (run) sink += run->moles;
                                          },
                                          items));
  std::printf("\n<!-- %g -->\n", sink);
  return 0;
}
