#include "report/fit_text.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "fit/fitted.hpp"
#include "report/curve_text.hpp"
#include "report/note_text.hpp"
#include "report/stomata_report.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

using Align = TextTable::Align;

/// The ends shown in the table: those for correlated residuals where the fit has any.
std::pair<std::optional<double>, std::optional<double>> honest_ends(const Estimate& e,
                                                                    const CurveFit& fit) {
  if (fit.residual_correlation) return {e.low_widened, e.high_widened};
  return {e.low, e.high};
}

void add_estimate(std::vector<std::string>& cells, const Estimate* estimate, const CurveFit& fit) {
  if (estimate == nullptr) {
    cells.insert(cells.end(), 2, "");
    return;
  }
  const Estimate& e = *estimate;
  const int decimals = estimate_decimals(e);
  cells.push_back(estimate_text(e, decimals));
  const auto [low, high] = honest_ends(e, fit);
  cells.push_back(e.status == Status::estimated && (e.low || e.high)
                      ? interval_words(low, high, decimals)
                      : "");
}

/// "5/3/0": rows limited by Rubisco, RuBP and TPU.
std::string state_counts(const CurveFit& fit) {
  const auto rows = [&](Limitation state) {
    return std::count_if(fit.rows.begin(), fit.rows.end(),
                         [&](const FittedRow& row) { return row.state == state; });
  };
  if (fit.c4) {
    const auto initial = std::count_if(fit.rows.begin(), fit.rows.end(),
                                       [](const FittedRow& row) { return row.c4 == C4State::pep; });
    return fmt::format("{}/{}", initial, static_cast<std::ptrdiff_t>(fit.rows.size()) - initial);
  }
  return fmt::format("{}/{}/{}", rows(Limitation::rubisco), rows(Limitation::rubp),
                     rows(Limitation::tpu));
}

/// A fit's notes begin with its curve's.
const Notes& notes_of(const CurveOutcome& outcome) {
  return outcome.fit != nullptr ? outcome.fit->notes : outcome.curve->notes;
}

/// The symbols of a campaign's estimates: those of its first fit, as all have the same.
std::vector<std::string> symbols_of(const std::vector<CurveOutcome>& all) {
  std::vector<std::string> out;
  for (const CurveOutcome& outcome : all) {
    if (outcome.fit == nullptr) continue;
    for (const Estimate* e : estimates_of(*outcome.fit)) out.push_back(e->symbol);
    break;
  }
  return out;
}

/// The first two at 25 degC, and gm25 where a response of gm was stated.
std::vector<std::string> moved_symbols(const std::vector<CurveOutcome>& all,
                                       const std::vector<std::string>& symbols) {
  std::vector<std::string> out{symbols[0] + "25", symbols[1] + "25"};
  const bool gm = std::any_of(all.begin(), all.end(), [](const CurveOutcome& outcome) {
    return outcome.fit != nullptr && has_gm25(*outcome.fit);
  });
  if (gm) out.emplace_back("gm25");
  return out;
}

std::string table_of(const std::vector<CurveOutcome>& all, const NoteGroups& notes) {
  const std::vector<std::string> symbols = symbols_of(all);
  if (symbols.size() < 2) return "";
  TextTable table;
  table.column("curve", Align::left);
  table.column("n", Align::right);
  table.column("Tleaf", Align::right);
  for (const std::string& symbol : symbols) {
    table.column(symbol, Align::right);
    table.column("interval", Align::left);
  }
  const std::vector<std::string> moved = moved_symbols(all, symbols);
  for (const std::string& symbol : moved) table.column(symbol, Align::right);
  table.column("rmse", Align::right);
  table.column("rows by state", Align::left);
  table.column("notes", Align::left);
  for (const CurveOutcome& outcome : all) {
    if (outcome.fit == nullptr) continue;
    const CurveFit& fit = *outcome.fit;
    std::vector<std::string> cells = {shortened(fit.curve_id, 40), std::to_string(fit.points),
                                      fmt::format("{:.1f}", fit.Tleaf)};
    for (const std::string& symbol : symbols) add_estimate(cells, find_estimate(fit, symbol), fit);
    for (const std::string& symbol : moved) cells.push_back(at25_text(fit, symbol));
    cells.push_back(fmt::format("{:.2f}", fit.rmse));
    cells.push_back(state_counts(fit));
    cells.push_back(notes.letters(fit.notes));
    table.row(std::move(cells));
  }
  return table.rows() == 0 ? "" : table.text();
}

