// `leafwright one-point`: the worked example, outputs that agree, and wrong calls.
#include <gtest/gtest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "cli/program.hpp"

namespace leafwright::cli_test {
namespace {

using nlohmann::json;

// EX17 of tests/published/data/reference/10_worked_examples.csv: Asat 18, Ci 280, 25 degC.
const std::string survey =
    "A (umol m-2 s-1),Ci (umol mol-1),Tleaf (degC),Patm (kPa),Qin (umol m-2 s-1),Rlight\n"
    "18,280,25,101.325,1800,1.0\n"
    "15,180,25,101.325,1800,1.4\n"
    "15,180,25,101.325,700,0.9\n"
    "22,330,25,101.325,1800,1.0\n";

TEST(OnePointCommand, WorkedExampleBothWays) {
  const Folder folder;
  folder.write("survey.csv", survey);
  const Ended fraction =
      folder.run({"one-point", "survey.csv", "--rday", "fraction:0.015", "--json", "-"});
  ASSERT_EQ(fraction.code, 0) << fraction.err;
  const json found = json::parse(fraction.out);
  EXPECT_NEAR(found["points"][0]["Vcmax"].get<double>(), 80.153551, 1e-6);
  EXPECT_EQ(found["method_error"]["rmse"], 17.1);
  EXPECT_EQ(found["points"][0]["status"], "perhaps lower bound");
  const Ended known = folder.run({"one-point", "survey.csv", "--rday", "1", "--json", "-"});
  const json other = json::parse(known.out);
  EXPECT_NEAR(other["points"][0]["Vcmax"].get<double>(), 79.309104, 1e-6);
  EXPECT_EQ(other["method_error"]["rmse"], 8.19);
}

TEST(OnePointCommand, RespirationOfEachRowFromAColumn) {
  const Folder folder;
  folder.write("survey.csv", survey);
  const Ended run = folder.run({"one-point", "survey.csv", "--rday", "column:Rlight",
                                "--saturating-light", "1200", "--out", "v.csv"});
  ASSERT_EQ(run.code, 0) << run.err;
  const std::string csv = folder.read("v.csv");
  EXPECT_NE(csv.find("survey,survey.csv,2,1,18,280,"), std::string::npos) << csv;
  EXPECT_NE(csv.find("lower bound,Qin 700 is below the 1200 stated to saturate"), std::string::npos)
      << csv;
  EXPECT_EQ(csv.find("8.19"), std::string::npos) << "the method's error is not a column of values";
  const json meta = json::parse(folder.read("v.csv.meta.json"));
  EXPECT_EQ(meta["method_error"]["rmse"], 8.19);
  EXPECT_EQ(meta["settings"]["saturating-light"]["value"], 1200);
  // Every column is described.
  std::string head = csv.substr(0, csv.find('\n')) + ",";
  std::size_t described = 0;
  for (std::size_t at = 0, end = 0; (end = head.find(',', at)) != std::string::npos; at = end + 1) {
    EXPECT_TRUE(meta["columns"].contains(head.substr(at, end - at))) << head;
    ++described;
  }
  EXPECT_EQ(described, meta["columns"].size());
}

TEST(OnePointCommand, TextSaysWhoseErrorItIs) {
  const Folder folder;
  folder.write("survey.csv", survey);
  const Ended run = folder.run({"one-point", "survey.csv", "--rday", "1"});
  EXPECT_NE(run.out.find("8.19"), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("not an interval"), std::string::npos) << run.out;
  EXPECT_NE(run.out.find("light saturation was not judged"), std::string::npos) << run.out;
}

TEST(OnePointCommand, RefusedRowsAreNamedAndTheOthersGoOn) {
  const Folder folder;
  folder.write("survey.csv", survey + "0.3,40,25,101.325,1800,1.0\n");
  const Ended run =
      folder.run({"one-point", "survey.csv", "--rday", "fraction:0.015", "--json", "-"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("survey.csv:6: Ci 40 is not above Gamma* 42.75"), std::string::npos)
      << run.err;
  const json found = json::parse(run.out);
  ASSERT_EQ(found["points"].size(), 5U);
  EXPECT_TRUE(found["points"][4]["Vcmax"].is_null());
  EXPECT_EQ(found["points"][4]["status"], "refused");
}

TEST(OnePointCommand, WrongCalls) {
  const Folder folder;
  folder.write("survey.csv", survey);
  const Ended none = folder.run({"one-point", "survey.csv"});
  EXPECT_EQ(none.code, 2);
  EXPECT_NE(none.err.find("fraction:0.015"), std::string::npos) << none.err;
  const Ended fitted = folder.run({"one-point", "survey.csv", "--rday", "free"});
  EXPECT_EQ(fitted.code, 2);
  const Ended column = folder.run({"one-point", "survey.csv", "--rday", "column:Rligt"});
  EXPECT_EQ(column.code, 2);
  EXPECT_NE(column.err.find("Rlight"), std::string::npos) << column.err;
}

TEST(OnePointCommand, AnAciCurveIsNotAveraged) {
  const Folder folder;
  folder.write("points.csv", points_csv(1));
  const Ended run = folder.run({"one-point", "points.csv", "--rday", "1", "--per", "curve"});
  EXPECT_EQ(run.code, 1);
  EXPECT_NE(run.err.find("--per row, or 'fit'"), std::string::npos) << run.err;
}

}  // namespace
}  // namespace leafwright::cli_test
