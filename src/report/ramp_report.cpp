#include "report/ramp_report.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/settings_report.hpp"
#include "report/text_table.hpp"

namespace leafwright {

namespace {

std::string with_se(const std::optional<WithError>& number, const char* unit) {
  if (!number) return "not known";
  return print_rounded(number->value, 4) + " +- " + print_rounded(number->se, 2) + " " + unit;
}

void write_used(JsonWriter& json, const CorrectionUsed& used) {
  json.key("used")
      .open_object(JsonWriter::Shape::line)
      .field("correction", correction_name(used.method))
      .field("pairing", used.pairing)
      .field("area", used.area)
      .field("flow", used.flow)
      .field("tau_s", used.tau_s)
      .field("tau_from", used.tau_from)
      .field("lag_s", used.lag_s)
      .field("delay_s", used.delay_s)
      .field("window_s", used.window_s)
      .field("rate_times_tau", used.r_tau)
      .field("offset_removed", used.offset_removed)
      .close();
}

void write_ends(JsonWriter& json, const Ends& ends) {
  json.key("ends").open_array();
  for (const RampEnds& end : ends.ramps) {
    json.open_object(JsonWriter::Shape::line)
        .field("shown_s", end.shown_s)
        .field("discard_s", end.discard_s)
        .field("stops_s", end.stops_s)
        .field("trim_s", end.trim_s)
        .field("start_seen", end.start_seen)
        .field("kept", end.kept)
        .close();
  }
  json.close();
}

void write_joint(JsonWriter& json, const JointFit& fit) {
  json.key("joint").open_object();
  json.field("model", fit.model).field("rmse", fit.rmse).field("converged", fit.converged);
  json.key("parameters").open_array();
  for (const JointParameter& p : fit.parameters) {
    json.open_object(JsonWriter::Shape::line).field("symbol", p.symbol).field("unit", p.unit);
    json.field("value", p.identified ? std::optional(p.value) : std::nullopt);
    json.field("se", p.se > 0 ? std::optional(p.se) : std::nullopt);
    json.field("status", p.identified ? "estimated" : "not identified").close();
  }
  json.close().close();
}

void write_alignment(JsonWriter& json, const Alignment& found) {
  json.key("alignment")
      .open_object(JsonWriter::Shape::line)
      .field("recorded_A", recorded_A_name(found.made))
      .field("rows", found.rows)
      .field("late_s", found.late_s)
      .field("late_low_s", found.late_low)
      .field("late_high_s", found.late_high)
      .field("mean_low_s", found.mean_low)
      .field("mean_high_s", found.mean_high)
      .field("between_s", found.between_s)
      .field("misfit", found.misfit)
      .field("misfit_as_is", found.misfit_as_is)
      .field("steady_off", found.steady_off)
      .field("Ci_from_column", found.Ci_from_column)
      .field("misaligned", found.misaligned)
      .close();
}

void write_water(JsonWriter& json, const WaterAlignment& found) {
  json.key("water")
      .open_object(JsonWriter::Shape::line)
      .field("columns", water_columns_name(found.found))
      .field("rows", found.rows)
      .field("late_s", found.late_s)
      .field("late_low_s", found.late_low)
      .field("late_high_s", found.late_high)
      .field("misfit", found.misfit)
      .field("misfit_as_is", found.misfit_as_is)
      .close();
}

void write_ramp(JsonWriter& json, const RampOutcome& outcome) {
  json.open_object().field("name", outcome.name);
  if (!outcome.path.empty()) json.field("path", outcome.path);
  if (!outcome.ramp) {
    json.field("failed", outcome.failed).close();
    return;
  }
  const CorrectedRamp& ramp = *outcome.ramp;
  json.field("rows", ramp.A.size()).field("kept", ramp.kept());
  write_used(json, ramp.used);
  write_ends(json, ramp.ends);
  if (ramp.joint) write_joint(json, *ramp.joint);
  if (ramp.alignment) write_alignment(json, *ramp.alignment);
  if (ramp.water) write_water(json, *ramp.water);
  write_notes(json, ramp.notes);
  json.close();
}

}  // namespace

std::string ramp_used_text(const CorrectionUsed& used) {
  std::string out = std::string("correction ") + correction_name(used.method);
  if (takes_path(used.method) && used.method != CorrectionMethod::balance &&
      used.method != CorrectionMethod::joint) {
    out += used.pairing ? ", lag pairing on" : ", lag pairing OFF";
  }
  if (used.lag_s) out += "; lag " + print_rounded(*used.lag_s, 4) + " s";
  if (used.delay_s) out += ", dead time " + print_rounded(*used.delay_s, 4) + " s";
  if (used.tau_s) {
    out += "; time constant of the chamber " + print_rounded(*used.tau_s, 4) + " s (" +
           used.tau_from + ")";
  }
  if (used.window_s) out += "; window " + print_rounded(*used.window_s, 3) + " s";
  out += "; area " + print_rounded(used.area, 5) + " cm2, flow " + print_rounded(used.flow, 5) +
         " umol s-1; offset " + (used.offset_removed ? "removed" : "not removed");
  return out;
}

std::string ramp_direction(const Ends& ends) {
  bool up = false, down = false;
  for (const RampEnds& end : ends.ramps) {
    up = up || end.stretch.kind == Stretch::Kind::up;
    down = down || end.stretch.kind == Stretch::Kind::down;
  }
  if (up && down) return "up and down";
  return up ? "up" : (down ? "down" : "none");
}

std::vector<std::string> ramp_ends_texts(const Ends& ends) {
  std::vector<std::string> out;
  for (const RampEnds& end : ends.ramps) {
    out.push_back("left out: " + print_rounded(end.discard_s, 3) + " s after the change at " +
                  print_rounded(end.shown_s, 5) + " s, and " + print_rounded(end.trim_s, 3) +
                  " s before CO2r stops");
  }
  return out;
}

void write_ramps(JsonWriter& json, std::span<const RampOutcome> ramps) {
  json.key("ramps").open_array();
  for (const RampOutcome& outcome : ramps) write_ramp(json, outcome);
  json.close();
}

void write_paths(JsonWriter& json, std::span<const PathOutcome> paths) {
  json.key("paths").open_array();
  for (const PathOutcome& outcome : paths) {
    json.open_object().field("name", outcome.name).field("instrument", outcome.instrument);
    json.field("date", outcome.date.value_or(""));
    json.key("records").open_array(JsonWriter::Shape::line);
    for (const std::string& record : outcome.records) json.value(record);
    json.close();
    if (!outcome.path) {
      json.field("failed", outcome.failed).close();
      continue;
    }
    const GasPath& path = *outcome.path;
    const auto number = [&](const char* name, const std::optional<WithError>& value) {
      json.field(name, value ? std::optional(value->value) : std::nullopt);
      json.field(std::string(name) + "_se", value ? std::optional(value->se) : std::nullopt);
    };
    number("lag_s", path.lag_s);
    number("delay_s", path.delay_s);
    number("mixing_s", path.mixing_s);
    json.key("offset")
        .open_object(JsonWriter::Shape::line)
        .field("c0", path.offset[0])
        .field("c1", path.offset[1])
        .field("c2", path.offset[2])
        .close();
    json.field("verdict", outcome.verdict);
    if (outcome.change) {
      json.key("offset_change");
      write_offset_change(json, *outcome.change);
    }
    write_notes(json, path.notes);
    json.close();
  }
  json.close();
}

std::string ramp_text(const RampDocument& document) {
  std::string out;
  if (document.path != nullptr) {
    out += wrapped("gas path from " + join(document.path->records) + ": lag " +
                       with_se(document.path->lag_s, "s"),
                   0, 2);
  }
  for (const RampOutcome& outcome : document.ramps) {
    if (!outcome.ramp) {
      out += wrapped(outcome.name + ": not corrected: " + outcome.failed, 0, 2);
      continue;
    }
    const CorrectedRamp& ramp = *outcome.ramp;
    out += outcome.name + ": " + std::to_string(ramp.kept()) + " of " +
           counted(ramp.A.size(), "row") + " give points\n" +
           wrapped(ramp_used_text(ramp.used), 2, 2);
    for (const std::string& text : ramp_ends_texts(ramp.ends)) out += "  " + text + "\n";
    if (ramp.joint) {
      for (const JointParameter& p : ramp.joint->parameters) {
        out += "  " + p.symbol + " " +
               (p.identified
                    ? print_rounded(p.value, 4) + " +- " + print_rounded(p.se, 2) + " " + p.unit
                    : std::string("not identified")) +
               "\n";
      }
    }
    for (const Note& note : ramp.notes) {
      out += wrapped(std::string(level_name(note.level)) + ": " + note.text, 2, 2);
    }
  }
  return out;
}

std::string ramp_json(const RampDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "ramp", document.inputs, document.settings);
  json.key("path").open_object();
  if (document.path != nullptr) {
    json.key("records").open_array(JsonWriter::Shape::line);
    for (const std::string& record : document.path->records) json.value(record);
    json.close();
    const auto& lag = document.path->lag_s;
    json.field("lag_s", lag ? std::optional(lag->value) : std::nullopt);
    json.field("lag_s_se", lag ? std::optional(lag->se) : std::nullopt);
  }
  json.close();
  json.key("columns").open_object();
  for (const FluxColumn& column : document.columns) {
    json.key(column.name)
        .open_object(JsonWriter::Shape::line)
        .field("unit", column.unit)
        .field("meaning", column.meaning)
        .close();
  }
  json.close();
  write_ramps(json, document.ramps);
  json.close();
  return json.finish();
}

}  // namespace leafwright