std::string table_legend(const FitDocument& document) {
  const std::vector<CurveFit>& fits = document.campaign->fits;
  std::string names, other;
  for (const Estimate* e : fits.empty() ? std::vector<const Estimate*>{} : estimates_of(fits[0])) {
    const bool flux = e->unit == "umol m-2 s-1";
    std::string& list = flux ? names : other;
    list += (list.empty() ? "" : ", ") + e->symbol;
  }
  const bool c4 = !fits.empty() && fits.front().c4;
  std::string text = names + ": umol m-2 s-1";
  if (!other.empty()) text += ", " + other + ": mol m-2 s-1";
  text += " at Tleaf (degC). '> 7.9': the data say only that it is above 7.9. Rows by state: ";
  text += c4 ? "on the initial slope/on the plateau. " : "limited by Rubisco/RuBP/TPU. ";
  return wrapped(text + interval_kind(document) + ".", 0);
}

/// What was not fitted, with curves that failed for the same reason together.
std::string failed_text(const std::vector<CurveOutcome>& all, const FitDocument& document) {
  std::vector<std::pair<std::string, std::vector<std::string>>> reasons;
  const auto add = [&](const std::string& id, const std::string& why) {
    const auto known = std::find_if(reasons.begin(), reasons.end(),
                                    [&](const auto& reason) { return reason.first == why; });
    if (known == reasons.end()) {
      reasons.push_back({why, {id}});
    } else {
      known->second.push_back(id);
    }
  };
  for (const UnreadFile& unread : document.unread) add(unread.path, unread.why);
  for (const UnreadCurveOf& unread : document.unread_curves) add(unread.curve_id, unread.why);
  for (const CurveOutcome& outcome : all) {
    if (outcome.failed != nullptr) add(outcome.failed->curve_id, outcome.failed->why);
  }
  std::string out;
  for (const auto& [why, ids] : reasons) out += wrapped(join(ids) + ": " + why, 2, 2);
  return out.empty() ? "" : "\nNot fitted\n" + out;
}

std::string last_line(const std::vector<CurveOutcome>& all, std::size_t unread) {
  std::size_t fitted = 0, certified = 0, failed = unread;
  for (const CurveOutcome& outcome : all) {
    if (outcome.fit != nullptr) ++fitted;
    if (outcome.fit != nullptr && outcome.fit->certified) ++certified;
    if (outcome.failed != nullptr) ++failed;
  }
  std::string line = fmt::format("{} of {} fitted", fitted, counted(all.size() + unread, "curve"));
  if (fitted > 0) {
    line += certified == fitted ? "; no other parameters fit any of them better (certified)"
                                : fmt::format("; {} certified as the best there is", certified);
  }
  if (failed > 0) line += fmt::format("; {} could not be", failed);
  const std::size_t missed = all.size() + unread - fitted - failed;
  if (missed > 0) line += fmt::format("; {} not reached", missed);
  return "\n" + line + "\n";
}

}  // namespace

std::string estimate_text(const Estimate& e, int decimals) {
  // Beside a bound the value, where there is one, is only where the best fit happens to lie.
  const auto number = [&](double value) { return fixed_text(value, decimals); };
  if (e.status == Status::lower_bound && e.low) return "> " + number(*e.low);
  if (e.status == Status::upper_bound && e.high) return "< " + number(*e.high);
  if (e.status == Status::estimated && e.value) return number(*e.value);
  if (e.status == Status::fixed && e.value) return number(*e.value) + " fixed";
  return status_name(e.status);
}

std::string interval_words(const std::optional<double>& low, const std::optional<double>& high,
                           int decimals) {
  if (low && high) return fixed_text(*low, decimals) + "-" + fixed_text(*high, decimals);
  if (low) return "> " + fixed_text(*low, decimals);
  if (high) return "< " + fixed_text(*high, decimals);
  return "open";
}

std::string fit_text(const FitDocument& document) {
  const std::vector<CurveOutcome> all = outcomes(document);
  NoteGroups notes;
  notes.add("", document.notes);
  notes.add("", document.campaign->notes);
  for (const CurveOutcome& outcome : all) {
    // One curve needs no letters.
    notes.add(all.size() == 1 ? "" : outcome.curve->curve_id, notes_of(outcome));
  }
  std::string out = method_text(document);
  if (document.campaign->fits.size() <= most_curves_in_full) {
    for (const CurveOutcome& outcome : all) {
      if (outcome.fit != nullptr) out += "\n" + curve_text(*outcome.curve, *outcome.fit);
    }
  } else {
    out += "\n" + table_of(all, notes) + "\n" + table_legend(document);
    if (const std::string operating = operating_text(document); !operating.empty()) {
      out += "\n" + operating;
    }
  }
  return out + notes.text() + failed_text(all, document) +
         last_line(all, document.unread_curves.size());
}

}  // namespace leafwright
