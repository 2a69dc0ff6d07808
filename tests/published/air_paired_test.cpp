// Fluxes recomputed from published records: Braun et al. 2024 (data/paired/README.md; CC BY 4.0).
// In these records gbw is per side, the vapour pressure is the form leaf-common, and the chamber
// stands under Patm + chamber_overpressure; nothing of that was told by the authors' columns, it is
// what the agreement below proves.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <fstream>
#include <map>
#include <stdexcept>
#include <string>
#include <vector>

#include "air/balance.hpp"
#include "air/flux.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

class Records {
 public:
  Records() {
    std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/paired/points.csv");
    std::string line;
    if (!std::getline(file, line)) throw std::runtime_error("cannot read points.csv");
    const auto titles = split_csv(line);
    for (std::size_t i = 0; i < titles.size(); ++i) column_[titles[i]] = i;
    while (std::getline(file, line)) rows_.push_back(split_csv(line));
  }
  std::size_t size() const { return rows_.size(); }
  const std::string& text(std::size_t row, const std::string& name) const {
    return rows_[row].at(column_.at(name));
  }
  double operator()(std::size_t row, const std::string& name) const {
    const std::string& cell = text(row, name);
    if (cell.empty()) throw std::runtime_error(name + " is empty");
    return std::strtod(cell.c_str(), nullptr);
  }
  std::vector<std::size_t> of(const std::string& method) const {
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < rows_.size(); ++i)
      if (text(i, "method") == method) found.push_back(i);
    return found;
  }

 private:
  std::map<std::string, std::size_t> column_;
  std::vector<std::vector<std::string>> rows_;
};

FluxOptions options_of(const Records& data, std::size_t row) {
  FluxOptions options;
  options.overpressure = data(row, "chamber_overpressure");
  options.gbw_is = GbwIs::per_side;
  options.stomatal_ratio = data(row, "stomatal_ratio");
  return options;
}

FluxInput record_of(const Records& data, std::size_t row) {
  FluxInput in;
  in.flow = data(row, "flow");
  in.area = data(row, "area");
  in.CO2r = data(row, "CO2r");
  in.CO2s = data(row, "CO2s");
  in.H2Or = data(row, "H2Or");
  in.H2Os = data(row, "H2Os");
  in.Tleaf = data(row, "Tleaf");
  in.Patm = data(row, "Patm");
  in.gbw = data(row, "gbw");
  in.Tair = data(row, "Tair");
  return in;
}

LeafState leaf_of(const Records& data, std::size_t row, const FluxOptions& options) {
  const FluxInput in = record_of(data, row);
  const auto leaf = leaf_state(data(row, "E"), data(row, "A"),
                               {in.CO2s, in.H2Os, in.Tleaf, in.Patm, in.gbw}, options);
  if (!leaf) throw std::runtime_error(leaf.error().text());
  return *leaf;
}

double off(double value, double recorded) {
  return std::abs(value / recorded - 1);
}

TEST(PairedRecords, GswCiVpdAndHumidityFromRecordedAAndE) {
  const Records data;
  std::size_t rows = 0;
  double gsw = 0, Ci = 0, vpd = 0, rh = 0;
  for (const std::string method : {"steady", "single", "ramp"})
    for (const std::size_t i : data.of(method)) {
      const FluxOptions options = options_of(data, i);
      const LeafState leaf = leaf_of(data, i, options);
      ASSERT_TRUE(leaf.gsw && leaf.Ci) << i;
      gsw = std::max(gsw, off(*leaf.gsw, data(i, "gsw")));
      Ci = std::max(Ci, off(*leaf.Ci, data(i, "Ci")));
      vpd = std::max(vpd, off(leaf.VPDleaf, data(i, "VPDleaf")));
      rh = std::max(rh, off(*flux(record_of(data, i), options)->RHs, data(i, "RHs")));
      ++rows;
    }
  EXPECT_EQ(rows, 2427U);
  // The records have ten digits, of E and A as of the results, so a few 1e-9 is all that can be
  // asked. The largest found: gsw 1.3e-9, Ci 4.8e-9 (where it is near 0), VPDleaf 1.0e-9, RHs
  // 5e-10.
  EXPECT_LT(gsw, 5e-9);
  EXPECT_LT(Ci, 1e-8);
  EXPECT_LT(vpd, 2e-9);
  EXPECT_LT(rh, 2e-9);
}

TEST(PairedRecords, TheUsualFormOfTwoSidesIsNotWhatTheyUsed) {
  // Steady rows: kf is off by up to 9.2e-5 in gsw and 1.6e-5 in Ci, a thousand times more than the
  // exact sides. A whole-leaf gbw, a missing overpressure or another form of e_s are off by far
  // more.
  const Records data;
  double first_order = 0, whole = 1, no_overpressure = 1, buck = 1;
  for (const std::size_t i : data.of("steady")) {
    FluxOptions options = options_of(data, i);
    options.two_sides = TwoSides::first_order;
    first_order = std::max(first_order, off(*leaf_of(data, i, options).gsw, data(i, "gsw")));
    options = options_of(data, i);
    options.gbw_is = GbwIs::whole_leaf;
    whole = std::min(whole, off(*leaf_of(data, i, options).gsw, data(i, "gsw")));
    options = options_of(data, i);
    options.overpressure = 0;
    no_overpressure =
        std::min(no_overpressure, off(*leaf_of(data, i, options).gsw, data(i, "gsw")));
    options = options_of(data, i);
    options.vapour_pressure = VapourPressure::buck_1981;
    buck = std::min(buck, off(*leaf_of(data, i, options).gsw, data(i, "gsw")));
  }
  EXPECT_GT(first_order, 5e-5);
  EXPECT_LT(first_order, 1e-4);
  EXPECT_GT(whole, 5e-3);
  EXPECT_GT(no_overpressure, 2e-3);
  EXPECT_GT(buck, 9e-3);
}

