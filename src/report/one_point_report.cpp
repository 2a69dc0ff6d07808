#include "report/one_point_report.hpp"

#include <array>
#include <utility>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/text_table.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

constexpr double pa = 1e-3;  // umol mol-1 x kPa

/// Columns of the CSV with what they hold.
constexpr std::array<std::pair<const char*, const char*>, 18> columns{{
    {"curve_id", "as in the table; the file's name where it names none"},
    {"file", "where the row stands"},
    {"line", "its line; of the first row where several were averaged"},
    {"rows", "rows averaged to this point"},
    {"A", "umol m-2 s-1"},
    {"Ci", "umol mol-1"},
    {"Ci_Pa", "Pa"},
    {"Tleaf", "degC"},
    {"Patm", "kPa"},
    {"Qin", "umol m-2 s-1"},
    {"gamma_star", "umol mol-1, at Tleaf and Patm"},
    {"Km", "umol mol-1, at Tleaf and Patm"},
    {"Rday", "umol m-2 s-1, used or implied by the fraction"},
    {"Vcmax", "umol m-2 s-1 at Tleaf, with infinite gm; empty where refused"},
    {"Vcmax25", "umol m-2 s-1 at 25 degC by the setting at25"},
    {"per_A", "umol m-2 s-1 of Vcmax for each umol m-2 s-1 of error in A"},
    {"status", "one point, perhaps lower bound, lower bound, refused"},
    {"why", "reasons for the status"},
}};

std::string shown(std::optional<double> value, int digits) {
  return value ? print_rounded(*value, digits) : "";
}

/// Every row that has reasons, with them.
std::string reasons_text(const OnePointRun& run) {
  std::string out;
  for (const OnePoint& p : run.points) {
    if (p.why.empty()) continue;
    const std::string where =
        p.curve_id + (p.place.line > 0 ? ", line " + std::to_string(p.place.line) : "");
    out += wrapped(where + ": " + one_point_status_name(p.status) + ": " + join(p.why, "; "), 2, 2);
  }
  return out;
}

std::string table_text(const OnePointRun& run) {
  using Align = TextTable::Align;
  TextTable table;
  table.column("curve", Align::left);
  for (const char* head : {"line", "rows", "A", "Ci", "Ci, Pa", "Tleaf", "Qin", "Rday", "Vcmax",
                           "Vcmax25", "per 1 of A"}) {
    table.column(head, Align::right);
  }
  table.column("", Align::left);
  for (const OnePoint& p : run.points) {
    table.row({p.curve_id, p.place.line > 0 ? std::to_string(p.place.line) : "",
               p.rows > 1 ? std::to_string(p.rows) : "", print_rounded(p.A, 4),
               print_rounded(p.Ci, 4), print_rounded(p.Ci * p.Patm * pa, 3),
               print_rounded(p.Tleaf, 3), shown(p.Qin, 4), shown(p.Rday, 3), shown(p.Vcmax, 4),
               shown(p.Vcmax25, 4), shown(p.per_A, 3), one_point_status_name(p.status)});
  }
  return table.text(2);
}

void write_error(JsonWriter& json, const OnePointRun& run) {
  json.key("method_error");
  if (!run.error) {
    json.null();
    return;
  }
  json.open_object()
      .field("rmse", run.error->rmse)
      .field("unit", "umol m-2 s-1")
      .field("r2", run.error->r2)
      .field("when", run.error->when)
      .field("species", std::size_t{564})
      .field("sites", std::size_t{46})
      .field("is", "of the method over many leaves, not an interval of any value")
      .field("source", "De Kauwe et al. 2016, New Phytol. 210:1130 (abstract)")
      .close();
}

