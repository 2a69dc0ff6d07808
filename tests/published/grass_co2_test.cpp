// Asymptotic-exponential curves of twelve plants of a grass (data/grass_co2: uptake against ambient
// CO2; Potvin, Lechowicz & Tardif 1990, Ecology 71:1389), against what R 4.2.2 `nls` made of them.
// nls stops where its relative offset is below 1e-5 (Bates & Watts 1981), that is, where its next
// Gauss-Newton step would be up to sqrt(3) 1e-5 standard errors long; as such steps do not end at
// the minimum where residuals are not small, 3e-5 is allowed. The sums of squares agree to 1e-8.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include "fit/hyperbola.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

std::vector<std::vector<std::string>> rows_of(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/grass_co2/" + name);
  std::vector<std::vector<std::string>> out;
  std::string line;
  while (std::getline(file, line)) out.push_back(split_csv(line));
  return out;
}

struct Plant {
  std::vector<double> C, A;
};

std::map<std::string, Plant> plants() {
  std::map<std::string, Plant> out;
  const auto rows = rows_of("points.csv");
  for (std::size_t i = 1; i < rows.size(); ++i) {
    out[rows[i][0]].C.push_back(std::stod(rows[i][3]));
    out[rows[i][0]].A.push_back(std::stod(rows[i][4]));
  }
  return out;
}

const ResponseEstimate& estimate(const EmpiricalFit& fit, const std::string& symbol) {
  for (const ResponseEstimate& e : fit.estimates) {
    if (e.symbol == symbol) return e;
  }
  throw std::runtime_error("no " + symbol);
}

TEST(GrassCo2, PerPlantCurvesAgreeWithNls) {
  const std::map<std::string, std::string> ours{
      {"Asym", "Asat"}, {"lrc", "ln_k"}, {"c0", "CO2comp"}};
  std::map<std::string, EmpiricalFit> fits;
  for (const auto& [name, plant] : plants()) {
    auto fit = fit_empirical(plant.C, plant.A, EmpiricalForm::exponential);
    ASSERT_TRUE(fit.has_value()) << fit.error().text();
    fits.emplace(name, std::move(*fit));
  }
  ASSERT_EQ(fits.size(), 12U);
  std::size_t compared = 0;
  for (const auto& row : rows_of("reference_fits.csv")) {
    if (row[0] != "asymptotic_offset_per_plant") continue;
    const EmpiricalFit& fit = fits.at(row[2]);
    const double value = std::stod(row[4]);
    if (row[3] == "RSS") {
      EXPECT_NEAR(fit.ssr, value, 1e-8 * value) << row[2];
      ++compared;
    }
    if (!ours.contains(row[3])) continue;
    const ResponseEstimate& e = estimate(fit, ours.at(row[3]));
    const double se = std::stod(row[5]);
    // The estimate of an open side has no value; the parameter is there all the same.
    const std::size_t k = row[3] == "Asym" ? 0 : (row[3] == "lrc" ? 1 : 2);
    EXPECT_NEAR(fit.parameters[k], value, 3e-5 * se) << row[2] << " " << row[3];
    if (e.se) {
      EXPECT_NEAR(*e.se, se, 1e-4 * se) << row[2] << " " << row[3];
    }
    ++compared;
  }
  EXPECT_EQ(compared, 48U);
}

}  // namespace
}  // namespace leafwright::published