TEST(PairedRecords, SteadyEquationsFromTheStreams) {
  const Records data;
  double E = 0, A = 0;
  std::size_t rows = 0;
  for (std::size_t i = 0; i < data.size(); ++i) {
    const auto r = flux(record_of(data, i), options_of(data, i));
    ASSERT_TRUE(r);
    E = std::max(E, std::abs(r->E - data(i, "E_steady_eq")));
    A = std::max(A, std::abs(r->A - data(i, "A_steady_eq")));
    ++rows;
  }
  EXPECT_EQ(rows, 2427U);
  // What limits it is the ten digits of the columns: CO2 of 2000 is known to 5e-7, times
  // flow/(100 area) = 0.83. The largest found: E 8.0e-9 mmol, A 5.7e-7 umol m-2 s-1.
  EXPECT_LT(E, 2e-8);
  EXPECT_LT(A, 1e-6);
}

// The authors have R = 8.314 and, in the storage term, (1 - w) of the air that comes in.
double authors_factor(const Records& data, std::size_t row) {
  return 8.314462618 / 8.314 * (1000 - data(row, "H2Or")) / (1000 - data(row, "H2Os"));
}

// A with storage from the aligned dry fractions, in umol m-2 s-1.
double dynamic_A(const Records& data, std::size_t row, double factor) {
  FluxInput in = record_of(data, row);
  in.CO2r = data(row, "CO2r_dry_aligned");
  in.CO2s = data(row, "CO2s_dry_aligned");
  in.storage = Storage{data(row, "mixing_volume_CO2"), data(row, "Tair"),
                       data(row, "dCO2s_dry_dt") * factor, 0};
  FluxOptions options = options_of(data, row);
  options.co2_per = Co2Per::dry_air;
  options.overpressure = 0;  // the authors take N at Patm
  return flux(in, options)->A;
}

TEST(PairedRecords, RecordedAOfTheStepsIsNotThatOfTheSteadyEquation) {
  // In every record A is the one with storage from the aligned, less averaged signals, also in the
  // steps: by that balance it comes back to 7.7e-7, by the steady equation from the plain columns
  // to 0.10 (median) or 2.16 (the worst, which the authors exclude) umol m-2 s-1. Storage is the
  // smaller part of that, 0.02 in the median and 0.42 at most; the rest is the other signals.
  const Records data;
  std::vector<double> steady;
  double balance = 0, storage = 0;
  for (const std::string method : {"steady", "single"})
    for (const std::size_t i : data.of(method)) {
      const double recorded = data(i, "A");
      EXPECT_EQ(recorded, data(i, "A_with_storage")) << i;
      balance = std::max(balance, std::abs(dynamic_A(data, i, authors_factor(data, i)) - recorded));
      storage = std::max(storage, std::abs(recorded - dynamic_A(data, i, 0)));
      steady.push_back(std::abs(flux(record_of(data, i), options_of(data, i))->A - recorded));
    }
  ASSERT_EQ(steady.size(), 72U);
  std::sort(steady.begin(), steady.end());
  EXPECT_LT(balance, 1e-6);
  EXPECT_NEAR(steady[36], 0.10, 0.01);
  EXPECT_NEAR(steady.back(), 2.16, 0.01);
  EXPECT_NEAR(storage, 0.42, 0.01);
}

TEST(PairedRecords, StorageTermOfTheRamps) {
  const Records data;
  double authors = 0, ours = 0, storage = 0;
  std::size_t rows = 0;
  for (const std::size_t i : data.of("ramp")) {
    const double recorded = data(i, "A_with_storage");
    authors = std::max(authors, std::abs(dynamic_A(data, i, authors_factor(data, i)) - recorded));
    ours = std::max(ours, std::abs(dynamic_A(data, i, 1) - recorded));
    storage = std::max(storage, std::abs(recorded - dynamic_A(data, i, 0)));
    ++rows;
  }
  EXPECT_EQ(rows, 2355U);
  EXPECT_GT(storage, 20);
  EXPECT_LT(authors, 1e-6) << "with the authors' R and water";
  // (1 - w) of the air in the chamber, as derived, and R of CODATA 2018: 0.095 umol m-2 s-1 of a
  // storage term of 22.9 at most, 0.4 %.
  EXPECT_LT(ours, 0.1);
  EXPECT_GT(ours, 0.05);
}

}  // namespace
}  // namespace leafwright::published
