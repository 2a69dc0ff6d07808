#include "base/setting.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace leafwright {
namespace {

std::vector<Setting> demo_table() {
  Setting points;
  points.name = "min-points";
  points.kind = SettingKind::whole;
  points.default_value = "5";
  points.low = 3;
  points.high = 1000;
  Setting theta;
  theta.name = "smooth";
  theta.kind = SettingKind::number;
  theta.low = 0.5;
  theta.high = 1;
  Setting tleaf;
  tleaf.name = "tleaf";
  tleaf.kind = SettingKind::number;
  tleaf.unit = "degC";
  tleaf.low = -10;
  Setting basis;
  basis.name = "basis";
  basis.kind = SettingKind::choice;
  basis.default_value = "partial-pressure";
  basis.choices = {"partial-pressure", "mole-fraction"};
  Setting only;
  only.name = "only";
  only.kind = SettingKind::list;
  return {points, theta, tleaf, basis, only};
}

class SettingsTest : public testing::Test {
 protected:
  std::string message(const std::string& name, const std::string& value) {
    const auto done = settings_.set(name, value, SettingOrigin::option);
    if (done) return "accepted";
    EXPECT_EQ(done.error().code, ErrorCode::usage);
    return done.error().text();
  }
  std::vector<Setting> table_ = demo_table();
  Settings settings_{table_};
};

TEST_F(SettingsTest, DefaultsAreThereAndKnowIt) {
  EXPECT_EQ(settings_.whole("min-points"), 5);
  EXPECT_EQ(settings_.text("basis"), "partial-pressure");
  EXPECT_EQ(settings_.origin("basis"), SettingOrigin::default_value);
  EXPECT_FALSE(settings_.is_set("smooth"));
  EXPECT_TRUE(settings_.list("only").empty());
  EXPECT_EQ(settings_.text("smooth"), "");
}

TEST_F(SettingsTest, AnOptionStandsAboveTheStudyWhicheverComesFirst) {
  ASSERT_TRUE(settings_.set("smooth", "0.9", SettingOrigin::option));
  ASSERT_TRUE(settings_.set("smooth", "0.8", SettingOrigin::study));
  EXPECT_EQ(settings_.number("smooth"), 0.9);
  EXPECT_EQ(settings_.origin("smooth"), SettingOrigin::option);
}

TEST_F(SettingsTest, AListGrowsAndAHigherOriginReplacesIt) {
  ASSERT_TRUE(settings_.set("only", "leaf=1", SettingOrigin::study));
  ASSERT_TRUE(settings_.set("only", "leaf=2", SettingOrigin::study));
  EXPECT_EQ(settings_.list("only"), (std::vector<std::string>{"leaf=1", "leaf=2"}));
  ASSERT_TRUE(settings_.set("only", "leaf=3", SettingOrigin::option));
  EXPECT_EQ(settings_.list("only"), (std::vector<std::string>{"leaf=3"}));
}

TEST_F(SettingsTest, MessagesSayWhatToDo) {
  EXPECT_EQ(message("min-point", "5"), "unknown setting 'min-point'; did you mean 'min-points'?");
  EXPECT_EQ(message("zzz", "5"),
            "unknown setting 'zzz'; known are min-points, smooth, tleaf, basis, only");
  EXPECT_EQ(message("min-points", "2"),
            "'2' for 'min-points' is out of range; a whole number from 3 to 1000");
  EXPECT_EQ(message("min-points", "4.5"),
            "'4.5' for 'min-points' is not a whole number; a whole number from 3 to 1000");
  EXPECT_EQ(message("smooth", "0,9"),
            "'0,9' for 'smooth' is not a number; a number from 0.5 to 1; "
            "write the decimal mark as a point");
  EXPECT_EQ(message("smooth", "nan"), "'nan' for 'smooth' is not a number; a number from 0.5 to 1");
  EXPECT_EQ(message("tleaf", "-300"),
            "'-300' for 'tleaf' is out of range; a number of at least -10 degC");
  EXPECT_EQ(message("basis", "molefraction"),
            "'molefraction' for 'basis' is not among the choices; one of partial-pressure, "
            "mole-fraction; did you mean 'mole-fraction'?");
}

TEST_F(SettingsTest, ARefusedValueChangesNothing) {
  message("min-points", "2");
  EXPECT_EQ(settings_.whole("min-points"), 5);
}

TEST_F(SettingsTest, MistakesOfTheProgramThrow) {
  EXPECT_THROW(static_cast<void>(settings_.text("nothing")), std::logic_error);
  EXPECT_THROW(static_cast<void>(settings_.number("smooth")), std::logic_error);
  auto twice = demo_table();
  twice.push_back(twice.front());
  EXPECT_THROW(Settings{twice}, std::logic_error);
  auto wrong = demo_table();
  wrong.front().default_value = "2";
  EXPECT_THROW(Settings{wrong}, std::logic_error);
}

}  // namespace
}  // namespace leafwright
