// The comparison for a terminal.
#include "base/text.hpp"
#include "report/agree_report.hpp"
#include "report/agree_words.hpp"
#include "report/note_text.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

std::string table_text(AgreeTable cells) {
  TextTable table;
  for (std::size_t i = 0; i < cells.heads.size(); ++i) {
    table.column(cells.heads[i],
                 cells.numeric[i] ? TextTable::Align::right : TextTable::Align::left);
  }
  for (auto& row : cells.rows) table.row(std::move(row));
  return table.text(2);
}

std::string lines_text(const std::vector<std::string>& lines, std::size_t indent) {
  std::string out;
  for (const std::string& line : lines) out += wrapped(line, indent, 2);
  return out;
}

std::string parameters_text(const AgreeDocument& d) {
  std::string out =
      "\nParameters\n" +
      table_text(agree_summary(d.result.parameters, d.input.plants_known, d.rules.level));
  for (const Comparison& c : d.result.parameters) {
    out += wrapped(c.symbol + ": " + c.verdict, 2, 2) + lines_text(comparison_details(c), 4);
  }
  const std::string missing = order_missing(d.input);
  return missing.empty() ? out : out + wrapped(missing, 2, 2);
}

std::string curves_text(const AgreeDocument& d) {
  std::string out = "\nCurves: difference of A at equal Ci\n";
  if (!d.result.curves.Ci.empty()) out += table_text(agree_places(d.result.curves));
  return out + lines_text(curves_findings(d), 2);
}

std::string again_text(const AgreeDocument& d) {
  std::string rows = lines_text(d.rows_out, 2);
  if (!d.without_exclusions) {
    return rows.empty() ? "\nNothing was left out.\n" : "\nNo leaf was left out\n" + rows;
  }
  const AgreementAgain& again = *d.without_exclusions;
  std::string out = "\nWith nothing left out (" + again_what(again) + " let in again)\n";
  out += table_text(agree_summary(again.result.parameters, d.input.plants_known, d.rules.level));
  for (const Comparison& c : again.result.parameters) {
    out += wrapped(c.symbol + ": " + c.verdict, 2, 2);
  }
  return out + rows;
}

}  // namespace

std::string agree_text(const AgreeDocument& d) {
  std::string out = agree_heading(d) + "\n" + wrapped(agree_margins(d.rules), 2, 2);
  for (const std::string& why : d.not_compared) out += wrapped("not compared: " + why, 2, 2);
  out += "\nLeaves\n" + table_text(agree_leaves(d, false));
  out += parameters_text(d);
  out += "\nPoints: A at nearly the same Ci\n" + lines_text(points_findings(d), 2);
  out += curves_text(d);
  out += again_text(d);
  NoteGroups notes;
  notes.add("", d.result.notes);
  notes.add("", d.notes);
  return out + notes.text();
}

}  // namespace leafwright
