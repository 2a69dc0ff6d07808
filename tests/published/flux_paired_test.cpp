// A published log through the whole path of `leafwright flux`: table, map, typed log, curves, rows,
// table again. Braun et al. 2024 (data/paired/README.md; CC BY 4.0), the steady rows, whose columns
// A_steady_eq and E_steady_eq are what the authors' steady equations give.
#include <gtest/gtest.h>

#include <cmath>
#include <fstream>
#include <memory>
#include <sstream>

#include "log/flux.hpp"
#include "log/flux_csv.hpp"
#include "table/table.hpp"

namespace leafwright::published {
namespace {

std::string bytes_of(const std::string& name) {
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/paired/" + name,
                     std::ios::binary);
  std::ostringstream out;
  out << file.rdbuf();
  return out.str();
}

/// The table that `flux` writes of the published log.
Table computed(bool recorded) {
  const auto map = read_map(
      "[columns]\noverpressure = {title = \"chamber_overpressure\", unit = \"kPa\"}\n", "map.toml");
  auto table = read_table(bytes_of("points.csv"), "points.csv");
  if (!map || !table) throw std::runtime_error("points.csv cannot be read");
  const auto log = read_log(std::make_shared<const Table>(std::move(*table)), *map);
  if (!log) throw std::runtime_error(log.error().text());
  const auto axis = time_axis(*log);
  const auto cut = cut_log(*log, *axis, nullptr, {});
  const auto instrument = read_instrument("gbw_is = \"per side\"\n", "chamber.toml");
  FluxChoice choice;
  choice.recorded = recorded;
  const FluxSource source{&*log, &*axis, &*cut, nullptr, &*instrument, nullptr};
  const auto rows = flux_rows(source, choice);
  if (!rows) throw std::runtime_error(rows.error().text());
  auto out = flux_table(source, *rows);
  if (!out) throw std::runtime_error(out.error().text());
  auto read = read_table(std::move(out->csv), "fluxes.csv");
  if (!read) throw std::runtime_error(read.error().text());
  return std::move(*read);
}

double at(const Table& table, const std::string& name, std::size_t row) {
  return (*table.number(*table.find(name), row)).value_or(std::nan(""));
}

bool is_steady(const Table& table, std::size_t row) {
  return table.text(*table.find("method"), row) == "steady";
}

TEST(FluxOfAPublishedLog, GswAndCiFromRecordedAAndE) {
  const Table table = computed(true);
  ASSERT_EQ(table.rows(), 2427U);
  std::size_t rows = 0;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (!is_steady(table, row)) continue;
    ++rows;
    EXPECT_NEAR(at(table, "gsw", row) / at(table, "gsw_recorded", row), 1, 1e-8) << row;
    EXPECT_NEAR(at(table, "Ci", row) / at(table, "Ci_recorded", row), 1, 1e-8) << row;
    EXPECT_NEAR(at(table, "VPDleaf", row) / at(table, "VPDleaf_recorded", row), 1, 1e-8) << row;
    EXPECT_EQ(at(table, "use", row), 1) << row;
  }
  EXPECT_EQ(rows, 68U);
}

TEST(FluxOfAPublishedLog, AAndEOfTheSteadyEquations) {
  const Table table = computed(false);
  std::size_t rows = 0;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    if (!is_steady(table, row)) continue;
    ++rows;
    // Ten digits of CO2 up to 2000 umol mol-1 leave 5e-7, times flow/(100 area) = 0.83.
    EXPECT_NEAR(at(table, "A", row), at(table, "A_steady_eq", row), 1e-6) << row;
    EXPECT_NEAR(at(table, "E", row), at(table, "E_steady_eq", row), 2e-8) << row;
  }
  EXPECT_EQ(rows, 68U);
}

TEST(FluxOfAPublishedLog, NothingOfTheLogIsLost) {
  auto raw = read_table(bytes_of("points.csv"), "points.csv");
  const Table table = computed(false);
  ASSERT_EQ(table.rows(), raw->rows());
  for (std::size_t column = 0; column < raw->columns(); ++column) {
    std::string name = raw->name(column);
    if (table.has(name + "_recorded")) name += "_recorded";
    const auto carried = table.find(name);
    ASSERT_TRUE(carried) << name;
    for (std::size_t row = 0; row < raw->rows(); ++row) {
      ASSERT_EQ(table.text(*carried, row), raw->text(column, row)) << name << " " << row;
    }
  }
}

}  // namespace
}  // namespace leafwright::published
