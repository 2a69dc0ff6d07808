#include "report/html.hpp"

#include "figure/colours.hpp"

namespace leafwright {
namespace {

/// Colours meet 4.5:1 for text on their backgrounds (asserted in tests/report/html_test.cpp).
constexpr std::string_view style = R"(
:root{color-scheme:light dark;--paper:#ffffff;--ink:#111111;--muted:#555555;--line:#bbbbbb;--band:#f3f3f0;--link:#005a94}
@media (prefers-color-scheme:dark){:root{--paper:#121212;--ink:#eeeeee;--muted:#b0b0b0;--line:#555555;--band:#1f1f1f;--link:#7cc4f5}}
*{box-sizing:border-box}
html{font:16px/1.5 system-ui,"DejaVu Sans",sans-serif;background:var(--paper);color:var(--ink)}
body{margin:0 auto;max-width:72rem;padding:1rem}
h1{font-size:1.6rem;line-height:1.2;margin:.5rem 0}
h2{font-size:1.25rem;margin:2rem 0 .5rem;border-bottom:1px solid var(--line)}
h3{font-size:1.05rem;margin:1.5rem 0 .25rem;overflow-wrap:anywhere}
p,li{max-width:44rem;overflow-wrap:anywhere}
pre{overflow-x:auto;font-size:.75rem;margin:.25rem 0;padding:.25rem;background:var(--band)}
a{color:var(--link)}
a:focus-visible,summary:focus-visible,.scroll:focus-visible{outline:3px solid var(--link);outline-offset:2px}
.lead{font-size:1.05rem}
.scroll{overflow-x:auto;margin:.5rem 0}
table{border-collapse:collapse;font-size:.875rem}
caption{text-align:left;color:var(--muted);padding:.25rem 0}
th,td{text-align:left;vertical-align:top;padding:.25rem .4rem;border-bottom:1px solid var(--line);white-space:nowrap}
td.n,th.n{text-align:right;font-variant-numeric:tabular-nums}
td.w{white-space:normal;min-width:16rem}
tbody tr:nth-child(even){background:var(--band)}
figure{margin:.5rem 0}
figure svg{max-width:100%;height:auto;display:block}
.sheet{overflow-x:auto}.sheet svg{width:100%;min-width:46rem;max-width:none}
@media (max-width:40rem){caption{position:sticky;left:0;width:calc(100vw - 2rem);white-space:normal}}
.curves{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,21rem),1fr));gap:1.5rem}
.curves section{min-width:0}.curves ul{font-size:.875rem;padding-left:1.2rem}
details{margin:.25rem 0}
summary{cursor:pointer;padding:.25rem 0}
.note-warning::before{content:"Warning: ";font-weight:bold}
.note-caution::before{content:"Caution: ";font-weight:bold}
@media print{@page{size:A4;margin:15mm}
html{font-size:10pt;background:#fff;color:#000}
body{max-width:none;padding:0}
.scroll,.sheet{overflow:visible}.sheet svg{min-width:0}table{font-size:7.5pt}
th,td{white-space:normal;padding:.15rem .3rem}
.curves{grid-template-columns:1fr 1fr}.curves section,figure,tr{break-inside:avoid}
h2,h3{break-after:avoid}}
)";

std::string cell(std::string_view tag, std::string_view scope, bool numeric,
                 const std::string& text) {
  std::string out = "<" + std::string(tag);
  if (!scope.empty()) out += " scope=\"" + std::string(scope) + "\"";
  if (numeric) {
    out += " class=\"n\"";
  } else if (text.size() > 60) {
    out += " class=\"w\"";
  }
  return out + ">" + html_escaped(text) + "</" + std::string(tag) + ">";
}

}  // namespace

std::string html_escaped(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : text) {
    switch (c) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      case '\'':
        out += "&#39;";
        break;
      default:
        // Control characters have no place in HTML.
        out += static_cast<unsigned char>(c) < 0x20 && c != '\n' && c != '\t' ? ' ' : c;
    }
  }
  return out;
}

std::string html_table(const HtmlTable& t) {
  const auto numeric = [&](std::size_t i) { return i < t.numeric.size() && t.numeric[i]; };
  // A box that scrolls must be reachable by keyboard.
  std::string out = "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"" +
                    html_escaped(t.caption) + "\"><table><caption>" + html_escaped(t.caption) +
                    "</caption>\n<thead><tr>";
  for (std::size_t i = 0; i < t.heads.size(); ++i) {
    out += cell("th", "col", numeric(i), t.heads[i]);
  }
  out += "</tr></thead>\n<tbody>\n";
  for (const auto& row : t.rows) {
    out += "<tr>";
    for (std::size_t i = 0; i < row.size(); ++i) {
      out += i == 0 ? cell("th", "row", numeric(i), row[i]) : cell("td", "", numeric(i), row[i]);
    }
    out += "</tr>\n";
  }
  return out + "</tbody></table></div>\n";
}

std::string html_notes(const Notes& notes) {
  if (notes.empty()) return "";
  std::string out = "<ul>\n";
  for (const Note& note : notes) {
    out += "<li class=\"note-" + std::string(level_name(note.level)) + "\">" +
           html_escaped(note.text) + "</li>\n";
  }
  return out + "</ul>\n";
}

std::string html_page(std::string_view title, std::string_view body) {
  std::string out =
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src "
      "'unsafe-inline'\">\n<title>" +
      html_escaped(title) + "</title>\n<style>" + std::string(style) +
      "@media (prefers-color-scheme:dark){@media screen{" + ink_style_rules(true) +
      "}}\n</style>\n</head>\n<body>\n";
  out += body;
  return out + "</body>\n</html>\n";
}

}  // namespace leafwright
