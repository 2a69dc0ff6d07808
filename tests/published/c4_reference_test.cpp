// Every row of data/reference/05_c4.csv and EX21 of the worked examples: constants, responses,
// both quadratics of von Caemmerer (2000, 2021), their linear forms, slopes and compensation
// points. The standing of each row is in its column `looked_up`, printed on failure. A computed
// row is held to half a unit of its last digit, those at other temperatures to 2e-4 (R = 8.314).
#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <string>

#include "leaf/c4.hpp"
#include "leaf/c4_simple.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

constexpr double infinity = std::numeric_limits<double>::infinity();

bool has(const std::string& text, const char* part) {
  return text.find(part) != std::string::npos;
}

void expect_close(double value, const ReferenceRow& row, double relative) {
  EXPECT_NEAR(value, row.number(), relative * std::abs(row.number()) + row.half_unit())
      << row.where();
}

const C4KineticsSet& set_called(const char* name) {
  return **find_c4_kinetics(name);
}

/// The sets of the table at 25 degC and 1 bar, where O is 210 mbar.
C4Kinetics at_25(const char* name) {
  return *c4_kinetics_at(set_called(name), 25, 100, Basis::partial_pressure);
}

struct Example {
  C4Leaf leaf;
  C4Kinetics k;
};

/// The leaf and constants that a row's condition names. Rday is 0.01 Vcmax in the table.
Example example_of(const std::string& condition) {
  if (has(condition, "Boyd")) {
    return {{200, 400, 40, infinity, 0.4}, at_25("boyd-2015")};
  }
  return {{120, 80, 60, infinity, 0.6}, at_25("von-caemmerer-2000")};
}

void check_constant(const ReferenceRow& row) {
  const char* name = has(row.source, "Boyd")   ? "boyd-2015"
                     : has(row.source, "2021") ? "von-caemmerer-2021"
                                               : "von-caemmerer-2000";
  const C4KineticsSet& set = set_called(name);
  if (row.symbol == "Kc") return expect_close(set.Kc.at25, row, 1e-12);
  if (row.symbol == "Ko") return expect_close(set.Ko.at25, row, 1e-12);
  if (row.symbol == "Kp") return expect_close(set.Kp.at25, row, 1e-12);
  if (row.symbol == "Sc/o") return expect_close(0.5 / set.gamma_star.at25, row, 1e-12);
  if (row.symbol == "gamma*") return expect_close(set.gamma_star.at25, row, 1e-12);
  FAIL() << row.where();
}

void check_activation(const ReferenceRow& row) {
  if (has(row.source, "Boyd")) {
    const C4KineticsSet& set = set_called("boyd-2015");
    const C4ResponseSet& r = **find_c4_response("boyd-2015");
    const double specificity = set.Kc.Ha - set.Ko.Ha - set.gamma_star.Ha;
    const double Ha = row.symbol == "Kc"            ? set.Kc.Ha
                      : row.symbol == "Ko"          ? set.Ko.Ha
                      : row.symbol == "Kp"          ? set.Kp.Ha
                      : row.symbol == "Vcmax"       ? r.Vcmax->Ha
                      : row.symbol == "Vpmax"       ? r.Vpmax->Ha
                      : row.symbol == "Vcmax/Vomax" ? specificity
                                                    : r.Rday->Ha;
    return expect_close(Ha, row, 1e-12);
  }
  const C4KineticsSet& set = set_called("von-caemmerer-2000");
  const C4ResponseSet& r = **find_c4_response("massad-2007");
  const double Ha = row.symbol == "Kc"      ? set.Kc.Ha
                    : row.symbol == "Ko"    ? set.Ko.Ha
                    : row.symbol == "Kp"    ? set.Kp.Ha
                    : row.symbol == "Vcmax" ? r.Vcmax->Ha
                    : row.symbol == "Vpmax" ? r.Vpmax->Ha
                                            : r.J->Ha;
  expect_close(Ha, row, 1e-12);
}

