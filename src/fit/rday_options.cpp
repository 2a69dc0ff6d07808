// Where Rday comes from, and which columns the fit needs, from settings.
#include <fmt/format.h>

#include <array>

#include "base/number.hpp"
#include "fit/fit.hpp"
#include "fit/option_texts.hpp"

namespace leafwright {
namespace {

using From = RdaySource::From;
constexpr std::array<const char*, 3> of_dark{"rday-inhibition", "rday-dark-temperature",
                                             "rday-response"};

/// What stands behind `prefix`, if `text` begins with it.
std::optional<std::string> behind(const std::string& text, std::string_view prefix) {
  if (!text.starts_with(prefix)) return {};
  return text.substr(prefix.size());
}

}  // namespace

Result<RdaySource> parse_rday(const std::string& text) {
  constexpr const char* accepted =
      "free, a number of 0 or more, column:NAME, fraction:VALUE, dark:VALUE or dark:column:NAME";
  RdaySource out;
  if (text == "free") return out;
  for (const auto& [prefix, from] :
       {std::pair{"dark:column:", From::dark_column}, std::pair{"column:", From::column}}) {
    const auto name = behind(text, prefix);
    if (!name) continue;
    if (name->empty()) return fail(ErrorCode::usage, fmt::format("'{}' in --rday", text), accepted);
    out.from = from;
    return out;
  }
  out.from = From::value;
  std::string number_text = text;
  for (const auto& [prefix, from] :
       {std::pair{"dark:", From::dark}, std::pair{"fraction:", From::fraction}}) {
    const auto rest = behind(text, prefix);
    if (!rest) continue;
    out.from = from;
    number_text = *rest;
  }
  const auto number = parse_number(number_text);
  if (!number) return fail(ErrorCode::usage, fmt::format("'{}' for --rday", text), accepted);
  if (*number < 0) {
    return fail(ErrorCode::usage, fmt::format("'{}' for --rday", text), accepted,
                "respiration is positive: change the sign");
  }
  if (out.from == From::fraction && *number >= 1) {
    return fail(ErrorCode::usage, fmt::format("'{}' for --rday", text),
                "a fraction of Vcmax below 1, such as fraction:0.015");
  }
  out.value = *number;
  return out;
}

Result<RdaySource> rday_source(const Settings& s, FindRdayResponse find) {
  auto out = parse_rday(s.text("rday"));
  if (!out) return out;
  if (out->from != From::dark && out->from != From::dark_column) {
    for (const char* name : of_dark) {
      if (!s.is_set(name)) continue;
      return fail(ErrorCode::usage, fmt::format("--{} with --rday {}", name, s.text("rday")),
                  "--rday dark:VALUE or dark:column:NAME", fmt::format("leave --{} out", name));
    }
    return out;
  }
  if (!s.is_set("rday-inhibition")) {
    return fail(ErrorCode::usage,
                fmt::format("--rday {} without --rday-inhibition", s.text("rday")),
                "the share of dark respiration that light inhibits, from 0 to 1",
                "there is no default: published shares run from none to most of it");
  }
  out->inhibition = s.number("rday-inhibition");
  if (!s.is_set("rday-dark-temperature")) {
    if (!s.is_set("rday-response")) return out;
    return fail(ErrorCode::usage, "--rday-response without --rday-dark-temperature",
                "the leaf temperature of the dark measurement, degC",
                "without it the value is taken as measured at Tleaf and needs no response");
  }
  out->dark_temperature = s.number("rday-dark-temperature");
  if (s.is_set("rday-response")) {
    out->response_name = s.text("rday-response");
  } else if (s.origin("at25") != SettingOrigin::default_value && s.text("at25") != "none") {
    out->response_name = s.text("at25");
  }
  if (out->response_name.empty()) return out;  // only curves at that temperature can be fitted
  const auto response = find(out->response_name);
  if (!response) return fail(response.error());
  out->response = *response;
  return out;
}

FitColumns fit_columns(const Settings& s) {
  FitColumns out;
  const std::string& rday = s.text("rday");
  out.rday = behind(rday, "dark:column:");
  if (!out.rday) out.rday = behind(rday, "column:");
  if (s.text("sd-column") != "none") out.sd = s.text("sd-column");
  return out;
}

}  // namespace leafwright
