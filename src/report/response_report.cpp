#include "report/response_report.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/settings_report.hpp"
#include "report/text_table.hpp"
#include "table/csv.hpp"

namespace leafwright {

namespace {

std::string fit_section(const ResponseFit& fit) {
  std::string out = response_name(fit) + ", " + counted(fit.points.size(), "value") + "\n";
  TextTable table;
  table.column("", TextTable::Align::left);
  table.column("value", TextTable::Align::right);
  table.column("95 % from", TextTable::Align::right);
  table.column("to", TextTable::Align::right);
  table.column("unit", TextTable::Align::left);
  table.column("", TextTable::Align::left);
  for (const ResponseEstimate& e : fit.estimates) {
    const bool interval = e.low || e.high;
    table.row({e.symbol, e.value ? print_rounded(*e.value, 4) : "",
               interval ? response_end_text(e.low) : "", interval ? response_end_text(e.high) : "",
               e.unit == "1" ? "" : e.unit, e.status == "estimated" ? "" : e.status});
  }
  out += table.text(2);
  for (const ResponseCurvePoint& value : fit.values) {
    out += "  at " + print_rounded(value.x, 5) + ": " + print_rounded(value.y, 4);
    if (value.low && value.high) {
      out += " (" + response_end_text(value.low) + " to " + response_end_text(value.high) + ")";
    }
    out += "\n";
  }
  out += wrapped(fit.equation, 2, 2) + wrapped(fit.source, 2, 2);
  for (const ResponseExclusion& left : fit.excluded) {
    out += wrapped(
        "left out: " + left.place.file + ":" + std::to_string(left.place.line) + ": " + left.why, 2,
        2);
  }
  for (const Note& note : fit.notes) {
    out += wrapped(std::string(level_name(note.level)) + ": " + note.text, 2, 2);
  }
  return out;
}

void write_curve(JsonWriter& json, const char* key, const std::vector<ResponseCurvePoint>& points) {
  json.key(key).open_array();
  for (const ResponseCurvePoint& point : points) {
    json.open_object(JsonWriter::Shape::line)
        .field("x", point.x)
        .field("y", point.y)
        .field("low", point.low)
        .field("high", point.high)
        .close();
  }
  json.close();
}

void write_estimates(JsonWriter& json, const ResponseFit& fit) {
  json.key("estimates").open_object();
  for (const ResponseEstimate& e : fit.estimates) {
    json.key(e.symbol)
        .open_object(JsonWriter::Shape::line)
        .field("value", e.value)
        .field("unit", e.unit)
        .field("se", e.se)
        .field("low", e.low)
        .field("high", e.high)
        .field("status", e.status)
        .close();
  }
  json.close();
}

void write_fit(JsonWriter& json, const ResponseFit& fit) {
  json.open_object()
      .field("group", fit.group)
      .field("of", fit.of)
      .field("form", fit.form)
      .field("equation", fit.equation)
      .field("source", fit.source);
  write_estimates(json, fit);
  json.field("n", fit.points.size())
      .field("df", static_cast<double>(fit.df))
      .field("ssr", fit.ssr)
      .field("rmse", fit.rmse)
      .field("residuals_of", fit.log_scale ? "ln" : "value");
  write_curve(json, "values", fit.values);
  write_curve(json, "curve", fit.curve);
  json.key("points").open_array();
  for (const ResponsePoint& point : fit.points) {
    json.open_object(JsonWriter::Shape::line)
        .field("x", point.x)
        .field("y", point.y)
        .field("leaf", point.leaf)
        .field("file", point.place.file)
        .field("line", point.place.line)
        .close();
  }
  json.close();
  json.key("excluded").open_array();
  for (const ResponseExclusion& left : fit.excluded) {
    json.open_object(JsonWriter::Shape::line)
        .field("file", left.place.file)
        .field("line", left.place.line)
        .field("why", left.why)
        .close();
  }
  json.close();
  write_notes(json, fit.notes);
  json.close();
}

}  // namespace

std::string response_end_text(const std::optional<double>& value) {
  return value ? print_rounded(*value, 4) : "open";
}

std::string response_name(const ResponseFit& fit) {
  return fit.group.empty() ? fit.of : fit.group + ": " + fit.of;
}

std::string response_text(const ResponseDocument& document) {
  std::string out;
  for (const ResponseFit& fit : document.run->fits) {
    out += (out.empty() ? "" : "\n") + fit_section(fit);
  }
  if (!document.run->notes.empty()) out += "\n";
  for (const Note& note : document.run->notes) {
    out += wrapped(std::string(level_name(note.level)) + ": " + note.text, 0, 2);
  }
  return out;
}

std::string response_csv(const ResponseRun& run) {
  CsvWriter csv;
  for (const char* title : {"group", "of", "form", "symbol", "unit", "value", "se", "low", "high",
                            "status", "n", "df", "rmse"}) {
    csv.text(title);
  }
  csv.end_row();
  for (const ResponseFit& fit : run.fits) {
    for (const ResponseEstimate& e : fit.estimates) {
      csv.text(fit.group).text(fit.of).text(fit.form).text(e.symbol).text(e.unit);
      csv.number(e.value).number(e.se).number(e.low).number(e.high).text(e.status);
      csv.number(static_cast<double>(fit.points.size())).number(static_cast<double>(fit.df));
      csv.number(fit.rmse).end_row();
    }
  }
  return csv.take();
}

std::string response_json(const ResponseDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "response", document.inputs, document.settings);
  json.key("responses").open_array();
  for (const ResponseFit& fit : document.run->fits) write_fit(json, fit);
  json.close();
  std::vector<Failed> failed;
  for (const FailedResponse& one : document.run->failed) {
    failed.push_back({{{"group", one.group}, {"of", one.of}}, one.why});
  }
  write_failed(json, failed);
  write_notes(json, document.run->notes);
  json.close();
  return json.finish();
}

std::string response_meta_json(const ResponseDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "response", document.inputs, document.settings);
  json.key("columns").open_object();
  json.field("low", "lower end of the 95 % profile interval; empty = open")
      .field("high", "upper end; empty = open")
      .field("status", "estimated, fixed, lower bound, upper bound or not identified")
      .field("rmse", "of ln(value) for temperature, else in the unit of what was fitted")
      .close();
  write_notes(json, document.run->notes);
  json.close();
  return json.finish();
}

}  // namespace leafwright
