#include "log/screen.hpp"

#include <gtest/gtest.h>

#include <cmath>

namespace leafwright {
namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

struct Points {
  std::vector<double> A = {-1, 5, 10, 14, 17, 19, 20, 20.5};
  std::vector<double> Ci = {40, 100, 200, 300, 450, 700, 1000, 1300};
  std::vector<double> gsw = std::vector<double>(8, 200), flow = std::vector<double>(8, 400),
                      Tleaf = std::vector<double>(8, 25), Qin = std::vector<double>(8, 1500);
  std::vector<char> repeat, equalising, use;
  ScreenResult screened(const ScreenChoice& choice = {}) const {
    return screen({A, Ci, gsw, flow, Tleaf, Qin, repeat, equalising, use}, choice);
  }
};

std::uint32_t bit(ScreenRule rule) {
  return std::uint32_t{1} << static_cast<unsigned>(rule);
}

TEST(Screen, AnOrdinaryCurveHasNothing) {
  const ScreenResult r = Points().screened();
  for (std::size_t i = 0; i < 8; ++i) {
    EXPECT_EQ(r.why[i], "");
    EXPECT_EQ(r.flags[i], 0U);
  }
}

TEST(Screen, WhatIsImpossibleIsLeftOutWithTheNumber) {
  Points p;
  p.Ci[0] = -3;
  p.Ci[1] = 0;
  p.gsw[2] = -1.5;
  p.A[3] = missing;
  p.Ci[4] = missing;
  p.repeat = {0, 0, 0, 0, 0, 1, 0, 0};
  p.equalising = {0, 0, 0, 0, 0, 0, 1, 0};
  const ScreenResult r = p.screened();
  EXPECT_EQ(r.why[0], "ci-not-positive: Ci is -3 umol mol-1");
  EXPECT_EQ(r.why[1], "ci-not-positive: Ci is 0 umol mol-1");
  EXPECT_EQ(r.why[2], "gsw-not-positive: gsw is -1.5 mmol m-2 s-1");
  EXPECT_EQ(r.why[3], "missing: there is no A");
  EXPECT_EQ(r.why[4], "missing: there is no Ci");
  EXPECT_EQ(r.why[5].substr(0, 8), "repeated");
  EXPECT_EQ(r.why[6].substr(0, 10), "equalising");
  EXPECT_EQ(r.why[7], "");
}

TEST(Screen, WhatIsUnusualIsFlaggedAndUsed) {
  Points p;
  p.A[3] = 5;
  p.flow[1] = 430;
  p.Tleaf[2] = 28;
  p.Qin[7] = 800;
  const ScreenResult r = p.screened();
  for (const std::string& why : r.why) EXPECT_EQ(why, "");
  EXPECT_EQ(r.flags[3], bit(ScreenRule::outlier));
  EXPECT_EQ(r.flags[1], bit(ScreenRule::flow_off));
  EXPECT_EQ(r.flags[2], bit(ScreenRule::temperature_off));
  EXPECT_EQ(r.flags[7], bit(ScreenRule::light_off));
  EXPECT_EQ(r.flags[4], 0U) << "a neighbour of the outlier is none";
  ASSERT_EQ(r.examples.size(), 4U);
  EXPECT_NE(r.examples[1].find("flow is 430 where the curve's median is 400"), std::string::npos)
      << r.examples[1];
}

TEST(Screen, OffSaysNothing) {
  Points p;
  p.Ci[0] = -3;
  ScreenChoice off;
  off.on = false;
  const ScreenResult r = p.screened(off);
  EXPECT_EQ(r.why[0], "");
}

TEST(Screen, RowsThatAreOutAlreadyAreNotJudgedNorJudgeOthers) {
  Points p;
  p.A[3] = 500;
  p.use = {1, 1, 1, 0, 1, 1, 1, 1};
  const ScreenResult r = p.screened();
  EXPECT_EQ(r.flags[3], 0U);
  EXPECT_EQ(r.flags[2] | r.flags[4], 0U);
}

TEST(Screen, EveryRuleSaysWhereItComesFrom) {
  for (const ScreenRuleInfo& rule : screen_rules()) {
    EXPECT_EQ(&screen_rule(rule.rule), &rule);
    EXPECT_FALSE(rule.source.empty() || rule.meaning.empty() || rule.name.empty());
    // A rule without a ground in physics must not take rows away.
    if (rule.source == "common practice, no source") {
      EXPECT_FALSE(rule.excludes) << rule.name;
    }
  }
}

}  // namespace
}  // namespace leafwright
