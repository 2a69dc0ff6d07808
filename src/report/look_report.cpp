#include "report/look_report.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "quantity/symbol.hpp"
#include "report/json_writer.hpp"
#include "report/note_text.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

constexpr auto on_a_line = JsonWriter::Shape::line;

/// A text that may be missing.
void text_field(JsonWriter& json, std::string_view key, const std::string& text) {
  json.key(key);
  if (text.empty()) {
    json.null();
  } else {
    json.value(text);
  }
}

void write_layout(JsonWriter& json, const Layout& layout) {
  json.key("layout").open_object();
  json.field("encoding", encoding_name(layout.encoding));
  json.field("byte_order_mark", layout.byte_order_mark);
  json.field("line_end", line_end_name(layout.line_end));
  json.field("delimiter", delimiter_name(layout.delimiter));
  json.field("decimal", std::string(1, layout.decimal)).key("blocks").open_array();
  for (const Block& block : layout.blocks) {
    json.open_object(on_a_line).field("header_line", block.header_line).key("units_line");
    if (block.units_line > 0) {
      json.value(block.units_line);
    } else {
      json.null();
    }
    json.field("first_row", block.first_row).field("rows", block.rows).close();
  }
  json.close().close();
}

void write_columns(JsonWriter& json, const LookReport& log) {
  json.key("columns").open_array();
  for (const LookColumn& column : log.columns) {
    json.open_object(on_a_line).field("title", column.title);
    text_field(json, "unit", column.unit);
    text_field(json, "symbol", column.symbol);
    text_field(json, "proposed", column.proposed);
    json.field("evidence", column.evidence).field("kind", column_kind_name(column.kind));
    json.field("n", column.n).field("missing", column.missing).field("words", column.words);
    json.field("low", column.low).field("high", column.high).close();
  }
  json.close();
}

void write_proof(JsonWriter& json, const LookReport& log) {
  json.key("proof").open_object();
  for (const char* symbol : {"A", "E", "gsw", "Ci"}) {
    json.key(symbol).open_object(on_a_line).key("agrees");
    const auto found = std::find_if(log.proof.lines.begin(), log.proof.lines.end(),
                                    [&](const ProofLine& line) { return line.symbol == symbol; });
    const ProofLine line = found == log.proof.lines.end() ? ProofLine() : *found;
    if (line.agrees) {
      json.value(*line.agrees);
    } else {
      json.null();
    }
    json.field("median_difference", line.median_difference).field("n", line.n);
    text_field(json, "from", line.from);
    text_field(json, "form", line.form);
    text_field(json, "lacking", line.lacking);
    json.close();
  }
  json.close().field("proved", log.proved).key("area_fits").open_array();
  for (const AreaFit& one : log.proof.areas) {
    json.open_object(on_a_line).field("curve_id", one.curve_id).field("recorded", one.recorded);
    json.field("fits", one.fits).field("n", one.n).close();
  }
  json.close();
}

void write_findings(JsonWriter& json, const LookReport& log) {
  json.key("findings").open_array();
  for (const Finding& finding : log.findings) {
    json.open_object(on_a_line).field("about", finding.about);
    text_field(json, "column", finding.column);
    json.field("count", finding.count).key("lines").open_array(on_a_line);
    for (const Place& place : finding.first) json.value(place.line);
    json.close().field("text", finding.text).close();
  }
  json.close();
}

void write_log(JsonWriter& json, const LookReport& log) {
  json.field("file", log.file);
  write_layout(json, log.layout);
  json.field("rows", log.rows);
  write_columns(json, log);
  write_proof(json, log);
  write_findings(json, log);
  json.key("problems").open_array();
  for (const Error& problem : log.problems) {
    json.open_object(on_a_line).field("line", problem.place.line);
    json.field("column", problem.place.column).field("text", problem.text()).close();
  }
  json.close().key("notes").open_array();
  for (const Note& note : log.notes) {
    json.open_object(on_a_line).field("level", level_name(note.level));
    json.field("about", note.about).field("text", note.text).close();
  }
  json.close();
}

std::string layout_text(const LookReport& log) {
  const Layout& layout = log.layout;
  std::string out = log.file + ": " + counted(log.rows, "row") + ", " +
                    counted(log.columns.size(), "column") + "; " + encoding_name(layout.encoding) +
                    (layout.byte_order_mark ? " with a byte order mark" : "") + ", " +
                    line_end_name(layout.line_end) + " line ends, columns apart by " +
                    delimiter_name(layout.delimiter) + ", decimal '" + layout.decimal + "'";
  if (layout.blocks.size() > 1) out += ", " + counted(layout.blocks.size(), "block");
  if (!layout.blocks.empty()) {
    const Block& first = layout.blocks.front();
    out += ", titles in line " + std::to_string(first.header_line);
    if (first.units_line > 0) out += ", units in line " + std::to_string(first.units_line);
  }
  return wrapped(out, 0, 2);
}

/// What the evidence says beyond the title: the table shows title and symbol side by side, and an
/// assumed unit in brackets.
std::string remark_of(const LookColumn& column) {
  if (!column.proposed.empty()) return shortened(column.evidence, 60);
  const std::size_t more = column.evidence.find("; ");
  if (more == std::string::npos) return "";
  const std::string remark = column.evidence.substr(more + 2);
  return remark.starts_with("no unit stated") ? "" : remark;
}

