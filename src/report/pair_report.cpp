#include "report/pair_report.hpp"

#include <cmath>

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/ramp_report.hpp"
#include "report/text_table.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

std::string signed_text(double value, int digits) {
  return (value >= 0 ? "+" : "") + print_rounded(value, digits);
}

void write_differences(JsonWriter& json, const RampPair& pair) {
  json.key("differences").open_array();
  for (const PassDifference& d : pair.differences) {
    json.open_object(JsonWriter::Shape::line)
        .field("Ci", d.Ci)
        .field("with_lag", d.before)
        .field("without_lag", d.after)
        .field("without_lag_se", d.se)
        .close();
  }
  json.close();
}

void write_pair(JsonWriter& json, const PairOutcome& outcome) {
  json.open_object().field("name", outcome.name);
  json.key("ramps").open_array(JsonWriter::Shape::line);
  for (const std::string& ramp : outcome.ramps) json.value(ramp);
  json.close();
  if (!outcome.pair) {
    json.field("failed", outcome.failed).close();
    return;
  }
  const RampPair& pair = *outcome.pair;
  json.field("up", pair.passes[0].name).field("down", pair.passes[1].name);
  json.key("Ci_in_common")
      .open_object(JsonWriter::Shape::line)
      .field("from", pair.from)
      .field("to", pair.to)
      .field("rows_up", pair.rows[0])
      .field("rows_down", pair.rows[1])
      .close();
  json.key("own_lag")
      .open_object(JsonWriter::Shape::line)
      .field("lag_s", pair.lag_s)
      .field("lag_s_se", pair.lag_se)
      .field("low", pair.lag_low)
      .field("high", pair.lag_high)
      .field("shown", pair.lag_shown)
      .field("removed_s", pair.removed_s)
      .close();
  json.key("level_of_down")
      .open_object(JsonWriter::Shape::line)
      .field("fraction", pair.level)
      .field("fraction_se", pair.level_se)
      .field("correlation_with_lag", pair.level_lag_correlation)
      .close();
  json.key("symmetry")
      .open_object(JsonWriter::Shape::line)
      .field("chi2", pair.chi2)
      .field("df", std::size_t{3})
      .field("p", pair.symmetry_p)
      .field("contradicted", !pair.symmetric)
      .close();
  write_differences(json, pair);
  write_notes(json, pair.notes);
  json.close();
}

std::string one_text(const PairOutcome& outcome) {
  if (!outcome.pair) return wrapped(outcome.name + ": no pair: " + outcome.failed, 0, 2);
  const RampPair& pair = *outcome.pair;
  std::string out = outcome.name + ": " + std::to_string(pair.rows[0]) + " rows up, " +
                    std::to_string(pair.rows[1]) + " down, Ci " + print_rounded(pair.from, 4) +
                    " to " + print_rounded(pair.to, 4) + " umol/mol in common\n";
  for (std::size_t k = 0; k < outcome.ramps.size(); ++k) {
    out += wrapped(outcome.ramps[k] + ": " + ramp_used_text(outcome.corrected[k]->used), 2, 2);
  }
  out += wrapped(pair_lag_text(pair), 2, 2) + wrapped(pair_level_text(pair), 2, 2);
  using Align = TextTable::Align;
  TextTable table;
  table.column("Ci", Align::right);
  table.column("A down - up, with the lag", Align::right);
  table.column("without it", Align::right);
  table.column("SE", Align::right);
  for (std::size_t k = 0; k < pair.differences.size(); k += 4) {
    const PassDifference& d = pair.differences[k];
    table.row({print_rounded(d.Ci, 4), signed_text(d.before, 3), signed_text(d.after, 3),
               print_rounded(d.se, 2)});
  }
  out += table.text(2);
  for (const Note& note : pair.notes) {
    out += wrapped(std::string(level_name(note.level)) + ": " + note.text, 2, 2);
  }
  return out;
}

void csv_rows(CsvWriter& csv, const PairOutcome& outcome, std::size_t k,
              const std::vector<PairRowPlace>& places) {
  const CorrectedRamp& ramp = *outcome.corrected[k];
  const RampPair& pair = *outcome.pair;
  // A record that turns round holds both passes; its name says of each row which.
  std::vector<const char*> way(ramp.A.size(), "");
  for (const PairPass& pass : pair.passes) {
    if (pass.ramp != k) continue;
    for (const std::size_t row : pass.rows) way[row] = pass.up ? "up" : "down";
  }
  for (std::size_t i = 0; i < ramp.A.size(); ++i) {
    const PairRowPlace& at = places[i];
    csv.text(outcome.name).text(outcome.ramps[k]).text(way[i]);
    csv.number(at.time_s).number(at.CO2r).number(ramp.CO2s[i]);
    csv.number(ramp.A[i]).number(ramp.A_sd[i]).number(pair.Ci[k][i]).number(ramp.Ci_sd[i]);
    csv.number(ramp.Ci[i]).number(ramp.gsw[i]).number(at.Tleaf).number(at.Patm).number(at.Qin);
    csv.text(ramp.use[i] != 0 ? "1" : "0").text(ramp.why[i]).end_row();
  }
}

}  // namespace

std::string pair_lag_text(const RampPair& pair) {
  return "own lag of the leaf " + print_rounded(pair.lag_s, 3) + " +- " +
         print_rounded(pair.lag_se, 2) + " s (interval " + print_rounded(pair.lag_low, 3) + " to " +
         print_rounded(pair.lag_high, 3) + " s); " +
         (pair.removed_s > 0 ? print_rounded(pair.removed_s, 4) + " s taken out of Ci"
                             : std::string("nothing taken out of Ci"));
}

std::string pair_level_text(const RampPair& pair) {
  return "A on the way down " + signed_text(100 * pair.level, 2) + " +- " +
         print_rounded(100 * pair.level_se, 2) + " %; symmetry " +
         (pair.symmetric ? "not contradicted" : "CONTRADICTED") + " (p " +
         print_rounded(pair.symmetry_p, 2) + ")";
}

void write_pairs(JsonWriter& json, std::span<const PairOutcome> pairs) {
  json.key("pairs").open_array();
  for (const PairOutcome& pair : pairs) write_pair(json, pair);
  json.close();
}

std::string pair_text(const PairDocument& document) {
  std::string out;
  for (const PairOutcome& outcome : document.pairs) out += one_text(outcome);
  return out;
}

std::string pair_json(const PairDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "pair", document.inputs, document.settings);
  write_pairs(json, document.pairs);
  json.close();
  return json.finish();
}

std::string pair_csv(const PairDocument& document) {
  CsvWriter csv;
  for (const char* title : {"pair", "ramp", "pass", "time_s", "CO2r", "CO2s", "A", "A_sd", "Ci",
                            "Ci_sd", "Ci_with_lag", "gsw", "Tleaf", "Patm", "Qin", "use", "why"}) {
    csv.text(title);
  }
  csv.end_row();
  for (std::size_t p = 0; p < document.pairs.size(); ++p) {
    if (!document.pairs[p].pair) continue;
    for (std::size_t k = 0; k < document.pairs[p].ramps.size(); ++k) {
      csv_rows(csv, document.pairs[p], k, document.places[p][k]);
    }
  }
  return csv.take();
}

}  // namespace leafwright
