#include "report/run_report.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/html.hpp"
#include "report/text_table.hpp"

namespace leafwright {

namespace {

constexpr std::size_t curves_named = 6;

std::string number_or_empty(std::size_t n) {
  return n > 0 ? std::to_string(n) : "";
}

std::string outcome_of(const LogRecord& log) {
  return log.failed.empty() ? log.did : "nothing: " + log.failed;
}

/// "area of lt-e2-1_aci: 6 cm2 from the samples table; NOT the same: ..."
std::string source_text(const SourceLine& line) {
  std::string out = line.quantity;
  if (!line.curves.empty()) out += " of " + join(line.curves, ", ", curves_named);
  out += ": " + line.value + (line.value.empty() ? "" : " ") + "from " + line.from;
  if (line.others.empty()) return out;
  return out + (line.disagree ? "; NOT the same: " : "; the same: ") + join(line.others, ", ");
}

std::string proof_text(const ProofLine& line) {
  if (!line.agrees || !line.median_difference) {
    return line.symbol + " is not proved: nothing to compare (" + line.lacking + ")";
  }
  return line.symbol + " recomputed from " + line.from +
         (*line.agrees ? " agrees with the one recorded: it differs by "
                       : " does NOT agree with the one recorded: it differs by ") +
         print_rounded(*line.median_difference, 2) + " of it (median of " + counted(line.n, "row") +
         ")";
}

std::string area_text(const AreaFit& area) {
  return (area.curve_id.empty() ? std::string("the log") : area.curve_id) +
         ": A and E were recorded with an area of " + print_rounded(area.fits, 4) +
         " cm2, though the log states " + print_rounded(area.recorded, 4) + " cm2";
}

/// Values whose sources differ, and areas that recorded fluxes contradict.
std::vector<std::string> disagreements(const RunDocument& run) {
  std::vector<std::string> out;
  for (const LogRecord& log : run.logs) {
    for (const AreaFit& area : log.proof.areas) out.push_back(log.file + ": " + area_text(area));
    for (const SourceLine& line : log.sources) {
      if (line.disagree) out.push_back(log.file + ": " + source_text(line));
    }
  }
  return out;
}

std::string html_list(const std::vector<std::string>& items) {
  std::string out = "<ul>\n";
  for (const std::string& item : items) out += "<li>" + html_escaped(item) + "</li>\n";
  return out + "</ul>\n";
}

std::string details(const std::string& summary, const std::string& body) {
  return "<details><summary>" + html_escaped(summary) + "</summary>\n" + body + "</details>\n";
}

std::string log_details(const LogRecord& log) {
  std::vector<std::string> items;
  if (!log.map.empty()) items.push_back("columns by " + log.map);
  if (!log.instrument.empty()) items.push_back("instrument: " + log.instrument);
  if (!log.cut.empty()) items.push_back("curves cut by " + log.cut);
  for (const ProofLine& line : log.proof.lines) items.push_back(proof_text(line));
  for (const AreaFit& area : log.proof.areas) items.push_back(area_text(area));
  for (const SourceLine& line : log.sources) items.push_back(source_text(line));
  for (const Note& note : log.notes) items.push_back(note.text);
  items.insert(items.end(), log.problems.begin(), log.problems.end());
  return items.empty() ? "" : details(log.file + ": how it was read", html_list(items));
}

std::string logs_section(const RunDocument& run) {
  HtmlTable table{
      "Logs of " + run.study + (run.time_zone.empty() ? "" : ", times in " + run.time_zone),
      {"log", "role", "rows", "curves", "what it gave", "columns"},
      {false, false, true, true, false, false},
      {}};
  for (const LogRecord& log : run.logs) {
    table.rows.push_back({log.file, log.role, number_or_empty(log.rows),
                          number_or_empty(log.curves), outcome_of(log),
                          log.proof.proved ? "proved" : "not proved"});
  }
  std::string out = "<h2 id=\"logs\">Logs</h2>\n" + html_table(table);
  if (const auto differ = disagreements(run); !differ.empty()) {
    out += "<p>Sources that do not agree; the first was used:</p>\n" + html_list(differ);
  }
  if (!run.left_out.empty()) {
    out += "<p>Asked for, and not done:</p>\n" + html_list(run.left_out);
  }
  for (const LogRecord& log : run.logs) out += log_details(log);
  return out;
}

std::string screening_section(const RunDocument& run) {
  HtmlTable rules{"Rules of screening, and how many rows each met",
                  {"rule", "what it does", "rows", "meaning", "source"},
                  {false, false, true, false, false},
                  {}};
  for (const ScreenTally& tally : run.rules) {
    rules.rows.push_back({tally.rule, tally.excludes ? "leaves out" : "marks",
                          std::to_string(tally.rows), tally.meaning, tally.source});
  }
  HtmlTable rows{"Rows left out or marked", {"curve", "row", "in the fit", "why", "marks"}, {}, {}};
  for (const ScreenedRow& row : run.screened) {
    const std::string more = row.rows > 1 ? " and " + counted(row.rows - 1, "row") + " more" : "";
    rows.rows.push_back(
        {row.curve_id, row.place + more, row.used ? "yes" : "no", row.why, row.flags});
  }
  std::string out =
      "<h2 id=\"screening\">Screening</h2>\n" + details("The rules", html_table(rules));
  if (rows.rows.empty()) return out + "<p>No row was left out or marked.</p>\n";
  return out + html_table(rows);
}

}  // namespace

std::string run_sections(const RunDocument& run) {
  return logs_section(run) + screening_section(run);
}

std::string run_text(const RunDocument& run) {
  using Align = TextTable::Align;
  TextTable table;
  table.column("log", Align::left);
  table.column("role", Align::left);
  table.column("rows", Align::right);
  table.column("curves", Align::right);
  table.column("what it gave", Align::left);
  for (const LogRecord& log : run.logs) {
    table.row({log.file, log.role, number_or_empty(log.rows), number_or_empty(log.curves),
               log.failed.empty() ? log.did : "not read, see above"});
  }
  std::string out = table.text();
  for (const std::string& line : disagreements(run)) out += wrapped(line, 2, 2);
  std::size_t unused = 0;
  for (const ScreenedRow& row : run.screened) unused += row.used ? 0 : row.rows;
  if (unused > 0) {
    out += "  " + counted(unused, "row") +
           " left out, each with its reason in points.csv and the report\n";
  }
  return out;
}

}  // namespace leafwright
