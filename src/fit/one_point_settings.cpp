// The settings of one-point Vcmax. What they share with the fit is taken from its table.
#include <algorithm>
#include <stdexcept>

#include "fit/one_point.hpp"
#include "fit/option_texts.hpp"

namespace leafwright {
namespace {

using Kind = SettingKind;

Setting of_fit(const std::string& name, const std::string& help) {
  const SettingTable table = fit_settings();
  const auto found = std::find_if(table.begin(), table.end(),
                                  [&](const Setting& setting) { return setting.name == name; });
  if (found == table.end()) throw std::logic_error("the fit has no setting " + name);
  Setting out = *found;
  if (!help.empty()) out.help = help;
  return out;
}

std::vector<Setting> declared() {
  return {
      {.name = "rday",
       .kind = Kind::text,
       .unit = "umol m-2 s-1",
       .help = "respiration in the light, positive: a number, a column, or a fraction of Vcmax; "
               "required",
       .source = "no default: one point cannot tell it; fraction:0.015 is the form published "
                 "without a measured Rday (De Kauwe et al. 2016, New Phytol. 210:1130)",
       .value_name = "VALUE|column:NAME|fraction:VALUE"},
      of_fit("kinetics",
             "kinetics by author and year; a set made for Ci suits the method, as gm "
             "is taken as infinite"),
      of_fit("kinetic",
             "replace one constant of the set: Kc, Ko, O, GammaStar or Km, at leaf "
             "temperature, as a mole fraction (Kc, GammaStar, Km in umol mol-1; Ko, O "
             "in mmol mol-1)"),
      of_fit("basis", ""),
      of_fit("at25", "temperature responses that move values to 25 degC; none: no such values"),
      {.name = "saturating-light",
       .kind = Kind::number,
       .unit = "umol m-2 s-1",
       .low = 1,
       .high = 3000,
       .help = "Qin from which light saturates these leaves: rows with less are lower bounds; "
               "without it light is not judged, and that is said",
       .source = "no default: it depends on the leaf"},
      {.name = "per",
       .kind = Kind::choice,
       .default_value = "row",
       .choices = {"row", "curve"},
       .help = "a value for every row, or one from the mean of each curve's rows (records of one "
               "leaf at one CO2)",
       .source = "a row is what was measured"},
  };
}

}  // namespace

SettingTable one_point_settings() {
  static const std::vector<Setting> settings = declared();
  return settings;
}

Result<OnePointOptions> one_point_options(const Settings& s) {
  OnePointOptions o;
  const auto kinetics = find_kinetics(s.text("kinetics"));
  if (!kinetics) return fail(kinetics.error());
  o.kinetics = *kinetics;
  for (const std::string& assignment : s.list("kinetic")) {
    if (auto ok = set_override(o.overrides, assignment); !ok) return fail(ok.error());
  }
  o.basis = s.text("basis") == "mole-fraction" ? Basis::mole_fraction : Basis::partial_pressure;
  constexpr const char* accepted = "a number of 0 or more, column:NAME or fraction:VALUE below 1";
  if (!s.is_set("rday")) {
    return fail(ErrorCode::usage, "no --rday given", accepted,
                "one point cannot tell Rday; without a measured one, fraction:0.015 is the "
                "published form");
  }
  const auto rday = parse_rday(s.text("rday"));
  using From = RdaySource::From;
  const bool dark = rday && (rday->from == From::dark || rday->from == From::dark_column);
  if (!rday || dark || rday->from == From::fitted) {
    return fail(ErrorCode::usage, "'" + s.text("rday") + "' for --rday", accepted,
                dark   ? "give respiration in the light: the dark value less what light inhibits"
                : rday ? "one point cannot tell Rday from Vcmax"
                       : rday.error().hint);
  }
  o.rday = *rday;
  if (s.text("at25") != "none") {
    const auto response = find_response(s.text("at25"));
    if (!response) return fail(response.error());
    o.at25 = *response;
  }
  if (s.is_set("saturating-light")) o.saturating_light = s.number("saturating-light");
  o.mean_of_curve = s.text("per") == "curve";
  return o;
}

}  // namespace leafwright