void write_point(JsonWriter& json, const OnePoint& p) {
  json.open_object()
      .field("curve_id", p.curve_id)
      .field("file", p.place.file)
      .field("line", p.place.line)
      .field("rows", p.rows)
      .field("A", p.A)
      .field("Ci", p.Ci)
      .field("Ci_Pa", p.Ci * p.Patm * pa)
      .field("Tleaf", p.Tleaf)
      .field("Patm", p.Patm)
      .field("Qin", p.Qin);
  const bool constants = p.kinetics.Km > 0;
  json.field("gamma_star", constants ? std::optional(p.kinetics.gamma_star) : std::nullopt)
      .field("Km", constants ? std::optional(p.kinetics.Km) : std::nullopt)
      .field("Rday", p.Rday)
      .field("Vcmax", p.Vcmax)
      .field("Vcmax25", p.Vcmax25)
      .field("per_A", p.per_A)
      .field("status", one_point_status_name(p.status))
      .key("why")
      .open_array();
  for (const std::string& why : p.why) json.value(why);
  json.close().close();
}

void write_head(JsonWriter& json, const OnePointDocument& document) {
  json.open_object();
  write_made_from(json, "one-point", document.inputs, document.settings);
  json.field("methods", one_point_methods(*document.options));
  write_error(json, *document.run);
}

void write_tail(JsonWriter& json, const OnePointDocument& document) {
  json.key("unread_curves").open_array();
  for (const UnreadCurveOf& curve : document.unread_curves) {
    json.open_object(JsonWriter::Shape::line)
        .field("file", curve.file)
        .field("curve_id", curve.curve_id)
        .field("why", curve.why)
        .close();
  }
  json.close().key("problems").open_array();
  for (const std::string& problem : document.problems) json.value(problem);
  json.close();
  Notes notes = document.notes;
  notes.insert(notes.end(), document.run->notes.begin(), document.run->notes.end());
  write_notes(json, notes);
  json.close();
}

}  // namespace

std::string one_point_text(const OnePointDocument& document) {
  const OnePointRun& run = *document.run;
  std::string out = "One-point Vcmax, " + counted(run.points.size(), "point") +
                    ", in umol m-2 s-1 at leaf temperature (gm infinite)\n\n";
  out += table_text(run) + "\n" + wrapped(one_point_methods(*document.options), 0, 0);
  if (const std::string reasons = reasons_text(run); !reasons.empty()) {
    out += "\nWhy\n" + reasons;
  }
  std::string notes;
  for (const Notes* of : {&document.notes, &run.notes}) {
    for (const Note& note : *of) {
      notes += wrapped(std::string(level_name(note.level)) + ": " + note.text, 2, 2);
    }
  }
  if (!notes.empty()) out += "\nNotes\n" + notes;
  return out;
}

std::string one_point_csv(const OnePointDocument& document) {
  CsvWriter csv;
  for (const auto& [title, what] : columns) csv.text(title);
  csv.end_row();
  for (const OnePoint& p : document.run->points) {
    csv.text(p.curve_id).text(p.place.file).number(static_cast<double>(p.place.line));
    csv.number(static_cast<double>(p.rows)).number(p.A).number(p.Ci);
    csv.number(p.Ci * p.Patm * pa).number(p.Tleaf).number(p.Patm).number(p.Qin);
    if (p.kinetics.Km > 0) {
      csv.number(p.kinetics.gamma_star).number(p.kinetics.Km);
    } else {
      csv.missing().missing();
    }
    csv.number(p.Rday).number(p.Vcmax).number(p.Vcmax25).number(p.per_A);
    csv.text(one_point_status_name(p.status)).text(join(p.why, "; "));
    csv.end_row();
  }
  return csv.take();
}

std::string one_point_json(const OnePointDocument& document) {
  JsonWriter json;
  write_head(json, document);
  json.key("points").open_array();
  for (const OnePoint& point : document.run->points) write_point(json, point);
  json.close();
  write_tail(json, document);
  return json.finish();
}

std::string one_point_meta_json(const OnePointDocument& document) {
  JsonWriter json;
  write_head(json, document);
  json.key("columns").open_object();
  for (const auto& [title, what] : columns) json.field(title, what);
  json.close();
  write_tail(json, document);
  return json.finish();
}

}  // namespace leafwright
