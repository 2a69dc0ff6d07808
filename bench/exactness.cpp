// Is the exact solver ever beaten? Hard curves for every limitation set and way of taking Rday,
// each against an exhaustive search in extended precision and a many-start local search.
//
//   exactness [CURVES [FIRST [ORDERS]]]
//     CURVES  per set and mode (default 50000); FIRST number of the first curve (default 0);
//     ORDERS  "rows": kinetics per row, "low": Km below its limit (at most 7 points, all 3^n
//             assignments tried); default: one order of states
//
// Prints a markdown table. "Beaten": a peer found a sum of squares lower by more than
// 1e-9 sum w A^2. "Refused": fewer distinct Ci than the set needs. Exits with 1 if beaten or if a
// reported sum of squares is not that of the reported parameters.
#include <cstdio>
#include <cstdlib>
#include <string>

#include "support/peer_check.hpp"

namespace {

using namespace leafwright;

struct Row {
  long curves = 0, refused = 0, uncertified = 0, kinks = 0, beaten = 0, wrong_sum = 0;
  double worst = -1;
};

std::string name_of(const LimitationSet& s) {
  std::string out = "{";
  for (const auto& [has, letter] : {std::pair{s.rubisco, "c"}, {s.rubp, "j"}, {s.tpu, "p"}}) {
    if (has) out += (out.size() > 1 ? ", " : "") + std::string(letter);
  }
  return out + "}";
}

void one(const stress::Kind& kind, RdayMode rday, std::uint32_t number, Row& row, bool orders) {
  const stress::Curve c = stress::hard_curve(7, number, kind);
  const stress::Mode mode = stress::mode_of(c, rday, number);
  const auto p =
      make_problem(c.observations(), kind.set, mode.mode, mode.value, c.electrons, c.alpha);
  ++row.curves;
  if (!p) {
    ++row.refused;
    return;
  }
  const ExactSolution s = solve_exact(*p);
  const auto peers = stress::ask_peers(c, kind.set, mode, s.leaf, 6, orders);
  row.uncertified += s.certified ? 0 : 1;
  row.kinks += s.pins.count() > 0 ? 1 : 0;
  row.worst = std::max(row.worst, peers.gap());
  const double sum_error =
      static_cast<double>(std::abs(peers.ours - static_cast<long double>(s.ssr)) / peers.scale);
  const bool beaten = !(peers.gap() <= 1e-9), wrong = s.certified && !(sum_error <= 1e-9);
  row.beaten += beaten ? 1 : 0;
  row.wrong_sum += wrong ? 1 : 0;
  if (beaten || wrong) {
    std::fprintf(stderr,
                 "%s mode %d %g curve %u: gap %.3g by %s, sum off by %.3g, n %zu, certified %d, "
                 "ordered %d\n",
                 name_of(kind.set).c_str(), static_cast<int>(rday), mode.value, number, peers.gap(),
                 peers.by.c_str(), sum_error, c.size(), int{s.certified}, int{p->ordered});
  }
}

}  // namespace

int main(int argc, char** argv) {
  const auto curves = static_cast<std::uint32_t>(argc > 1 ? std::atol(argv[1]) : 50000);
  const auto first = static_cast<std::uint32_t>(argc > 2 ? std::atol(argv[2]) : 0);
  const std::string orders = argc > 3 ? argv[3] : "";
  constexpr LimitationSet sets[] = {
      {true, false, false}, {true, true, false},  {true, false, true}, {true, true, true},
      {false, true, false}, {false, false, true}, {false, true, true}};
  constexpr const char* modes[] = {"free", "fixed", "fraction of Vcmax"};
  std::printf(
      "| set | Rday | curves | refused | on a kink | uncertified | beaten | wrong sum | worst gap "
      "/ sum w A^2 |\n"
      "|---|---|---|---|---|---|---|---|---|\n");
  bool bad = false;
  for (const LimitationSet& set : sets) {
    for (const RdayMode rday : {RdayMode::free, RdayMode::fixed, RdayMode::fraction}) {
      if (rday == RdayMode::fraction && !set.rubisco) continue;
      stress::Kind kind;
      kind.set = set;
      kind.most_points = orders.empty() ? 27 : 7;
      kind.per_row = orders == "rows";
      kind.low_km = orders == "low";
      kind.never_low = !set.rubisco && !set.rubp;
      Row row;
      for (std::uint32_t k = first; k < first + curves; ++k) {
        one(kind, rday, k, row, !orders.empty());
      }
      std::printf("| %s | %s | %ld | %ld | %ld | %ld | %ld | %ld | %.1e |\n", name_of(set).c_str(),
                  modes[static_cast<int>(rday)], row.curves, row.refused, row.kinks,
                  row.uncertified, row.beaten, row.wrong_sum, row.worst);
      std::fflush(stdout);
      bad = bad || row.beaten > 0 || row.wrong_sum > 0;
    }
  }
  return bad ? 1 : 0;
}
