// The HTML page: well-formed, self-contained, honest, readable.
#include "report/campaign_report.hpp"

#include <gtest/gtest.h>

#include <regex>

#include "figure/colours.hpp"
#include "report/html.hpp"
#include "report/methods_text.hpp"

namespace leafwright {
namespace {

Curve curve_named(const std::string& id) {
  Curve c;
  c.curve_id = id;
  const double ci[] = {60, 100, 180, 260, 350, 500, 700, 950, 1200, 1500};
  const double A[] = {0.1, 3.9, 11.2, 17.0, 22.1, 25.0, 27.1, 28.4, 29.2, 29.9};
  for (std::size_t i = 0; i < 10; ++i) {
    CurveRow r;
    r.row = i;
    r.place = {"points.csv", i + 2, 0, ""};
    r.Ci = ci[i];
    r.A = A[i];
    r.Tleaf = 27;
    r.Patm = 99;
    c.rows.push_back(r);
  }
  return c;
}

struct Made {
  std::vector<Curve> curves;
  CampaignFit campaign;
  Settings settings{fit_settings()};
  FitDocument document;

  explicit Made(std::vector<Curve> given) : curves(std::move(given)) {
    campaign = fit_curves(curves, *fit_options(settings));
    document.curves = curves;
    document.campaign = &campaign;
    document.settings = {&settings};
    document.inputs = {{"points.csv", 10, std::string(64, 'a')}};
  }
  [[nodiscard]] std::string page() const {
    const auto html = campaign_report(document, {"A <title> & more"});
    EXPECT_TRUE(html.has_value());
    return html.value_or("");
  }
};

/// Every element that is opened is closed, in order.
std::string first_fault(const std::string& html) {
  static const std::regex tag("<(/?)([a-zA-Z][a-zA-Z0-9]*)((?:[^<>\"]|\"[^\"]*\")*)>");
  std::vector<std::string> open;
  for (auto it = std::sregex_iterator(html.begin(), html.end(), tag); it != std::sregex_iterator();
       ++it) {
    const std::string name = (*it)[2], rest = (*it)[3];
    if (name == "meta" || (!rest.empty() && rest.back() == '/')) continue;
    if ((*it)[1].length() == 0) {
      open.push_back(name);
    } else if (open.empty() || open.back() != name) {
      return "</" + name + "> where " + (open.empty() ? "nothing" : open.back()) + " is open";
    } else {
      open.pop_back();
    }
  }
  return open.empty() ? "" : open.back() + " is never closed";
}

TEST(CampaignReport, IsWellFormedAndAsksForNothingOutside) {
  const std::string html = Made({curve_named("leaf <1> & \"2\""), curve_named("b")}).page();
  EXPECT_EQ(first_fault(html), "");
  EXPECT_EQ(html.find("<script"), std::string::npos);
  EXPECT_FALSE(std::regex_search(html, std::regex("(src|href)=\"(?!#)")));
  EXPECT_EQ(html.find("url("), std::string::npos);
  EXPECT_NE(html.find("A &lt;title&gt; &amp; more"), std::string::npos);
  EXPECT_NE(html.find("leaf &lt;1&gt; &amp; &quot;2&quot;"), std::string::npos);
  EXPECT_EQ(html.find("leaf <1>"), std::string::npos);
}

TEST(CampaignReport, AFaultInTheMarkupWouldBeFound) {
  EXPECT_NE(first_fault("<p><b>x</p></b>"), "");
  EXPECT_NE(first_fault("<p>"), "");
}

TEST(CampaignReport, PrintsNoNanAndNoInfinity) {
  Curve low = curve_named("low");
  low.rows.resize(4);
  const std::string html = Made({low, curve_named("b")}).page();
  EXPECT_FALSE(std::regex_search(html, std::regex("\\b-?(nan|inf)\\b")));
}

TEST(CampaignReport, NamesFailedCurvesWithTheirReason) {
  Curve bad = curve_named("bad");
  bad.rows.resize(1);
  const std::string html = Made({bad, curve_named("good")}).page();
  EXPECT_NE(html.find("1 could not be fitted"), std::string::npos);
  EXPECT_NE(html.find("1 usable row at 1 distinct Ci"), std::string::npos);
}

TEST(CampaignReport, EverySettingStandsInItWithItsSource) {
  const Made made({curve_named("a")});
  const std::string html = made.page();
  for (const Setting& s : fit_settings()) {
    EXPECT_NE(html.find("<th scope=\"row\">" + s.name + "</th>"), std::string::npos) << s.name;
    EXPECT_NE(html.find(html_escaped(s.source)), std::string::npos) << s.name;
  }
}

TEST(CampaignReport, TextColoursReachTheContrastOfWcag) {
  // The custom properties of the page: paper, then ink, muted, link; light and dark.
  const std::string html = html_page("t", "");
  static const std::regex block(
      "--paper:#([0-9a-f]{6});--ink:#([0-9a-f]{6});--muted:#([0-9a-f]{6});"
      "--line:#[0-9a-f]{6};--band:#([0-9a-f]{6});--link:#([0-9a-f]{6})");
  std::size_t themes = 0;
  for (auto it = std::sregex_iterator(html.begin(), html.end(), block);
       it != std::sregex_iterator(); ++it, ++themes) {
    const auto colour = [&](int i) {
      return static_cast<std::uint32_t>(
          std::stoul((*it)[static_cast<std::size_t>(i)], nullptr, 16));
    };
    for (const int background : {1, 4}) {
      for (const int text : {2, 3, 5}) {
        EXPECT_GE(contrast_ratio(colour(text), colour(background)), 4.5);
      }
    }
  }
  EXPECT_EQ(themes, 2U);
}

TEST(MethodsText, CitesWhatWasUsedAndNothingElse) {
  Made made({curve_named("a")});
  MethodsText text = methods_text(made.document);
  const auto cites = [&](const std::string& word) {
    return std::any_of(text.references.begin(), text.references.end(),
                       [&](const std::string& r) { return r.find(word) != std::string::npos; });
  };
  EXPECT_TRUE(cites("Bernacchi"));
  EXPECT_TRUE(cites("Gu L"));
  EXPECT_FALSE(cites("Sharkey TD (1991)"));
  ASSERT_TRUE(made.settings.set("glycolate", "0.2", SettingOrigin::option));
  made.campaign = fit_curves(made.curves, *fit_options(made.settings));
  text = methods_text(made.document);
  EXPECT_TRUE(cites("Sharkey TD (1991)"));
}

}  // namespace
}  // namespace leafwright