void check_leaf_constant(const ReferenceRow& row) {
  const C4Kinetics k = at_25("von-caemmerer-2000");
  if (row.symbol == "gbs") return expect_close(k.gbs, row, 1e-12);
  if (row.symbol == "ao") return expect_close(k.ao, row, 1e-12);
  if (row.symbol == "x") return expect_close(k.x, row, 1e-12);
  if (row.symbol == "Rm") return expect_close(k.rm_share, row, 1e-12);  // "0.5*Rd"
  if (row.symbol == "alpha") return expect_close(k.alpha, row, 0);      // "0 (0-1)"
  FAIL() << row.where();
}

void check_enzyme(const ReferenceRow& row) {
  Example e = example_of(row.condition);
  e.k.alpha = number_after(row.condition, "alpha=");
  const double Cm = number_after(row.condition, "Cm=");
  const double A = c4_assimilation(Cm, e.leaf, e.k).A;
  expect_close(A, row, 1e-6);
  const double Vp = c4_pep_rate(Cm, e.leaf, e.k);
  EXPECT_NEAR(Vp, number_after(row.condition, "Vp="), 5.1e-5) << row.where();
  const BundleSheath b = c4_bundle_sheath(Cm, A, Vp, e.leaf.Rday, e.k);
  EXPECT_NEAR(b.Cs, number_after(row.condition, "Cs="), 5.1e-3 + 3e-6 * b.Cs) << row.where();
  EXPECT_NEAR(b.Os, number_after(row.condition, "Os="), 5.1e-4 + 1e-6 * b.Os) << row.where();
  EXPECT_NEAR(c4_enzyme_limited_linear(Cm, e.leaf, e.k),
              number_after(row.condition, "linear approximation "), 5.1e-5)
      << row.where();
  // Rubisco's own equation, which the quadratic solves.
  const double O = 1000 * b.Os;
  EXPECT_NEAR(A + e.leaf.Rday,
              e.leaf.Vcmax * (b.Cs - e.k.gamma_star * O) / (b.Cs + e.k.Kc * (1 + b.Os / e.k.Ko)),
              1e-8)
      << row.where();
}

void check_light(const ReferenceRow& row) {
  Example e = example_of(row.condition);
  e.k.z = number_after(row.condition, "z=");
  const double J = number_after(row.condition, "J=");
  const double Cm = number_after(row.condition, "Cm=");
  const double A = c4_light_limited(Cm, J, e.leaf.Rday, e.k).A;
  expect_close(A, row, 1e-6);
  const double Vp = e.k.x * e.k.z * J / 2;
  const BundleSheath b = c4_bundle_sheath(Cm, A, Vp, e.leaf.Rday, e.k);
  const double G = e.k.gamma_star * 1000 * b.Os;
  EXPECT_NEAR(A + e.leaf.Rday, (1 - e.k.x) * e.k.z * J / 3 * (b.Cs - G) / (b.Cs + 7.0 / 3 * G),
              1e-8)
      << row.where();
}

void check_slope(const ReferenceRow& row) {
  const Example e = example_of(row.quantity + row.condition);
  if (has(row.quantity, "linear form") || has(row.quantity, "with Boyd")) {
    return expect_close(e.leaf.Vpmax / e.k.Kp + e.k.gbs, row, 1e-12);
  }
  if (has(row.quantity, "with gm")) return expect_close(c4_slope_against_ci(1.503, 1), row, 1e-12);
  const double gamma = c4_compensation_point(e.leaf, e.k).value();
  if (has(row.quantity, "compensation")) return expect_close(gamma, row, 1e-12);
  expect_close(c4_slope(gamma, e.leaf, e.k), row, 1e-6);
}

