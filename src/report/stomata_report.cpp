#include "report/stomata_report.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/curve_text.hpp"
#include "report/html.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

constexpr auto on_a_line = JsonWriter::Shape::line;

std::string shown(const std::optional<double>& value, int decimals) {
  return value ? fixed_text(*value, decimals) : "";
}

/// "rows 0, 6 (lines 2, 8)"
std::string rows_words(const OperatingPoint& point) {
  if (point.rows.empty()) return "";
  std::vector<std::string> rows, lines;
  for (const std::size_t row : point.rows) rows.push_back(std::to_string(row));
  for (const std::size_t line : point.lines) {
    if (line > 0) lines.push_back(std::to_string(line));
  }
  std::string out = (rows.size() == 1 ? "row " : "rows ") + join(rows, ", ", 8);
  if (lines.size() == rows.size()) {
    out += (lines.size() == 1 ? " (line " : " (lines ") + join(lines, ", ", 8) + ")";
  }
  return out;
}

std::string ci_from(const OperatingPoint& point) {
  if (!point.Ci) return "";
  if (point.ci_given) return "as stated";
  return rows_words(point);
}

const std::vector<std::string>& heads() {
  static const std::vector<std::string> all = {
      "curve", "Ci", "A", "A at that CO2", "g", "l", "l, rel.", "A/gsw", "Ci from", "missing"};
  return all;
}

std::vector<std::string> cells_of(const CurveFit& fit) {
  const OperatingPoint& p = *fit.operating;
  return {shortened(fit.curve_id, 40), shown(p.Ci, 1),          shown(p.A, 2),
          shown(p.A_out, 2),           shown(p.conductance, 4), shown(p.limitation, 3),
          shown(p.relative, 3),        shown(p.WUEi, 1),        ci_from(p),
          join(p.missing, "; ")};
}

const char* const legend =
    "Ci and the CO2 outside in umol mol-1; A of the fitted curve in umol m-2 s-1; g to CO2, from "
    "the air outside to Ci, in mol m-2 s-1; l = 1 - A(Ci)/A(CO2 outside) (Farquhar & Sharkey "
    "1982); "
    "l, rel. = r/(r + dCi/dA) with r = (CO2 outside - Ci)/A (Jones 1985); A/gsw in umol mol-1. No "
    "intervals: they are as good as the fitted curve is at both Ci.";

double stated_co2(const FitDocument& document) {
  for (const CurveFit& fit : document.campaign->fits) {
    if (fit.operating) return fit.operating->CO2;
  }
  return 0;
}

void write_sizes(JsonWriter& json, const char* key, const std::vector<std::size_t>& values) {
  json.key(key).open_array(on_a_line);
  for (const std::size_t value : values) json.value(value);
  json.close();
}

}  // namespace

bool has_operating(const FitDocument& document) {
  const auto& fits = document.campaign->fits;
  return std::any_of(fits.begin(), fits.end(),
                     [](const CurveFit& fit) { return fit.operating.has_value(); });
}

std::string operating_words(const CurveFit& fit) {
  if (!fit.operating) return "";
  const OperatingPoint& p = *fit.operating;
  std::string out = "operating point at CO2 " + print_rounded(p.CO2, 5) + ":";
  if (!p.Ci) return wrapped(out + " not found", 2, 2);
  out += fmt::format(" Ci {} ({}), A {}", fixed_text(*p.Ci, 1),
                     p.ci_given ? "as stated" : "conductance of " + rows_words(p),
                     p.A ? shown(p.A, 2) : "not known");
  if (p.conductance) {
    out += ", conductance to CO2 " + fixed_text(*p.conductance, 4) + " mol m-2 s-1";
  }
  if (p.limitation) {
    out += fmt::format("; limitation {} (1 - {}/{}; Farquhar & Sharkey 1982)",
                       fixed_text(*p.limitation, 3), shown(p.A, 2), shown(p.A_out, 2));
  }
  if (p.relative) out += fmt::format(", {} (relative; Jones 1985)", fixed_text(*p.relative, 3));
  if (p.WUEi) out += fmt::format("; A/gsw {} umol mol-1", fixed_text(*p.WUEi, 1));
  return wrapped(out, 2, 2);
}

std::string operating_text(const FitDocument& document) {
  if (!has_operating(document)) return "";
  TextTable table;
  for (std::size_t i = 0; i < heads().size(); ++i) {
    const bool word = i == 0 || i + 2 >= heads().size();
    table.column(heads()[i], word ? TextTable::Align::left : TextTable::Align::right);
  }
  for (const CurveFit& fit : document.campaign->fits) {
    if (!fit.operating) continue;
    std::vector<std::string> cells = cells_of(fit);
    cells.back() = fit.operating->missing.empty() ? "" : "see notes";
    table.row(std::move(cells));
  }
  return "Operating point at CO2 " + print_rounded(stated_co2(document), 5) + " outside\n" +
         table.text() + "\n" + wrapped(legend, 0);
}

