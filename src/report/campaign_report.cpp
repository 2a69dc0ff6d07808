#include "report/campaign_report.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/number.hpp"
#include "figure/aci_panel.hpp"
#include "figure/contact_sheet.hpp"
#include "fit/fitted.hpp"
#include "report/agree_section.hpp"
#include "report/curve_text.hpp"
#include "report/fit_text.hpp"
#include "report/html.hpp"
#include "report/joint_section.hpp"
#include "report/methods_text.hpp"
#include "report/pool_section.hpp"
#include "report/ramp_section.hpp"
#include "report/response_section.hpp"
#include "report/run_report.hpp"
#include "report/stomata_report.hpp"

namespace leafwright {
namespace {

std::string paragraph(const std::string& text, std::string_view css = "") {
  const std::string attribute = css.empty() ? "" : " class=\"" + std::string(css) + "\"";
  return "<p" + attribute + ">" + html_escaped(text) + "</p>\n";
}

std::string list(const std::vector<std::string>& items) {
  std::string out = "<ul>\n";
  for (const std::string& item : items) out += "<li>" + html_escaped(item) + "</li>\n";
  return out + "</ul>\n";
}

/// Faults with their place: the user's own line and the caret below it keep their columns.
std::string fault_list(const std::vector<std::string>& faults) {
  std::string out = "<ul>\n";
  for (const std::string& fault : faults) {
    const std::size_t end = fault.find('\n');
    out += "<li>" + html_escaped(fault.substr(0, end));
    if (end != std::string::npos) out += "<pre>" + html_escaped(fault.substr(end + 1)) + "</pre>";
    out += "</li>\n";
  }
  return out + "</ul>\n";
}

std::string interval_cell(const Estimate& e, bool widened) {
  if (e.status != Status::estimated) return "";
  const auto& low = widened ? e.low_widened : e.low;
  const auto& high = widened ? e.high_widened : e.high;
  return low || high ? interval_words(low, high, estimate_decimals(e)) : "";
}

class Page {
 public:
  Page(const FitDocument& document, const CampaignReportOptions& options)
      : d_(document), options_(options) {}

  Result<std::string> write() {
    std::string body = "<header><h1>" + html_escaped(options_.title) + "</h1>\n" + lead() +
                       navigation() + "</header>\n<main>\n";
    body += measured();
    if (d_.run != nullptr) {
      body += run_sections(*d_.run);
      auto ramps = ramp_section(*d_.run);
      if (!ramps) return ramps;
      body += *ramps;
    }
    auto sheet = all_curves();
    if (!sheet) return sheet;
    body += *sheet + parameters() + operating_section(d_) + drift_section(d_);
    if (d_.run != nullptr && d_.run->responses) {
      auto responses = response_section(*d_.run->responses);
      if (!responses) return responses;
      body += *responses;
    }
    if (d_.run != nullptr && d_.run->agreement) {
      auto agreement = agree_section(*d_.run->agreement);
      if (!agreement) return agreement;
      body += *agreement;
    }
    if (d_.run != nullptr && d_.run->pool) body += pool_section(*d_.run->pool);
    if (d_.run != nullptr && d_.run->together) body += joint_section(*d_.run->together);
    body += notes();
    auto curves = each_curve();
    if (!curves) return curves;
    body += *curves + failures() + settings() + methods() + safety();
    body += "</main>\n<footer>" +
            paragraph(std::string("Made by Leafwright ") + LEAFWRIGHT_VERSION +
                      ". Every number here stands with more digits in the JSON of the same call.") +
            "</footer>\n";
    return html_page(options_.title, body);
  }

 private:
  std::string lead() const {
    const auto& fits = d_.campaign->fits;
    const auto certified =
        std::count_if(fits.begin(), fits.end(), [](const CurveFit& f) { return f.certified; });
    const std::size_t failed = d_.campaign->failed.size() + d_.unread_curves.size();
    std::string text = fmt::format(
        "{} curve{} fitted, {} of them with a certificate that no other "
        "parameters fit better.",
        fits.size(), fits.size() == 1 ? "" : "s", certified);
    if (failed > 0) text += fmt::format(" {} could not be fitted; each is named below.", failed);
    return paragraph(text, "lead");
  }

  [[nodiscard]] std::string navigation() const {
    return "<nav aria-label=\"Contents\"><p><a href=\"#measured\">What was read</a> &middot; " +
           std::string(d_.run == nullptr ? ""
                                         : "<a href=\"#logs\">Logs</a> &middot; "
                                           "<a href=\"#screening\">Screening</a> &middot; ") +
           std::string(d_.run == nullptr || (d_.run->ramps.empty() && d_.run->paths.empty())
                           ? ""
                           : "<a href=\"#ramps\">Ramps</a> &middot; ") +
           "<a href=\"#all\">All curves</a> &middot; <a href=\"#parameters\">Parameters</a> "
           "&middot; " +
           std::string(has_operating(d_) ? "<a href=\"#operating\">Operating point</a> &middot; "
                                         : "") +
           std::string(d_.run == nullptr || !d_.run->responses
                           ? ""
                           : "<a href=\"#responses\">Responses</a> &middot; ") +
           std::string(d_.run == nullptr || !d_.run->agreement
                           ? ""
                           : "<a href=\"#agreement\">Agreement</a> &middot; ") +
           std::string(d_.run == nullptr || !d_.run->pool
                           ? ""
                           : "<a href=\"#pool\">Means of groups</a> &middot; ") +
           std::string(d_.run == nullptr || !d_.run->together
                           ? ""
                           : "<a href=\"#together\">Together</a> &middot; ") +
           "<a href=\"#notes\">Notes</a> &middot; <a href=\"#each\">Each curve</a> "
           "&middot; "
           "<a href=\"#settings\">Settings</a> &middot; <a href=\"#methods\">Methods</a> &middot; "
           "<a href=\"#safety\">Safety</a></p></nav>\n";
  }

