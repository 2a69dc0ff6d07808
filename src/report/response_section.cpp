#include "report/response_section.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "figure/response_panel.hpp"
#include "report/html.hpp"
#include "report/note_text.hpp"

namespace leafwright {
namespace {

std::string end_cell(const std::optional<double>& value) {
  return value ? print_rounded(*value, 4) : "open";
}

std::string title_of(const ResponseFit& fit) {
  return fit.group.empty() ? fit.of : fit.group + ": " + fit.of;
}

std::string estimates_table(const ResponseRun& run) {
  HtmlTable t{"Estimates of the responses, with 95 % intervals",
              {"response", "form", "values", "estimate", "value", "from", "to", "unit", ""},
              {false, false, true, false, true, true, true, false, false},
              {}};
  for (const ResponseFit& fit : run.fits) {
    for (const ResponseEstimate& e : fit.estimates) {
      const bool interval = e.low || e.high;
      t.rows.push_back({title_of(fit), fit.form, std::to_string(fit.points.size()), e.symbol,
                        e.value ? print_rounded(*e.value, 4) : "", interval ? end_cell(e.low) : "",
                        interval ? end_cell(e.high) : "", e.unit == "1" ? "" : e.unit,
                        e.status == "estimated" ? "" : e.status});
    }
  }
  return html_table(t);
}

std::string asked_places(const ResponseFit& fit) {
  std::string out;
  for (const ResponseCurvePoint& value : fit.values) {
    out += "<li>At " + print_rounded(value.x, 5) + ": " + print_rounded(value.y, 4);
    if (value.low && value.high) {
      out += " (" + end_cell(value.low) + " to " + end_cell(value.high) + ")";
    }
    out += "</li>\n";
  }
  return out;
}

Result<std::string> one_response(const ResponseFit& fit) {
  auto svg = response_figure(fit);
  if (!svg) return fail(svg.error());
  std::string items = asked_places(fit);
  for (const Note& note : fit.notes) {
    items += "<li class=\"note-" + std::string(level_name(note.level)) + "\">" +
             html_escaped(note.text) + "</li>\n";
  }
  for (const ResponseExclusion& left : fit.excluded) {
    items += "<li>" +
             html_escaped("Left out: " + left.place.file + ":" + std::to_string(left.place.line) +
                          ": " + left.why) +
             "</li>\n";
  }
  return "<section><h3>" + html_escaped(title_of(fit)) + "</h3>\n<figure>" + *svg +
         "</figure>\n<p>" + html_escaped(fit.equation + " " + fit.source) + "</p>\n" +
         (items.empty() ? "" : "<ul>\n" + items + "</ul>\n") + "</section>\n";
}

}  // namespace

Result<std::string> response_section(const ResponseRun& run) {
  std::string out = "<h2 id=\"responses\">Responses</h2>\n";
  if (!run.fits.empty()) out += estimates_table(run);
  std::string items;
  for (const FailedResponse& failed : run.failed) {
    items += "<li>" +
             html_escaped((failed.group.empty() ? "" : failed.group + ": ") + failed.of +
                          " could not be fitted: " + failed.why) +
             "</li>\n";
  }
  for (const Note& note : run.notes) items += "<li>" + html_escaped(note.text) + "</li>\n";
  if (!items.empty()) out += "<ul>\n" + items + "</ul>\n";
  out += "<div class=\"curves\">\n";
  for (const ResponseFit& fit : run.fits) {
    auto one = one_response(fit);
    if (!one) return one;
    out += *one;
  }
  return out + "</div>\n";
}

}  // namespace leafwright
