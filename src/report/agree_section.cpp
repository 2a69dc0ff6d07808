#include "report/agree_section.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "figure/agree_figures.hpp"
#include "report/agree_words.hpp"
#include "report/html.hpp"

namespace leafwright {
namespace {

std::string table(const std::string& caption, AgreeTable cells) {
  return html_table(
      {caption, std::move(cells.heads), std::move(cells.numeric), std::move(cells.rows)});
}

std::string paragraph(const std::string& text) {
  return "<p>" + html_escaped(text) + "</p>\n";
}

std::string list(const std::vector<std::string>& items) {
  if (items.empty()) return "";
  std::string out = "<ul>\n";
  for (const std::string& item : items) out += "<li>" + html_escaped(item) + "</li>\n";
  return out + "</ul>\n";
}

std::string verdicts(const std::vector<Comparison>& parameters) {
  std::vector<std::string> items;
  for (const Comparison& c : parameters) items.push_back(c.symbol + ": " + c.verdict);
  return list(items);
}

std::string summary(const AgreementResult& result, const AgreeDocument& d) {
  const std::string family = agree_family(result);
  return table("Mean over " + std::string(d.input.plants_known ? "plants" : "leaves") +
                   " with its interval, and limits of agreement of a leaf with theirs" +
                   (family.empty() ? "" : "; P Holm is adjusted over " + family),
               agree_summary(result.parameters, d.input.plants_known, d.rules.level));
}

/// A figure that has nothing to show is left out; the text says why.
std::string figure(const Result<std::string>& svg) {
  return svg ? "<figure>" + *svg + "</figure>\n" : "";
}

std::string parameters(const AgreeDocument& d) {
  std::string out = "<h3>Parameters</h3>\n" + verdicts(d.result.parameters);
  out += summary(d.result, d);
  out += figure(ratio_figure(d.input, d.result, {}));
  std::string details;
  for (const Comparison& c : d.result.parameters) {
    details += paragraph(c.symbol + ": " + c.verdict) + list(comparison_details(c));
  }
  out += "<details><summary>Tests, noise of the fits, and what is missing</summary>\n" + details +
         "</details>\n";
  const std::string missing = order_missing(d.input);
  if (!missing.empty()) out += paragraph(missing);
  return out + table("Each leaf by both methods, umol m-2 s-1", agree_leaves(d, true));
}

std::string curves(const AgreeDocument& d) {
  std::string out = "<h3>Curves: difference of A at equal Ci</h3>\n" + list(curves_findings(d));
  return out + figure(difference_figure(d.input, d.result, d.rules, {}));
}

Result<std::string> leaves(const AgreeDocument& d) {
  std::string out = "<div class=\"curves\">\n";
  for (std::size_t i = 0; i < d.input.pairs.size(); ++i) {
    const LeafPair& pair = d.input.pairs[i];
    if (pair.curve[0].points.empty() && pair.curve[1].points.empty()) continue;
    auto svg = leaf_figure(d.input, d.result, i, {});
    if (!svg) return svg;
    out += "<section>" + figure(svg) + "</section>\n";
  }
  return out + "</div>\n";
}

std::string again(const AgreeDocument& d) {
  if (!d.without_exclusions) {
    return paragraph(d.rows_out.empty() ? "Nothing was left out." : "No leaf was left out.") +
           list(d.rows_out);
  }
  const AgreementAgain& whole = *d.without_exclusions;
  return "<h3>With nothing left out</h3>\n" + paragraph("Let in again: " + again_what(whole)) +
         verdicts(whole.result.parameters) + summary(whole.result, d) + list(d.rows_out);
}

}  // namespace

Result<std::string> agree_section(const AgreeDocument& d) {
  std::string out = "<h2 id=\"agreement\">Agreement of " + html_escaped(d.input.methods[0]) +
                    " and " + html_escaped(d.input.methods[1]) + "</h2>\n";
  out += paragraph("Compared: " + agree_heading(d) + "; " + agree_margins(d.rules) + ".");
  Notes notes = d.result.notes;
  notes.insert(notes.end(), d.notes.begin(), d.notes.end());
  out += html_notes(notes);
  std::vector<std::string> left;
  for (const std::string& why : d.not_compared) left.push_back("not compared: " + why);
  out += list(left) + parameters(d);
  out += "<h3>Points: A at nearly the same Ci</h3>\n" + list(points_findings(d)) + curves(d);
  auto each = leaves(d);
  if (!each) return each;
  return out + *each + again(d);
}

}  // namespace leafwright