  std::string measured() const {
    HtmlTable t{"Files that were read, by their exact bytes", {"file", "bytes", "SHA-256"}, {}, {}};
    t.numeric = {false, true, false};
    for (const InputFile& f : d_.inputs) {
      t.rows.push_back({f.path, std::to_string(f.bytes), f.sha256});
    }
    std::string out = "<h2 id=\"measured\">What was read</h2>\n" + html_table(t);
    if (!d_.unread.empty()) {
      std::vector<std::string> items;
      for (const UnreadFile& f : d_.unread) items.push_back(f.path + ": " + f.why);
      out += paragraph("Files that could not be read:") + list(items);
    }
    if (!d_.problems.empty()) {
      out += paragraph("Faults found in the files; what they touch was left out, the rest used:") +
             fault_list(d_.problems);
    }
    return out;
  }

  std::vector<SheetCurve> sheet_curves() const {
    std::vector<SheetCurve> out;
    for (const CurveOutcome& o : outcomes(d_)) {
      if (o.fit == nullptr && o.failed == nullptr) continue;
      out.push_back({o.curve, o.fit, o.failed != nullptr ? o.failed->why : ""});
    }
    return out;
  }

  Result<std::string> all_curves() const {
    const auto curves = sheet_curves();
    std::string out = "<h2 id=\"all\">All curves, worst first</h2>\n";
    if (curves.empty()) return out + paragraph("There is no curve to show.");
    ContactSheetOptions sheet;
    sheet.rows = 0;
    sheet.columns = 6;
    sheet.width_mm = 280;
    auto pages = contact_sheet(curves, sheet);
    if (!pages) return fail(pages.error());
    for (const std::string& svg : *pages) {
      out += "<figure class=\"sheet\" tabindex=\"0\" role=\"region\" aria-label=\"All curves\">" +
             svg + "</figure>\n";
    }
    return out;
  }

  std::string parameters() const {
    const bool widened = d_.campaign->correlation.has_value();
    const auto& fits = d_.campaign->fits;
    const std::string kind = interval_kinds(*d_.campaign);
    HtmlTable t;
    t.caption = "Parameters in umol m-2 s-1 at leaf temperature" +
                (kind.empty() ? "" : ", " + kind + " intervals") +
                (widened ? ", widened for correlated residuals" : "") +
                "; '> 7.9': the data say only that it is above 7.9";
    t.heads = {"curve", "rows", "Tleaf"};
    t.numeric = {false, true, true};
    std::vector<std::string> moved;  // the two capacities that stand first, at 25 degC
    for (const Estimate* e :
         fits.empty() ? std::vector<const Estimate*>{} : estimates_of(fits[0])) {
      const bool flux = e->unit == "umol m-2 s-1";
      t.heads.insert(t.heads.end(), {flux ? e->symbol : e->symbol + ", " + e->unit, "interval"});
      t.numeric.insert(t.numeric.end(), {true, false});
      if (moved.size() < 2) moved.push_back(e->symbol + "25");
    }
    if (std::any_of(fits.begin(), fits.end(), has_gm25)) moved.emplace_back("gm25");
    for (const std::string& symbol : moved) {
      t.heads.push_back(symbol);
      t.numeric.push_back(true);
    }
    t.heads.emplace_back("RMSE");
    t.numeric.push_back(true);
    for (const CurveFit& f : fits) {
      std::vector<std::string> row{f.curve_id, std::to_string(f.points),
                                   fmt::format("{:.1f}", f.Tleaf)};
      for (const Estimate* e : estimates_of(f)) {
        row.push_back(estimate_text(*e, estimate_decimals(*e)));
        row.push_back(interval_cell(*e, widened));
      }
      for (const std::string& symbol : moved) row.push_back(at25_text(f, symbol));
      row.push_back(fmt::format("{:.2f}", f.rmse));
      t.rows.push_back(std::move(row));
    }
    return "<h2 id=\"parameters\">Parameters</h2>\n" + html_table(t);
  }

  std::string notes() const {
    Notes all = d_.notes;
    all.insert(all.end(), d_.campaign->notes.begin(), d_.campaign->notes.end());
    return "<h2 id=\"notes\">Notes about the whole</h2>\n" +
           (all.empty() ? paragraph("None.") : html_notes(all)) +
           paragraph("Notes about single curves stand with each curve.");
  }

