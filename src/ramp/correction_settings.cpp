#include "ramp/correction_settings.hpp"

#include <array>
#include <cmath>
#include <limits>

#include "leaf/c4_kinetics.hpp"
#include "leaf/kinetics.hpp"

namespace leafwright {

namespace {

constexpr const char* study = "docs/methods-ramps.md";

const std::array<Setting, 16>& declared() {
  using Kind = SettingKind;
  static const std::array<Setting, 16> settings{{
      {.name = "correction",
       .kind = Kind::choice,
       .default_value = "forward",
       .choices = {"none", "subtract", "equal-lag", "forward", "balance", "joint", "recorded"},
       .help = "how the lag between the two gas paths is taken out of A; recorded: A as the log "
               "has it, with Ci from the CO2s of the same moment",
       .source = study},
      {.name = "empty",
       .kind = Kind::list,
       .help = "a record of the empty chamber; may be given several times: of several dates those "
               "nearest to the leaf are used, and what the cells did between them is told",
       .source = "the user's own",
       .value_name = "FILE"},
      {.name = "pairing",
       .kind = Kind::choice,
       .default_value = "on",
       .choices = {"on", "off"},
       .help = "lag pairing: Ci from CO2s filtered as A is; off shifts the curve sideways by the "
               "chamber's time constant, and says by how much",
       .source = study},
      {.name = "water-mean",
       .kind = Kind::number,
       .unit = "s",
       .default_value = "30",
       .low = 0,
       .high = 600,
       .help = "H2O, Tleaf and flow are averaged over this time before use, as their lags are "
               "others than that of CO2",
       .source = study},
      {.name = "balance-window",
       .kind = Kind::number,
       .unit = "s",
       .low = 1,
       .high = 120,
       .help = "balance: window of the quadratics; without it twice the chamber's time constant",
       .source = study},
      {.name = "epsilon",
       .kind = Kind::number,
       .unit = "umol m-2 s-1",
       .default_value = "0.1",
       .low = 0.001,
       .high = 10,
       .help = "the start of a ramp is left out until its error of A is below this",
       .source = study},
      {.name = "trim",
       .kind = Kind::number,
       .unit = "s",
       .default_value = "5",
       .low = 0,
       .high = 120,
       .help = "left out before CO2r stops, on top of the lag",
       .source = study},
      {.name = "mixed-volume",
       .kind = Kind::choice,
       .default_value = "off",
       .choices = {"on", "off"},
       .help = "equal-lag: the lags were made equal by a volume that mixes",
       .source = study},
      {.name = "drift-sd",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .default_value = "0.03",
       .low = 0,
       .high = 10,
       .help = "slow drift between the two analysers, for the errors of points",
       .source = "the study of docs/methods-ramps.md; put your own instrument's"},
      {.name = "tau-error",
       .kind = Kind::number,
       .unit = "%",
       .default_value = "2",
       .low = 0,
       .high = 50,
       .help = "standard error of the chamber's time constant, for the errors of points",
       .source = "common practice, no source"},
      {.name = "filter-limit",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .default_value = "30",
       .low = 1,
       .high = 1000,
       .help = "rate times time constant above which filters are warned of",
       .source = study},
      {.name = "alignment",
       .kind = Kind::choice,
       .default_value = "find",
       .choices = {"find", "off"},
       .help = "where the log has a recorded A: find out whether it, CO2r and CO2s belong to the "
               "same moment, and refuse to take out a lag that was taken out before",
       .source = study},
      {.name = "columns-late",
       .kind = Kind::number,
       .unit = "s",
       .low = -60,
       .high = 60,
       .help = "recorded: how much later CO2s stands in the log than the signals that A was made "
               "from; without it, it is found in the record",
       .source = "the user's own"},
      {.name = "joint-leaf",
       .kind = Kind::choice,
       .choices = {"c3", "c4"},
       .help = "joint: the leaf model that is fitted through the chamber's equation",
       .source = "no default: it is part of the result"},
      {.name = "joint-kinetics",
       .kind = Kind::text,
       .help = "joint: kinetics set; without it bernacchi-2001 for c3, boyd-2015 for c4",
       .source = "docs/methods.md",
       .value_name = "NAME"},
      {.name = "joint-rday",
       .kind = Kind::choice,
       .default_value = "free",
       .choices = {"free", "fixed"},
       .help = "joint: fit Rday, or hold it at 1 umol m-2 s-1",
       .source = study},
  }};
  return settings;
}

std::optional<double> mean_of(const std::vector<double>& series) {
  double sum = 0;
  std::size_t n = 0;
  for (const double value : series) {
    if (!std::isfinite(value)) continue;
    sum += value;
    ++n;
  }
  return n == 0 ? std::nullopt : std::optional(sum / static_cast<double>(n));
}

Result<JointOptions> c3_model(const std::string& set, double Tleaf, double Patm, bool rday_free) {
  const auto found = find_kinetics(set.empty() ? "bernacchi-2001" : set);
  if (!found) return fail(found.error());
  const auto kinetics = kinetics_at(**found, Tleaf, Patm, Basis::partial_pressure);
  if (!kinetics) return fail(kinetics.error());
  return JointOptions{c3_ramp_model({60, 110, 8, 1}, *kinetics, {}, rday_free)};
}

Result<JointOptions> c4_model(const std::string& set, double Tleaf, double Patm, bool rday_free) {
  const auto found = find_c4_kinetics(set.empty() ? "boyd-2015" : set);
  if (!found) return fail(found.error());
  const auto kinetics = c4_kinetics_at(**found, Tleaf, Patm, Basis::partial_pressure);
  if (!kinetics) return fail(kinetics.error());
  constexpr double infinity = std::numeric_limits<double>::infinity();
  return JointOptions{c4_ramp_model({80, infinity, 40, infinity, 1}, *kinetics, Patm, rday_free)};
}

}  // namespace

SettingTable correction_settings() {
  return declared();
}

Result<CorrectionOptions> correction_options(const Settings& settings) {
  CorrectionOptions out;
  const auto method = find_correction(settings.text("correction"));
  if (!method) return fail(method.error());
  out.method = *method;
  out.pairing = settings.text("pairing") == "on";
  out.water_mean_s = settings.number("water-mean");
  if (settings.is_set("balance-window")) out.window_s = settings.number("balance-window");
  out.epsilon = settings.number("epsilon");
  out.trim_s = settings.number("trim");
  out.mixed_volume = settings.text("mixed-volume") == "on";
  out.drift_sd = settings.number("drift-sd");
  out.tau_error = settings.number("tau-error") / 100;
  out.filter_limit = settings.number("filter-limit");
  out.look_at_alignment = settings.text("alignment") == "find";
  if (settings.is_set("columns-late")) {
    if (out.method != CorrectionMethod::recorded) {
      return fail(ErrorCode::usage, "columns-late without correction recorded",
                  "correction recorded, the only one that reads CO2s later");
    }
    out.columns_late_s = settings.number("columns-late");
  }
  return out;
}

Result<JointOptions> joint_options(const Settings& settings, const RampRecord& leaf) {
  if (!settings.is_set("joint-leaf")) {
    return fail(ErrorCode::usage, "--correction joint without a leaf model",
                "--joint-leaf c3 or --joint-leaf c4");
  }
  const auto Tleaf = mean_of(leaf.Tleaf), Patm = mean_of(leaf.Patm);
  if (!Tleaf || !Patm) {
    return fail(ErrorCode::unfit, leaf.name + " has no " + (Tleaf ? "Patm" : "Tleaf"),
                "both, for the kinetics of the leaf model");
  }
  const std::string set = settings.is_set("joint-kinetics") ? settings.text("joint-kinetics") : "";
  const bool rday_free = settings.text("joint-rday") == "free";
  return settings.text("joint-leaf") == "c3" ? c3_model(set, *Tleaf, *Patm, rday_free)
                                             : c4_model(set, *Tleaf, *Patm, rday_free);
}

}  // namespace leafwright
