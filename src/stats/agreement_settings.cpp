#include "stats/agreement_settings.hpp"

#include <array>

#include "base/number.hpp"
#include "base/text.hpp"

namespace leafwright {
namespace {

using Kind = SettingKind;
constexpr const char* users_own = "the user's own";

const std::array<Setting, 15>& declared() {
  static const std::array<Setting, 15> settings{{
      {.name = "leaf",
       .kind = Kind::text,
       .default_value = "leaf_id",
       .help = "column that names the leaf: curves of one leaf by both methods are a pair",
       .source = users_own,
       .value_name = "COLUMN"},
      {.name = "plant",
       .kind = Kind::text,
       .help = "column that names the plant, the unit that was sampled; without it every leaf "
               "counts as a plant of its own",
       .source = "leaves of one plant are not independent (docs/decisions/agreement.md)",
       .value_name = "COLUMN"},
      {.name = "method",
       .kind = Kind::text,
       .help = "column that names the method, where one file holds both",
       .source = users_own,
       .value_name = "COLUMN"},
      {.name = "methods",
       .kind = Kind::text,
       .help = "the two methods, such as ramp,steady: values of the --method column, or names for "
               "the two files; first/second is the ratio. Without it: order of appearance",
       .source = users_own,
       .value_name = "FIRST,SECOND"},
      {.name = "order",
       .kind = Kind::text,
       .help = "column of numbers that says which method came first on a leaf (the smaller one; a "
               "rank or a time), for the effect of order",
       .source = "Senn 2002, Cross-over Trials in Clinical Research (from memory)",
       .value_name = "COLUMN"},
      {.name = "exclude",
       .kind = Kind::list,
       .help = "leave a leaf out, with the reason; results without any exclusion are printed too",
       .source = users_own,
       .value_name = "LEAF=REASON"},
      {.name = "values",
       .kind = Kind::choice,
       .default_value = "leaf",
       .choices = {"leaf", "25"},
       .help = "compare parameters at leaf temperature, or moved to 25 degC by the fit",
       .source = "leaf: no response enters the comparison"},
      {.name = "margin",
       .kind = Kind::text,
       .help = "margin of equivalence of ratios, stated beforehand: 10% is 1/1.1 to 1.1. Without "
               "it no verdict of equivalence is given",
       .source = "no default: what matters is for the user to say, before the data are seen",
       .value_name = "PERCENT%"},
      {.name = "margin-rday",
       .kind = Kind::number,
       .unit = "umol m-2 s-1",
       .low = 0,
       .help = "margin of equivalence of the difference of Rday",
       .source = "no default: as --margin"},
      {.name = "margin-a",
       .kind = Kind::number,
       .unit = "umol m-2 s-1",
       .low = 0,
       .help = "margin of equivalence of differences of A, points and curves",
       .source = "no default: as --margin"},
      {.name = "family",
       .kind = Kind::text,
       .default_value = "Vcmax,J",
       .help = "parameters whose P values are adjusted together (Holm); others are shown as they "
               "are",
       .source = "Holm 1979, Scand. J. Stat. 6:65",
       .value_name = "LIST"},
      {.name = "bands",
       .kind = Kind::whole,
       .default_value = "2000",
       .low = 200,
       .high = 100000,
       .help = "resamples behind the simultaneous bands",
       .source = "the 95 % quantile then scatters by about 1 %",
       .value_name = "N"},
      {.name = "pair-within",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .default_value = "10",
       .low = 0,
       .high = 200,
       .help = "rows of the two methods whose Ci are this near are a pair of points",
       .source = "common practice, no source"},
      {.name = "average-over",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .default_value = "40",
       .low = 0,
       .high = 400,
       .help = "window of Ci of the local straight line through a dense curve; with fewer than 6 "
               "rows in it the neighbours are joined",
       .source = "common practice, no source"},
      {.name = "ci-step",
       .kind = Kind::number,
       .unit = "umol mol-1",
       .default_value = "25",
       .low = 1,
       .high = 500,
       .help = "step of Ci at which curves are compared",
       .source = "common practice, no source"},
  }};
  return settings;
}

std::vector<std::string> listed(const std::string& text) {
  std::vector<std::string> out;
  for (std::size_t begin = 0; begin <= text.size();) {
    const std::size_t end = std::min(text.find(',', begin), text.size());
    out.emplace_back(trim(std::string_view(text).substr(begin, end - begin)));
    begin = end + 1;
  }
  return out;
}

Result<double> margin_of(const std::string& text) {
  const std::string_view whole = trim(text);
  if (!whole.ends_with('%')) {
    return fail(ErrorCode::usage, "--margin '" + shortened(text) + "' has no per cent sign",
                "a percentage such as 10%",
                "a bare number could be a ratio, a percentage or a difference");
  }
  const auto number = parse_number(trim(whole.substr(0, whole.size() - 1)));
  if (!number || !(*number > 0 && *number <= 100)) {
    return fail(ErrorCode::usage, "--margin '" + shortened(text) + "'",
                "a percentage above 0% and at most 100%");
  }
  return *number / 100;
}

}  // namespace

SettingTable agreement_settings() {
  return declared();
}

Result<AgreementRules> agreement_rules(const Settings& settings) {
  AgreementRules rules;
  if (settings.is_set("margin")) {
    const auto margin = margin_of(settings.text("margin"));
    if (!margin) return fail(margin.error());
    rules.margin = *margin;
  }
  const auto positive = [&](const char* name, std::optional<double>& into) -> Result<void> {
    if (!settings.is_set(name)) return {};
    into = settings.number(name);
    if (*into > 0) return {};
    return fail(ErrorCode::usage, std::string("--") + name + " 0",
                "a number above 0: no two methods agree exactly");
  };
  if (auto ok = positive("margin-rday", rules.margin_rday); !ok) return fail(ok.error());
  if (auto ok = positive("margin-a", rules.margin_A); !ok) return fail(ok.error());
  rules.family = listed(settings.text("family"));
  for (const std::string& name : rules.family) {
    if (name.empty()) {
      return fail(ErrorCode::usage, "an empty name in --family '" + settings.text("family") + "'",
                  "parameters such as Vcmax,J");
    }
  }
  rules.resamples = static_cast<std::size_t>(settings.whole("bands"));
  rules.pair_within = settings.number("pair-within");
  rules.local.window = settings.number("average-over");
  rules.grid = settings.number("ci-step");
  return rules;
}

Result<std::array<std::string, 2>> method_names(const Settings& settings) {
  const std::vector<std::string> names = listed(settings.text("methods"));
  if (names.size() != 2 || names[0].empty() || names[1].empty() || names[0] == names[1]) {
    return fail(ErrorCode::usage, "--methods '" + shortened(settings.text("methods")) + "'",
                "two different names such as ramp,steady");
  }
  return std::array<std::string, 2>{names[0], names[1]};
}

Result<std::vector<std::pair<std::string, std::string>>> excluded_leaves(const Settings& settings) {
  std::vector<std::pair<std::string, std::string>> out;
  for (const std::string& text : settings.list("exclude")) {
    const std::size_t equals = text.find('=');
    const std::string leaf(trim(text.substr(0, std::min(equals, text.size()))));
    const std::string reason(equals == std::string::npos
                                 ? std::string_view()
                                 : trim(std::string_view(text).substr(equals + 1)));
    if (leaf.empty() || reason.empty()) {
      return fail(ErrorCode::usage, "--exclude '" + shortened(text) + "'",
                  "LEAF=REASON, such as K12='edge of the gasket leaked'",
                  "nothing is left out without a reason");
    }
    out.emplace_back(leaf, reason);
  }
  return out;
}

}  // namespace leafwright