std::string unit_of(const LookColumn& column) {
  if (!column.unit.empty()) return shortened(column.unit, 20);
  const Symbol* symbol = find_symbol(column.symbol);
  if (symbol == nullptr || symbol->kind != SymbolKind::number || symbol->unit == "1") return "";
  return "(" + std::string(symbol->unit) + ")";
}

std::string symbol_cell(const LookColumn& column) {
  if (!column.symbol.empty()) return column.symbol;
  return column.proposed.empty() ? "-" : column.proposed + "?";
}

std::string columns_text(const LookReport& log) {
  using Align = TextTable::Align;
  TextTable table;
  table.column("column", Align::left);
  table.column("unit", Align::left);
  table.column("symbol", Align::left);
  table.column("kind", Align::left);
  table.column("n", Align::right);
  table.column("missing", Align::right);
  table.column("lowest", Align::right);
  table.column("highest", Align::right);
  table.column("remarks", Align::left);
  for (const LookColumn& c : log.columns) {
    const auto shown = [](const std::optional<double>& v) { return v ? print_rounded(*v, 5) : ""; };
    table.row({shortened(c.title, 28), unit_of(c), symbol_cell(c), column_kind_name(c.kind),
               std::to_string(c.n), c.missing > 0 ? std::to_string(c.missing) : "", shown(c.low),
               shown(c.high), remark_of(c)});
  }
  const bool doubt = std::any_of(log.columns.begin(), log.columns.end(),
                                 [](const LookColumn& c) { return !c.proposed.empty(); });
  return table.text(2) +
         wrapped(std::string("symbol: the name in the open reporting format, - where the title is "
                             "none; (unit): not stated, assumed") +
                     (doubt ? "; with a question mark: may be that, see the remark" : ""),
                 2);
}

std::string findings_text(const LookReport& log) {
  std::string out;
  for (const Finding& finding : log.findings) out += wrapped("- " + finding.text, 2, 2);
  return out.empty() ? "" : "\nLook at\n" + out;
}

std::string column_of(const LookReport& log, const std::string& symbol) {
  for (const LookColumn& column : log.columns) {
    if (column.symbol == symbol) return "'" + shortened(column.title) + "'";
  }
  return symbol;
}

/// A sentence for each quantity that there is something to say of.
std::string proof_text(const LookReport& log) {
  std::string out;
  for (const ProofLine& line : log.proof.lines) {
    if (!line.agrees || !line.median_difference) {
      out += wrapped("- " + line.symbol + ": nothing to compare (" + line.lacking + ")", 2, 2);
      continue;
    }
    out += wrapped("- " + line.symbol + " recomputed from " + line.from +
                       (*line.agrees ? " agrees with column " : " does not agree with column ") +
                       column_of(log, line.symbol) + ": it differs by " +
                       print_rounded(*line.median_difference, 2) + " of it (median of " +
                       counted(line.n, "row") + ")" + (line.form.empty() ? "" : "; " + line.form),
                   2, 2);
  }
  if (out.empty()) return "";
  std::string columns;
  for (const LookColumn& column : log.columns) {
    if (column.evidence.starts_with("proved: ") || column.evidence.starts_with("not proved: ")) {
      columns += wrapped("- '" + shortened(column.title) + "' " + column.symbol +
                             (column.unit.empty() ? "" : " [" + column.unit + "]") + ": " +
                             column.evidence,
                         2, 2);
    }
  }
  return std::string("\nProof by recomputation: ") + (log.proved ? "proved" : "not proved") + "\n" +
         out + columns;
}

/// What `fit` would find: the line that most readers came for.
std::string ready_text(const LookReport& log) {
  const auto has = [&](const char* symbol) {
    return std::any_of(log.columns.begin(), log.columns.end(),
                       [&](const LookColumn& column) { return column.symbol == symbol; });
  };
  std::vector<std::string> missing;
  for (const char* symbol : {"A", "Ci"}) {
    if (!has(symbol)) missing.push_back(std::string("no column ") + symbol);
  }
  if (!has("Tleaf")) missing.push_back("no column Tleaf (or --tleaf VALUE)");
  if (!has("Patm")) missing.push_back("no column Patm (or --patm VALUE)");
  if (!missing.empty()) return wrapped("not ready for 'leafwright fit': " + join(missing), 0, 2);
  return has("curve_id")
             ? "ready for 'leafwright fit': A, Ci, Tleaf, Patm and curve_id are there\n"
             : wrapped(
                   "ready for 'leafwright fit': A, Ci, Tleaf and Patm are there; without "
                   "curve_id the file is one curve, or name the column with --curve COLUMN",
                   0, 2);
}

}  // namespace

std::string look_json(std::span<const LookReport> logs) {
  JsonWriter json;
  json.open_object().field("leafwright", LEAFWRIGHT_VERSION).field("schema", std::size_t{1});
  json.field("command", "look");
  if (logs.size() == 1) {
    write_log(json, logs.front());
  } else {
    json.key("logs").open_array();
    for (const LookReport& log : logs) {
      json.open_object();
      write_log(json, log);
      json.close();
    }
    json.close();
  }
  json.close();
  return json.finish();
}

std::string look_text(const LookReport& log) {
  std::string out =
      layout_text(log) + "\n" + columns_text(log) + proof_text(log) + findings_text(log);
  NoteGroups notes;
  notes.add("", log.notes);
  out += notes.text();
  if (!log.problems.empty()) out += "\nFaults of the file\n";
  for (const Error& problem : log.problems) out += "  " + problem.text() + "\n";
  return out + "\n" + ready_text(log);
}

}  // namespace leafwright
