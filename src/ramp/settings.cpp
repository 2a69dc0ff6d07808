#include "ramp/settings.hpp"

#include <array>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {

SettingTable path_settings() {
  static const std::array<Setting, 8> settings{{
      {.name = "interpolation",
       .kind = SettingKind::choice,
       .default_value = "cubic",
       .choices = {"linear", "cubic"},
       .help = "the curve through the rows of CO2r that the path's filter acts on; straight lines "
               "cut the corners of steps",
       .source = "docs/methods-gas-path.md"},
      {.name = "offset-order",
       .kind = SettingKind::choice,
       .default_value = "auto",
       .choices = {"auto", "0", "1", "2"},
       .help = "order of the offset as a polynomial in CO2; auto: 2 where the records span 400 "
               "umol mol-1 or more, 1 from 30 on, else 0",
       .source = "docs/methods-gas-path.md"},
      {.name = "drift",
       .kind = SettingKind::number,
       .unit = "umol mol-1",
       .default_value = "0.03",
       .low = 0,
       .high = 10,
       .help = "standard deviation of the slow drift of the differential, which widens standard "
               "errors: a ramp cannot tell it from its offsets",
       .source = "an assumption; measure it on a long record of steady air"},
      {.name = "drift-time",
       .kind = SettingKind::number,
       .unit = "s",
       .default_value = "400",
       .low = 10,
       .high = 100000,
       .help = "time in which the correlation of that drift falls to 1/e",
       .source = "an assumption; measure it on a long record of steady air"},
      {.name = "max-lag",
       .kind = SettingKind::number,
       .unit = "s",
       .default_value = "60",
       .low = 2,
       .high = 600,
       .help = "lags up to this, and down to minus a quarter of it, are looked for",
       .source = "common practice, no source"},
      {.name = "averaging",
       .kind = SettingKind::choice,
       .default_value = "instrument",
       .choices = {"instrument", "estimate"},
       .help = "averaging time of CO2s: that of the instrument file (none where it has none), or "
               "one more unknown, which needs steps of CO2",
       .source = "docs/methods-gas-path.md"},
      {.name = "empty-check",
       .kind = SettingKind::choice,
       .default_value = "on",
       .choices = {"on", "off"},
       .help = "refuse a record of the empty chamber that looks like one with a leaf",
       .source = "common practice, no source"},
      {.name = "gasket",
       .kind = SettingKind::text,
       .help = "state of the gasket in the empty records, in words of your own; compared with the "
               "leaf's",
       .source = "the user's own",
       .value_name = "TEXT"},
  }};
  return settings;
}

IdentifyOptions identify_options(const Settings& settings) {
  IdentifyOptions out;
  out.interpolation =
      settings.text("interpolation") == "linear" ? Interpolation::linear : Interpolation::cubic;
  const std::string& order = settings.text("offset-order");
  if (order != "auto") out.offset_order = order.front() - '0';
  out.drift_sd = settings.number("drift");
  out.drift_time_s = settings.number("drift-time");
  out.max_lag_s = settings.number("max-lag");
  out.estimate_averaging = settings.text("averaging") == "estimate";
  out.refuse_leaf = settings.text("empty-check") == "on";
  if (settings.is_set("gasket")) out.gasket = settings.text("gasket");
  return out;
}

SettingTable advice_settings() {
  static const std::array<Setting, 2> settings{{
      {.name = "rate",
       .kind = SettingKind::number,
       .unit = "umol mol-1 min-1",
       .low = -5000,
       .high = 5000,
       .help = "rate of the ramps to come, for which the lags are called equal or not; without it "
               "that of the records",
       .source = "the user's own"},
      {.name = "bore",
       .kind = SettingKind::list,
       .unit = "mm",
       .help = "inner diameter of tube at hand; without it 1.59, 3.18 and 4.76",
       .source = "common practice, no source",
       .value_name = "MM"},
  }};
  return settings;
}

Result<AdviceOptions> advice_options(const Settings& settings) {
  AdviceOptions out;
  if (settings.is_set("rate")) out.rate = settings.number("rate") / 60;
  for (const std::string& text : settings.list("bore")) {
    const auto bore = parse_number(text);
    if (!bore || *bore < 0.2 || *bore > 50) {
      return fail(ErrorCode::usage, "--bore " + shortened(text), "a number from 0.2 to 50, in mm");
    }
    out.bores_mm.push_back(*bore);
  }
  return out;
}

SettingTable condition_settings() {
  static const std::array<Setting, 4> settings{{
      {.name = "condition-warn",
       .kind = SettingKind::number,
       .unit = "umol m-2 s-1",
       .default_value = "0.1",
       .low = 0,
       .high = 100,
       .help = "error of A by conditions other than those of the empty record, from which on it is "
               "told",
       .source = "a third of a per cent of A at 30; choose your own"},
      {.name = "condition-refuse",
       .kind = SettingKind::number,
       .unit = "umol m-2 s-1",
       .default_value = "1",
       .low = 0,
       .high = 1000,
       .help = "the same error from which on the empty record is not used for that correction",
       .source = "3 % of A at 30; choose your own"},
      {.name = "max-age",
       .kind = SettingKind::number,
       .unit = "d",
       .default_value = "3",
       .low = 0,
       .high = 3650,
       .help = "days between the empty record and the leaf's from which on it is told",
       .source = "common practice, no source: offsets are taken to be stable for days"},
      {.name = "leaf-gasket",
       .kind = SettingKind::text,
       .help = "state of the gasket with the leaf, in the words used for the empty records",
       .source = "the user's own",
       .value_name = "TEXT"},
  }};
  return settings;
}

ConditionOptions condition_options(const Settings& settings) {
  ConditionOptions out;
  out.warn = settings.number("condition-warn");
  out.refuse = settings.number("condition-refuse");
  out.max_age_days = settings.number("max-age");
  if (settings.is_set("leaf-gasket")) out.gasket = settings.text("leaf-gasket");
  return out;
}

}  // namespace leafwright
