#include "report/path_report.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/note_text.hpp"
#include "report/settings_report.hpp"
#include "report/text_table.hpp"

namespace leafwright {

namespace {

constexpr auto on_a_line = JsonWriter::Shape::line;

/// KEY and KEY_se; null both where it is not known.
void estimate(JsonWriter& json, const std::string& key, const std::optional<WithError>& what) {
  json.field(key, what ? std::optional(what->value) : std::nullopt);
  json.field(key + "_se", what ? std::optional(what->se) : std::nullopt);
}

void maybe_text(JsonWriter& json, std::string_view key, const std::optional<std::string>& text) {
  json.key(key);
  if (text) {
    json.value(*text);
  } else {
    json.null();
  }
}

void write_numbers(JsonWriter& json, std::string_view key, const std::vector<double>& values) {
  json.key(key).open_array(on_a_line);
  for (const double value : values) json.value(value);
  json.close();
}

void write_head(JsonWriter& json, const PathDocument& document) {
  write_made_from(json, "path", document.inputs, document.settings);
  json.key("records").open_array(on_a_line);
  for (const std::string& record : document.path->records) json.value(record);
  json.close();
}

void write_estimates(JsonWriter& json, const GasPath& path) {
  estimate(json, "lag_s", path.lag_s);
  estimate(json, "delay_s", path.delay_s);
  estimate(json, "mixing_s", path.mixing_s);
  estimate(json, "averaging_s", path.averaging_s);
  json.field("chamber_tau_s", path.chamber_tau_s);
  json.key("offset").open_object(on_a_line).field("c0", path.offset[0]);
  json.field("c1", path.offset[1]).field("c2", path.offset[2]).close();
  json.field("offset_is", path.leak_apart ? "offset" : "offset + leak");
  write_numbers(json, "covariance", {path.covariance.begin(), path.covariance.end()});
  json.field("noise_sd", path.noise_sd).field("noise_sd_R", path.noise_sd_R);
  json.field("noise_correlation", path.noise_correlation);
  json.field("rows_used", path.residuals.size());
}

void write_parts(JsonWriter& json, const GasPath& path) {
  const PathConditions& c = path.conditions;
  json.key("conditions").open_object().field("flow", c.flow).field("Patm", c.Patm);
  json.field("Tair", c.Tair).field("rate", c.rate).field("CO2_low", c.CO2_low);
  json.field("CO2_high", c.CO2_high);
  maybe_text(json, "date", c.date);
  maybe_text(json, "gasket", c.gasket);
  json.close().field("leak_apart", path.leak_apart).key("leak");
  if (path.leak) {
    json.open_object(on_a_line);
    estimate(json, "K", path.leak->K);
    estimate(json, "ambient", path.leak->ambient);
    json.close();
  } else {
    json.null();
  }
  json.key("flow_law");
  if (!path.flow_law) {
    json.null();
    return;
  }
  const FlowLaw& law = *path.flow_law;
  json.open_object();
  estimate(json, "a", law.a);
  estimate(json, "b", law.b);
  json.field("covariance", law.covariance);
  estimate(json, "null_flow", law.null_flow);
  estimate(json, "inlet_volume", law.inlet_volume);
  write_numbers(json, "flows", law.flows);
  write_numbers(json, "lags", law.lags);
  json.close();
}

void write_advice(JsonWriter& json, const MatchingAdvice& advice) {
  json.field("rate", advice.rate).key("equal_lag");
  if (advice.equal_lag) {
    json.value(*advice.equal_lag);
  } else {
    json.null();
  }
  estimate(json, "residual_differential", advice.residual_differential);
  json.key("advice").open_array();
  for (const Advice& one : advice.advice) {
    json.open_object(on_a_line).field("change", one.change).field("amount", one.amount);
    json.field("unit", one.unit).field("se", one.se).field("note", one.note).close();
  }
  json.close().key("missing").open_array();
  for (const std::string& one : advice.missing) json.value(one);
  json.close();
}

void write_tail(JsonWriter& json, const PathDocument& document) {
  json.key("problems").open_array();
  for (const std::string& problem : document.problems) json.value(problem);
  json.close().key("notes").open_array();
  for (const Note& note : document.path->notes) {
    json.open_object(on_a_line).field("level", level_name(note.level));
    json.field("about", note.about).field("text", note.text).close();
  }
  json.close();
}

std::string shown(double value, double se, int least = 2) {
  // As many decimals as the second digit of the error.
  const int decimals =
      se > 0 ? std::clamp(1 - static_cast<int>(std::floor(std::log10(se))), 0, 4) : least;
  return fmt::format("{:.{}f} +- {:.{}f}", value, decimals, se, decimals);
}

std::string numbers_text(const GasPath& path) {
  TextTable table;
  table.column("", TextTable::Align::left);
  table.column("value", TextTable::Align::right);
  table.column("", TextTable::Align::left);
  const auto add = [&](const char* name, const std::optional<WithError>& what, const char* note) {
    table.row(
        {name, what ? shown(what->value, what->se) + " s" : "not told by these records", note});
  };
  add("lag", path.lag_s, "of the sample record; negative: the reference is late");
  add("dead time", path.delay_s, "");
  add("mixing", path.mixing_s, "");
  if (path.averaging_s) add("averaging", path.averaging_s, "of CO2s, estimated");
  if (path.chamber_tau_s) {
    table.row({"chamber", print_rounded(*path.chamber_tau_s, 4) + " s",
               "P V/(R T u) of the stated volume"});
  }
  std::string out = table.text(2);
  const auto se = [&](std::size_t i) {
    return std::sqrt(std::max(path.covariance[5 * (i + 1)], 0.0));
  };
  out += fmt::format("\n{} of S - R: ({}) + ({}) x + ({}) x2, x = CO2/1000, {} to {} umol mol-1\n",
                     path.leak_apart ? "offset" : "offset + leak", shown(path.offset[0], se(0)),
                     shown(path.offset[1], se(1)), shown(path.offset[2], se(2)),
                     print_rounded(path.conditions.CO2_low, 4),
                     print_rounded(path.conditions.CO2_high, 4));
  out += fmt::format("noise of S - R in one row: {} umol mol-1; of R: {}\n",
                     print_rounded(path.noise_sd, 3), print_rounded(path.noise_sd_R, 3));
  if (path.flow_law) {
    out += fmt::format("lag over flow u: ({}) s + ({}) umol / u\n",
                       shown(path.flow_law->a.value, path.flow_law->a.se),
                       shown(path.flow_law->b.value, path.flow_law->b.se));
  }
  if (path.flow_law && path.flow_law->inlet_volume) {
    out += "inlet volume: " +
           shown(path.flow_law->inlet_volume->value, path.flow_law->inlet_volume->se) +
           " mL beside the chamber's\n";
  }
  return out;
}

std::string advice_text(const MatchingAdvice& advice) {
  std::string out;
  if (!advice.advice.empty()) {
    out += "\nto make the lags equal, one of\n";
    for (const Advice& one : advice.advice) {
      const std::string amount = one.se ? shown(one.amount, *one.se) : print_rounded(one.amount, 4);
      out += wrapped(one.change + ": " + amount + " " + one.unit + "; " + one.note, 2, 2);
    }
  }
  if (!advice.missing.empty()) out += "\nto say more\n";
  for (const std::string& one : advice.missing) out += wrapped(one, 2, 2);
  return out;
}

}  // namespace

std::string path_verdict(const GasPath& path, const MatchingAdvice& advice) {
  if (!path.lag_s) {
    return "The lag is not known: these records do not tell it from the zero offset.";
  }
  const std::string lag = shown(path.lag_s->value, path.lag_s->se) + " s";
  if (!advice.equal_lag) {
    return "The sample record is late by " + lag +
           "; whether that matters depends on the rate of the ramp.";
  }
  const std::string at =
      fmt::format("{} umol mol-1 at {} umol mol-1 min-1",
                  shown(advice.residual_differential->value, advice.residual_differential->se),
                  print_rounded(60 * *advice.rate, 4));
  return *advice.equal_lag ? "The lags are equal: what is left makes a differential of " + at + "."
                           : "The lags are not equal: the sample record is late by " + lag +
                                 ", a differential of " + at + ".";
}

std::string path_json(const PathDocument& document) {
  JsonWriter json;
  json.open_object();
  write_head(json, document);
  write_estimates(json, *document.path);
  write_parts(json, *document.path);
  json.key("offset_changes").open_array();
  for (const OffsetChange& change : document.changes) write_offset_change(json, change);
  json.close();
  write_advice(json, *document.advice);
  write_tail(json, document);
  json.close();
  return json.finish();
}

std::string path_text(const PathDocument& document) {
  NoteGroups notes;
  notes.add("", document.path->notes);
  return wrapped(path_verdict(*document.path, *document.advice), 0) + "\n" +
         numbers_text(*document.path) + advice_text(*document.advice) + notes.text();
}

}  // namespace leafwright
