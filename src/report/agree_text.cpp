// The comparison for a terminal.
#include <fmt/format.h>

#include <cmath>
#include <set>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/agree_report.hpp"
#include "report/note_text.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

std::string range(double low, double high, bool on_logs) {
  return shown_difference(low, on_logs) + " to " + shown_difference(high, on_logs);
}

std::string p_text(std::optional<double> p) {
  if (!p) return "";
  if (*p < 0.0001) return "< 0.0001";
  return print_rounded(*p, 2);
}

std::string head(const AgreeDocument& d) {
  const std::size_t n = d.input.pairs.size();
  std::string out = fmt::format("{} against {} on {}", d.input.methods[0], d.input.methods[1],
                                counted(n, "leaf", "leaves"));
  if (d.input.plants_known) {
    std::set<std::string> plants;
    for (const LeafPair& pair : d.input.pairs) plants.insert(pair.plant);
    out += fmt::format(" of {}", counted(plants.size(), "plant"));
  }
  return out + fmt::format("; ratios are {0}/{1}, differences {0} - {1}\n", d.input.methods[0],
                           d.input.methods[1]);
}

void summary_row(TextTable& table, const Comparison& c, bool plants_known) {
  if (!c.summary) {
    table.row({c.symbol, "0"});
    return;
  }
  const PairedSummary& s = *c.summary;
  std::vector<std::string> cells = {c.symbol, std::to_string(s.leaves),
                                    plants_known ? std::to_string(s.plants) : "",
                                    shown_difference(s.mean, c.on_logs)};
  cells.push_back(s.low ? range(*s.low, *s.high, c.on_logs) : "");
  cells.push_back(p_text(s.p));
  cells.push_back(c.in_family ? p_text(c.p_holm) : "");
  if (s.limits) {
    const auto& l = *s.limits;
    cells.push_back(range(l.lower.value, l.upper.value, c.on_logs));
    cells.push_back(range(l.lower.low, l.lower.high, c.on_logs));
    cells.push_back(range(l.upper.low, l.upper.high, c.on_logs));
  }
  table.row(std::move(cells));
}

TextTable summary_table(double level) {
  TextTable table;
  using Align = TextTable::Align;
  table.column("", Align::left);
  table.column("leaves", Align::right);
  table.column("plants", Align::right);
  table.column("mean", Align::right);
  table.column(fmt::format("{} %", print_rounded(100 * level, 3)), Align::right);
  table.column("P", Align::right);
  table.column("P Holm", Align::right);
  table.column("limits of agreement", Align::right);
  table.column("lower limit", Align::right);
  table.column("upper limit", Align::right);
  return table;
}

std::string parameters_text(const AgreementResult& result, const AgreementInput& input,
                            const AgreementRules& rules) {
  std::string out = "\nParameters\n";
  TextTable table = summary_table(rules.level);
  for (const Comparison& c : result.parameters) summary_row(table, c, input.plants_known);
  out += table.text(2);
  for (const Comparison& c : result.parameters) {
    out += wrapped(c.symbol + ": " + c.verdict, 2, 2);
    if (c.equivalence) {
      const Equivalence& e = *c.equivalence;
      std::string tests = fmt::format(
          "margin {}; P equivalent {}, P beyond {}", range(-e.margin, e.margin, c.on_logs),
          p_text(e.p_equivalent_holm ? e.p_equivalent_holm : e.p_equivalent),
          p_text(e.p_beyond_holm ? e.p_beyond_holm : e.p_beyond));
      tests += c.in_family ? " (Holm)" : " (not in the family: not adjusted)";
      out += wrapped(tests, 4, 2);
    }
    if (c.signed_rank) {
      out += wrapped(fmt::format("signed-rank test: P = {} (n = {}{})", p_text(c.signed_rank->p),
                                 c.signed_rank->n,
                                 c.signed_rank->zeros > 0
                                     ? fmt::format(", {} zeros dropped", c.signed_rank->zeros)
                                     : ""),
                     4, 2);
    }
    if (c.order) out += wrapped("order: " + c.order->text, 4, 2);
    for (const Note& note : c.notes) out += wrapped(note.text, 4, 2);
  }
  if (!input.order_known) {
    out += wrapped(
        "order: not given (--order COLUMN), so an effect of which method came first is "
        "part of every difference",
        2, 2);
  }
  return out;
}

