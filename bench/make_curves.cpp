// Writes a campaign of invented A-Ci curves as CSV: make_curves FILE [CURVES (default 555)].
#include <cstdio>
#include <cstdlib>

#include "support/stress_curves.hpp"

int main(int argc, char** argv) {
  using namespace leafwright;
  if (argc < 2) return 2;
  const auto curves = static_cast<std::uint32_t>(argc > 2 ? std::atol(argv[2]) : 555);
  std::FILE* out = std::fopen(argv[1], "w");
  if (out == nullptr) return 3;
  std::fputs("curve_id,A,Ci,Tleaf,Patm,Qin\n", out);
  for (std::uint32_t k = 0; k < curves; ++k) {
    const auto c = stress::campaign_curve(1, k);
    for (std::size_t i = 0; i < c.size(); ++i) {
      std::fprintf(out, "leaf-%03u,%.4f,%.3f,25.0,101.3,1800\n", k, c.A[i], c.Ci[i]);
    }
  }
  return std::fclose(out) == 0 ? 0 : 3;
}
