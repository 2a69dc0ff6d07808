#include "report/response_section.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "figure/response_panel.hpp"
#include "report/html.hpp"
#include "report/response_report.hpp"

namespace leafwright {
namespace {

std::string estimates_table(const ResponseRun& run) {
  HtmlTable t{"Estimates of the responses, with 95 % intervals",
              {"response", "form", "values", "estimate", "value", "from", "to", "unit", ""},
              {false, false, true, false, true, true, true, false, false},
              {}};
  for (const ResponseFit& fit : run.fits) {
    for (const ResponseEstimate& e : fit.estimates) {
      const bool interval = e.low || e.high;
      t.rows.push_back({response_name(fit), fit.form, std::to_string(fit.points.size()), e.symbol,
                        e.value ? print_rounded(*e.value, 4) : "",
                        interval ? response_end_text(e.low) : "",
                        interval ? response_end_text(e.high) : "", e.unit == "1" ? "" : e.unit,
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
      out += " (" + response_end_text(value.low) + " to " + response_end_text(value.high) + ")";
    }
    out += "</li>\n";
  }
  return out;
}

Result<std::string> one_response(const ResponseFit& fit) {
  auto svg = response_figure(fit);
  if (!svg) return fail(svg.error());
  std::string items = asked_places(fit);
  for (const ResponseExclusion& left : fit.excluded) {
    items += "<li>" +
             html_escaped("Left out: " + left.place.file + ":" + std::to_string(left.place.line) +
                          ": " + left.why) +
             "</li>\n";
  }
  return "<section><h3>" + html_escaped(response_name(fit)) + "</h3>\n<figure>" + *svg +
         "</figure>\n<p>" + html_escaped(fit.equation + " " + fit.source) + "</p>\n" +
         (items.empty() ? "" : "<ul>\n" + items + "</ul>\n") + html_notes(fit.notes) +
         "</section>\n";
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
  if (!items.empty()) out += "<ul>\n" + items + "</ul>\n";
  out += html_notes(run.notes);
  out += "<div class=\"curves\">\n";
  for (const ResponseFit& fit : run.fits) {
    auto one = one_response(fit);
    if (!one) return one;
    out += *one;
  }
  return out + "</div>\n";
}

}  // namespace leafwright