std::string leaves_text(const AgreeDocument& d) {
  std::string out = "\nLeaves\n";
  TextTable table;
  using Align = TextTable::Align;
  table.column("leaf", Align::left);
  if (d.input.plants_known) table.column("plant", Align::left);
  for (const Comparison& c : d.result.parameters) {
    table.column(c.symbol + " " + d.input.methods[0], Align::right);
    table.column(d.input.methods[1], Align::right);
    table.column(c.on_logs ? "ratio" : "difference", Align::right);
  }
  for (std::size_t i = 0; i < d.input.pairs.size(); ++i) {
    const LeafPair& pair = d.input.pairs[i];
    std::vector<std::string> cells = {pair.leaf};
    if (d.input.plants_known) cells.push_back(pair.plant);
    for (const Comparison& c : d.result.parameters) {
      for (const LeafValue& leaf : c.leaves) {
        if (leaf.pair != i) continue;
        const auto shown = [](std::optional<double> v) {
          return v ? print_rounded(*v, 4) : std::string("-");
        };
        cells.push_back(shown(leaf.first));
        cells.push_back(shown(leaf.second));
        cells.push_back(leaf.difference
                            ? (c.on_logs ? fmt::format("{:.3f}", std::exp(*leaf.difference))
                                         : fmt::format("{:+.3g}", *leaf.difference))
                            : "-");
      }
    }
    if (!pair.excluded.empty() && d.rules.honour_exclusions) cells.emplace_back("left out");
    table.row(std::move(cells));
  }
  return out + table.text(2);
}

std::string points_text(const AgreeDocument& d) {
  std::string out = "\nPoints: A at nearly the same Ci\n";
  if (!d.result.points) {
    return out + "  nothing to compare: no rows within " + print_rounded(d.rules.pair_within, 4) +
           " umol mol-1 of each other\n";
  }
  const Comparison& c = *d.result.points;
  const PairedSummary& s = *c.summary;
  std::string line = fmt::format(
      "{} pairs of rows within {} umol mol-1 (on average {} apart): mean difference {} umol m-2 "
      "s-1",
      s.leaves, print_rounded(d.rules.pair_within, 4), print_rounded(d.result.mean_Ci_gap, 2),
      shown_difference(s.mean, false));
  if (s.low) line += fmt::format(" ({})", range(*s.low, *s.high, false));
  out += wrapped(line, 2, 2);
  if (s.limits) {
    out += wrapped(fmt::format("limits of agreement of a pair {}; lower {}, upper {}",
                               range(s.limits->lower.value, s.limits->upper.value, false),
                               range(s.limits->lower.low, s.limits->lower.high, false),
                               range(s.limits->upper.low, s.limits->upper.high, false)),
                   2, 2);
  }
  return out + wrapped(c.verdict, 2, 2);
}

std::string curves_text(const AgreeDocument& d) {
  std::string out = "\nCurves: difference of A at equal Ci\n";
  const CurveLevel& c = d.result.curves;
  if (!c.Ci.empty()) {
    TextTable table;
    using Align = TextTable::Align;
    table.column("Ci", Align::right);
    table.column("mean", Align::right);
    table.column("band", Align::right);
    const std::size_t step = std::max<std::size_t>(1, (c.Ci.size() + 11) / 12);
    for (std::size_t k = 0; k < c.Ci.size(); k += step) {
      table.row({print_rounded(c.Ci[k], 5), shown_difference(c.mean[k], false),
                 c.band ? range(c.band->low[k], c.band->high[k], false) : ""});
    }
    out += table.text(2);
  }
  if (c.band) {
    out += wrapped(
        fmt::format("simultaneous {} % band from {} units, {} resamples: mean +- {} SE "
                    "(one place alone: {})",
                    print_rounded(100 * d.rules.level, 3), c.units, c.band->resamples,
                    print_rounded(c.band->critical, 3), print_rounded(c.band->pointwise, 3)),
        2, 2);
  }
  out += wrapped(c.verdict, 2, 2);
  for (const Note& note : c.notes) out += wrapped(note.text, 2, 2);
  for (const LeafDifference& leaf : c.leaves) {
    if (leaf.why_not.empty()) continue;
    out += wrapped("leaf '" + d.input.pairs[leaf.pair].leaf + "': " + leaf.why_not, 2, 2);
  }
  return out;
}

std::string again_text(const AgreeDocument& d) {
  if (!d.without_exclusions) return "\nNothing was left out.\n";
  const AgreementAgain& again = *d.without_exclusions;
  std::string out = "\nWith nothing left out (";
  if (again.rows) out += "rows marked as unused";
  if (again.rows && again.leaves) out += " and ";
  if (again.leaves) out += "excluded leaves";
  out += " let in again)\n";
  TextTable table = summary_table(d.rules.level);
  for (const Comparison& c : again.result.parameters) summary_row(table, c, d.input.plants_known);
  out += table.text(2);
  for (const Comparison& c : again.result.parameters) {
    out += wrapped(c.symbol + ": " + c.verdict, 2, 2);
  }
  return out;
}

}  // namespace

std::string agree_text(const AgreeDocument& d) {
  std::string out = head(d);
  for (const std::string& why : d.not_compared) out += wrapped("not compared: " + why, 2, 2);
  out += leaves_text(d);
  out += parameters_text(d.result, d.input, d.rules);
  out += points_text(d);
  out += curves_text(d);
  out += again_text(d);
  NoteGroups notes;
  notes.add("", d.result.notes);
  notes.add("", d.notes);
  return out + notes.text();
}

}  // namespace leafwright