std::string operating_section(const FitDocument& document) {
  if (!has_operating(document)) return "";
  HtmlTable t;
  t.caption = "Operating point at CO2 " + print_rounded(stated_co2(document), 5) +
              " umol mol-1 outside the leaf";
  t.heads = heads();
  t.numeric = {false, true, true, true, true, true, true, true, false, false};
  for (const CurveFit& fit : document.campaign->fits) {
    if (fit.operating) t.rows.push_back(cells_of(fit));
  }
  return "<h2 id=\"operating\">Operating point</h2>\n" + html_table(t) + "<p>" +
         html_escaped(legend) + "</p>\n";
}

void write_operating(JsonWriter& json, const CurveFit& fit) {
  json.key("operating");
  if (!fit.operating) {
    json.null();
    return;
  }
  const OperatingPoint& p = *fit.operating;
  json.open_object().field("CO2", p.CO2).field("Ci", p.Ci);
  json.field("Ci_is", !p.Ci ? "not found" : p.ci_given ? "stated" : "supply meets demand");
  json.field("A", p.A).field("A_at_CO2", p.A_out).field("conductance", p.conductance);
  json.field("conductance_low", p.conductance_low).field("conductance_high", p.conductance_high);
  write_sizes(json, "rows", p.rows);
  write_sizes(json, "lines", p.lines);
  json.field("gsw", p.gsw).field("slope", p.slope).field("limitation", p.limitation);
  json.field("relative_limitation", p.relative).field("WUEi", p.WUEi);
  json.key("missing").open_array();
  for (const std::string& text : p.missing) json.value(text);
  json.close().close();
}

std::vector<StomataCell> operating_cells(const CurveFit& fit) {
  const bool there = fit.operating.has_value();
  const OperatingPoint none;
  const OperatingPoint& p = there ? *fit.operating : none;
  std::vector<std::string> rows;
  for (const std::size_t row : p.rows) rows.push_back(std::to_string(row));
  return {
      {"operating_CO2",
       "umol mol-1",
       "CO2 outside the leaf, as stated",
       there ? std::optional(p.CO2) : std::nullopt,
       {}},
      {"operating_Ci", "umol mol-1", "Ci at the operating point", p.Ci, {}},
      {"operating_A", "umol m-2 s-1", "A of the fitted curve at operating_Ci", p.A, {}},
      {"A_at_operating_CO2",
       "umol m-2 s-1",
       "A of the fitted curve at Ci = operating_CO2",
       p.A_out,
       {}},
      {"operating_g",
       "mol m-2 s-1",
       "conductance to CO2 from outside to Ci, mean of the rows",
       p.conductance,
       {}},
      {"operating_gsw", "mmol m-2 s-1", "gsw, mean of the rows", p.gsw, {}},
      {"limitation",
       "",
       "1 - operating_A/A_at_operating_CO2 (Farquhar & Sharkey 1982)",
       p.limitation,
       {}},
      {"relative_limitation", "", "r/(r + dCi/dA), r = (CO2 - Ci)/A (Jones 1985)", p.relative, {}},
      {"WUEi", "umol mol-1", "operating_A/operating_gsw", p.WUEi, {}},
      {"operating_rows",
       "",
       "zero-based rows of the curve near operating_CO2",
       {},
       join(rows, " ")},
      {"operating_missing", "", "what is needed for what is empty", {}, join(p.missing, "; ")},
  };
}

std::string operating_methods(const FitDocument& document, std::set<std::string>& references) {
  if (!has_operating(document)) return "";
  references.emplace("Farquhar GD, Sharkey TD (1982) Annual Review of Plant Physiology 33:317-345");
  references.emplace("Jones HG (1985) Plant, Cell & Environment 8:95-104");
  const auto& fits = document.campaign->fits;
  const bool given = std::any_of(fits.begin(), fits.end(), [](const CurveFit& fit) {
    return fit.operating && fit.operating->ci_given;
  });
  std::string out = fmt::format("The operating point at {} umol mol-1 CO2 outside the leaf was ",
                                print_rounded(stated_co2(document), 5));
  out += given ? "taken at a Ci of " + setting_text(document, "operating-ci") + " umol mol-1. "
               : "found where the fitted curve meets the supply line A = g (CO2 - Ci), with g the "
                 "mean of A/(CO2 - Ci) over the rows measured within " +
                     setting_text(document, "operating-window") + " % of that CO2. ";
  return out +
         "Limitation by the way of CO2 from the air outside to the intercellular air was computed "
         "from the fitted curve as 1 - A(Ci)/A(CO2) (Farquhar & Sharkey 1982) and as r/(r + "
         "dCi/dA) with r = (CO2 - Ci)/A (Jones 1985); A/gsw from A of the curve and the mean gsw "
         "of the same rows.";
}

}  // namespace leafwright
