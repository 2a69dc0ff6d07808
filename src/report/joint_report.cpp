#include "report/joint_report.hpp"

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/joint_shrinkage.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/text_table.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

std::string name_of(const JointGroup& group) {
  return group.group.empty() ? "all leaves" : group.group;
}

void add_row(TextTable& table, const std::string& who, const Posterior& p,
             const std::optional<double>& alone) {
  table.row({who, p.name, print_rounded(p.median, 4), print_rounded(p.low, 4),
             print_rounded(p.high, 4), alone ? print_rounded(*alone, 4) : "", ""});
}

std::string group_text(const JointGroupRun& run, double level) {
  using Align = TextTable::Align;
  const JointGroup& group = run.group;
  TextTable table;
  table.column("leaf", Align::left);
  table.column("", Align::left);
  table.column("together", Align::right);
  table.column(print_rounded(100 * level, 4) + " % from", Align::right);
  table.column("to", Align::right);
  table.column("alone", Align::right);
  table.column("", Align::left);
  for (std::size_t l = 0; l < group.leaves.size(); ++l) {
    for (const Posterior& p : group.leaves[l].values) {
      add_row(table, group.leaves[l].leaf, p, alone_value(run.alone[l], p.name));
    }
  }
  for (const Posterior& p : group.middle) add_row(table, "middle of the group", p, {});
  for (const Posterior& p : group.spread) {
    add_row(table, p.name == "Rday" ? "SD between leaves" : "SD of ln between leaves", p, {});
  }
  const std::string verdict =
      wrapped(std::string(group.converged ? "sampled well" : "NOT sampled well enough") + ": " +
                  joint_sampling(group) +
                  (group.converged ? "" : "; do not use the numbers, raise --sweeps"),
              2, 2);
  const std::string head =
      name_of(group) + ", " + counted(group.leaves.size(), "leaf", "leaves") + "\n";
  if (!group.converged) return head + verdict + table.text(2);
  return head + table.text(2) + verdict + wrapped(joint_kept(run), 2, 2);
}

void write_posterior(JsonWriter& json, const Posterior& p) {
  json.key(p.name)
      .open_object(JsonWriter::Shape::line)
      .field("median", p.median)
      .field("sd", p.sd)
      .field("low", p.low)
      .field("high", p.high)
      .field("rhat", p.rhat)
      .field("draws", p.draws)
      .close();
}

void write_group(JsonWriter& json, const JointGroupRun& run) {
  const JointGroup& group = run.group;
  json.open_object().field("group", group.group).field("converged", group.converged);
  json.field("acceptance", group.acceptance).key("leaves").open_array();
  for (std::size_t l = 0; l < group.leaves.size(); ++l) {
    json.open_object().field("curve_id", group.leaves[l].leaf).field("shrunken", true);
    json.key("together").open_object();
    for (const Posterior& p : group.leaves[l].values) write_posterior(json, p);
    json.close().key("alone").open_object(JsonWriter::Shape::line);
    for (const Posterior& p : group.leaves[l].values) {
      json.field(p.name, alone_value(run.alone[l], p.name));
    }
    json.close().close();
  }
  json.close().key("middle").open_object();
  for (const Posterior& p : group.middle) write_posterior(json, p);
  json.close().key("spread").open_object();
  for (const Posterior& p : group.spread) write_posterior(json, p);
  json.close().key("noise").open_object();
  write_posterior(json, group.sigma);
  json.close().close();
}

void csv_row(CsvWriter& csv, const JointGroup& group, const std::string& leaf, const char* what,
             const Posterior& p, const std::optional<double>& alone) {
  csv.text(group.group).text(leaf).text(what).text(p.name);
  csv.number(p.median).number(p.sd).number(p.low).number(p.high).number(alone);
  csv.text(what == std::string("leaf") ? "1" : "0").number(p.rhat).number(p.draws);
  csv.text(group.converged ? "1" : "0").end_row();
}

}  // namespace

std::string joint_sampling(const JointGroup& group) {
  double worst = 1, fewest = 1e300;
  for (const JointLeaf& leaf : group.leaves) {
    for (const Posterior& p : leaf.values) {
      worst = std::max(worst, p.rhat);
      fewest = std::min(fewest, p.draws);
    }
  }
  return "worst R-hat of a leaf " + print_rounded(worst, 4) + ", at least " +
         print_rounded(fewest, 3) + " independent draws; noise of A " +
         print_rounded(group.sigma.median, 3) + " umol m-2 s-1; steps taken " +
         print_rounded(100 * group.acceptance, 2) + " %";
}

std::string joint_kept(const JointGroupRun& run) {
  std::vector<std::string> kept;
  for (const Posterior& p : run.group.middle) {
    const auto share = kept_distance(run, p.name);
    if (share) kept.push_back(p.name + " " + print_rounded(100 * *share, 2) + " %");
  }
  if (kept.empty()) return "";
  return "of the distances between leaves alone there are left, together: " + join(kept);
}

std::string joint_text(const JointDocument& document) {
  std::string out = "Leaves fitted together, " + document.temperature + ", in umol m-2 s-1\n";
  for (const JointGroupRun& run : document.run->groups) {
    out += "\n" + group_text(run, document.level);
  }
  out += "\n";
  for (const Note& note : document.run->notes) {
    out += wrapped(std::string(level_name(note.level)) + ": " + note.text, 0, 2);
  }
  return out;
}

std::string joint_csv(const JointDocument& document) {
  CsvWriter csv;
  for (const char* title : {"group", "curve_id", "what", "symbol", "median", "sd", "low", "high",
                            "alone", "shrunken", "rhat", "draws", "converged"}) {
    csv.text(title);
  }
  csv.end_row();
  for (const JointGroupRun& run : document.run->groups) {
    const JointGroup& group = run.group;
    for (std::size_t l = 0; l < group.leaves.size(); ++l) {
      for (const Posterior& p : group.leaves[l].values) {
        csv_row(csv, group, group.leaves[l].leaf, "leaf", p, alone_value(run.alone[l], p.name));
      }
    }
    for (const Posterior& p : group.middle) csv_row(csv, group, "", "middle", p, {});
    for (const Posterior& p : group.spread) csv_row(csv, group, "", "spread", p, {});
    csv_row(csv, group, "", "noise", group.sigma, {});
  }
  return csv.take();
}

std::string joint_json(const JointDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "together", document.inputs, document.settings);
  json.field("temperature", document.temperature).field("level", document.level);
  json.key("groups").open_array();
  for (const JointGroupRun& run : document.run->groups) write_group(json, run);
  json.close();
  std::vector<Failed> failed;
  for (const FailedCurve& one : document.run->failed) {
    failed.push_back({{{"curve_id", one.curve_id}}, one.why});
  }
  write_failed(json, failed);
  write_notes(json, document.run->notes);
  json.close();
  return json.finish();
}

std::string joint_meta_json(const JointDocument& document) {
  JsonWriter json;
  json.open_object();
  write_made_from(json, "together", document.inputs, document.settings);
  json.field("temperature", document.temperature).key("columns").open_object();
  json.field("what", "leaf, middle of the group, spread between leaves, noise of A")
      .field("median", "of the posterior; umol m-2 s-1, of spread of capacities: SD of ln")
      .field("low", "lower end of the central interval")
      .field("alone", "the leaf's own least squares; empty where it limits no row")
      .field("shrunken", "1: drawn towards the group, not for further analysis")
      .field("converged",
             "0: the group was not sampled well enough, its numbers are not to be used")
      .close();
  write_notes(json, document.run->notes);
  json.close();
  return json.finish();
}

}  // namespace leafwright
