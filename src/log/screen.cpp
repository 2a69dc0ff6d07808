#include "log/screen.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>

namespace leafwright {

namespace {

constexpr std::string_view practice = "common practice, no source";

constexpr std::array<ScreenRuleInfo, 11> rules{{
    {ScreenRule::not_finite, "missing", true, "no A or no Ci: there is no point", "derived"},
    {ScreenRule::Ci_not_positive, "ci-not-positive", true, "Ci is not above 0",
     "derived: a mole fraction is not negative, and at 0 the leaf has no CO2 to take up"},
    {ScreenRule::gsw_not_positive, "gsw-not-positive", true, "gsw is not above 0, so Ci is unknown",
     "derived: vapour diffuses from the moister to the drier air"},
    {ScreenRule::repeated, "repeated", true,
     "the row repeats the one before in all that was measured: one measurement, logged twice",
     "derived: two measurements with noise do not agree in every digit"},
    {ScreenRule::equalising, "equalising", true, "the cells were being equalised",
     "derived: both "
     "cells then have the same air"},
    {ScreenRule::outlier, "outlier", false, "A is far from what its neighbours in Ci say",
     practice},
    {ScreenRule::not_steady, "not-steady", false, "A, gsw or CO2r was still changing", practice},
    {ScreenRule::flow_off, "flow-off", false, "flow is off the curve's median", practice},
    {ScreenRule::temperature_off, "temperature-off", false, "Tleaf is off the curve's median",
     practice},
    {ScreenRule::light_off, "light-off", false, "Qin is off the curve's median", practice},
    {ScreenRule::air, "air", false, "a flag of the fluxes", "docs/methods-air.md"},
}};

double median(std::vector<double> values) {
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  if (values.size() % 2 == 1) return *middle;
  return (*middle + *std::max_element(values.begin(), middle)) / 2;
}

constexpr std::size_t long_curve = 200;

class Screen {
 public:
  Screen(const ScreenSeries& series, const ScreenChoice& choice)
      : series_(series), choice_(choice) {
    out_.why.resize(series.A.size());
    out_.flags.resize(series.A.size());
  }

  ScreenResult run() {
    for (std::size_t i = 0; i < series_.A.size(); ++i) exclude(i);
    if (series_.points) outliers();
    off_median(series_.flow, ScreenRule::flow_off, choice_.flow_off, true, "flow", "umol s-1");
    off_median(series_.Tleaf, ScreenRule::temperature_off, choice_.temperature_off, false, "Tleaf",
               "degC");
    off_median(series_.Qin, ScreenRule::light_off, choice_.light_off, true, "Qin", "umol m-2 s-1");
    return std::move(out_);
  }

 private:
  [[nodiscard]] bool judged(std::size_t i) const {
    return (series_.use.empty() || series_.use[i] != 0) && out_.why[i].empty();
  }

  void exclude(std::size_t i) {
    if (!judged(i)) return;
    std::string& why = out_.why[i];
    if (!series_.equalising.empty() && series_.equalising[i] != 0) {
      why = "equalising: the cells were being equalised";
    } else if (!series_.gsw.empty() && series_.gsw[i] <= 0) {
      why = fmt::format("gsw-not-positive: gsw is {:.3g} mmol m-2 s-1", series_.gsw[i]);
    } else if (std::isnan(series_.A[i]) || std::isnan(series_.Ci[i])) {
      why = fmt::format("missing: there is no {}", std::isnan(series_.A[i]) ? "A" : "Ci");
    } else if (series_.Ci[i] <= 0) {
      why = fmt::format("ci-not-positive: Ci is {:.4g} umol mol-1", series_.Ci[i]);
    } else if (!series_.repeat.empty() && series_.repeat[i] != 0) {
      why = "repeated: the row repeats the one before in all that was measured";
    }
  }

  void flag(std::size_t i, ScreenRule rule, const std::string& text) {
    const auto bit = std::uint32_t{1} << static_cast<unsigned>(rule);
    if ((seen_ & bit) == 0) {
      seen_ |= bit;
      out_.examples.push_back(std::string(screen_rule(rule).name) + ": " + text);
    }
    out_.flags[i] |= bit;
  }

