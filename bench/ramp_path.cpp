// How well an empty record tells the gas path: ramp_path [DRAWS]
// Records are simulated (src/plan), so the truth is known; what comes out is about such records.
#include <cstdio>
#include <cstdlib>

#include "ramp/identify.hpp"
#include "ramp_study.hpp"

namespace {

using namespace leafwright;
using namespace leafwright::bench;

struct Found {
  std::vector<double> lag, lag_se, delay, delay_se, c0, c0_se;
  std::size_t failed = 0, without_lag = 0;
};

Found draw(const SimulatorSettings& settings, std::uint32_t draws, const IdentifyOptions& options) {
  Found out;
  const Simulation quiet = simulate_quiet(settings).value();
  for (std::uint32_t i = 0; i < draws; ++i) {
    const auto path = identify({simulated_record(with_noise(quiet, 1, i))}, options);
    if (!path) {
      ++out.failed;
      if (out.failed == 1) std::printf("%s\n", path.error().text().c_str());
      continue;
    }
    if (!path->lag_s) {
      ++out.without_lag;
      continue;
    }
    out.lag.push_back(path->lag_s->value - quiet.lags.difference);
    out.lag_se.push_back(path->lag_s->se);
    out.c0.push_back(path->offset[0] - settings.offset[0]);
    out.c0_se.push_back(std::sqrt(path->covariance[5]));
    if (path->delay_s) {
      out.delay.push_back(path->delay_s->value);
      out.delay_se.push_back(path->delay_s->se);
    }
  }
  return out;
}

void row(const std::string& name, const SimulatorSettings& settings, std::uint32_t draws,
         const IdentifyOptions& options = {}) {
  const Found f = draw(settings, draws, options);
  const Moments lag = moments(f.lag), se = moments(f.lag_se), c0 = moments(f.c0);
  const Moments delay = moments(f.delay);
  std::printf("| %s | %zu | %.4f ± %.4f | %.4f | %.2f | %.3f | %.3f | %.2f | %.3f | %zu | %zu |\n",
              name.c_str(), f.lag.size(), lag.mean, lag.se(), lag.sd,
              lag.sd > 0 ? se.mean / lag.sd : 0, c0.mean, c0.sd,
              c0.sd > 0 ? moments(f.c0_se).mean / c0.sd : 0, delay.sd, f.without_lag, f.failed);
  std::fflush(stdout);
}

}  // namespace

int main(int argc, char** argv) {
  const auto draws = static_cast<std::uint32_t>(argc > 1 ? std::atoi(argv[1]) : 400);
  std::printf(
      "| empty record | draws | L: bias, s | SD | SE/SD | c0: bias | SD | SE/SD | "
      "d: SD, s | no lag | failed |\n|---|---|---|---|---|---|---|---|---|---|---|\n");
  for (const double rate : {100.0, 200.0, 400.0}) {
    for (const bool up : {true, false}) {
      const RampCase c{rate, up, 0.1, 0.03};
      row(name_of(c), study_settings(c, true), draws);
    }
  }
  RampCase c;
  SimulatorSettings s = study_settings(c, true);
  s.source.shape = SourceShape::there_and_back;
  row("there and back, 200", s, draws);
  s = study_settings(c, true);
  s.source.hold_before = s.source.hold_after = 0;
  row("no holds, up 200", s, draws);
  s = study_settings(c, true);
  s.source.hold_before = s.source.hold_after = 20;
  row("holds of 20 s, up 200", s, draws);
  s.source.start = 300;
  s.source.end = 500;
  row("100 s: 300 to 500 at 200", s, draws);
  s = study_settings(c, true);
  s.source.ripple = 3;
  row("ripple of 3, up 200", s, draws);
  s = study_settings(c, true);
  s.source.bow = 20;
  row("bowed by 20, up 200", s, draws);
  s = study_settings(c, true);
  s.source.shape = SourceShape::steps;
  s.source.steps = {400, 200, 50, 400, 700, 1000};
  s.source.step_length = 60;
  row("steps of 60 s", s, draws);
  return 0;
}
