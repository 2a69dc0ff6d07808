// The tables in this folder are what the program makes, obey the standard equations row by row, and
// hold the leaves that truth.csv states.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <string>
#include <vector>

#include "campaign.hpp"
#include "leaf/response.hpp"
#include "ramps.hpp"

namespace leafwright::demo {
namespace {

std::string read(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_DEMO_DIR) + "/" + name, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
}

/// First line in which two texts differ, for people.
std::string first_difference(const std::string& a, const std::string& b) {
  std::size_t line = 1, i = 0;
  for (; i < a.size() && i < b.size() && a[i] == b[i]; ++i)
    if (a[i] == '\n') ++line;
  return "first difference in line " + std::to_string(line) + ", byte " + std::to_string(i);
}

using Record = std::map<std::string, std::string>;

std::vector<std::string> split(const std::string& line) {
  std::vector<std::string> cells(1);
  for (const char c : line) {
    if (c == ',')
      cells.emplace_back();
    else
      cells.back() += c;
  }
  return cells;
}

std::vector<Record> records(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_DEMO_DIR) + "/" + name);
  std::string line;
  std::getline(file, line);
  const std::vector<std::string> names = split(line);
  std::vector<Record> rows;
  while (std::getline(file, line)) {
    const std::vector<std::string> cells = split(line);
    EXPECT_EQ(cells.size(), names.size()) << line;
    Record row;
    for (std::size_t i = 0; i < names.size() && i < cells.size(); ++i) row[names[i]] = cells[i];
    rows.push_back(row);
  }
  return rows;
}

double number(const Record& row, const std::string& name) {
  return std::strtod(row.at(name).c_str(), nullptr);
}

TEST(Demo, TablesAreWhatTheProgramMakes) {
  const Campaign campaign = make_campaign(demo_seed);
  const RampDay ramps = make_ramp_day(campaign, demo_seed);
  const std::string points = points_csv(campaign), truth = truth_csv(campaign) + ramps.truth;
  EXPECT_TRUE(points == read("points.csv")) << first_difference(points, read("points.csv"));
  EXPECT_TRUE(truth == read("truth.csv")) << first_difference(truth, read("truth.csv"));
  EXPECT_EQ(samples_csv(campaign) + ramps.samples, read("samples.csv"));
  EXPECT_TRUE(ramps.empty == read("terrace-empty.txt"));
  EXPECT_TRUE(ramps.ramps == read("terrace-ramps.txt"))
      << first_difference(ramps.ramps, read("terrace-ramps.txt"));
  for (int of_day = 0; of_day < 3; ++of_day) {
    const std::string name = "terrace-" + std::to_string(of_day + 1) + ".txt";
    const std::string log = terrace_log(campaign, of_day);
    EXPECT_TRUE(log == read(name)) << name << ": " << first_difference(log, read(name));
  }
}

TEST(Demo, AnotherSeedMakesAnotherCampaign) {
  EXPECT_NE(points_csv(make_campaign(demo_seed + 1)), read("points.csv"));
}

// The same equations as chamber.hpp in their unit forms (mmol mol-1, umol s-1, cm2), written apart.
void expect_standard_equations(const Record& row) {
  const auto value = [&row](const char* name) { return number(row, name); };
  const std::string where = "record " + row.at("record");
  const double F = value("flow"), s = value("area"), P = value("Patm");
  const double Wi = value("H2Or"), Wo = value("H2Os"), Co = value("CO2s");
  const double E = F * (Wo - Wi) / (100 * s * (1000 - Wo));  // mol m-2 s-1
  const double A = F * (value("CO2r") - Co * (1000 - Wi) / (1000 - Wo)) / (100 * s);
  EXPECT_NEAR(value("E"), 1000 * E, 6e-6) << where;
  EXPECT_NEAR(value("A"), A, 6e-5) << where;
  const auto es = [](double t) { return 0.61365 * std::exp(17.502 * t / (240.97 + t)); };
  EXPECT_NEAR(value("RHs"), 100 * Wo / 1000 * P / es(value("Tair")), 6e-4) << where;
  if (row.at("Tleaf").empty()) {
    for (const char* name : {"gsw", "Ci", "VPDleaf"}) EXPECT_EQ(row.at(name), "") << where;
    return;
  }
  EXPECT_NEAR(value("VPDleaf"), es(value("Tleaf")) - Wo / 1000 * P, 6e-6) << where;
  const double Wl = 1000 * es(value("Tleaf")) / P, K = value("stomatal_ratio");
  const double k = (K * K + 1) / (K + 1) / (K + 1), gb = value("gbw") / 1000;
  const double gt = E * (1000 - (Wl + Wo) / 2) / (Wl - Wo);
  const double gs = 1 / (1 / gt - k / gb);
  EXPECT_NEAR(value("gsw"), 1000 * gs, 6e-4) << where;
  const double gc = 1 / (1.6 / gs + 1.37 * k / gb);
  EXPECT_NEAR(value("Ci"), ((gc - E / 2) * Co - A) / (gc + E / 2), 6e-4) << where;
}