  // An A-Ci curve is the least of concave rates, so it is concave: a point lies between the chord
  // of its neighbours in Ci (from below) and the lines through the two points on either side (from
  // above). How far it lies outside is held against the robust scale of the distances to the chord,
  // which noise and curvature make. The ends have no two neighbours and are not judged.
  void outliers() {
    std::vector<std::size_t> order;
    for (std::size_t i = 0; i < series_.A.size(); ++i) {
      if (judged(i)) order.push_back(i);
    }
    if (order.size() < 6) return;
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return series_.Ci[a] < series_.Ci[b]; });
    const std::size_t n = order.size();
    std::vector<double> off(n, 0), size;
    for (std::size_t k = 1; k + 1 < n; ++k) {
      const double A = series_.A[order[k]];
      const double chord = line(order[k - 1], order[k + 1], order[k]);
      double above = chord;
      if (k >= 2) above = std::max(above, line(order[k - 2], order[k - 1], order[k]));
      if (k + 2 < n) above = std::max(above, line(order[k + 1], order[k + 2], order[k]));
      off[k] = A < chord ? A - chord : std::max(0.0, A - above);
      size.push_back(std::abs(A - chord));
    }
    const double of_all = 1.4826 * median(size);
    for (std::size_t k = 1; k + 1 < n; ++k) {
      // In a short curve one bad point makes half of the differences large: it must not be judged
      // by a scale that it has made itself.
      const double scale = size.size() > long_curve ? of_all : scale_without(size, k - 1);
      const double limit = std::max(choice_.outlier_sd * scale, choice_.outlier_A);
      // One bad point also moves the differences of its two neighbours: the largest of the three.
      const bool largest =
          std::abs(off[k]) >= std::abs(off[k - 1]) && std::abs(off[k]) >= std::abs(off[k + 1]);
      if (std::abs(off[k]) <= limit || !largest) continue;
      flag(order[k], ScreenRule::outlier,
           fmt::format("A = {:.4g} is {:.3g} umol m-2 s-1 {} what a concave curve through its "
                       "neighbours in Ci allows, more than {:.3g}",
                       series_.A[order[k]], std::abs(off[k]), off[k] < 0 ? "below" : "above",
                       limit));
    }
  }

  /// A at the Ci of row `at` on the line through rows `a` and `b`; their mean where they have one
  /// Ci.
  [[nodiscard]] double line(std::size_t a, std::size_t b, std::size_t at) const {
    const double span = series_.Ci[b] - series_.Ci[a];
    const double share = span > 0 ? (series_.Ci[at] - series_.Ci[a]) / span : 0.5;
    return series_.A[a] + share * (series_.A[b] - series_.A[a]);
  }

  /// The robust scale of the differences but for those that hold point `k`.
  static double scale_without(const std::vector<double>& size, std::size_t k) {
    std::vector<double> others;
    for (std::size_t i = 0; i < size.size(); ++i) {
      if (i + 1 < k || i > k + 1) others.push_back(size[i]);
    }
    if (others.size() < 3) return std::numeric_limits<double>::infinity();
    return 1.4826 * median(std::move(others));
  }

  void off_median(std::span<const double> values, ScreenRule rule, double limit, bool relative,
                  const char* name, const char* unit) {
    std::vector<double> known;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (judged(i) && !std::isnan(values[i])) known.push_back(values[i]);
    }
    if (known.size() < 3) return;
    const double middle = median(std::move(known));
    const double most = relative ? limit / 100 * std::abs(middle) : limit;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (!judged(i) || !(std::abs(values[i] - middle) > most)) continue;
      flag(i, rule,
           fmt::format("{} is {:.4g} where the curve's median is {:.4g} {}", name, values[i],
                       middle, unit));
    }
  }

  const ScreenSeries& series_;
  const ScreenChoice& choice_;
  ScreenResult out_;
  std::uint32_t seen_ = 0;
};

}  // namespace

std::span<const ScreenRuleInfo> screen_rules() {
  return rules;
}

const ScreenRuleInfo& screen_rule(ScreenRule rule) {
  return rules[static_cast<std::size_t>(rule)];
}

ScreenResult screen(const ScreenSeries& series, const ScreenChoice& choice) {
  if (choice.on) return Screen(series, choice).run();
  ScreenResult out;
  out.why.resize(series.A.size());
  out.flags.resize(series.A.size());
  return out;
}

SettingTable screen_settings() {
  static const std::array<Setting, 6> settings{{
      {.name = "screen",
       .kind = SettingKind::choice,
       .default_value = "on",
       .choices = {"on", "off"},
       .help = "leave out rows that are no measurement, and flag unusual ones; reasons are shown",
       .source = "docs/methods-logs.md"},
      {.name = "outlier-sd",
       .kind = SettingKind::number,
       .default_value = "5",
       .low = 0.1,
       .help =
           "A further from what a concave curve through its neighbours in Ci allows than so many "
           "robust standard deviations is flagged",
       .source = std::string(practice)},
      {.name = "outlier-a",
       .kind = SettingKind::number,
       .unit = "umol m-2 s-1",
       .default_value = "1",
       .low = 0,
       .help = "and only if it is also further than this",
       .source = std::string(practice)},
      {.name = "flow-off",
       .kind = SettingKind::number,
       .unit = "%",
       .default_value = "5",
       .low = 0,
       .help = "flow further from the curve's median is flagged",
       .source = std::string(practice)},
      {.name = "temperature-off",
       .kind = SettingKind::number,
       .unit = "K",
       .default_value = "2",
       .low = 0,
       .help = "Tleaf further from the curve's median is flagged",
       .source = std::string(practice)},
      {.name = "light-off",
       .kind = SettingKind::number,
       .unit = "%",
       .default_value = "5",
       .low = 0,
       .help = "Qin further from the curve's median is flagged",
       .source = std::string(practice)},
  }};
  return settings;
}

ScreenChoice screen_choice(const Settings& settings) {
  ScreenChoice out;
  out.on = settings.text("screen") == "on";
  out.outlier_sd = settings.number("outlier-sd");
  out.outlier_A = settings.number("outlier-a");
  out.flow_off = settings.number("flow-off");
  out.temperature_off = settings.number("temperature-off");
  out.light_off = settings.number("light-off");
  return out;
}

}  // namespace leafwright
