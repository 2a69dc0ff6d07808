// Worked examples of the C3 model, the responses and the constants, from data/reference (standing
// in the column `looked_up` of each row, printed on failure). EX04-EX06 are published figures,
// EX07-EX08 published inputs with outputs computed independently, the others constructed.
#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <string>
#include <vector>

#include "fit/electron_fit.hpp"
#include "leaf/c3.hpp"
#include "leaf/kinetics.hpp"
#include "leaf/response.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

// The name of what is computed: "EX13 Ac" -> "Ac".
std::string what(const ReferenceRow& row) {
  return row.quantity.substr(row.quantity.find(' ') + 1);
}

// A stated number is known to half a unit of its last digit, whatever the tolerance of the example.
void expect_close(double value, const ReferenceRow& row, double relative) {
  EXPECT_NEAR(value, row.number(), relative * std::abs(row.number()) + row.half_unit())
      << row.where();
}

Kinetics bernacchi_2001_at_25() {
  return *kinetics_at(**find_kinetics("bernacchi-2001"), 25, 101.325, Basis::partial_pressure);
}

const C3Leaf leaf_of_ex13{80, 150, 10, 1.2};

TEST(WorkedExamples, EX04AndEX05KattgeKnorrRatios) {
  // The source takes the growth temperature equal to the leaf's, 10 degC, below the range that
  // kattge_knorr_2007 accepts; its entropy term is therefore written out here.
  const auto vcmax = example("EX04"), jmax = example("EX05");
  ASSERT_EQ(vcmax.size(), 1U);
  ASSERT_EQ(jmax.size(), 1U);
  const GrowthResponse any = *kattge_knorr_2007(20);
  const double v10 = peaked(any.Vcmax.Ha, any.Vcmax.Hd, 668.39 - 1.07 * 10, 10);
  const double j10 = peaked(any.J.Ha, any.J.Hd, 659.70 - 0.75 * 10, 10);
  expect_close(100 * (1 / v10 - 1), vcmax[0], 1e-4);
  expect_close(100 * (1 / j10 - 1), jmax[0], 1e-4);
}

TEST(WorkedExamples, EX06KcAndKoAsPressures) {
  const auto rows = example("EX06");
  ASSERT_EQ(rows.size(), 2U);
  const Kinetics k = bernacchi_2001_at_25();
  EXPECT_NEAR(k.Kc * 1e-6 * 101325, rows[0].number(), 1e-12 * rows[0].number());
  EXPECT_NEAR(k.Ko * 1e-3 * 101325, rows[1].number(), 1e-12 * rows[1].number());
}

// EX07 and EX08: one leaf at three temperatures, all intermediates.
std::map<std::string, double> textbook_leaf(double t) {
  KineticOverrides given;
  given.O = 209;
  // The textbook holds Gamma* at its value for 210 mmol mol-1.
  given.gamma_star = 42.75 * arrhenius((*find_kinetics("bernacchi-2001"))->gamma_star.Ha, t);
  const Kinetics k =
      *kinetics_at(**find_kinetics("bernacchi-2001"), t, 101.325, Basis::partial_pressure, given);
  C3Leaf leaf;
  leaf.Vcmax = 60 * peaked(65.33, 150, 490, t);
  const double Jmax = 100.2 * peaked(43.54, 150, 490, t);
  const double Rd = 0.9 * peaked(46.39, 150, 490, t);
  leaf.J = electron_transport(0.5 * 0.85 * 1600, Jmax, 0.9);
  const double Ac = c3_limited_rate(Limitation::rubisco, 266, leaf, k);
  const double Aj = c3_limited_rate(Limitation::rubp, 266, leaf, k);
  const double Ag = smooth_minimum(Ac, Aj, 0.98);
  return {{"Kc", k.Kc},          {"Ko", k.Ko},     {"Gamma*", k.gamma_star},
          {"Vcmax", leaf.Vcmax}, {"Jmax", Jmax},   {"Rd", Rd},
          {"J", leaf.J},         {"Ac gross", Ac}, {"Aj gross", Aj},
          {"Ag co-limited", Ag}, {"An", Ag - Rd}};
}

TEST(WorkedExamples, EX07AndEX08TextbookLeaf) {
  const auto at25 = example("EX07"), elsewhere = example("EX08");
  ASSERT_EQ(at25.size(), 5U);
  ASSERT_EQ(elsewhere.size(), 20U);
  for (const ReferenceRow& row : at25) expect_close(textbook_leaf(25).at(what(row)), row, 1e-5);
  for (const ReferenceRow& row : elsewhere)
    expect_close(textbook_leaf(number_after(row.condition, "t=")).at(what(row)), row, 1e-5);
}

