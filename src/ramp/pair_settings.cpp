#include "ramp/pair_settings.hpp"

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {
namespace {

const std::array<Setting, 3>& declared() {
  using Kind = SettingKind;
  static const std::array<Setting, 3> settings{{
      {.name = "pair",
       .kind = Kind::list,
       .help = "curve ids of an up and a down ramp of one leaf, as ID,ID: fitted together; may be "
               "given several times",
       .source = "the user's own",
       .value_name = "ID,ID"},
      {.name = "own-lag",
       .kind = Kind::text,
       .default_value = "found",
       .help = "the leaf's own lag behind its CO2: found (taken out of Ci where the pair shows one "
               "and does not contradict it), keep (nothing is taken out), or seconds",
       .source = "docs/methods-ramps.md",
       .value_name = "found|keep|SECONDS"},
      {.name = "pair-smoothing",
       .kind = Kind::number,
       .unit = "s",
       .default_value = "20",
       .low = 2,
       .high = 200,
       .help = "window of the quadratics that dCi/dt of a pair is read from",
       .source = "docs/methods-ramps.md"},
  }};
  return settings;
}

}  // namespace

SettingTable pair_settings() {
  return declared();
}

Result<PairOptions> pair_options(const Settings& settings) {
  PairOptions out;
  out.smoothing_s = settings.number("pair-smoothing");
  const std::string text = settings.text("own-lag");
  if (text == "keep") {
    out.own_lag.kind = OwnLag::Kind::keep;
  } else if (text != "found") {
    const auto seconds = parse_number(text);
    if (!seconds || *seconds < 0 || *seconds > 120) {
      return fail(ErrorCode::usage, "'" + text + "' for own-lag",
                  "found, keep, or seconds from 0 to 120");
    }
    out.own_lag = {OwnLag::Kind::stated, *seconds};
  }
  return out;
}

Result<std::vector<std::array<std::string, 2>>> stated_pairs(const Settings& settings) {
  std::vector<std::array<std::string, 2>> out;
  for (const std::string& text : settings.list("pair")) {
    const std::size_t comma = text.find(',');
    const std::string first(trim(text.substr(0, comma)));
    const std::string second(comma == std::string::npos ? "" : trim(text.substr(comma + 1)));
    if (first.empty() || second.empty() || first == second ||
        second.find(',') != std::string::npos) {
      return fail(ErrorCode::usage, "pair '" + text + "'",
                  "two curve ids with a comma between them, one of the way up and one of the way "
                  "down");
    }
    out.push_back({first, second});
  }
  return out;
}

}  // namespace leafwright
