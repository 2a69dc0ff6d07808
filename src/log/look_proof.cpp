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
  if (!report.proved && !report.proof.lines.empty()) {
    report.notes.push_back(
        {NoteLevel::info, "not-proved", "nothing is proved: " + unproved_text(report.proof)});
  }
}

}  // namespace leafwright
