// The JSON and the CSV of a comparison.
#include <cmath>

#include "report/agree_report.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/settings_report.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

constexpr auto on_a_line = JsonWriter::Shape::line;

void write_limit(JsonWriter& json, const char* name, const Limit& limit) {
  json.key(name).open_object(on_a_line).field("value", limit.value);
  json.field("low", limit.low).field("high", limit.high).close();
}

void write_summary(JsonWriter& json, const PairedSummary& s) {
  json.field("leaves", s.leaves).field("plants", s.plants).field("clustered", s.clustered);
  json.field("mean", s.mean).field("se", s.se).field("df", s.df);
  json.field("low", s.low).field("high", s.high).field("p", s.p);
  json.field("sd", s.sd_total).field("sd_plants", s.sd_plants).field("sd_leaves", s.sd_leaves);
  json.key("limits");
  if (!s.limits) {
    json.null();
    return;
  }
  json.open_object().field("share", s.limits->share).field("intervals", s.limits->method);
  write_limit(json, "lower", s.limits->lower);
  write_limit(json, "upper", s.limits->upper);
  json.close();
}

void write_equivalence(JsonWriter& json, const std::optional<Equivalence>& e) {
  json.key("equivalence");
  if (!e) {
    json.null();
    return;
  }
  json.open_object().field("margin", e->margin).field("verdict", verdict_text(e->verdict));
  json.field("p_equivalent", e->p_equivalent).field("p_beyond", e->p_beyond);
  json.field("p_equivalent_holm", e->p_equivalent_holm).field("p_beyond_holm", e->p_beyond_holm);
  json.field("power", e->power).key("needed_for_power_0.8");
  if (e->needed) {
    json.value(*e->needed);
  } else {
    json.null();
  }
  json.close();
}

void write_tests(JsonWriter& json, const Comparison& c) {
  json.key("fit_noise");
  if (c.noise) {
    json.open_object(on_a_line).field("leaves", c.noise->leaves);
    json.field("sd_observed", c.noise->sd_observed).field("sd_fit", c.noise->sd_fit);
    json.field("sd_beyond", c.noise->sd_beyond).field("q", c.noise->q).field("df", c.noise->df);
    json.field("p", c.noise->p).close();
  } else {
    json.null();
  }
  json.key("signed_rank");
  if (c.signed_rank) {
    json.open_object(on_a_line).field("n", c.signed_rank->n).field("zeros", c.signed_rank->zeros);
    json.field("w", c.signed_rank->w).field("p", c.signed_rank->p).close();
  } else {
    json.null();
  }
  json.key("order");
  if (!c.order) {
    json.null();
    return;
  }
  json.open_object(on_a_line).field("first_first", c.order->first_first);
  json.field("second_first", c.order->second_first).field("text", c.order->text);
  if (c.order->test) {
    json.field("difference", c.order->test->difference).field("se", c.order->test->se);
    json.field("df", c.order->test->df).field("p", c.order->test->p);
    json.field("low", c.order->test->low).field("high", c.order->test->high);
  }
  json.close();
}

void write_leaves(JsonWriter& json, const Comparison& c, const AgreementInput& input) {
  json.key("leaves").open_array();
  for (const LeafValue& leaf : c.leaves) {
    json.open_object(on_a_line).field("leaf", input.pairs[leaf.pair].leaf);
    json.field("first", leaf.first).field("second", leaf.second);
    json.field("difference", leaf.difference).field("se", leaf.se);
    json.field("why_not", leaf.why_not).close();
  }
  json.close();
}

void write_comparison(JsonWriter& json, const Comparison& c, const AgreementInput& input) {
  json.open_object().field("symbol", c.symbol).field("unit", c.unit);
  json.field("scale", c.on_logs ? "log(first/second)" : "first - second");
  json.field("verdict", c.verdict).field("in_family", c.in_family).field("p_holm", c.p_holm);
  json.key("summary");
  if (c.summary) {
    json.open_object();
    write_summary(json, *c.summary);
    json.close();
  } else {
    json.null();
  }
  write_equivalence(json, c.equivalence);
  write_tests(json, c);
  write_leaves(json, c, input);
  write_notes(json, c.notes);
  json.close();
}

void write_numbers(JsonWriter& json, const char* name, const std::vector<double>& values) {
  json.key(name).open_array(on_a_line);
  for (const double v : values) json.value(v);
  json.close();
}