TEST(Demo, EveryRowObeysTheStandardEquations) {
  const std::vector<Record> rows = records("points.csv");
  EXPECT_GT(rows.size(), 250U);
  for (const Record& row : rows) expect_standard_equations(row);
}

TEST(Demo, TimeRunsForward) {
  double before = -1;
  for (const Record& row : records("points.csv")) {
    EXPECT_GT(number(row, "elapsed_s"), before);
    before = number(row, "elapsed_s");
  }
}

/// What the stated leaf does at this row's Ci and leaf temperature.
double modelled(const Record& leaf, const Record& row) {
  const double T = number(row, "Tleaf");
  const Kinetics k = *kinetics_at(**find_kinetics("bernacchi-2001"), T, number(row, "Patm"),
                                  Basis::partial_pressure);
  const ResponseSet& plain = **find_response("bernacchi-2001");
  const C3Leaf at_T{number(leaf, "Vcmax25") * plain.Vcmax->factor(T),
                    number(leaf, "J25") * plain.J->factor(T),
                    number(leaf, "TPU25") * (*find_response("sharkey-2007"))->TPU->factor(T),
                    number(leaf, "Rday25") * plain.Rday->factor(T)};
  return c3_assimilation(number(row, "Ci"), at_T, k).A;
}

/// The rows of truth.csv that are step curves; the others have a lag.
std::vector<Record> step_curves() {
  std::vector<Record> out;
  for (const Record& row : records("truth.csv")) {
    if (row.at("lag_s").empty()) out.push_back(row);
  }
  return out;
}

TEST(Demo, RampsAreOfLeavesWithStepCurvesAndOfOneEmptyChamber) {
  std::map<std::string, Record> leaves;
  for (const Record& leaf : step_curves()) leaves[leaf.at("leaf_id")] = leaf;
  std::map<std::string, int> curves;
  int empty = 0;
  for (const Record& row : records("truth.csv")) {
    if (row.at("lag_s").empty()) continue;
    if (row.at("leaf_id").empty()) {
      ++empty;
      continue;
    }
    ++curves[row.at("leaf_id")];
    for (const char* name : {"Vcmax25", "J25", "TPU25", "Rday25", "plant_id", "treatment"}) {
      EXPECT_EQ(row.at(name), leaves.at(row.at("leaf_id")).at(name)) << row.at("curve_id");
    }
  }
  EXPECT_EQ(empty, 1);
  EXPECT_EQ(curves.size(), 4U);
  EXPECT_EQ(curves["lt-a2-1"], 2);
}

TEST(Demo, TruthExplainsEveryLeafAndTheFaultsStandOut) {
  const std::vector<Record> points = records("points.csv"), truth = step_curves();
  ASSERT_EQ(truth.size(), 24U);
  double faults = 0;
  for (const Record& leaf : truth) {
    double outliers = 0, rows = 0, used = 0;
    for (const Record& row : points) {
      if (row.at("curve_id") != leaf.at("curve_id")) continue;
      ++rows;
      if (row.at("use") != "1") continue;
      ++used;
      // Noise and wandering stay well below 1.5 umol m-2 s-1; the planted faults do not.
      if (std::abs(number(row, "A") - modelled(leaf, row)) > 1.5) ++outliers;
    }
    EXPECT_EQ(rows, number(leaf, "rows")) << leaf.at("leaf_id");
    EXPECT_EQ(used, number(leaf, "rows_used")) << leaf.at("leaf_id");
    EXPECT_EQ(outliers, number(leaf, "unmarked_faults")) << leaf.at("leaf_id");
    faults += outliers;
  }
  EXPECT_EQ(faults, 2);
}

TEST(Demo, HoldsEveryKindOfTrouble) {
  std::map<std::string, int> remarks;
  int with_tpu = 0;
  for (const Record& leaf : step_curves()) {
    if (!leaf.at("remark").empty()) ++remarks[leaf.at("remark")];
    if (number(leaf, "tpu_rows") >= 2) ++with_tpu;
  }
  EXPECT_EQ(remarks.size(), 9U);
  EXPECT_EQ(with_tpu, 8);
  int unused = 0;
  for (const Record& row : records("points.csv")) {
    if (row.at("use") == "1") continue;
    ++unused;
    EXPECT_FALSE(row.at("why").empty());
  }
  EXPECT_EQ(unused, 4);
}

}  // namespace
}  // namespace leafwright::demo