TEST(WorkedExamples, EX13LimitedRates) {
  const auto rows = example("EX13");
  ASSERT_EQ(rows.size(), 48U);
  const Kinetics k = bernacchi_2001_at_25();
  const Electrons nadph{4, 8}, atp{4.5, 10.5};
  int missing = 0;
  for (const ReferenceRow& row : rows) {
    const double Ci = number_after(row.condition, "Ci=");
    const auto rate = [&](Limitation l, const Electrons& e, double alpha) {
      return c3_limited_rate(l, Ci, leaf_of_ex13, k, e, alpha);
    };
    const std::map<std::string, double> rates = {
        {"Ac", rate(Limitation::rubisco, nadph, 0)},
        {"Aj(4/8)", rate(Limitation::rubp, nadph, 0)},
        {"Aj(4.5/10.5)", rate(Limitation::rubp, atp, 0)},
        {"Ap", rate(Limitation::tpu, nadph, 0)},
        {"Ap(alpha=0.1)", rate(Limitation::tpu, nadph, 0.1)},
        {"min(Ac,Aj,Ap)", c3_assimilation(Ci, leaf_of_ex13, k).A}};
    const double value = rates.at(what(row));
    if (row.value == "nan") {  // at or below the CO2 where TPU can limit
      EXPECT_EQ(value, std::numeric_limits<double>::infinity()) << row.where();
      ++missing;
    } else {
      expect_close(value, row, 1e-5);
    }
    // The condition ends with the state: c, j or p.
    const char state = row.condition.back();
    const Limitation by = c3_assimilation(Ci, leaf_of_ex13, k).limited_by;
    EXPECT_EQ(by, state == 'c'   ? Limitation::rubisco
                  : state == 'j' ? Limitation::rubp
                                 : Limitation::tpu)
        << row.where();
  }
  EXPECT_EQ(missing, 1);
}

TEST(WorkedExamples, EX14MesophyllConductance) {
  const auto rows = example("EX14");
  ASSERT_EQ(rows.size(), 16U);
  const KineticsSet& set = **find_kinetics("bernacchi-2002");
  const Kinetics k = *kinetics_at(set, 25, set.pressure, Basis::partial_pressure);
  const C3Leaf leaf{80, 150, std::numeric_limits<double>::infinity(), 1.2};
  for (const ReferenceRow& row : rows) {
    const double Ci = number_after(row.condition, "Ci="), gm = number_after(row.condition, "gm ");
    const Limitation l = row.quantity.ends_with("Ac") ? Limitation::rubisco : Limitation::rubp;
    const double A = c3_limited_rate_gm(l, Ci, gm, leaf, k);
    expect_close(what(row).starts_with("Cc") ? Ci - A / gm : A, row, 1e-6);
  }
}

TEST(WorkedExamples, EX15ElectronTransport) {
  const auto rows = example("EX15");
  ASSERT_EQ(rows.size(), 5U);
  for (const ReferenceRow& row : rows)
    expect_close(electron_transport(0.36125 * number_after(row.condition, "Q="), 200, 0.7), row,
                 1e-6);
}

TEST(WorkedExamples, EX15BackwardsGivesTheJmaxItWasMadeWith) {
  for (const ReferenceRow& row : example("EX15")) {
    const double I2 = photosystem_light(number_after(row.condition, "Q="), 0.85, 0.15);
    EXPECT_NEAR(I2, 0.36125 * number_after(row.condition, "Q="), 1e-9);
    EXPECT_NEAR(jmax_from_transport(row.number(), I2, 0.7), 200, 2e-4) << row.condition;
  }
}

// The same values as data: the fit finds the Jmax and theta that they were made with.
TEST(WorkedExamples, EX15IsRecoveredByTheFitToLight) {
  std::vector<ResponsePoint> points;
  for (const ReferenceRow& row : example("EX15")) {
    points.push_back({number_after(row.condition, "Q="), row.number(), "", points.size(), {}});
  }
  const auto fit =
      fit_electron_transport("J", points, {.absorptance = 0.85, .spectral_loss = 0.15});
  ASSERT_TRUE(fit) << fit.error().text();
  ASSERT_EQ(fit->estimates[0].symbol, "Jmax");
  EXPECT_NEAR(*fit->estimates[0].value, 200, 1e-3);
  EXPECT_NEAR(*fit->estimates[1].value, 0.7, 1e-4);
  EXPECT_NEAR(*fit->estimates[2].value, 0.36125, 1e-12);
}

TEST(WorkedExamples, EX16CompensationPoint) {
  const auto rows = example("EX16");
  ASSERT_EQ(rows.size(), 1U);
  expect_close(compensation_point_rubisco(leaf_of_ex13, bernacchi_2001_at_25()), rows[0], 1e-5);
}

TEST(WorkedExamples, EX17OnePointVcmax) {
  const auto rows = example("EX17");
  ASSERT_EQ(rows.size(), 2U);
  expect_close(one_point_vcmax_fraction(18, 280, 0.015, bernacchi_2001_at_25()), rows[0], 1e-6);
  expect_close(one_point_vcmax(18, 280, 1.0, bernacchi_2001_at_25()), rows[1], 1e-6);
}

TEST(WorkedExamples, EX22BelowGammaStar) {
  const auto rows = example("EX22");
  ASSERT_EQ(rows.size(), 4U);
  const Kinetics k = bernacchi_2001_at_25();
  for (const ReferenceRow& row : rows) {
    const double Ci = number_after(row.condition, "Ci=");
    // "wrong" is the lower net rate: what a model that takes the minimum too late would give.
    const double wrong = std::min(c3_limited_rate(Limitation::rubisco, Ci, leaf_of_ex13, k),
                                  c3_limited_rate(Limitation::rubp, Ci, leaf_of_ex13, k));
    const bool right = row.quantity.find("(correct)") != std::string::npos;
    expect_close(right ? c3_assimilation(Ci, leaf_of_ex13, k).A : wrong, row, 1e-6);
  }
}

}  // namespace
}  // namespace leafwright::published
