// Kinetics and temperature responses against the reference tables (data/reference/README.md). The
// standing of every expected value is the column `looked_up` of its row and is printed on failure.
#include <gtest/gtest.h>

#include <cmath>
#include <cstdlib>
#include <map>
#include <optional>
#include <stdexcept>
#include <string>
#include <vector>

#include "leaf/kinetics.hpp"
#include "leaf/response.hpp"
#include "published/reference_csv.hpp"

namespace leafwright::published {
namespace {

constexpr double tolerance = 2e-4;  // relative: the table was made with R = 8.314

const KineticsSet& kinetics_of(const std::string& source) {
  if (source == "Bernacchi 2001") return **find_kinetics("bernacchi-2001");
  if (source == "Bernacchi 2002/Sharkey 2007") return **find_kinetics("bernacchi-2002");
  if (source.find("gm infinite") != std::string::npos) return **find_kinetics("von-caemmerer-1994");
  if (source.find("gm=0.3") != std::string::npos)
    return **find_kinetics("von-caemmerer-1994-gm-0.3");
  throw std::runtime_error("unknown source: " + source);
}

double constant_of(const Kinetics& k, const std::string& symbol) {
  if (symbol == "Kc") return k.Kc;
  if (symbol == "Ko") return k.Ko;
  if (symbol == "Gamma*") return k.gamma_star;
  if (symbol == "Km=Kc(1+O/Ko)") return k.Km;
  throw std::runtime_error("unknown symbol: " + symbol);
}

void check_constant(const ReferenceRow& row) {
  const KineticsSet& set = kinetics_of(row.source);
  ASSERT_EQ(number_after(row.condition, "O2="), set.O) << row.where();
  const double t = number_after(row.condition, "t=");
  // At the pressure where the set's mole fractions hold, both bases must give the table.
  for (const Basis basis : {Basis::partial_pressure, Basis::mole_fraction}) {
    const auto k = kinetics_at(set, t, set.pressure, basis);
    ASSERT_TRUE(k) << row.where();
    EXPECT_NEAR(constant_of(*k, row.symbol) / row.number(), 1, tolerance) << row.where();
  }
}

// The response a row of "temperature scaling" is about; empty where the set has none for it.
std::optional<Response> response_of(const ReferenceRow& row) {
  const std::string& s = row.symbol;
  const auto named = [](const char* name) { return *find_response(name); };
  if (s == "Vcmax, Arrhenius Ha 65.33") return named("bernacchi-2001")->Vcmax;
  if (s == "Rd, Arrhenius Ha 46.39") return named("bernacchi-2001")->Rday;
  if (s == "Jmax, Arrhenius Ha 43.54") return named("bernacchi-2001")->J;
  if (s == "J, Arrhenius Ha 43.9") return named("sharkey-2007")->J;
  if (s == "TPU, peaked c 21.46 53.1/201.8/0.65") return named("sharkey-2007")->TPU;
  // No set holds a response of gm; the peaked form itself is checked.
  if (s == "gm, peaked c 20.01 49.6/437.4/1.4") return Response{49.6, 437.4, 1400};
  if (s == "Vcmax, peaked 65330/149250/485") return named("bonan-2011")->Vcmax;
  if (s == "Jmax, peaked 43540/152040/495") return named("bonan-2011")->J;
  if (s == "Rd, peaked 46390/150650/490") return named("bonan-2011")->Rday;
  if (s == "Vcmax, peaked 73637/149252/486") return named("leuning-2002")->Vcmax;
  if (s == "Jmax, peaked 50300/152044/495") return named("leuning-2002")->J;
  if (s.find("Kattge-Knorr") != std::string::npos) {
    const int growth = static_cast<int>(number_after(s, "Tg="));
    const ResponseSet* set = *find_response("kattge-knorr-2007-tg" + std::to_string(growth));
    return s.starts_with("Vcmax") ? set->Vcmax : set->J;
  }
  throw std::runtime_error("unknown scaling: " + s);
}

// The table gives TPU and gm as exp(c - Ha/RT)/(1 + ...), which the digits of c leave off 1 at
// 25 degC; Leafwright holds 1 exactly, so these are compared relative to their own 25 degC row.
bool in_c_form(const ReferenceRow& row) {
  return row.symbol.find("peaked c ") != std::string::npos;
}

std::map<std::string, double> c_form_at_25(const std::vector<ReferenceRow>& rows) {
  std::map<std::string, double> at25;
  for (const ReferenceRow& row : rows)
    if (in_c_form(row) && number_after(row.condition, "t=") == 25) at25[row.symbol] = row.number();
  return at25;
}

void check_optimum(const ReferenceRow& row) {
  const auto grown = kattge_knorr_2007(number_after(row.condition, "Tg="));
  ASSERT_TRUE(grown) << row.where();
  const Response& r = row.symbol == "Topt Vcmax" ? grown->Vcmax : grown->J;
  // As a temperature in K: relative to its zero in degC a tolerance would mean nothing.
  const double optimum = peaked_optimum(r.Ha, r.Hd, r.dS) + zero_celsius;
  EXPECT_NEAR(optimum / (row.number() + zero_celsius), 1, tolerance) << row.where();
}

bool check_conversion(const ReferenceRow& row) {
  const KineticsSet& set = **find_kinetics("bernacchi-2001");
  const double patm = number_after(row.condition, "P=");
  if (row.symbol == "Kc 404.9 umol mol-1 held as mole fraction") {
    const auto k = kinetics_at(set, 25, patm, Basis::mole_fraction);
    EXPECT_NEAR(k->Kc * patm / 1000 / row.number(), 1, tolerance) << row.where();
    return true;
  }
  if (row.symbol == "Kc 41.0265 Pa held as pressure") {
    const auto k = kinetics_at(set, 25, patm, Basis::partial_pressure);
    EXPECT_NEAR(k->Kc / row.number(), 1, tolerance) << row.where();
    return true;
  }
  return false;
}

TEST(KineticsComputed, EveryRowIsCheckedOrListed) {
  const std::vector<ReferenceRow> rows = read_reference("04_kinetics_computed.csv");
  const std::map<std::string, double> at25 = c_form_at_25(rows);
  std::map<std::string, int> checked, listed;
  for (const ReferenceRow& row : rows) {
    if (row.quantity == "kinetic constant") {
      check_constant(row);
    } else if (row.quantity == "temperature scaling") {
      const double t = number_after(row.condition, "t=");
      if (in_c_form(row) && t == 25) {
        ++listed["what the digits of c leave off 1 at 25 degC: the divisor of the rows below"];
        continue;
      }
      const double expected = in_c_form(row) ? row.number() / at25.at(row.symbol) : row.number();
      EXPECT_NEAR(response_of(row)->factor(t) / expected, 1, tolerance) << row.where();
    } else if (row.quantity == "temperature optimum") {
      check_optimum(row);
    } else if (row.quantity == "ratio at 25 degC") {
      const auto grown = kattge_knorr_2007(number_after(row.condition, "Tg="));
      ASSERT_TRUE(grown);
      EXPECT_NEAR(grown->J_to_Vcmax / row.number(), 1, tolerance) << row.where();
    } else if (row.quantity == "unit conversion") {
      if (!check_conversion(row)) {
        EXPECT_EQ(row.symbol, "400 umol mol-1") << row.where();
        ++listed["x P of a bare mole fraction: no kinetics in it"];
        continue;
      }
    } else {
      ADD_FAILURE() << "a row of a kind not known here: " << row.where();
    }
    ++checked[row.quantity];
  }
  EXPECT_EQ(rows.size(), 275U);
  EXPECT_EQ(checked, (std::map<std::string, int>{{"kinetic constant", 112},
                                                 {"temperature scaling", 131},
                                                 {"temperature optimum", 12},
                                                 {"ratio at 25 degC", 6},
                                                 {"unit conversion", 8}}));
  int listed_rows = 0;
  for (const auto& [why, count] : listed) listed_rows += count;
  EXPECT_EQ(listed_rows, 2 + 4);
}

// The constants as typed into the library against the constants as published.
struct Typed {
  const char* symbol;
  const char* source;  // part of the row's source
  double value;
};

void expect_published(const std::vector<ReferenceRow>& rows, const Typed& typed, double unit = 1) {
  int found = 0;
  for (const ReferenceRow& row : rows) {
    if (row.symbol != typed.symbol || row.source.find(typed.source) == std::string::npos) continue;
    if (row.unit.starts_with("Pa") || row.unit.starts_with("kPa")) continue;
    // "59.4 (59.36)" gives the unrounded value in brackets.
    const std::size_t bracket = row.value.find("(5");
    const double value = bracket == std::string::npos
                             ? row.number()
                             : std::strtod(row.value.c_str() + bracket + 1, nullptr);
    if (std::abs(value * unit - typed.value) <= 1e-12 * typed.value) ++found;
  }
  EXPECT_GE(found, 1) << typed.symbol << " = " << typed.value << " is not in the table under "
                      << typed.source;
}

TEST(KineticsConstants, SetsAreAsPublished) {
  const auto rows = read_reference("04_kinetics_constants.csv");
  const auto check = [&rows](const char* name, const char* source) {
    const KineticsSet& set = **find_kinetics(name);
    expect_published(rows, {"Kc", source, set.Kc.at25});
    expect_published(rows, {"Ko", source, set.Ko.at25});
    expect_published(rows, {"Gamma*", source, set.gamma_star.at25});
    if (set.name.starts_with("von-caemmerer")) return;
    expect_published(rows, {"Kc Ha", source, set.Kc.Ha});
    expect_published(rows, {"Ko Ha", source, set.Ko.Ha});
    expect_published(rows, {"Gamma* Ha", source, set.gamma_star.Ha});
  };
  check("bernacchi-2001", "Bernacchi et al. 2001");
  check("bernacchi-2002", "Bernacchi et al. 2002");
  check("von-caemmerer-1994", "von Caemmerer et al. 1994");
  check("von-caemmerer-1994-gm-0.3", "von Caemmerer et al. 1994");
  const KineticsSet& von_caemmerer = **find_kinetics("von-caemmerer-1994");
  expect_published(rows, {"Gamma* Ha", "von Caemmerer et al. 1994", von_caemmerer.gamma_star.Ha});
}

TEST(KineticsConstants, BadgerAndCollatzEnergiesAreTheUnroundedOnes) {
  const auto rows = read_reference("04_kinetics_constants.csv");
  const KineticsSet& set = **find_kinetics("von-caemmerer-1994");
  for (const ReferenceRow& row : rows) {
    if (row.source.find("Badger & Collatz") == std::string::npos) continue;
    const double unrounded = number_after(row.value, "(");
    EXPECT_EQ(row.symbol == "Kc Ha" ? set.Kc.Ha : set.Ko.Ha, unrounded) << row.where();
  }
}

TEST(KineticsConstants, ResponsesAreAsPublished) {
  const auto rows = read_reference("04_kinetics_constants.csv");
  const auto check = [&rows](const Response& r, const std::string& symbol, const char* source,
                             double unit) {
    expect_published(rows, {(symbol + " Ha").c_str(), source, r.Ha}, unit);
    if (r.Hd == 0) return;
    expect_published(rows, {(symbol + " Hd").c_str(), source, r.Hd}, unit);
    expect_published(rows, {(symbol + " dS").c_str(), source, r.dS}, unit == 1 ? 1000 : 1);
  };
  const auto named = [](const char* name) -> const ResponseSet& { return **find_response(name); };
  check(*named("bernacchi-2001").Vcmax, "Vcmax", "Bernacchi et al. 2001", 1);
  check(*named("bernacchi-2001").Rday, "Rd", "Bernacchi et al. 2001", 1);
  check(*named("bernacchi-2001").J, "Jmax", "Bernacchi et al. 2003", 1);
  check(*named("sharkey-2007").Vcmax, "Vcmax", "Sharkey et al. 2007", 1);
  check(*named("sharkey-2007").J, "J", "Sharkey et al. 2007", 1);
  check(*named("sharkey-2007").Rday, "Rd", "Sharkey et al. 2007", 1);
  check(*named("bonan-2011").Vcmax, "Vcmax", "Bonan et al. 2011", 1e-3);
  check(*named("bonan-2011").J, "Jmax", "Bonan et al. 2011", 1e-3);
  check(*named("bonan-2011").Rday, "Rd", "Bonan et al. 2011", 1e-3);
  check(*named("leuning-2002").Vcmax, "Vcmax", "Leuning 2002", 1e-3);
  check(*named("leuning-2002").J, "Jmax", "Leuning 2002", 1e-3);
  check(*named("von-caemmerer-2000").Vcmax, "Vcmax", "von Caemmerer 2000", 1);
  check(*named("von-caemmerer-2000").Rday, "Rd", "von Caemmerer 2000", 1);
  check(*named("von-caemmerer-2000").J, "Jmax", "Farquhar et al. 1980", 1);
  check(*named("walker-b-2013").Vcmax, "Vcmax", "B. Walker et al. 2013", 1);
  check({kattge_knorr_2007(20)->Vcmax.Ha}, "Vcmax", "Kattge & Knorr 2007", 1e-3);
  check({kattge_knorr_2007(20)->J.Ha}, "Jmax", "Kattge & Knorr 2007", 1e-3);
}

TEST(KineticsConstants, PartialPressuresOfBernacchi2002AreKept) {
  const auto rows = read_reference("04_kinetics_constants.csv");
  const KineticsSet& set = **find_kinetics("bernacchi-2002");
  int checked = 0;
  for (const ReferenceRow& row : rows) {
    if (row.quantity != "value at 25 degC as pressure") continue;
    if (row.source.find("Bernacchi et al. 2002") == std::string::npos) continue;
    for (const double patm : {70.0, 101.325}) {
      const auto k = kinetics_at(set, 25, patm, Basis::partial_pressure);
      // Gamma* belongs to the O2 of the set, 21 kPa, not to that of this pressure.
      const double gamma = k->gamma_star * 21 / k->O;
      const double value = row.symbol == "Kc"   ? k->Kc * patm / 1000
                           : row.symbol == "Ko" ? k->Ko * patm / 1000
                                                : gamma;
      EXPECT_NEAR(value, row.number(), 1e-9) << row.where();
    }
    ++checked;
  }
  EXPECT_EQ(checked, 3);
}

}  // namespace
}  // namespace leafwright::published
