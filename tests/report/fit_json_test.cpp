#include "report/fit_json.hpp"

#include <gtest/gtest.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

#include "report/documents.hpp"
#include "report/fit_csv.hpp"

namespace leafwright {
namespace {

using nlohmann::json;
using nlohmann::ordered_json;

json report() {
  fixtures::Documents campaign;
  return json::parse(fit_json(campaign.document()));
}

template <class Json>
std::vector<std::string> keys(const Json& object) {
  std::vector<std::string> out;
  for (const auto& [key, value] : object.items()) out.push_back(key);
  return out;
}

bool has_keys(const json& object, const std::vector<std::string>& wanted) {
  return std::all_of(wanted.begin(), wanted.end(),
                     [&](const std::string& key) { return object.contains(key); });
}

/// The model written again from its equations (Farquhar, von Caemmerer & Berry 1980): net rate with
/// a capacity that is null not limiting.
double net_rate(double Ci, const json& curve) {
  const json& e = curve.at("estimates");
  const json& k = curve.at("kinetics");
  const double gamma = k.at("GammaStar"), Km = k.at("Km");
  double W = std::numeric_limits<double>::infinity();
  if (!e["Vcmax"]["value"].is_null()) W = std::min(W, double(e["Vcmax"]["value"]) * Ci / (Ci + Km));
  if (!e["J"]["value"].is_null()) {
    W = std::min(W, double(e["J"]["value"]) * Ci / (4 * Ci + 8 * gamma));
  }
  if (!e["TPU"]["value"].is_null() && Ci > gamma) {
    W = std::min(W, 3 * double(e["TPU"]["value"]) * Ci / (Ci - gamma));
  }
  return (1 - gamma / Ci) * W - double(e["Rday"]["value"]);
}

TEST(FitJson, HasTheKeysThatCallersRelyOn) {
  const json all = report();
  EXPECT_TRUE(has_keys(all, {"leafwright", "schema", "command", "settings", "curves", "failed"}));
  EXPECT_EQ(all["schema"], 1);
  EXPECT_EQ(all["command"], "fit");
  ASSERT_EQ(all["curves"].size(), 3U);
  const json& curve = all["curves"][0];
  EXPECT_TRUE(has_keys(curve, {"curve_id", "pathway", "points", "used", "Tleaf", "Patm", "kinetics",
                               "estimates", "at25", "ssr", "rmse", "limited_by", "transitions",
                               "certified", "runner_up", "notes"}));
  EXPECT_TRUE(has_keys(curve["kinetics"], {"set", "Kc", "Ko", "O", "GammaStar", "Km"}));
  EXPECT_EQ(keys(curve["estimates"]), (std::vector<std::string>{"J", "Rday", "TPU", "Vcmax"}));
  for (const json& e : curve["estimates"]) {
    EXPECT_TRUE(has_keys(e, {"value", "unit", "se", "low", "high", "status"}));
    EXPECT_EQ(e["unit"], "umol m-2 s-1");
  }
  EXPECT_TRUE(curve["transitions"].contains("rubisco|rubp"));
  EXPECT_EQ(curve["limited_by"], (json{"rubisco", "rubp", "tpu"}));
}

TEST(FitJson, KeysComeInAFixedOrder) {
  fixtures::Documents campaign;
  const auto all = ordered_json::parse(fit_json(campaign.document()));
  EXPECT_EQ(keys(all), (std::vector<std::string>{"leafwright", "schema", "command", "inputs",
                                                 "settings", "correlation", "curves", "failed",
                                                 "unread", "problems", "notes"}));
  for (const auto& curve : all["curves"]) EXPECT_EQ(keys(curve), keys(all["curves"][0]));
}

TEST(FitJson, SsrFollowsFromThePrintedEstimates) {
  const json all = report();
  for (const json& curve : all["curves"]) {
    double ssr = 0;
    for (const json& row : curve["rows"]) {
      const double residual = double(row["A"]) - net_rate(row["Ci"], curve);
      ssr += residual * residual;
    }
    EXPECT_NEAR(ssr, double(curve["ssr"]), 1e-9 * ssr) << curve["curve_id"];
  }
}

TEST(FitJson, AnOpenEndIsNullAndABoundHasNoValue) {
  const json curve = report()["curves"][1];
  const json& tpu = curve["estimates"]["TPU"];
  EXPECT_TRUE(tpu["value"].is_null());
  EXPECT_TRUE(tpu["high"].is_null());
  EXPECT_EQ(tpu["low"], 7.9);
  EXPECT_EQ(tpu["status"], "lower bound");
  EXPECT_EQ(report()["curves"][2]["estimates"]["J"]["status"], "not identified");
}

TEST(FitJson, NothingThatIsNotANumberIsPrinted) {
  fixtures::Documents campaign;
  CurveFit& fit = campaign.campaign().fits.front();
  fit.kinetics.Kc = fit.kinetics.Ko = fixtures::nan;  // as with a given Km
  fit.rmse = fixtures::infinity;
  fit.Vcmax.high = fixtures::infinity;
  for (const std::string& text : {fit_json(campaign.document()), fit_csv(campaign.document()),
                                  fit_meta_json(campaign.document())}) {
    for (const char* word : {"nan", "NaN", "inf,", "inf}", "Infinity", "1e999"}) {
      EXPECT_EQ(text.find(word), std::string::npos) << word;
    }
  }
  EXPECT_TRUE(json::parse(fit_json(campaign.document()))["curves"][0]["kinetics"]["Kc"].is_null());
}

TEST(FitJson, SettingsSayWhereTheyCameFrom) {
  fixtures::Documents campaign;
  Settings given(fit_settings());
  ASSERT_TRUE(given.set("kinetic", "Km=700", SettingOrigin::option));
  ASSERT_TRUE(given.set("level", "0.9", SettingOrigin::option));
  campaign.document().settings = {&given};
  const json settings = json::parse(fit_json(campaign.document()))["settings"];
  EXPECT_EQ(settings.size(), fit_settings().size());
  EXPECT_EQ(settings["kinetic"], (json{{"value", {"Km=700"}}, {"origin", "option"}}));
  EXPECT_EQ(settings["level"], (json{{"value", 0.9}, {"origin", "option"}}));
  EXPECT_EQ(settings["kinetics"]["origin"], "default");
  EXPECT_EQ(settings["rday"]["unit"], "umol m-2 s-1");
}

TEST(FitJson, FailedCurvesAndUnusedRowsAreNamedWithWhy) {
  const json all = report();
  ASSERT_EQ(all["failed"].size(), 2U);
  EXPECT_EQ(all["failed"][0]["curve_id"], "a, \"b\"");
  EXPECT_EQ(all["failed"][1]["why"], "no row could be read");
  const json& unused = all["curves"][0]["unused"];
  ASSERT_EQ(unused.size(), 2U);
  EXPECT_EQ(unused[0]["row"], 13);
  EXPECT_EQ(unused[0]["line"], 16);
  EXPECT_EQ(unused[0]["why"], "not stable");
}

TEST(FitJson, AnotherSolutionShowsWhatDoesNotLimitAsNull) {
  const json runner_up = report()["curves"][0]["runner_up"];
  EXPECT_EQ(runner_up["Vcmax"], 58);
  EXPECT_TRUE(runner_up["TPU"].is_null());
  EXPECT_TRUE(report()["curves"][1]["runner_up"].is_null());
}

TEST(FitJson, AResultOfAnUnknownCurveThrows) {
  fixtures::Documents campaign;
  campaign.campaign().failed.push_back({"nobody", "?"});
  EXPECT_THROW(fit_json(campaign.document()), std::logic_error);
}

TEST(FitMetaJson, NamesColumnsUnitsInputsAndSettings) {
  fixtures::Documents campaign;
  const json meta = json::parse(fit_meta_json(campaign.document()));
  EXPECT_EQ(meta["inputs"][0], (json{{"file", "leaf.csv"}, {"bytes", 1234}, {"sha256", "00ff"}}));
  EXPECT_EQ(meta["columns"].size(), fit_csv_columns().size());
  EXPECT_TRUE(meta["settings"].contains("kinetics"));
  std::map<std::string, std::string> units;
  for (const json& column : meta["columns"]) {
    units[column["name"]] = column["unit"];
    EXPECT_NE(column["meaning"], "");
  }
  EXPECT_EQ(units.at("Vcmax"), "umol m-2 s-1");
  EXPECT_EQ(units.at("Tleaf"), "degC");
  EXPECT_EQ(units.at("Patm"), "kPa");
}

}  // namespace
}  // namespace leafwright
