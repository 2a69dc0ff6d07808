#include "report/pool_report.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/text_table.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

std::string shown(const std::optional<double>& value, int digits = 4) {
  return value ? print_rounded(*value, digits) : "";
}

std::string name_of(const PoolResult& result) {
  return result.of.group.empty() ? "all leaves" : result.of.group;
}

std::optional<double> tau2_of(const PoolResult& result) {
  return result.between ? std::optional(result.between->tau2) : std::nullopt;
}

/// Leaves that a mean is not made from: bounds that were left out, and what says nothing.
std::size_t left_out(const PoolResult& result) {
  std::size_t out = 0;
  for (const PoolLeaf& leaf : result.of.leaves) out += leaf.left_out.empty() ? 0U : 1U;
  return out;
}

std::string means_table(const PoolDocument& document) {
  using Align = TextTable::Align;
  const std::string percent = print_rounded(100 * document.level, 4) + " % from";
  TextTable table;
  table.column("", Align::left);
  table.column("group", Align::left);
  table.column("mean", Align::right);
  table.column(percent, Align::right);
  table.column("to", Align::right);
  table.column("n", Align::right);
  table.column("bounds", Align::right);
  table.column("left out", Align::right);
  table.column("SD", Align::right);
  table.column("tau2", Align::right);
  table.column("new " + document.run->unit_name + " from", Align::right);
  table.column("to", Align::right);
  for (const PoolResult& r : document.run->results) {
    const PooledMean& m = r.mean;
    table.row({r.of.symbol, name_of(r), print_rounded(r.back(m.mean), 4), shown(r.back(m.low)),
               shown(r.back(m.high)), std::to_string(m.units),
               m.bounds > 0 ? std::to_string(m.bounds) : "",
               left_out(r) > 0 ? std::to_string(left_out(r)) : "", shown(m.sd, 3),
               shown(tau2_of(r), 3), shown(r.back(m.new_low)), shown(r.back(m.new_high))});
  }
  return table.text(2);
}

std::string leaves_table(const PoolRun& run) {
  using Align = TextTable::Align;
  TextTable table;
  table.column("", Align::left);
  table.column("group", Align::left);
  table.column(run.unit_name, Align::left);
  table.column("own", Align::right);
  table.column("", Align::left);
  table.column("shrunken", Align::right);
  for (const PoolResult& r : run.results) {
    for (const PoolUnit& unit : r.units) {
      const PoolBound bound = unit.value.bound;
      table.row({r.of.symbol, name_of(r), unit.value.unit,
                 print_rounded(r.back(unit.value.value), 4),
                 bound == PoolBound::lower   ? "or more"
                 : bound == PoolBound::upper ? "or less"
                                             : "",
                 shown(r.back(unit.shrunken))});
    }
    for (const PoolLeaf& leaf : r.of.leaves) {
      if (leaf.left_out.empty()) continue;
      table.row({r.of.symbol, name_of(r), leaf.curve_id, "", "left out: " + leaf.left_out, ""});
    }
  }
  return table.text(2);
}

void write_interval(JsonWriter& json, const char* key, const std::optional<double>& low,
                    const std::optional<double>& high) {
  json.key(key).open_object(JsonWriter::Shape::line).field("low", low).field("high", high).close();
}

void write_mean(JsonWriter& json, const PoolResult& r) {
  const PooledMean& m = r.mean;
  json.field("mean", r.back(m.mean)).field("low", r.back(m.low)).field("high", r.back(m.high));
  json.field("mean_on_scale", m.mean).field("se_on_scale", m.se).field("df", m.df);
  json.field("n", m.units).field("bounds", m.bounds).field("left_out", left_out(r));
  json.field("lower_bounds", r.lower_bounds).field("upper_bounds", r.upper_bounds);
  json.field("sd", m.sd).field("tau2", tau2_of(r));
  const bool interval = r.between && (r.between->low > 0 || r.between->high);
  write_interval(json, "tau2_interval", interval ? std::optional(r.between->low) : std::nullopt,
                 interval ? r.between->high : std::nullopt);
  json.field("fit_sd", r.between ? std::optional(r.between->fit_sd) : std::nullopt);
  write_interval(json, "new_unit", r.back(m.new_low), r.back(m.new_high));
}

void write_result(JsonWriter& json, const PoolResult& r) {
  json.open_object().field("group", r.of.group).field("parameter", r.of.symbol);
  json.field("unit", r.of.unit).field("scale", r.of.log ? "ln" : "value");
  json.field("method", r.method);
  write_mean(json, r);
  json.key("leaves").open_array();
  for (const PoolLeaf& leaf : r.of.leaves) {
    json.open_object(JsonWriter::Shape::line).field("curve_id", leaf.curve_id);
    json.field("plant", leaf.plant).field("value", leaf.value).field("se", leaf.se);
    json.field("low", leaf.low).field("high", leaf.high).field("status", leaf.status);
    json.field("left_out", leaf.left_out).field("shrunken", false).close();
  }
  json.close().key("drawn_towards_the_mean").open_array();
  for (const PoolUnit& unit : r.units) {
    if (!unit.shrunken) continue;
    json.open_object(JsonWriter::Shape::line).field("unit", unit.value.unit);
    json.field("leaves", unit.leaves).field("value", r.back(unit.shrunken));
    json.field("shrunken", true).close();
  }
  json.close();
  write_notes(json, r.notes);
  json.close();
}