void write_curves(JsonWriter& json, const CurveLevel& c, const AgreementInput& input) {
  json.key("curves").open_object().field("verdict", c.verdict).field("units", c.units);
  write_numbers(json, "Ci", c.Ci);
  write_numbers(json, "mean", c.mean);
  json.key("band");
  if (c.band) {
    json.open_object().field("critical", c.band->critical).field("pointwise", c.band->pointwise);
    json.field("resamples", c.band->resamples);
    write_numbers(json, "se", c.band->se);
    write_numbers(json, "low", c.band->low);
    write_numbers(json, "high", c.band->high);
    json.close();
  } else {
    json.null();
  }
  json.key("leaves").open_array();
  for (const LeafDifference& leaf : c.leaves) {
    json.open_object().field("leaf", input.pairs[leaf.pair].leaf);
    json.field("why_not", leaf.why_not).field("critical", leaf.critical);
    write_numbers(json, "Ci", leaf.Ci);
    write_numbers(json, "difference", leaf.difference);
    write_numbers(json, "low", leaf.low);
    write_numbers(json, "high", leaf.high);
    json.close();
  }
  json.close();
  write_notes(json, c.notes);
  json.close();
}

void write_points(JsonWriter& json, const AgreementResult& result, const AgreementInput& input) {
  json.key("points");
  if (!result.points) {
    json.null();
    return;
  }
  json.open_object().field("pairs", result.point_pairs.size());
  json.field("mean_Ci_gap", result.mean_Ci_gap).key("comparison");
  write_comparison(json, *result.points, input);
  json.key("rows").open_array();
  for (const PointPair& p : result.point_pairs) {
    json.open_object(on_a_line).field("leaf", input.pairs[p.pair].leaf);
    json.field("row_first", p.row_first).field("row_second", p.row_second);
    json.field("Ci_first", p.Ci_first).field("Ci_second", p.Ci_second);
    json.field("difference", p.difference).close();
  }
  json.close().close();
}

void write_result(JsonWriter& json, const AgreementResult& result, const AgreementInput& input) {
  json.key("parameters").open_array();
  for (const Comparison& c : result.parameters) write_comparison(json, c, input);
  json.close();
  write_points(json, result, input);
  write_curves(json, result.curves, input);
}

void write_made_from(JsonWriter& json, const AgreeDocument& d) {
  write_made_from(json, "agree", d.inputs, d.settings);
  json.key("methods").open_array(on_a_line);
  for (const std::string& method : d.input.methods) json.value(method);
  json.close();
}

void write_texts(JsonWriter& json, const char* name, const std::vector<std::string>& texts) {
  json.key(name).open_array();
  for (const std::string& text : texts) json.value(text);
  json.close();
}

}  // namespace

std::string agree_json(const AgreeDocument& d) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, d);
  json.key("leaves").open_array();
  for (const LeafPair& pair : d.input.pairs) {
    json.open_object(on_a_line).field("leaf", pair.leaf).field("plant", pair.plant);
    json.field("curve_first", pair.curve[0].curve_id).field("curve_second", pair.curve[1].curve_id);
    json.field("excluded", pair.excluded).close();
  }
  json.close();
  write_result(json, d.result, d.input);
  json.key("without_exclusions");
  if (d.without_exclusions) {
    json.open_object().field("rows", d.without_exclusions->rows);
    json.field("leaves", d.without_exclusions->leaves);
    write_result(json, d.without_exclusions->result, d.without_exclusions->input);
    json.close();
  } else {
    json.null();
  }
  write_texts(json, "not_compared", d.not_compared);
  write_texts(json, "rows_out", d.rows_out);
  write_texts(json, "problems", d.problems);
  Notes notes = d.result.notes;
  notes.insert(notes.end(), d.notes.begin(), d.notes.end());
  write_notes(json, notes);
  json.close();
  return json.finish();
}

std::string agree_csv(const AgreeDocument& d) {
  CsvWriter csv;
  for (const char* title :
       {"leaf", "plant", "curve_first", "curve_second", "parameter", "unit", "first", "second",
        "ratio", "difference", "se", "excluded", "why_not"}) {
    csv.text(title);
  }
  csv.end_row();
  for (const Comparison& c : d.result.parameters) {
    for (const LeafValue& leaf : c.leaves) {
      const LeafPair& pair = d.input.pairs[leaf.pair];
      csv.text(pair.leaf).text(pair.plant).text(pair.curve[0].curve_id);
      csv.text(pair.curve[1].curve_id).text(c.symbol).text(c.unit);
      csv.number(leaf.first).number(leaf.second);
      const bool both = leaf.difference.has_value();
      csv.number(both && c.on_logs ? std::optional(std::exp(*leaf.difference)) : std::nullopt);
      csv.number(both ? std::optional(*leaf.first - *leaf.second) : std::nullopt);
      csv.number(leaf.se).text(pair.excluded).text(leaf.why_not).end_row();
    }
  }
  return csv.take();
}

std::string agree_meta_json(const AgreeDocument& d) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, d);
  json.key("columns").open_object();
  json.field("first", "value by the first method, in `unit`");
  json.field("second", "value by the second method, in `unit`");
  json.field("ratio", "first/second, of parameters compared on logs");
  json.field("difference", "first - second, in `unit`");
  json.field("se", "of log(ratio) where there is a ratio, else of the difference; from the fits");
  json.field("excluded", "the user's reason to leave this leaf out");
  json.field("why_not", "why there is no comparison");
  json.close().close();
  return json.finish();
}

}  // namespace leafwright
