// The engine of propose_search.hpp: stages that extend assignments relation by relation.
// propose_search.cpp: streams and flow; propose_leaf.cpp: gsw, Ci, humidity.
#pragma once

#include <cstddef>
#include <vector>

#include "log/propose_search.hpp"

namespace leafwright {

/// Counts rows that pass; leaves as soon as too many do not.
template <class Pass>
bool most_rows(std::size_t rows, Pass pass) {
  const std::size_t allowed = rows / 4;
  std::size_t failed = 0;
  for (std::size_t i = 0; i < rows; ++i) {
    if (!pass(i) && ++failed > allowed) return false;
  }
  return true;
}

class Search {
 public:
  /// `level`: which readings take part (ColumnCandidate::level).
  Search(const Pool& pool, int level);
  std::vector<Hypothesis> run(std::size_t keep);

 private:
  using Beam = std::vector<Hypothesis>;
  /// A flow over an area, by the logarithm of its median.
  struct FluxScale {
    double log_median = 0;
    std::size_t flow = 0, area = 0;
  };
  /// Two of a reference, a sample and their difference.
  struct Streams {
    Role first, second;
    std::size_t a = 0, b = 0;
  };
  /// The streams of CO2 and an uptake that may belong together, before water is known.
  struct Uptake {
    double off = 0;
    Streams pair;
    std::size_t a = 0;
  };

  /// Counts comparisons; false when the search has had its share. The count, not a clock, ends a
  /// search, so that it ends at the same place everywhere.
  bool spend(std::size_t comparisons) const {
    spent_ += comparisons;
    return spent_ < budget;
  }
  static constexpr std::size_t budget = 4000000;
  mutable std::size_t spent_ = 0;
  [[nodiscard]] const ColumnCandidate& candidate(Role role, std::size_t index) const {
    return pool_.of(role)[index];
  }
  [[nodiscard]] const Series& values(Role role, std::size_t index) const {
    return pool_.of(role)[index].values;
  }
  [[nodiscard]] std::vector<std::size_t> picks(const Hypothesis& h, Role role) const;
  [[nodiscard]] bool set(Hypothesis& h, Role role, std::size_t index) const;
  [[nodiscard]] std::vector<Streams> streams(const Hypothesis& h, bool water) const;
  /// The reference and the sample of a pair.
  void both(const Streams& pair, Series& reference, Series& sample) const;
  template <class Use>
  void flux_scales(const Hypothesis& h, double k, Use use) const;
  static void trim(Beam& beam, std::size_t width);
  template <class Stage>
  Beam stage(const Beam& from, Relation relation, Stage one) const;

  void water(const Hypothesis& h, Beam& out) const;
  void water_pair(const Hypothesis& h, const Series& per_scale, Beam& out) const;
  void carbon(const Hypothesis& h, Beam& out) const;
  [[nodiscard]] std::vector<Uptake> uptakes(const Hypothesis& h) const;
  [[nodiscard]] static bool steady_scale(const Series& x, const Series& A);
  void carbon_alone(const Hypothesis& h, Beam& out) const;
  void carbon_scale(const Hypothesis& h, const Series& x, Beam& out) const;
  void stomata(const Hypothesis& h, Beam& out) const;
  void stomata_air(const Hypothesis& h, const Series& gtw, Beam& out) const;
  void refine_stomata(Beam& rough) const;
  [[nodiscard]] Beam sides_of(const Hypothesis& air) const;
  void inside(const Hypothesis& h, Beam& out) const;
  void inside_air(const Hypothesis& h, const Series& g, const Series& E, Beam& out) const;
  void inside_made(const Hypothesis& h, Beam& out) const;
  void humidity(const Hypothesis& h, Relation relation, Beam& out) const;
  [[nodiscard]] Beam finish(Beam beam) const;

  const Pool& pool_;
  int level_;
  std::vector<FluxScale> scales_;
};

}  // namespace leafwright
