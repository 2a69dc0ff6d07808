#include "log/look_proof.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "quantity/symbol.hpp"

namespace leafwright {

namespace {

Error problem(const LookReport& report, std::string found, std::string expected, std::string hint) {
  return {ErrorCode::refused,
          {report.file, 0, 0, ""},
          std::move(found),
          std::move(expected),
          std::move(hint)};
}

/// The quantities that agree and that a symbol took part in.
std::string agreeing(const Proof& proof, const std::string& symbol) {
  std::vector<std::string> names;
  for (const ProofLine& line : proof.lines) {
    const bool part = line.symbol == symbol ||
                      (", " + line.from + ",").find(", " + symbol + ",") != std::string::npos;
    if (part && line.agrees.value_or(false)) names.push_back(line.symbol);
  }
  return join(names);
}

void tell_of_named(const Log& log, LookReport& report) {
  for (const Channel& channel : log.channels()) {
    if (channel.column >= report.columns.size()) continue;
    LookColumn& column = report.columns[channel.column];
    if (column.symbol.empty()) {
      // Derived channels stand on a column that has its own symbol.
      const bool mapped =
          std::any_of(report.map.columns.begin(), report.map.columns.end(),
                      [&](const MappedColumn& one) { return one.symbol == channel.symbol; });
      if (!mapped) continue;
      column.symbol = channel.symbol;
      column.evidence = "the map says so";
    } else if (column.symbol != channel.symbol) {
      continue;
    }
    const std::string by = agreeing(report.proof, channel.symbol);
    if (!by.empty()) column.evidence += "; recomputed with it, " + by + " agree";
  }
}

void tell_of_areas(LookReport& report) {
  for (const AreaFit& one : report.proof.areas) {
    report.problems.push_back(problem(
        report,
        (one.curve_id.empty() ? std::string("A and E") : "curve '" + one.curve_id + "': A and E") +
            " recomputed are both " + print_rounded(one.fits / one.recorded, 5) +
            " times those recorded",
        "the leaf area they were computed with: " + print_rounded(one.fits, 5) +
            " cm2 would fit, the log says " + print_rounded(one.recorded, 5) + " cm2",
        "correct the area of one of the two"));
  }
}

void tell_of_forms(LookReport& report) {
  const ProofLine& A = report.proof.line("A");
  if (A.agrees.value_or(false) && A.form == "CO2 per dry air") {
    report.proved = false;  // the columns are not what they are called
    report.problems.push_back(problem(report, "A agrees only where CO2r and CO2s count dry air",
                                      "mole fractions in moist air under these names",
                                      "map the two columns to CO2r_dry and CO2s_dry"));
  }
}

std::string unproved_text(const Proof& proof) {
  const ProofLine& A = proof.line("A");
  if (!A.agrees) return A.lacking;
  return *A.agrees ? "its columns could be others as well"
                   : "A recomputed differs from A recorded by " +
                         print_rounded(100 * A.median_difference.value_or(0), 3) +
                         " % (median): if the record is not steady, the storage of the chamber "
                         "is not in it, and cannot be told from the columns";
}

/// Do the titles say what the columns are? A table of points has A and Ci under their names, and
/// no streams to search for.
bool named_enough(const LookReport& report) {
  static const std::vector<std::string> telling = {"A",    "E",    "gsw",  "Ci",  "CO2r",
                                                   "CO2s", "H2Or", "H2Os", "flow"};
  return std::count_if(report.columns.begin(), report.columns.end(), [](const LookColumn& one) {
           return std::find(telling.begin(), telling.end(), one.symbol) != telling.end();
         }) >= 2;
}

/// Every settled column of the A and E chain holds to the digits.
bool settled(const MapProposal& proposal) {
  static const std::vector<std::string> chain = {"A",    "E",        "CO2r",     "CO2s",
                                                 "H2Or", "H2Os",     "CO2r_dry", "CO2s_dry",
                                                 "flow", "H2Or_dry", "H2Os_dry", "area"};
  return proposal.complete &&
         std::none_of(
             proposal.columns.begin(), proposal.columns.end(), [&](const ProposedColumn& one) {
               return one.standing != Standing::proved &&
                      std::find(chain.begin(), chain.end(), one.mapped.symbol) != chain.end();
             });
}

/// Columns of other titles, by physics; what is found is held against the log once more, by the
/// way in which every log is read.
void look_for_columns(const std::shared_ptr<const Table>& table, LookReport& report) {
  report.proposal = propose_map(*table);
  const MapProposal& proposal = *report.proposal;
  for (const ProposedColumn& one : proposal.columns) {
    LookColumn& column = report.columns[one.column];
    const std::string found = one.mapped.unit.empty() || one.mapped.unit == "1"
                                  ? one.mapped.symbol
                                  : one.mapped.symbol + " in " + one.mapped.unit;
    const char* how = one.standing == Standing::proved ? "is "
                      : one.standing == Standing::near ? "may be "
                                                       : "perhaps ";
    column.evidence = how + found + ": " + one.evidence;
    (one.standing == Standing::proved ? column.symbol : column.proposed) = one.mapped.symbol;
  }
  for (const std::string& line : proposal.open) {
    report.notes.push_back({NoteLevel::caution, "left-open", line});
  }
  if (!proposal.found_fluxes) return;
  report.map = proposal.map(*table);
  report.map_comments = proposal.comments();
  const auto log = read_log(table, report.map);
  if (!log) {
    report.problems.push_back(log.error());
    return;
  }
  report.proof = prove(*log);
  report.proved = report.proof.proved && settled(proposal);
  tell_of_areas(report);
}

}  // namespace

void look_at_proof(const Table& table, const ColumnMap& known, LookReport& report) {
  // The table outlives this call, so the log does not own it.
  const std::shared_ptr<const Table> shared(std::shared_ptr<const Table>(), &table);
  report.map = known;
  const auto log = read_log(shared, known);
  if (log) {
    report.proof = prove(*log);
    report.proved = report.proof.proved;
  } else {
    report.problems.push_back(log.error());
  }
  if (log) {
    tell_of_named(*log, report);
    tell_of_areas(report);
    tell_of_forms(report);
  }
  const bool nothing_given = known.columns.empty() && known.constants.empty();
  if (!report.proved && nothing_given && !named_enough(report)) look_for_columns(shared, report);
  if (!report.proved && !report.proof.lines.empty()) {
    report.notes.push_back(
        {NoteLevel::info, "not-proved", "nothing is proved: " + unproved_text(report.proof)});
  }
}

}  // namespace leafwright
