// C4 options from the settings of this room.
#include <fmt/format.h>

#include <array>

#include "fit/c4.hpp"
#include "fit/option_texts.hpp"

namespace leafwright {
namespace {

/// Settings of C3 fits that mean nothing to a C4 leaf: given by the user, they are a mistake.
Result<void> check_c3_only(const Settings& s) {
  constexpr std::array<const char*, 11> names{"limitations",     "gm-response", "electrons",
                                              "glycolate",       "smooth",      "min-points",
                                              "kinetics-at",     "loss",        "leaf-absorptance",
                                              "light-curvature", "light-loss"};
  for (const char* name : names) {
    if (!s.is_set(name) || s.origin(name) == SettingOrigin::default_value) continue;
    return fail(ErrorCode::usage, fmt::format("--{} with --pathway c4", name),
                "no such setting: it belongs to the C3 model", fmt::format("leave --{} out", name));
  }
  if (s.text("gm") != "infinite") {
    return fail(
        ErrorCode::refused, fmt::format("--gm {} with --pathway c4", s.text("gm")),
        "--gm infinite: the C4 fit takes Cm as Ci, so its initial slope is that against Ci");
  }
  if (s.text("intervals") == "bootstrap") {
    return fail(ErrorCode::refused, "--intervals bootstrap with --pathway c4",
                "--intervals profile or none");
  }
  return {};
}

Result<Response> c4_rday_response(const std::string& name) {
  const auto set = find_c4_response(name);
  if (!set) return fail(set.error());
  if (!(*set)->Rday) {
    return fail(ErrorCode::usage, fmt::format("the response set '{}' does not treat Rday", name),
                "a set with a response of Rday");
  }
  return *(*set)->Rday;
}

C4Plateau plateau_of(const std::string& text) {
  for (const C4Plateau p : {C4Plateau::vcmax, C4Plateau::vpr, C4Plateau::j}) {
    if (text == c4_plateau_name(p)) return p;
  }
  return C4Plateau::unnamed;
}

}  // namespace

Result<C4FitOptions> c4_fit_options(const Settings& s) {
  if (auto ok = check_c3_only(s); !ok) return fail(ok.error());
  C4FitOptions o;
  const auto kinetics = find_c4_kinetics(s.text("kinetics"));
  if (!kinetics) return fail(kinetics.error());
  o.kinetics = *kinetics;
  for (const std::string& assignment : s.list("kinetic")) {
    if (auto ok = set_c4_override(o.overrides, assignment); !ok) return fail(ok.error());
  }
  o.basis = s.text("basis") == "mole-fraction" ? Basis::mole_fraction : Basis::partial_pressure;
  o.plateau = plateau_of(s.text("plateau"));
  const auto rday = rday_source(s, c4_rday_response);
  if (!rday) return fail(rday.error());
  o.rday = *rday;
  if (o.rday.from == RdaySource::From::fraction && o.plateau != C4Plateau::vcmax) {
    return fail(ErrorCode::usage,
                fmt::format("--rday {} with --plateau {}", s.text("rday"), s.text("plateau")),
                "--plateau vcmax: no other C4 fit has a Vcmax to take a fraction of",
                "or give --rday as a number or free");
  }
  o.gbs = s.number("gbs");
  o.alpha = s.number("sheath-oxygen");
  o.x = s.number("c4-electrons");
  o.fcyc = s.number("cyclic");
  if (s.text("at25") != "none") {
    const auto response = find_c4_response(s.text("at25"));
    if (!response) return fail(response.error());
    o.at25 = *response;
  }
  o.intervals = s.text("intervals") == "none" ? IntervalMethod::none : IntervalMethod::profile;
  o.level = s.number("level");
  const auto correlation = parse_correlation(s.text("correlation"));
  if (!correlation) return fail(correlation.error());
  o.correlation = *correlation;
  if (s.text("sd-column").empty()) {
    return fail(ErrorCode::usage, "'' for --sd-column", "none, or a column's name");
  }
  if (s.text("sd-column") != "none") o.sd_column = s.text("sd-column");
  o.empirical = empirical_of(s.text("empirical"));
  return o;
}

}  // namespace leafwright