void csv_start(CsvWriter& csv, const PoolResult& r, const char* what, std::string_view unit,
               std::string_view plant) {
  csv.text(r.of.group).text(r.of.symbol).text(what).text(unit).text(plant);
}

}  // namespace

std::string pool_text(const PoolDocument& document) {
  const PoolRun& run = *document.run;
  std::string out = "Means of groups; of capacities the geometric mean, SD and tau2 of their ln\n";
  if (!run.results.empty()) {
    out = "Means of groups (" + run.results.front().method + "), n counts " + run.unit_name +
          (run.unit_name == "leaf" ? "" : "s") +
          "; of capacities the geometric mean, SD and tau2 of their ln\n";
    if (run.unit_name == "leaf") {
      const std::size_t at = out.find("n counts leaf");
      out.replace(at, 13, "n counts leaves");
    }
    out = wrapped(out, 0, 0) + "\n" + means_table(document) + "\n" + leaves_table(run) + "\n";
  }
  for (const PoolResult& r : run.results) {
    for (const Note& note : r.notes) {
      out += wrapped(std::string(level_name(note.level)) + ": " + name_of(r) + ", " + r.of.symbol +
                         ": " + note.text,
                     0, 2);
    }
  }
  for (const Note& note : run.notes) {
    out += wrapped(std::string(level_name(note.level)) + ": " + note.text, 0, 2);
  }
  return out;
}

std::string pool_csv(const PoolDocument& document) {
  CsvWriter csv;
  for (const char* title :
       {"group",    "parameter", "what",     "curve_id", "plant",  "value",    "se", "low",
        "high",     "status",    "shrunken", "n",        "bounds", "left_out", "sd", "tau2",
        "tau2_low", "tau2_high", "new_low",  "new_high", "df",     "method"}) {
    csv.text(title);
  }
  csv.end_row();
  const auto blanks = [&](int cells) {
    for (int i = 0; i < cells; ++i) csv.missing();
    csv.end_row();
  };
  for (const PoolResult& r : document.run->results) {
    const PooledMean& m = r.mean;
    csv_start(csv, r, "mean", "", "");
    csv.number(r.back(m.mean)).missing().number(r.back(m.low)).number(r.back(m.high));
    csv.text("").text("0").text(std::to_string(m.units)).text(std::to_string(m.bounds));
    csv.text(std::to_string(left_out(r))).number(m.sd).number(tau2_of(r));
    const bool interval = r.between && (r.between->low > 0 || r.between->high);
    csv.number(interval ? std::optional(r.between->low) : std::nullopt);
    csv.number(interval ? r.between->high : std::nullopt);
    csv.number(r.back(m.new_low)).number(r.back(m.new_high)).number(m.df).text(r.method).end_row();
    for (const PoolLeaf& leaf : r.of.leaves) {
      csv_start(csv, r, "leaf", leaf.curve_id, leaf.plant);
      csv.number(leaf.value).number(leaf.se).number(leaf.low).number(leaf.high);
      csv.text(leaf.left_out.empty() ? leaf.status : "left out: " + leaf.left_out).text("0");
      blanks(11);
    }
    const bool plants = document.run->unit_name == "plant";
    for (const PoolUnit& unit : r.units) {
      if (!unit.shrunken) continue;
      csv_start(csv, r, plants ? "plant" : "leaf", plants ? "" : unit.value.unit, unit.value.unit);
      csv.number(r.back(unit.shrunken)).missing().missing().missing().text("").text("1");
      blanks(11);
    }
  }
  return csv.take();
}

std::string pool_json(const PoolDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "pool", document.inputs, document.settings);
  json.field("level", document.level).field("n_counts", document.run->unit_name);
  json.key("means").open_array();
  for (const PoolResult& result : document.run->results) write_result(json, result);
  json.close();
  std::vector<Failed> failed;
  for (const FailedPool& one : document.run->failed) {
    failed.push_back({{{"group", one.group}, {"parameter", one.symbol}}, one.why});
  }
  write_failed(json, failed);
  write_notes(json, document.run->notes);
  json.close();
  return json.finish();
}

std::string pool_meta_json(const PoolDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "pool", document.inputs, document.settings);
  json.field("level", document.level).field("n_counts", document.run->unit_name);
  json.key("columns").open_object();
  json.field("what", "mean of a group, leaf as fitted, leaf or plant drawn towards the mean")
      .field("value", "of capacities the geometric mean; unit of the parameter")
      .field("shrunken", "1: drawn towards the mean, not for further analysis")
      .field("n", "leaves, or plants, with a value")
      .field("bounds", "leaves, or plants, that entered as a bound")
      .field("sd", "between them as fitted; of capacities of ln")
      .field("tau2", "variance between them beyond the noise of fits; of capacities of ln")
      .field("new_low", "lower end of the interval for one more leaf or plant")
      .close();
  write_notes(json, document.run->notes);
  json.close();
  return json.finish();
}

}  // namespace leafwright
