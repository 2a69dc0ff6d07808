#include "log/flux.hpp"

#include <gtest/gtest.h>

#include <cmath>

#include "air/balance.hpp"
#include "air/moist_air.hpp"
#include "air/settings.hpp"
#include "log/flux_csv.hpp"
#include "log/flux_storage.hpp"
#include "log/logs.hpp"
#include "log/points.hpp"

namespace leafwright {
namespace {

using testing_logs::has_note;
using testing_logs::log_of;
using testing_logs::samples_of;

/// Everything that a call holds; the parts point at each other, so it is not copied.
struct Work {
  explicit Work(const std::string& text, const ColumnMap& map = {})
      : log(log_of(text, "day1.csv", map)), axis(*time_axis(log)) {}
  Log log;
  TimeAxis axis;
  Cut cut;
  std::optional<Samples> samples;
  Instrument instrument;
  Equalisations cells;
  FluxChoice choice;
  FluxSource source;

  Result<FluxRows> rows() {
    auto done = cut_log(log, axis, samples ? &*samples : nullptr, {});
    if (!done) return fail(done.error());
    cut = std::move(*done);
    source = {&log, &axis, &cut, samples ? &*samples : nullptr, &instrument, &cells};
    return flux_rows(source, choice);
  }
};

const std::string head = "curve_id,CO2r,CO2s,H2Or,H2Os,flow,area,Tleaf,Tair,Patm,gbw\n";
const std::string row = "a,400,390,15,20,400,6,25,25,100,2500\n";

FluxChoice whole_leaf() {
  FluxChoice out;
  out.gbw_is = GbwIs::whole_leaf;
  return out;
}

TEST(FluxRows, AreThoseOfTheSteadyEquations) {
  Work work(head + row);
  work.choice = whole_leaf();
  const auto rows = work.rows();
  ASSERT_TRUE(rows) << rows.error().text();
  // E = 10 F (Ws - Wr)/[S (1000 - Ws)], A = F [Cr - Cs (1000 - Wr)/(1000 - Ws)]/(100 S).
  EXPECT_NEAR(rows->E[0], 10 * 400 * 5 / (6 * 980.0), 1e-12);
  EXPECT_NEAR(rows->A[0], 400 * (400 - 390 * 985 / 980.0) / 600, 1e-12);
  // 0.61365 exp(17.502 x 25/(240.97 + 25)) - 0.02 x 100.
  EXPECT_NEAR(rows->VPDleaf[0], 0.61365 * std::exp(17.502 * 25 / 265.97) - 2, 1e-12);
  EXPECT_EQ(rows->use[0], 1);
  EXPECT_TRUE(rows->E_sd.empty());
}

TEST(FluxRows, EveryRowKeepsItsPlaceWhateverIsWrongWithIt) {
  Work work(head + row + "a,400,x1,15,20,400,6,25,25,100,2500\n" +
            "a,,390,15,20,400,6,25,25,100,2500\n" + "a,400,390,15,20,400,6,25,25\n" +
            "a,400,390,15,20,-400,6,25,25,100,2500\n" + "a,400,390,15,20,400,0,25,25,100,2500\n" +
            "a,400,390,15,20,400,6,99,25,100,2500\n" + "a,400,390,15,20,400,6,25,25,1000,2500\n" +
            "a,400,390,15,20,400,6,10,25,100,2500\n" + "a,400,390,15,20,400,6,25,25,100,2500,7\n" +
            "a,1e999,390,15,20,400,6,25,25,100,2500\n" + row);
  work.choice = whole_leaf();
  const auto rows = work.rows();
  ASSERT_TRUE(rows) << rows.error().text();
  ASSERT_EQ(rows->size(), 12U);
  const char* why[] = {"",
                       "CO2s: 'x1' is not a number",
                       "CO2r is missing",
                       "Patm is missing",
                       "flow",
                       "area = 0 is out of range",
                       "Tleaf is 99",
                       "",
                       "no Ci: ",
                       "12 cells",
                       "CO2r: '1e999' is beyond the range",
                       ""};
  for (std::size_t i = 0; i < 12; ++i) {
    const bool good = i == 0 || i == 11;
    EXPECT_EQ(rows->use[i], good ? 1 : 0) << i;
    EXPECT_EQ(rows->reason(i).empty(), good) << i;
    EXPECT_NE(rows->reason(i).find(why[i]), std::string::npos) << i << ": " << rows->reason(i);
    EXPECT_EQ(rows->reason(i).find("nan"), std::string::npos) << i;
  }
  EXPECT_DOUBLE_EQ(rows->A[11], rows->A[0]);
}

// Fluxes go as 1/area: which area was taken shows in A.
double area_used(const FluxRows& rows, std::size_t at = 0) {
  return 400 * (400 - 390 * 985 / 980.0) / 100 / rows.A[at];
}

TEST(Precedence, OptionSamplesColumnInstrument) {
  Work work(head + row);
  work.instrument.area = 2;
  auto rows = work.rows();
  EXPECT_NEAR(area_used(*rows), 6, 1e-9);
  EXPECT_TRUE(has_note(rows->notes, "area-sources-disagree",
                       "area of the log column, 6 cm2, was used for a; instrument: 2 cm2"));
  work.samples = samples_of("curve_id,area\na,4\n");
  rows = work.rows();
  EXPECT_NEAR(area_used(*rows), 4, 1e-9);
  EXPECT_TRUE(has_note(rows->notes, "area-sources-disagree",
                       "area of the samples table, 4 cm2, was used for a; log column: 6 cm2, "
                       "instrument: 2 cm2"));
  work.choice.area = 3;
  rows = work.rows();
  EXPECT_NEAR(area_used(*rows), 3, 1e-9);
  ASSERT_EQ(rows->sources.front().quantity, "area");
  EXPECT_EQ(rows->sources.front().from, ValueFrom::option);
  EXPECT_EQ(
      rows->sources.front().others,
      (std::vector<std::string>{"samples table: 4 cm2", "log column: 6 cm2", "instrument: 2 cm2"}));
}

TEST(Precedence, SourcesThatAgreeAreNoNote) {
  Work work(head + row);
  work.instrument.area = 6;
  const auto rows = work.rows();
  EXPECT_FALSE(has_note(rows->notes, "area-sources-disagree"));
}

TEST(Precedence, ByCurveAndAnEmptyColumnIsNone) {
  Work work(
      "curve_id,CO2r,CO2s,H2Or,H2Os,flow,area,Tleaf,Patm\n"
      "a,400,390,15,20,400,,25,100\nb,400,390,15,20,400,,25,100\n");
  work.samples = samples_of("curve_id,area\na,4\n");
  EXPECT_NE(work.rows().error().text().find("no leaf area (curve 'b')"), std::string::npos);
  work.instrument.area = 2;
  const auto rows = work.rows();
  ASSERT_TRUE(rows) << rows.error().text();
  EXPECT_NEAR(area_used(*rows, 0), 4, 1e-9);
  EXPECT_NEAR(area_used(*rows, 1), 2, 1e-9);
}

TEST(Precedence, TheDefaultFormGivesWayToTheInstruments) {
  Work work(head + row);
  work.instrument.vapour_pressure = VapourPressure::buck_1981;
  EXPECT_NEAR(work.rows()->VPDleaf[0], 0.61121 * std::exp(17.502 * 25 / 265.97) - 2, 1e-12);
  work.choice.vapour_pressure = VapourPressure::leaf_common;
  EXPECT_NEAR(work.rows()->VPDleaf[0], 0.61365 * std::exp(17.502 * 25 / 265.97) - 2, 1e-12);
  Settings flux(flux_settings()), points(points_settings());
  EXPECT_FALSE(flux_choice(flux, points).vapour_pressure);
  ASSERT_TRUE(flux.set("vapour-pressure", "leaf-common", SettingOrigin::option));
  EXPECT_TRUE(flux_choice(flux, points).vapour_pressure);
}

TEST(FluxRows, CoverAndBasis) {
  Work work(head + row);
  work.samples =
      samples_of("curve_id,area,cover,area_basis,half_total_ratio\na,6,0.5,projected,1.5\n");
  EXPECT_NEAR(area_used(*work.rows()), 3, 1e-9);
  work.choice.flux_per = AreaBasis::half_total;
  EXPECT_NEAR(area_used(*work.rows()), 4.5, 1e-9);
  work.samples.reset();
  EXPECT_NE(work.rows().error().text().find("--area-basis"), std::string::npos);
}

TEST(FluxRows, WhatNobodyStatedCostsOnlyWhatNeedsIt) {
  Work work(head + row);
  const auto rows = work.rows();
  ASSERT_TRUE(rows);
  EXPECT_FALSE(std::isnan(rows->A[0]));
  EXPECT_TRUE(std::isnan(rows->gsw[0]) && std::isnan(rows->Ci[0]));
  EXPECT_EQ(rows->use[0], 0);
  EXPECT_TRUE(has_note(rows->notes, "no-gsw", "what gbw is"));
  work.choice.gbw_is = GbwIs::per_side;
  EXPECT_TRUE(has_note(work.rows()->notes, "no-gsw", "stomatal ratio"));
  work.choice.stomatal_ratio = 1;
  EXPECT_FALSE(std::isnan(work.rows()->Ci[0]));
}

TEST(FluxRows, ALeakNeedsTheAirRoundTheChamber) {
  Work work(head + row);
  work.choice = whole_leaf();
  const double before = work.rows()->A[0];
  work.instrument.leak = 0.5;
  EXPECT_NE(work.rows().error().text().find("--ambient-co2"), std::string::npos);
  work.choice.CO2_ambient = 450;
  // A = A_apparent - K (C_chamber - C_ambient)/(100 S).
  EXPECT_NEAR(work.rows()->A[0] - before, 0.5 * 60 / 600, 1e-12);
}

TEST(FluxRows, PendingEqualisationsComeOffTheSampleCellAppliedOnesDoNot) {
  const std::string text = "time_s," + head + "0," + row + "100," + row;
  Work work(text);
  work.choice = whole_leaf();
  const double before = work.rows()->A[1];
  EqualiseChoice choice{{}, {"50=2"}, false};
  work.cells = *find_equalisations(work.log, work.axis, choice);
  auto rows = work.rows();
  EXPECT_DOUBLE_EQ(rows->A[0], before);
  EXPECT_NEAR(rows->A[1] - before, 400 * 2 * 985 / 980.0 / 600, 1e-12);
  EXPECT_TRUE(std::isnan(rows->age_s[0]));
  EXPECT_DOUBLE_EQ(rows->age_s[1], 50);
  choice.applied = true;
  work.cells = *find_equalisations(work.log, work.axis, choice);
  EXPECT_DOUBLE_EQ(work.rows()->A[1], before);
}

TEST(FluxRows, DifferencesStandInForTheSampleCell) {
  Work plain(head + row);
  Work with(
      "curve_id,CO2r,dCO2,H2Or,dH2O,flow,area,Tleaf,Tair,Patm,gbw\n"
      "a,400,-10,15,5,400,6,25,25,100,2500\n");
  EXPECT_DOUBLE_EQ(with.rows()->A[0], plain.rows()->A[0]);
}

TEST(FluxRows, AMapsTitlesAndUnits) {
  ColumnMap map;
  map.columns = {{"CO2s", "cell b", "umol mol-1", {}, 1}, {"Patm", "air", "hPa", {}, 1}};
  Work work("curve_id,CO2r,cell b,H2Or,H2Os,flow,area,Tleaf,air\na,400,390,15,20,400,6,25,1000\n",
            map);
  const auto rows = work.rows();
  ASSERT_TRUE(rows) << rows.error().text();
  EXPECT_DOUBLE_EQ(rows->A[0], Work(head + row).rows()->A[0]);
  const auto table = flux_table(work.source, *rows);
  ASSERT_TRUE(table);
  EXPECT_EQ(table->csv.substr(0, table->csv.find('\n')),
            "curve_id,CO2r,cell b,H2Or,H2Os,flow,area,Tleaf,air,Patm,E,A,gsw,Ci,VPDleaf,flags,use,"
            "why");
  EXPECT_NE(table->csv.find("\na,400,390,15,20,400,6,25,1000,100,"), std::string::npos);
}

TEST(FluxRows, TheLogsOwnUseIsHonoured) {
  Work work("use,why," + head + "1,," + row + "0,leaf moved," + row + "true,," + row + "maybe,," +
            row);
  work.choice = whole_leaf();
  const auto rows = work.rows();
  ASSERT_TRUE(rows);
  EXPECT_EQ(rows->use, (std::vector<char>{1, 0, 1, 0}));
  EXPECT_EQ(rows->reason(1), "leaf moved");
  EXPECT_EQ(rows->reason(3), "'maybe' in column 'use'");
  ASSERT_EQ(rows->problems.size(), 1U);
  EXPECT_NE(rows->problems[0].text().find("day1.csv:5:1"), std::string::npos);
}

TEST(FluxRows, MissingColumnsAreNamedWithWhatToDo) {
  Work work("curve_id,CO2r,CO2s,A,E,H2Os,Tleaf,Patm\na,400,390,5,2,20,25,100\n");
  const auto rows = work.rows();
  ASSERT_FALSE(rows);
  EXPECT_EQ(rows.error().code, ErrorCode::unreadable);
  EXPECT_NE(rows.error().text().find("day1.csv:1: no column for flow, H2Or"), std::string::npos)
      << rows.error().text();
  EXPECT_NE(rows.error().text().find("--fluxes recorded"), std::string::npos);
  Work cold("curve_id,CO2r,CO2s,H2Or,H2Os,flow,area,Patm\na,400,390,15,20,400,6,100\n");
  EXPECT_NE(cold.rows().error().text().find("--tleaf"), std::string::npos);
  cold.choice.Tleaf = 25;
  EXPECT_TRUE(cold.rows());
}

TEST(FluxRows, NoiseOfTheAnalysersAndWhatIsNotStated) {
  Work work(head + row);
  work.choice = whole_leaf();
  work.instrument.noise["CO2r"] = 0.1;
  const auto rows = work.rows();
  // dA/dCr = F/(100 S).
  EXPECT_NEAR(rows->A_sd[0], 0.1 * 400 / 600, 1e-8);
  EXPECT_TRUE(std::isnan(rows->E_sd[0])) << "no part of it is stated, which is not 0";
  EXPECT_EQ(rows->noise_not_stated.size(), 8U);
  work.choice.sd[NoisyInput::CO2r] = 0.2;
  EXPECT_NEAR(work.rows()->A_sd[0], 0.2 * 400 / 600, 1e-8);
}

/// CO2s falls by 0.5 a second for a minute, everything else stands.
std::string falling() {
  std::string text = "time_s,CO2r,CO2s,H2Or,H2Os,flow,area,Tleaf,Tair,Patm\n";
  for (int t = 0; t <= 60; ++t) {
    text +=
        std::to_string(t) + ",400," + std::to_string(390 - 0.5 * t) + ",15,20,400,6,25,25,100\n";
  }
  return text;
}

TEST(Storage, OfAStraightFallByHand) {
  Work work(falling());
  work.choice.chamber_volume = 80;
  const auto steady = work.rows();
  ASSERT_TRUE(steady);
  EXPECT_TRUE(has_note(steady->notes, "not-steady", "--storage on"));
  EXPECT_NE(steady->flag_names(30).find("not-steady"), std::string::npos);
  work.choice.storage = true;
  const auto with = work.rows();
  ASSERT_TRUE(with) << with.error().text();
  // -N dC/dt/s with N = P V/(R T) = 100e3 x 80e-6/(8.314462618 x 298.15), s = 6e-4 m2.
  const double N = 100e3 * 80e-6 / (8.314462618 * 298.15);
  for (const std::size_t i : {0UL, 30UL, 60UL}) {
    EXPECT_NEAR(with->A[i] - steady->A[i], N * 0.5 / 6e-4, 1e-6) << i;
  }
  EXPECT_FALSE(has_note(with->notes, "not-steady"));
}

TEST(Storage, WhatItNeeds) {
  Work no_volume(falling());
  no_volume.choice.storage = true;
  EXPECT_NE(no_volume.rows().error().text().find("--chamber-volume"), std::string::npos);
  Work no_time(head + row);
  no_time.choice.storage = true;
  no_time.choice.chamber_volume = 80;
  EXPECT_NE(no_time.rows().error().text().find("the time"), std::string::npos);
  Work sparse("time_s," + head + "0," + row + "60," + row);
  sparse.choice = whole_leaf();
  sparse.choice.storage = true;
  sparse.choice.chamber_volume = 80;
  EXPECT_EQ(sparse.rows()->reason(0).substr(0, 8), "storage:");
}

TEST(LocalSlopes, OfAParabolaAreExactAlsoAtTheEnds) {
  std::vector<double> t, x;
  std::vector<std::size_t> rows;
  for (std::size_t i = 0; i < 40; ++i) {
    t.push_back(static_cast<double>(i) * 0.7 + (i % 3 == 0 ? 0.1 : 0));
    x.push_back(400 - 3 * t.back() + 0.2 * t.back() * t.back());
    rows.push_back(i);
  }
  const auto slopes = local_slopes(t, x, rows, 8);
  for (std::size_t i = 0; i < 40; ++i) EXPECT_NEAR(slopes[i], -3 + 0.4 * t[i], 1e-8) << i;
  // A clock that was set back: the rows before it are not of the same time.
  t[20] = 0;
  EXPECT_TRUE(std::isnan(local_slopes(t, x, rows, 8)[20]));
}

TEST(FluxTable, CarriesEverythingAndMovesWhatWasRecorded) {
  Work work("# a comment\nnote,A,gsw [mol m-2 s-1]," + head + "\"x, y\",5,0.2," + row +
            "#3,6,0.3," + row);
  work.choice = whole_leaf();
  const auto rows = work.rows();
  ASSERT_TRUE(rows);
  const auto table = flux_table(work.source, *rows);
  ASSERT_TRUE(table) << table.error().text();
  const std::string& csv = table->csv;
  EXPECT_EQ(csv.substr(0, csv.find('\n')),
            "note,A_recorded,gsw_recorded (mol m-2 s-1),curve_id,CO2r,CO2s,H2Or,H2Os,flow,area,"
            "Tleaf,Tair,Patm,gbw,E,A,gsw,Ci,VPDleaf,flags,use,why");
  EXPECT_EQ(csv.find("\"x, y\",5,0.2,a,400,390,15,20,400,6,25,25,100,2500,3.40136"),
            csv.find('\n') + 1)
      << csv;
}

TEST(FluxTable, AUnitsRowGoesIntoTheTitlesAndADecimalCommaBecomesAPoint) {
  Work work(
      "curve_id;CO2r;CO2s;H2Or;H2Os;flow;area;Tleaf;Patm\n"
      ";umol mol-1;umol mol-1;mmol mol-1;mmol mol-1;umol s-1;mm2;K;kPa\n"
      "a;400,5;390;15;20;400;600;298,15;100\n");
  const auto rows = work.rows();
  ASSERT_TRUE(rows) << rows.error().text();
  const auto table = flux_table(work.source, *rows);
  ASSERT_TRUE(table);
  EXPECT_EQ(table->csv.find("curve_id,CO2r,CO2s,H2Or,H2Os,flow,area (mm2),Tleaf (K),Patm,E,"), 0U)
      << table->csv;
  EXPECT_NE(table->csv.find("\na,400.5,390,15,20,400,600,298.15,100,"), std::string::npos);
  // What was written reads back to the same fluxes.
  Work again(table->csv);
  EXPECT_FALSE(again.rows()->A.empty());
  EXPECT_DOUBLE_EQ(again.rows()->A[0], rows->A[0]);
}

TEST(FluxTable, AClashIsRefused) {
  Work work("A,A_recorded," + head + "1,2," + row);
  const auto rows = work.rows();
  const auto table = flux_table(work.source, *rows);
  ASSERT_FALSE(table);
  EXPECT_EQ(table.error().code, ErrorCode::refused);
  EXPECT_NE(table.error().text().find("'A_recorded'"), std::string::npos);
  Work units(
      "curve_id,Tleaf (degC),CO2r,CO2s,H2Or,H2Os,flow,area,Patm\na,25,400,390,15,20,400,6,100\n"
      "curve_id,Tleaf (K),CO2r,CO2s,H2Or,H2Os,flow,area,Patm\na,298,400,390,15,20,400,6,100\n");
  const auto both = units.rows();
  ASSERT_TRUE(both) << both.error().text();
  EXPECT_EQ(flux_table(units.source, *both).error().code, ErrorCode::refused);
}

TEST(ScreenFlux, LeavesOutAndFlagsWithReasons) {
  std::string text = head;
  for (int i = 0; i < 4; ++i) {
    text += "a," + std::to_string(400 + i) + ",390,15,20,400,6,25,25,100,2500\n";
  }
  text += "a,403,390,15,20,400,6,25,25,100,2500\n";    // repeats the row above
  text += "a,900,390.5,15,20,400,6,25,25,100,2500\n";  // A beyond what gsw lets in
  text += "a,402,390,15,20.1,440,6,25,25,100,2500\n";  // flow 10 % up
  Work work(text);
  work.choice = whole_leaf();
  auto rows = work.rows();
  ASSERT_TRUE(rows);
  screen_flux(work.source, {}, *rows);
  EXPECT_EQ(rows->reason(4).substr(0, 8), "repeated");
  EXPECT_EQ(rows->reason(5).substr(0, 15), "ci-not-positive");
  EXPECT_EQ(rows->use[6], 1);
  EXPECT_EQ(rows->flag_names(6), "flow-off");
  EXPECT_TRUE(has_note(rows->notes, "screen-repeated", "1 row left out"));
  EXPECT_TRUE(has_note(rows->notes, "screen-flow-off", "day1.csv:8: flow is 440"));
  ScreenChoice off;
  off.on = false;
  auto plain = work.rows();
  screen_flux(work.source, off, *plain);
  EXPECT_EQ(plain->use[5], 1);
}

}  // namespace
}  // namespace leafwright
