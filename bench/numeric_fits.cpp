// The fits without a certificate or off the C3 path: how long they take, how often a long search
// beats them, how often intervals hold the truth and how often a curve says "not identified".
//   numeric_fits [CURVES [STARTS [SET]]]     default 2000, 100 and 0
// SET is another set of C3 curves and starts (finite gm, smooth minimum), to measure on curves that
// nothing was tuned to.
// A curve counts as beaten where the long search is lower by more than 0.1 % of the sum of squares
// and 1e-6 of sum A^2. Deterministic but for the times.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <limits>
#include <string>
#include <vector>

#include "fit/c4.hpp"
#include "fit/fitted.hpp"
#include "fit/gm.hpp"
#include "support/c4_curves.hpp"
#include "support/stress_curves.hpp"

namespace {

using namespace leafwright;

constexpr double infinity = std::numeric_limits<double>::infinity();

double seconds() {
  return static_cast<double>(std::clock()) / CLOCKS_PER_SEC;
}

bool beaten(double ours, double theirs, const std::vector<double>& A) {
  double scale = 0;
  for (const double a : A) scale += a * a;
  return theirs < ours - std::max(1e-3 * ours, 1e-6 * scale);
}

void c4_misses(std::uint32_t curves, int starts) {
  std::printf(
      "| C4 plateau | curves | one fit, us | beaten of %u | search beaten |\n"
      "|---|---|---|---|---|\n",
      curves);
  for (const C4Plateau plateau :
       {C4Plateau::unnamed, C4Plateau::vpr, C4Plateau::vcmax, C4Plateau::j}) {
    for (const bool hard : {false, true}) {
      std::vector<C4Rows> rows;
      const c4sim::Regime regime{"misses", plateau};
      for (std::uint32_t i = 0; i < curves; ++i) {
        rows.push_back(hard ? c4sim::hard_rows(21, i) : c4sim::draw(21, i, regime).rows);
      }
      std::vector<double> ours;
      const double begin = seconds();
      for (const C4Rows& r : rows)
        ours.push_back(make_c4_model(r, plateau, {})->solve({}, nullptr).ssr);
      const double took = 1e6 * (seconds() - begin) / curves;
      int lost = 0, won = 0;
      for (std::uint32_t i = 0; i < curves; ++i) {
        const double theirs = c4sim::long_search(rows[i], plateau, starts, 5, i);
        lost += beaten(ours[i], theirs, rows[i].A) ? 1 : 0;
        won += beaten(theirs, ours[i], rows[i].A) ? 1 : 0;
      }
      std::printf("| %s | %s | %.1f | %d | %d |\n", c4_plateau_name(plateau),
                  hard ? "hard" : "plain", took, lost, won);
    }
  }
}

struct Tally {
  int estimated = 0, covered = 0, draws = 0;
  std::vector<double> error;  ///< relative, of estimated values
  void add(const Estimate& e, double truth) {
    ++draws;
    covered += (!e.low || *e.low <= truth) && (!e.high || *e.high >= truth) ? 1 : 0;
    if (e.status != Status::estimated) return;
    ++estimated;
    error.push_back(*e.value / truth - 1);
  }
  [[nodiscard]] std::string row() {
    if (error.empty()) return "| 0 | | |";
    std::sort(error.begin(), error.end());
    char text[120];
    std::snprintf(text, sizeof text, "| %.1f | %+.1f | %.1f |", 100.0 * estimated / draws,
                  100 * error[error.size() / 2], 100.0 * covered / draws);
    return text;
  }
};

void c4_recovery(std::uint32_t curves) {
  std::printf(
      "\n| C4 regime | parameter | estimated %% | median error %% | coverage %% |\n"
      "|---|---|---|---|---|\n");
  std::vector<c4sim::Regime> regimes;
  for (const C4Plateau p : {C4Plateau::unnamed, C4Plateau::vcmax, C4Plateau::vpr, C4Plateau::j}) {
    regimes.push_back({std::string("both sides, n 12, ") + c4_plateau_name(p), p});
  }
  regimes.push_back({"n 7, unnamed", C4Plateau::unnamed, 7});
  regimes.push_back({"noise 1, unnamed", C4Plateau::unnamed, 12, 1.0});
  regimes.push_back({"initial side only (Ci 10-30), unnamed", C4Plateau::unnamed, 8, 0.4, 10, 30});
  regimes.push_back({"plateau only (Ci 300-1200), unnamed", C4Plateau::unnamed, 8, 0.4, 300, 1200});
  for (const c4sim::Regime& regime : regimes) {
    C4FitOptions o;
    o.kinetics = *find_c4_kinetics("boyd-2015");
    o.plateau = regime.plateau;
    o.budget = false;
    Tally V, top, R, slope;
    for (std::uint32_t i = 0; i < curves; ++i) {
      const auto d = c4sim::draw(22, i, regime);
      const auto fit = fit_c4_curve(d.curve, o);
      if (!fit) continue;
      V.add(fit->more[0], d.truth.Vpmax);
      top.add(fit->more[1], d.truth.top);
      R.add(fit->more[2], d.truth.Rday);
      slope.add(fit->more[3], d.slope);
    }
    const char* name = regime.name.c_str();
    std::printf("| %s | Vpmax %s\n| | plateau %s\n| | Rday %s\n| | initial_slope %s\n", name,
                V.row().c_str(), top.row().c_str(), R.row().c_str(), slope.row().c_str());
  }
}

struct GmCurve {
  std::vector<Observation> rows;
  std::vector<double> A;
  double gm = 0, Vcmax = 0;
};

GmCurve gm_curve(std::uint32_t set, std::uint32_t number, bool tpu) {
  RandomStream random(4 + set, "gm", "gm-curve", number);
  const Kinetics k =
      *kinetics_at(**find_kinetics("bernacchi-2002"), 25, 100, Basis::partial_pressure);
  GmCurve out;
  C3Leaf leaf{random.uniform(40, 140), 0, 0, random.uniform(0.4, 2)};
  leaf.J = leaf.Vcmax * random.uniform(1.4, 2.1);
  leaf.TPU = tpu ? leaf.J / 4 * random.uniform(0.24, 0.30) : 1e9;
  out.gm = random.uniform(0.08, 0.5);
  out.Vcmax = leaf.Vcmax;
  const std::size_t n = 9 + random.index(7);
  for (std::size_t i = 0; i < n; ++i) {
    Observation o;
    o.kinetics = k;
    o.Ci =
        45 * std::exp(std::log(1500.0 / 45) * (static_cast<double>(i) + random.uniform(-0.2, 0.2)) /
                      static_cast<double>(n - 1));
    o.A = c3_assimilation_gm(o.Ci, out.gm, leaf, k).A + 0.4 * random.normal();
    out.rows.push_back(o);
    out.A.push_back(o.A);
  }
  return out;
}

void gm(std::uint32_t curves, int starts, std::uint32_t set) {
  std::printf(
      "\n| gm free | fit and profile of gm, us | beaten of %u | search beaten | gm open "
      "above %% | gm covered %% | Vcmax_gm median error %% |\n|---|---|---|---|---|---|---|\n",
      curves);
  for (const bool tpu : {false, true}) {
    int lost = 0, won = 0, open = 0, covered = 0;
    double took = 0;
    std::vector<double> error;
    for (std::uint32_t i = 0; i < curves; ++i) {
      const GmCurve c = gm_curve(set, i, tpu);
      const double begin = seconds();
      const auto model = *make_gm_model(c.rows, {true, true, tpu}, {}, {}, 0, {});
      SmallMinimum best = model->solve({}, nullptr);
      const double ours = best.ssr;
      const SmallExtent e =
          small_profile(*model, best, c3_resistance, profile_threshold(*model, best.ssr, 0.95));
      took += seconds() - begin;
      open += e.high ? 0 : 1;
      covered += e.low.value_or(0) <= c.gm && (!e.high || *e.high >= c.gm) ? 1 : 0;
      error.push_back(best.p[c3_v] / c.Vcmax - 1);
      RandomStream random(3, "starts", "gm-starts", i + 100000 * set);
      double theirs = infinity;
      for (int t = 0; t < starts; ++t) {
        const Parameters start{random.uniform(20, 250), random.uniform(40, 400),
                               tpu ? random.uniform(3, 25) : infinity, random.uniform(0, 4),
                               random.uniform(0, 20)};
        theirs = std::min(theirs, model->solve({}, &start).ssr);
      }
      lost += beaten(ours, theirs, c.A) ? 1 : 0;
      won += beaten(theirs, ours, c.A) ? 1 : 0;
    }
    std::sort(error.begin(), error.end());
    std::printf("| %s | %.0f | %d | %d | %.0f | %.1f | %+.1f |\n", tpu ? "{c, j, p}" : "{c, j}",
                1e6 * took / curves, lost, won, 100.0 * open / curves, 100.0 * covered / curves,
                100 * error[error.size() / 2]);
  }
}

void smooth(std::uint32_t curves, int starts, std::uint32_t set) {
  std::printf(
      "\n| smooth minimum | one fit, us | beaten of %u | search beaten |\n|---|---|---|---|\n",
      curves);
  for (const double theta : {0.95, 0.98, 0.999}) {
    int lost = 0, won = 0;
    double took = 0;
    for (std::uint32_t i = 0; i < curves; ++i) {
      stress::Plain kind;
      kind.n = 13;
      kind.tpu_drop = i % 2 == 0 ? 0.1 : -1;
      const stress::Curve c = stress::plain_curve(2 + set, i, kind);
      const auto rows = c.observations();
      const double begin = seconds();
      const auto model = *make_smooth_model(rows, {true, true, true}, {}, {}, 0, theta);
      const double ours = model->solve({}, nullptr).ssr;
      took += seconds() - begin;
      RandomStream random(3, "starts", "smooth-starts", i + 100000 * set);
      double theirs = infinity;
      for (int t = 0; t < starts; ++t) {
        const Parameters start{random.uniform(10, 250), 1 / random.uniform(20, 400),
                               1 / random.uniform(2, 30), random.uniform(0, 4)};
        theirs = std::min(theirs, model->solve({}, &start).ssr);
      }
      lost += beaten(ours, theirs, c.A) ? 1 : 0;
      won += beaten(theirs, ours, c.A) ? 1 : 0;
    }
    std::printf("| theta %.3f | %.1f | %d | %d |\n", theta, 1e6 * took / curves, lost, won);
  }
}

}  // namespace

int main(int argc, char** argv) {
  const auto curves = static_cast<std::uint32_t>(argc > 1 ? std::atoi(argv[1]) : 2000);
  const int starts = argc > 2 ? std::atoi(argv[2]) : 100;
  const auto set = static_cast<std::uint32_t>(argc > 3 ? std::atoi(argv[3]) : 0);
  if (curves < 1 || starts < 1) return 2;
  c4_misses(curves, starts / 4 + 1);
  c4_recovery(curves);
  gm(curves, starts, set);
  smooth(curves, starts, set);
  return 0;
}