  static std::string budget(const CurveFit& fit) {
    if (fit.budget.empty()) return "";
    HtmlTable t{"What else moves the parameters: change under each step",
                {"cause", "step", "Vcmax %", "J %", "TPU %", "Rday"},
                {false, false, true, true, true, true},
                {}};
    if (fit.c4) {
      t.heads = {"cause", "step", "Vpmax %", "plateau %", "Rday"};
      t.numeric = {false, false, true, true, true};
    }
    const auto cell = [](const std::optional<double>& v, int places) {
      return v ? fmt::format("{:+.{}f}", *v, places) : std::string();
    };
    for (const BudgetLine& line : fit.budget) {
      if (fit.c4) {
        t.rows.push_back(
            {line.cause, line.step, cell(line.Vpmax, 1), cell(line.top, 1), cell(line.Rday, 2)});
        continue;
      }
      t.rows.push_back({line.cause, line.step, cell(line.Vcmax, 1), cell(line.J, 1),
                        cell(line.TPU, 1), cell(line.Rday, 2)});
    }
    return "<details><summary>What else moves these numbers</summary>\n" + html_table(t) +
           "</details>\n";
  }

  static std::string unused_rows(const Curve& curve, const CurveFit& fit) {
    std::vector<std::string> items;
    for (const CurveRow& row : curve.rows) {
      const std::string why = why_unused(fit, row);
      if (!why.empty()) {
        items.push_back(fmt::format("{}:{}: {}", row.place.file, row.place.line, why));
      }
    }
    if (items.empty()) return "";
    return fmt::format("<details><summary>{} row{} not used</summary>\n", items.size(),
                       items.size() == 1 ? "" : "s") +
           list(items) + "</details>\n";
  }

  Result<std::string> each_curve() const {
    std::string out = "<h2 id=\"each\">Each curve</h2>\n<div class=\"curves\">\n";
    for (const CurveOutcome& o : outcomes(d_)) {
      if (o.fit == nullptr) continue;
      auto svg = aci_panel(*o.fit, *o.curve, {});
      if (!svg) return fail(svg.error());
      out += "<section><h3>" + html_escaped(o.fit->curve_id) + "</h3>\n<figure>" + *svg +
             "</figure>\n" + html_notes(o.fit->notes) + unused_rows(*o.curve, *o.fit) +
             budget(*o.fit) + "</section>\n";
    }
    return out + "</div>\n";
  }

  std::string failures() const {
    if (d_.campaign->failed.empty() && d_.unread_curves.empty()) return "";
    HtmlTable t{"Curves that could not be fitted", {"curve", "why"}, {}, {}};
    for (const FailedCurve& f : d_.campaign->failed) t.rows.push_back({f.curve_id, f.why});
    for (const UnreadCurveOf& u : d_.unread_curves) t.rows.push_back({u.curve_id, u.why});
    return "<h2>Not fitted</h2>\n" + html_table(t);
  }

  std::string settings() const {
    HtmlTable t{"Every setting of this call, and where its value came from",
                {"setting", "value", "unit", "from", "meaning", "source of the default"},
                {},
                {}};
    std::vector<const Settings*> all = d_.settings;
    if (d_.run != nullptr && d_.run->response_settings != nullptr) {
      all.push_back(d_.run->response_settings);
    }
    if (d_.run != nullptr && d_.run->agree_settings != nullptr) {
      all.push_back(d_.run->agree_settings);
    }
    if (d_.run != nullptr) {
      all.insert(all.end(), d_.run->group_settings.begin(), d_.run->group_settings.end());
    }
    for (const Settings* s : all) {
      for (const Setting& declared : s->table()) {
        const std::string value = s->is_set(declared.name) ? s->text(declared.name) : "";
        t.rows.push_back({declared.name, value, declared.unit,
                          origin_name(s->origin(declared.name)), declared.help, declared.source});
      }
    }
    return "<h2 id=\"settings\">Settings</h2>\n" + html_table(t);
  }

  std::string methods() const {
    const MethodsText text = methods_text(d_);
    std::string out = "<h2 id=\"methods\">Methods, for a paper</h2>\n";
    for (const std::string& p : text.paragraphs) out += paragraph(p);
    if (!text.references.empty()) out += "<h3>References</h3>\n" + list(text.references);
    return out;
  }

  static std::string safety() {
    return "<h2 id=\"safety\">Safety</h2>\n" +
           paragraph(
               "Compressed CO2, caustic and oxidising scrubber chemicals, bright light sources "
               "and work in the heat can hurt. Vent exhaust, secure cylinders, keep cartridges "
               "from heat, wear eye protection and gloves with scrubbers, do not look into "
               "light sources. Local rules and trained staff come first; this page gives no "
               "limits.");
  }

  const FitDocument& d_;
  const CampaignReportOptions& options_;
};

}  // namespace

Result<std::string> campaign_report(const FitDocument& document,
                                    const CampaignReportOptions& options) {
  return Page(document, options).write();
}

}  // namespace leafwright
