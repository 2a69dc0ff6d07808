#include "report/pool_section.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/html.hpp"

namespace leafwright {
namespace {

std::string shown(const std::optional<double>& value, int digits = 4) {
  return value ? print_rounded(*value, digits) : "";
}

std::string name_of(const std::string& group) {
  return group.empty() ? "all leaves" : group;
}

std::string bound_words(PoolBound bound) {
  switch (bound) {
    case PoolBound::none:
      return "";
    case PoolBound::lower:
      return "or more";
    case PoolBound::upper:
      return "or less";
  }
  return "";
}

std::size_t left_out(const PoolResult& result) {
  std::size_t out = 0;
  for (const PoolLeaf& leaf : result.of.leaves) out += leaf.left_out.empty() ? 0U : 1U;
  return out;
}

/// Of all results: they are made one way, but bounds may enter some of them.
std::string how(const PoolRun& run) {
  std::vector<std::string> ways;
  for (const PoolResult& r : run.results) {
    if (std::find(ways.begin(), ways.end(), r.method) == ways.end()) ways.push_back(r.method);
  }
  return join(ways, "; or ");
}

std::string means_table(const PoolDocument& d) {
  const std::string& unit = d.run->unit_name;
  HtmlTable t{
      "Mean of each group (" + how(*d.run) + "), with its " + print_rounded(100 * d.level, 4) +
          " % interval",
      {"parameter", "group", "mean", "from", "to", "unit", unit == "leaf" ? "leaves" : "plants",
       "as bounds", "left out", "SD", "tau2", "one more " + unit, "to"},
      {false, false, true, true, true, false, true, true, true, true, true, true, true},
      {}};
  for (const PoolResult& r : d.run->results) {
    const PooledMean& m = r.mean;
    const std::string tau2 = r.between ? print_rounded(r.between->tau2, 3) : "";
    t.rows.push_back({r.of.symbol, name_of(r.of.group), print_rounded(r.back(m.mean), 4),
                      shown(r.back(m.low)), shown(r.back(m.high)), r.of.unit,
                      std::to_string(m.units), m.bounds > 0 ? std::to_string(m.bounds) : "",
                      left_out(r) > 0 ? std::to_string(left_out(r)) : "", shown(m.sd, 3), tau2,
                      shown(r.back(m.new_low)), shown(r.back(m.new_high))});
  }
  return html_table(t);
}

std::string units_table(const PoolRun& run) {
  HtmlTable t{"Each " + run.unit_name +
                  " as fitted, and drawn towards its group (shrunken: for looking at, not for "
                  "another analysis)",
              {"parameter", "group", run.unit_name, "leaves", "own", "", "shrunken"},
              {false, false, false, true, true, false, true},
              {}};
  for (const PoolResult& r : run.results) {
    for (const PoolUnit& unit : r.units) {
      t.rows.push_back({r.of.symbol, name_of(r.of.group), unit.value.unit,
                        std::to_string(unit.leaves), print_rounded(r.back(unit.value.value), 4),
                        bound_words(unit.value.bound), shown(r.back(unit.shrunken))});
    }
    for (const PoolLeaf& leaf : r.of.leaves) {
      if (leaf.left_out.empty()) continue;
      t.rows.push_back({r.of.symbol, name_of(r.of.group), leaf.curve_id, "1", "",
                        "left out: " + leaf.left_out, ""});
    }
  }
  return "<details><summary>What the means are made of</summary>\n" + html_table(t) +
         "</details>\n";
}

std::string failures(const PoolRun& run) {
  std::string items;
  for (const FailedPool& failed : run.failed) {
    items +=
        "<li>" +
        html_escaped(name_of(failed.group) + ", " + failed.symbol + " has no mean: " + failed.why) +
        "</li>\n";
  }
  return items.empty() ? "" : "<ul>\n" + items + "</ul>\n";
}

Notes all_notes(const PoolRun& run) {
  Notes out;
  for (const PoolResult& r : run.results) {
    for (Note note : r.notes) {
      note.text = name_of(r.of.group) + ", " + r.of.symbol + ": " + note.text;
      out.push_back(std::move(note));
    }
  }
  out.insert(out.end(), run.notes.begin(), run.notes.end());
  return out;
}

}  // namespace

std::string pool_section(const PoolDocument& document) {
  const PoolRun& run = *document.run;
  std::string out = "<h2 id=\"pool\">Means of groups</h2>\n";
  if (!run.results.empty()) {
    out +=
        "<p>Of capacities the geometric mean; their SD and tau2 are those of ln. tau2 is the "
        "variance beyond the noise of the fits; one more is the interval for the next one. Left "
        "out "
        "are leaves.</p>\n" +
        means_table(document);
  }
  out += failures(run) + html_notes(all_notes(run));
  return run.results.empty() ? out : out + units_table(run);
}

}  // namespace leafwright