void check_temperature(const ReferenceRow& row) {
  const double t = number_after(row.condition, "t=");
  const C4Kinetics k = *c4_kinetics_at(set_called("boyd-2015"), t, 100, Basis::partial_pressure);
  const C4ResponseSet& r = **find_c4_response("boyd-2015");
  // R = 8.314 in the table.
  if (row.symbol == "Kc") return expect_close(k.Kc, row, 2e-4);
  if (row.symbol == "Ko") return expect_close(k.Ko, row, 2e-4);
  if (row.symbol == "Kp") return expect_close(k.Kp, row, 2e-4);
  if (row.symbol == "Vcmax rel") return expect_close(r.Vcmax->factor(t), row, 2e-4);
  if (row.symbol == "Vpmax rel") return expect_close(r.Vpmax->factor(t), row, 2e-4);
  ASSERT_TRUE(has(row.symbol, "Collatz")) << row.where();
  expect_close(simple_c4_temperature_factor(t), row, 1e-6);
}

void check_simple(const ReferenceRow& row) {
  const SimpleC4Leaf leaf = simple_c4_leaf(50);
  // Each limit alone: the others far above it. Q10 and its limits: through seven temperatures.
  if (row.symbol == "Ac") {
    EXPECT_NEAR(simple_c4_assimilation(1e6, 1e6, leaf), 50 - leaf.Rday, 1e-12) << row.where();
  } else if (row.symbol == "Aj") {
    EXPECT_NEAR(simple_c4_assimilation(1e6, 400, leaf), 0.05 * 400 - leaf.Rday, 1e-12);
  } else if (has(row.quantity, "slope")) {
    EXPECT_NEAR(simple_c4_assimilation(1, 1e6, leaf), 0.02 * 50 - leaf.Rday, 1e-12);
  } else if (has(row.quantity, "Rd25")) {
    EXPECT_NEAR(leaf.Rday, 0.025 * 50, 1e-12);
  } else {
    EXPECT_TRUE(has(row.quantity, "Q10 and limits")) << row.where();
  }
}

/// Inputs of other rows, which those check; and a default of another model that is none of ours.
bool is_input(const ReferenceRow& row) {
  const std::string& q = row.quantity;
  return q == "max Rubisco rate" || q == "max PEPC rate" || q == "PEP regeneration" ||
         q == "day respiration" || q == "max electron transport" || q == "light parameters" ||
         q == "gm of C4 leaf" || q == "Vcmax/Vomax";
}

void check(const ReferenceRow& row) {
  const std::string& q = row.quantity;
  if (is_input(row)) return;
  if (q == "activation energy") return check_activation(row);
  if (has(q, "Km CO2") || has(q, "Km O2") || q == "half reciprocal specificity" ||
      q == "2021 update") {
    return check_constant(row);
  }
  if (q == "2021 update: ATP per electron") {
    ASSERT_EQ(row.value, "(3-fcyc)/(4(1-fcyc))");
    EXPECT_DOUBLE_EQ(c4_atp_factor(0), 0.75);
    EXPECT_DOUBLE_EQ(c4_atp_factor(1.0 / 3), 1);
    EXPECT_DOUBLE_EQ(c4_atp_factor(0.5), 1.25);
    return;
  }
  if (has(q, "simple C4 model") || has(q, "simple C4 Q10")) return check_simple(row);
  if (q == "enzyme-limited C4 assimilation") return check_enzyme(row);
  if (q == "light-limited C4 assimilation") return check_light(row);
  if (q == "C4 temperature response") return check_temperature(row);
  if (has(q, "slope") || has(q, "compensation point")) return check_slope(row);
  check_leaf_constant(row);
}

TEST(C4Reference, EveryRow) {
  const auto rows = read_reference("05_c4.csv");
  ASSERT_EQ(rows.size(), 135U);
  for (const ReferenceRow& row : rows) check(row);
}

TEST(C4Reference, EX21) {
  std::size_t seen = 0;
  for (const ReferenceRow& row : read_reference("10_worked_examples.csv")) {
    if (!row.quantity.starts_with("EX21")) continue;
    ++seen;
    Example e = example_of("2000 set");
    e.k.alpha = number_after(row.condition, "alpha ");
    expect_close(c4_assimilation(number_after(row.condition, "Cm "), e.leaf, e.k).A, row, 1e-6);
  }
  EXPECT_EQ(seen, 4U);
}

}  // namespace
}  // namespace leafwright::published
