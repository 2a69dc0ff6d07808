// The settings of this room, and options from them.
#include <fmt/format.h>

#include <array>
#include <cmath>

#include "base/number.hpp"
#include "fit/fit.hpp"
#include "fit/gm_response.hpp"
#include "fit/option_texts.hpp"

namespace leafwright {
namespace {

using Kind = SettingKind;

const std::array<Setting, 32>& declared() {
  static const std::array<Setting, 32> settings{{
      {.name = "kinetics",
       .kind = Kind::text,
       .default_value = "bernacchi-2001",
       .help =
           "kinetics by author and year; a C3 set's CO2 (Ci or Cc) must suit --gm; C4 leaves have "
           "sets of their own, boyd-2015 where none is given",
       .source = "Bernacchi et al. 2001, Plant Cell Environ. 24:253 (a Ci set, for infinite gm)",
       .value_name = "NAME"},
      {.name = "kinetic",
       .kind = Kind::list,
       .help =
           "replace one constant of the set: Kc, Ko, O, GammaStar or Km (of C4 leaves Kc, Ko, O "
           "or Kp), at leaf temperature, as a mole fraction (Kc, Kp, GammaStar, Km in umol "
           "mol-1; Ko, O in mmol mol-1)",
       .source = "the user's own",
       .value_name = "SYMBOL=VALUE"},
      {.name = "limitations",
       .kind = Kind::text,
       .default_value = "auto",
       .help = "limitations the fit may use, such as rubisco,rubp,tpu; auto: rubisco and rubp, and "
               "tpu where an F test at 5 % asks for it with at least two TPU rows",
       .source = "docs/decisions/limitations.md",
       .value_name = "auto|LIST"},
      {.name = "basis",
       .kind = Kind::choice,
       .default_value = "partial-pressure",
       .choices = {"partial-pressure", "mole-fraction"},
       .help = "whether kinetic constants keep their partial pressure or their mole fraction when "
               "the air pressure is not the one they were measured at",
       .source = "docs/decisions/kinetics-pressure.md"},
      {.name = "rday",
       .kind = Kind::text,
       .unit = "umol m-2 s-1",
       .default_value = "free",
       .help = "respiration in the light, positive: fitted (free), a number, a column that is "
               "constant within a curve, a fraction of Vcmax, or respiration measured in the dark, "
               "of which light inhibits a share (--rday-inhibition)",
       .source = "docs/decisions/rday.md",
       .value_name = "free|VALUE|column:NAME|fraction:VALUE|dark:VALUE|dark:column:NAME"},
      {.name = "rday-inhibition",
       .kind = Kind::number,
       .low = 0,
       .high = 1,
       .help = "share of dark respiration that light inhibits, with --rday dark: (required there; "
               "0: none)",
       .source = "no default: published shares run from none to most of it"},
      {.name = "rday-dark-temperature",
       .kind = Kind::number,
       .unit = "degC",
       .low = -10,
       .high = 60,
       .help = "leaf temperature of the dark measurement, with --rday dark:; without it the value "
               "is taken as measured at each curve's Tleaf",
       .source = "the user's own"},
      {.name = "rday-response",
       .kind = Kind::text,
       .help =
           "temperature responses whose Rday moves the dark value to Tleaf; without it those of "
           "--at25, if that was given",
       .source = "no default: published responses disagree",
       .value_name = "RESPONSE-SET"},
      {.name = "gm",
       .kind = Kind::text,
       .unit = "mol m-2 s-1",
       .default_value = "infinite",
       .help =
           "mesophyll conductance of C3 leaves: infinite (Vcmax and J are then apparent values), "
           "a number, or fitted with its profile (free); finite gm needs Cc kinetics, and its "
           "results are called Vcmax_gm and J_gm",
       .source = "docs/decisions/gm-names.md",
       .value_name = "infinite|VALUE|free"},
      {.name = "gm-response",
       .kind = Kind::text,
       .help = "temperature response of gm: arrhenius:HA or peaked:HA,HD,DS (kJ mol-1, kJ mol-1, "
               "J mol-1 K-1). --gm VALUE is then at 25 degC, and each curve is fitted with that of "
               "its Tleaf; with --gm free gm25 is given too",
       .source = "no default: published responses of gm differ between species (von Caemmerer & "
                 "Evans 2015, from memory); without it gm is that of each curve's Tleaf",
       .value_name = "FORM:NUMBERS"},
      {.name = "leaf-absorptance",
       .kind = Kind::number,
       .low = 0.01,
       .high = 1,
       .help = "share of the incident light (Qin) that the leaf absorbs; with --light-curvature it "
               "gives Jmax from J (C3)",
       .source = "no default: it is the leaf's and the light's"},
      {.name = "light-curvature",
       .kind = Kind::number,
       .low = 0,
       .high = 1,
       .help = "curvature theta of J against light, with --leaf-absorptance; Jmax belongs to it",
       .source = "no default: 0.7 and 0.9 are both in use"},
      {.name = "light-loss",
       .kind = Kind::number,
       .default_value = "0.15",
       .low = 0,
       .high = 0.9,
       .help = "share of absorbed light that drives no electrons (f): photosystem II uses Q "
               "absorptance (1 - f)/2",
       .source = "von Caemmerer 2000 (from memory)"},
      {.name = "electrons",
       .kind = Kind::choice,
       .default_value = "4/8",
       .choices = {"4/8", "4.5/10.5"},
       .help = "electrons per carboxylation / per oxygenation in the RuBP-limited rate",
       .source = "Farquhar, von Caemmerer & Berry 1980 (4/8); Farquhar & von Caemmerer 1982 "
                 "(4.5/10.5)"},
      {.name = "glycolate",
       .kind = Kind::number,
       .default_value = "0",
       .low = 0,
       .high = 1,
       .help = "fraction of glycolate carbon not returned to the chloroplast (alpha), which lets A "
               "fall at high CO2 under TPU limitation",
       .source = "Harley & Sharkey 1991; 0: the TPU plateau is flat"},
      {.name = "smooth",
       .kind = Kind::text,
       .default_value = "none",
       .help = "curvature theta of a smooth minimum of the limitations, above 0 and up to 1 (C3, "
               "infinite gm); not certified, and the numbers belong to that theta",
       .source = "Farquhar, von Caemmerer & Berry 1980 (sharp minimum)",
       .value_name = "none|THETA"},
      {.name = "plateau",
       .kind = Kind::choice,
       .default_value = "unnamed",
       .choices = {"unnamed", "vcmax", "vpr", "j"},
       .help = "what sets the plateau of a C4 curve, if you know: Rubisco, regeneration of PEP or "
               "electron transport; one curve at one light cannot tell",
       .source = "docs/decisions/c4-plateau.md"},
      {.name = "gbs",
       .kind = Kind::number,
       .unit = "mol m-2 s-1 bar-1",
       .default_value = "0.003",
       .low = 1e-6,
       .high = 0.1,
       .help = "conductance of the bundle sheath of C4 leaves to CO2",
       .source = "von Caemmerer 2000 (from memory)"},
      {.name = "sheath-oxygen",
       .kind = Kind::number,
       .default_value = "0",
       .low = 0,
       .high = 1,
       .help = "share of O2 evolved in the bundle sheath of C4 leaves (alpha)",
       .source = "von Caemmerer 2000 (0 for many NADP-ME types; from memory)"},
      {.name = "c4-electrons",
       .kind = Kind::number,
       .default_value = "0.4",
       .low = 0.01,
       .high = 0.99,
       .help = "share of electron transport for the C4 cycle, with --plateau j",
       .source = "von Caemmerer 2000"},
      {.name = "cyclic",
       .kind = Kind::number,
       .default_value = "0.3333333333333333",
       .low = 0,
       .high = 0.9,
       .help = "share of cyclic electron flow in C4 leaves, with --plateau j; a third is the form "
               "of 2000",
       .source = "von Caemmerer 2021 (from memory)"},
      {.name = "empirical",
       .kind = Kind::choice,
       .default_value = "none",
       .choices = {"none", "hyperbola", "exponential"},
       .help = "also fit a curve without a model of the leaf: initial slope, CO2-saturated rate, "
               "compensation point, Ci at 90 and 95 % of that rate",
       .source = "docs/methods-c4.md"},
      {.name = "sd-column",
       .kind = Kind::text,
       .default_value = "none",
       .help = "column with the standard deviation of A of each row: rows count by 1/sd^2. Only "
               "ratios of the sd matter: intervals come from the residuals",
       .source = "docs/decisions/weights.md",
       .value_name = "NAME|none"},
      {.name = "loss",
       .kind = Kind::text,
       .default_value = "squared",
       .help = "squared residuals, or Huber's loss, under which rows more than K scales off the "
               "curve count less (K 1.345 where none is given; C3, sharp minimum, infinite gm)",
       .source = "Huber 1981, Robust Statistics; K: 95 % efficiency under normal noise, Holland & "
                 "Welsch 1977 (from memory)",
       .value_name = "squared|huber[:K]"},
      {.name = "min-points",
       .kind = Kind::whole,
       .default_value = "1",
       .low = 1,
       .high = 1000,
       .help = "a limitation that limits any row must limit at least this many",
       .source = "1: no constraint, so the fit is the best there is"},
      {.name = "at25",
       .kind = Kind::text,
       .default_value = "bernacchi-2001",
       .help =
           "temperature responses that move values to 25 degC; a capacity the set does not "
           "treat gets no value; C4 leaves have sets of their own, boyd-2015 where none is given",
       .source = "Bernacchi et al. 2001, 2003",
       .value_name = "RESPONSE-SET|none"},
      {.name = "intervals",
       .kind = Kind::choice,
       .default_value = "profile",
       .choices = {"profile", "bootstrap", "none"},
       .help = "how intervals are made",
       .source = "docs/decisions/intervals.md"},
      {.name = "level",
       .kind = Kind::number,
       .default_value = "0.95",
       .low = 0.6,
       .high = 0.999,
       .help = "confidence level of intervals",
       .source = "common practice, no source"},
      {.name = "correlation",
       .kind = Kind::text,
       .default_value = "auto",
       .help = "correlation of neighbouring residuals for the widened intervals: estimated over "
               "all curves (auto, at least 5), a number from 0 to 0.98, or none",
       .source = "docs/decisions/intervals.md",
       .value_name = "auto|VALUE|none"},
      {.name = "kinetics-at",
       .kind = Kind::choice,
       .default_value = "mean",
       .choices = {"mean", "row"},
       .help = "kinetic constants at the curve's mean leaf temperature and pressure, or at each "
               "row's own",
       .source = "docs/decisions/temperature-per-row.md"},
      {.name = "replicates",
       .kind = Kind::whole,
       .default_value = "2000",
       .low = 100,
       .high = 1000000,
       .help = "replicates of --intervals bootstrap",
       .source = "common practice, no source"},
      {.name = "seed",
       .kind = Kind::whole,
       .default_value = "1",
       .low = 0,
       .help = "seed of random numbers; results do not depend on the number of threads",
       .source = "any number"},
  }};
  return settings;
}

Result<LimitationSet> parse_limitations(const std::string& text) {
  LimitationSet set{false, false, false};
  std::size_t begin = 0;
  while (begin <= text.size()) {
    const std::size_t end = std::min(text.find(',', begin), text.size());
    const std::string name = text.substr(begin, end - begin);
    bool* slot = name == "rubisco"
                     ? &set.rubisco
                     : (name == "rubp" ? &set.rubp : (name == "tpu" ? &set.tpu : nullptr));
    if (slot == nullptr || *slot) {
      return fail(ErrorCode::usage,
                  slot == nullptr ? fmt::format("'{}' in --limitations", name)
                                  : fmt::format("'{}' twice in --limitations", name),
                  "auto, or some of rubisco, rubp, tpu separated by commas");
    }
    *slot = true;
    begin = end + 1;
  }
  return set;
}

/// gm and the smooth minimum, with what goes with neither.
Result<void> take_numeric(const Settings& s, C3FitOptions& o) {
  const std::string &gm = s.text("gm"), &smooth = s.text("smooth");
  if (gm != "infinite" && gm != "free") {
    const auto number = parse_number(gm);
    if (!number || !(*number > 0) || !std::isfinite(*number)) {
      return fail(ErrorCode::usage, fmt::format("'{}' for --gm", gm),
                  "infinite, free, or a number above 0");
    }
    if (*number > 50) {
      return fail(ErrorCode::usage, fmt::format("--gm {}", gm),
                  "mol m-2 s-1, at most 50 (leaves have 0.05 to 2)",
                  "a gm in mmol m-2 s-1 is a thousand times too high; or leave gm infinite");
    }
    o.gm = *number;
  }
  o.gm_free = gm == "free";
  if (gm != "infinite") {
    if (auto ok = check_gm_basis(*o.kinetics, true); !ok) return fail(ok.error());
  }
  if (s.is_set("gm-response")) {
    if (gm == "infinite") {
      return fail(ErrorCode::usage, "--gm-response with an infinite gm",
                  "--gm VALUE or --gm free beside it");
    }
    const auto response = parse_gm_response(s.text("gm-response"));
    if (!response) return fail(response.error());
    o.gm_response = *response;
  }
  if (smooth != "none") {
    const auto theta = parse_number(smooth);
    if (!theta || !(*theta > 0 && *theta <= 1)) {
      return fail(ErrorCode::usage, fmt::format("'{}' for --smooth", smooth),
                  "none, or a number above 0 and up to 1, such as 0.98");
    }
    o.theta = *theta;
  }
  if (!o.theta && gm == "infinite") return {};
  if (o.theta && gm != "infinite") {
    return fail(ErrorCode::refused, fmt::format("--smooth {} with --gm {}", smooth, gm),
                "one of the two: no fit here blends limitations under finite gm");
  }
  const char* what = o.theta ? "--smooth" : "--gm";
  if (s.text("intervals") == "bootstrap") {
    return fail(ErrorCode::refused, fmt::format("--intervals bootstrap with {}", what),
                "--intervals profile or none");
  }
  if (s.whole("min-points") != 1) {
    return fail(ErrorCode::refused,
                fmt::format("--min-points {} with {}", s.whole("min-points"), what),
                "--min-points 1: only the exact fit can hold to more");
  }
  return {};
}

/// What Jmax is made with: both or neither.
Result<void> take_light(const Settings& s, C3FitOptions& o) {
  const bool absorptance = s.is_set("leaf-absorptance"), curvature = s.is_set("light-curvature");
  if (absorptance != curvature) {
    return fail(ErrorCode::usage,
                absorptance ? "--leaf-absorptance without --light-curvature"
                            : "--light-curvature without --leaf-absorptance",
                "both, for Jmax from J, or neither", "none has a default: Jmax depends on both");
  }
  if (!absorptance) {
    if (s.origin("light-loss") == SettingOrigin::default_value) return {};
    return fail(ErrorCode::usage, "--light-loss without --leaf-absorptance and --light-curvature",
                "all three, for Jmax from J, or none");
  }
  o.light =
      LightUse{s.number("leaf-absorptance"), s.number("light-loss"), s.number("light-curvature")};
  return {};
}

Result<Response> rday_response(const std::string& name) {
  const auto set = find_response(name);
  if (!set) return fail(set.error());
  if (!(*set)->Rday) {
    return fail(ErrorCode::usage, fmt::format("the response set '{}' does not treat Rday", name),
                "a set with a response of Rday", "such as bernacchi-2001");
  }
  return *(*set)->Rday;
}

/// --sd-column and --loss, with what they do not go with.
Result<void> take_weights(const Settings& s, C3FitOptions& o) {
  const std::string &sd = s.text("sd-column"), &loss = s.text("loss");
  if (sd.empty()) return fail(ErrorCode::usage, "'' for --sd-column", "none, or a column's name");
  if (sd != "none") o.sd_column = sd;
  if (loss == "huber") {
    o.huber = 1.345;
  } else if (loss.rfind("huber:", 0) == 0) {
    const auto k = parse_number(loss.substr(6));
    if (!k || !(*k >= 0.5 && *k <= 10)) {
      return fail(ErrorCode::usage, fmt::format("'{}' for --loss", loss),
                  "huber, or huber:K with K from 0.5 to 10, such as huber:1.345");
    }
    o.huber = *k;
  } else if (loss != "squared") {
    return fail(ErrorCode::usage, fmt::format("'{}' for --loss", loss),
                "squared, huber or huber:K");
  }
  if (o.sd_column.empty() && !o.huber) return {};
  if (o.huber && (s.text("gm") != "infinite" || s.text("smooth") != "none")) {
    return fail(ErrorCode::refused,
                fmt::format("--loss {} with {}", loss,
                            s.text("smooth") != "none" ? "--smooth " + s.text("smooth")
                                                       : "--gm " + s.text("gm")),
                "--gm infinite and --smooth none: the others are fitted under squared loss only");
  }
  if (o.huber && s.text("intervals") == "bootstrap") {
    return fail(ErrorCode::refused, fmt::format("--intervals bootstrap with --loss {}", loss),
                "--intervals profile or none");
  }
  return {};
}

}  // namespace

EmpiricalForm empirical_of(const std::string& text) {
  for (const EmpiricalForm form : {EmpiricalForm::hyperbola, EmpiricalForm::exponential}) {
    if (text == empirical_form_name(form)) return form;
  }
  return EmpiricalForm::none;
}

Result<CorrelationSource> parse_correlation(const std::string& text) {
  using From = CorrelationSource::From;
  if (text == "auto") return CorrelationSource{};
  if (text == "none") return CorrelationSource{From::none, 0};
  const auto number = parse_number(text);
  if (!number || *number < 0 || *number > 0.98) {
    return fail(ErrorCode::usage, fmt::format("'{}' for --correlation", text),
                "auto, none, or a number from 0 to 0.98");
  }
  return CorrelationSource{From::given, *number};
}

SettingTable fit_settings() {
  return declared();
}

Result<C3FitOptions> fit_options(const Settings& s) {
  C3FitOptions o;
  const auto kinetics = find_kinetics(s.text("kinetics"));
  if (!kinetics) return fail(kinetics.error());
  o.kinetics = *kinetics;
  for (const std::string& assignment : s.list("kinetic")) {
    if (auto ok = set_override(o.overrides, assignment); !ok) return fail(ok.error());
  }
  if (auto ok = take_numeric(s, o); !ok) return fail(ok.error());
  if (auto ok = take_weights(s, o); !ok) return fail(ok.error());
  if (auto ok = take_light(s, o); !ok) return fail(ok.error());
  if (s.text("limitations") != "auto") {
    const auto set = parse_limitations(s.text("limitations"));
    if (!set) return fail(set.error());
    o.limitations = *set;
  }
  o.basis = s.text("basis") == "mole-fraction" ? Basis::mole_fraction : Basis::partial_pressure;
  const auto rday = rday_source(s, rday_response);
  if (!rday) return fail(rday.error());
  o.rday = *rday;
  if (s.text("electrons") == "4.5/10.5") o.electrons = {4.5, 10.5};
  o.alpha = s.number("glycolate");
  o.min_points = static_cast<std::size_t>(s.whole("min-points"));
  if (s.text("at25") != "none") {
    const auto response = find_response(s.text("at25"));
    if (!response) return fail(response.error());
    o.at25 = *response;
  }
  o.intervals =
      s.text("intervals") == "bootstrap"
          ? IntervalMethod::bootstrap
          : (s.text("intervals") == "none" ? IntervalMethod::none : IntervalMethod::profile);
  o.level = s.number("level");
  const auto correlation = parse_correlation(s.text("correlation"));
  if (!correlation) return fail(correlation.error());
  o.correlation = *correlation;
  o.tleaf_per_row = s.text("kinetics-at") == "row";
  o.replicates = static_cast<std::size_t>(s.whole("replicates"));
  o.seed = static_cast<std::uint64_t>(s.whole("seed"));
  o.empirical = empirical_of(s.text("empirical"));
  return o;
}

}  // namespace leafwright
