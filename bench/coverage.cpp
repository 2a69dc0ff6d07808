// How often the intervals hold the truth, how wide and how often open they are, in regimes from
// well seen to poor: coverage [DRAWS (default 10000)]. Prints markdown.
#include <cstdio>
#include <cstdlib>

#include "support/coverage.hpp"

int main(int argc, char** argv) {
  using namespace leafwright;
  const auto draws = static_cast<std::size_t>(argc > 1 ? std::atol(argv[1]) : 10000);
  constexpr const char* names[] = {"Vcmax", "J", "TPU", "Rday"};
  std::printf(
      "%zu draws a regime, level 95 %%, independent noise of 0.4 umol m-2 s-1 unless said; "
      "groups of 50 curves share one estimated correlation.\n\n",
      draws);
  std::printf(
      "| regime | parameter | limits rows in | covered %% | widened covers %% | median width %% "
      "| widened width %% | open %% | bound holds %% (of) "
      "|\n|---|---|---|---|---|---|---|---|---|\n");
  for (const auto& regime : coverage::regimes()) {
    const auto study = coverage::run(regime, draws);
    for (std::size_t k = 0; k < 4; ++k) {
      const auto& c = study.parameters[k];
      std::string bound;
      if (c.bounds > 0) {
        char text[64];
        std::snprintf(text, sizeof text, "%.1f (%zu)",
                      100.0 * static_cast<double>(c.bounds_hold) / static_cast<double>(c.bounds),
                      c.bounds);
        bound = text;
      }
      std::printf("| %s | %s | %zu | %.1f | %.1f | %.1f | %.1f | %.1f | %s |\n",
                  regime.name.c_str(), names[k], c.draws, 100 * c.share(c.covered),
                  100 * c.share(c.covered_widened), 100 * coverage::median(c.widths),
                  100 * coverage::median(c.widths_widened), 100 * c.share(c.open), bound.c_str());
    }
    std::printf("| %s | | TPU acts in %.1f %% of fits, failed %zu, mean rho %.2f | | | | | | |\n",
                regime.name.c_str(),
                100.0 * static_cast<double>(study.with_tpu) / static_cast<double>(study.curves),
                study.failed, study.rho);
    std::fflush(stdout);
  }
  // False TPU and power of the rule, by drop of the plateau.
  std::printf("\n| rule `auto`: TPU drop %% | n | noise | TPU acts %% |\n|---|---|---|---|\n");
  for (const std::size_t n : {std::size_t{8}, std::size_t{13}}) {
    for (const double drop : {-1.0, 0.0, 0.05, 0.08, 0.12, 0.2}) {
      coverage::Regime regime;
      regime.plain.tpu_drop = drop;
      regime.n_low = regime.n_high = n;
      const auto study = coverage::run(regime, draws / 5);
      std::printf("| %s | %zu | %.1f | %.1f |\n",
                  drop < 0 ? "no TPU" : std::to_string(static_cast<int>(100 * drop + 0.5)).c_str(),
                  n, regime.plain.noise,
                  100.0 * static_cast<double>(study.with_tpu) / static_cast<double>(study.curves));
    }
  }
}
