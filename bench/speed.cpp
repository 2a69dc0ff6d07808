// How long one fit, its intervals and a whole curve take, beside other ways to the same sum of
// squares, in one run: speed [CSV]
// With CSV, the curves of the comparison are written there with the lowest sum of squares and our
// time, for compare.py.
//
// Each number is the median of several passes over many different curves (cold data: a curve is
// seen again only after all others). Ratios carry from machine to machine, times do not.
#include <algorithm>
#include <cstdio>
#include <ctime>
#include <functional>
#include <string>
#include <vector>

#include "fit/intervals.hpp"
#include "numeric/distributions.hpp"
#include "support/coverage.hpp"
#include "support/lm_peer.hpp"
#include "support/stress_curves.hpp"

namespace {

using namespace leafwright;

/// CPU seconds per item, the median of `passes` passes over `items`.
double time_per_item(std::size_t items, int passes, const std::function<void(std::size_t)>& work) {
  std::vector<double> seconds;
  for (int pass = 0; pass < passes; ++pass) {
    const std::clock_t start = std::clock();
    for (std::size_t i = 0; i < items; ++i) work(i);
    const auto took = static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
    seconds.push_back(took / static_cast<double>(items));
  }
  std::sort(seconds.begin(), seconds.end());
  return seconds[seconds.size() / 2];
}

void print(const char* what, double seconds, const char* goal) {
  if (seconds < 1e-3)
    std::printf("| %s | %.2f us | %s |\n", what, 1e6 * seconds, goal);
  else
    std::printf("| %s | %.2f ms | %s |\n", what, 1e3 * seconds, goal);
}

std::vector<stress::Curve> curves_of(std::size_t count, std::size_t n) {
  std::vector<stress::Curve> out;
  for (std::uint32_t k = 0; k < count; ++k) {
    if (n == 0) {
      out.push_back(stress::campaign_curve(1, k));
      continue;
    }
    stress::Plain plain;
    plain.n = n;
    plain.tpu_drop = k % 2 == 0 ? 0.1 : -1;
    out.push_back(stress::plain_curve(2, k, plain));
  }
  return out;
}

std::vector<C3Problem> problems_of(const std::vector<stress::Curve>& curves) {
  std::vector<C3Problem> out;
  for (const auto& c : curves) {
    out.push_back(*make_problem(c.observations(), {true, true, true}, RdayMode::free, 0));
  }
  return out;
}

/// The curve's arrays as the many-start peer wants them.
struct PeerCurve {
  std::vector<double> wc, wj, wp, h;
  lm_peer::Curve curve;
  explicit PeerCurve(const stress::Curve& c)
      : wc(c.size()), wj(c.size()), wp(c.size()), h(c.size()) {
    for (std::size_t i = 0; i < c.size(); ++i) {
      lm_peer::coefficients(c.Ci[i], c.G, c.Km, 0, wc[i], wj[i], wp[i], h[i]);
    }
    curve = {wc.data(), wj.data(), wp.data(), h.data(), c.A.data(), c.size()};
  }
};

void time_peers(const std::vector<stress::Curve>& curves, const std::vector<ExactSolution>& best,
                double ours) {
  std::vector<PeerCurve> peers;
  peers.reserve(curves.size());
  for (const auto& c : curves) peers.emplace_back(c);
  std::printf("\n%zu curves of a campaign (9 to 16 points), {c, j, p}, Rday free:\n\n",
              curves.size());
  std::printf(
      "| way | time per curve | times ours | curves ending > 0.1 %% above the lowest sum |\n"
      "|---|---|---|---|\n| exact (ours, certified) | %.2f us | 1 | 0 |\n",
      1e6 * ours);
  for (const int starts : {1, 20, 400}) {
    std::size_t above = 0, lower = 0;
    const double seconds = time_per_item(curves.size(), starts > 100 ? 1 : 5, [&](std::size_t i) {
      const auto found = lm_peer::search(peers[i].curve, starts);
      above += found.ssr > best[i].ssr * 1.001 ? 1U : 0U;
      lower += found.ssr < best[i].ssr * (1 - 1e-9) ? 1U : 0U;
    });
    const std::size_t passes = starts > 100 ? 1 : 5;
    std::printf("| compiled Levenberg-Marquardt, %d start%s | %.1f us | %.1f | %.1f %% |\n", starts,
                starts == 1 ? "" : "s", 1e6 * seconds, seconds / ours,
                100.0 * static_cast<double>(above / passes) / static_cast<double>(curves.size()));
    if (lower > 0) std::printf("| **below ours in %zu curves: a bug** | | | |\n", lower / passes);
  }
}

void write_curves(const char* path, const std::vector<stress::Curve>& curves,
                  const std::vector<ExactSolution>& best, double ours) {
  std::FILE* out = std::fopen(path, "w");
  if (out == nullptr) return;
  std::fputs("curve,Ci,A,gamma_star,Km,lowest_ssr,our_seconds\n", out);
  for (std::size_t k = 0; k < curves.size(); ++k) {
    for (std::size_t i = 0; i < curves[k].size(); ++i) {
      std::fprintf(out, "%zu,%.17g,%.17g,%.17g,%.17g,%.17g,%.9g\n", k, curves[k].Ci[i],
                   curves[k].A[i], curves[k].G, curves[k].Km, best[k].ssr, ours);
    }
  }
  std::fclose(out);
}

double sink = 0;  // keeps results alive

void time_solver() {
  std::printf("| what | time | goal |\n|---|---|---|\n");
  const auto thirteen = problems_of(curves_of(2000, 13));
  const auto observed = curves_of(2000, 13);
  print("one {c, j, p} fit, n 13",
        time_per_item(thirteen.size(), 9,
                      [&](std::size_t i) { sink += solve_exact(thirteen[i]).ssr; }),
        "<= 2 us");
  std::vector<std::vector<Observation>> rows;
  for (const auto& c : observed) rows.push_back(c.observations());
  print("the same from rows (make_problem and solve)",
        time_per_item(rows.size(), 9,
                      [&](std::size_t i) {
                        const auto p = make_problem(rows[i], {true, true, true}, RdayMode::free, 0);
                        sink += solve_exact(*p).ssr;
                      }),
        "");
  const auto three_hundred = problems_of(curves_of(60, 300));
  print("one {c, j, p} fit, n 300",
        time_per_item(three_hundred.size(), 9,
                      [&](std::size_t i) { sink += solve_exact(three_hundred[i]).ssr; }),
        "<= 100 us");
  std::vector<ExactSolution> solved;
  for (const C3Problem& p : thirteen) solved.push_back(solve_exact(p));
  print("profile intervals of four parameters, n 13",
        time_per_item(thirteen.size(), 5,
                      [&](std::size_t i) {
                        const CellList cells(thirteen[i]);
                        const double t = solved[i].ssr * (1 + f_quantile(0.95, 1, 9) / 9);
                        const std::vector<ExtentRequest> requests{{Parameter::Vcmax, t},
                                                                  {Parameter::J, t},
                                                                  {Parameter::TPU, t},
                                                                  {Parameter::Rday, t}};
                        sink += profile_extents(cells, requests).front().low.value_or(0);
                      }),
        "<= 0.5 ms");
  print("next local minimum, n 13",
        time_per_item(thirteen.size(), 5,
                      [&](std::size_t i) {
                        const CellList cells(thirteen[i]);
                        const auto next = next_minimum(cells, solved[i]);
                        sink += next ? next->ssr : 0;
                      }),
        "");
  print("bootstrap of 2,000 replicates, n 13",
        time_per_item(40, 5,
                      [&](std::size_t i) {
                        ParameterEstimates estimates;
                        estimates.Vcmax.value = solved[i].leaf.Vcmax;
                        bootstrap_intervals(estimates, thirteen[i], solved[i], 0.95, 2000, 1,
                                            std::to_string(i));
                        sink += estimates.Vcmax.low.value_or(0);
                      }),
        "<= 1 ms");
}

void time_front_door() {
  std::vector<Curve> curves;
  C3FitOptions options;
  for (std::uint32_t k = 0; k < 555; ++k) {
    const auto c = stress::campaign_curve(1, k);
    curves.push_back(coverage::as_curve(c, std::to_string(k)));
    options = coverage::options_for(c);
  }
  const double without = time_per_item(
      1, 7, [&](std::size_t) { sink += fit_curves(curves, options).fits.front().ssr; });
  print("fit_curves, per curve of 555, without the budget", without / 555, "");
  options.budget = true;
  const double with = time_per_item(
      1, 7, [&](std::size_t) { sink += fit_curves(curves, options).fits.front().ssr; });
  print("fit_curves, per curve of 555, with the budget", with / 555, "");
}

}  // namespace

int main(int argc, char** argv) {
  time_solver();
  time_front_door();
  const auto curves = curves_of(1000, 0);
  const auto problems = problems_of(curves);
  std::vector<ExactSolution> best;
  for (const C3Problem& p : problems) best.push_back(solve_exact(p));
  const double ours = time_per_item(problems.size(), 9,
                                    [&](std::size_t i) { sink += solve_exact(problems[i]).ssr; });
  time_peers(curves, best, ours);
  if (argc > 1) write_curves(argv[1], curves, best, ours);
  return sink == 0.12345 ? 1 : 0;
}
