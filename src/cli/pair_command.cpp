#include "cli/pair_command.hpp"

#include <algorithm>
#include <memory>

#include "base/text.hpp"
#include "cli/console.hpp"
#include "cli/outputs.hpp"
#include "cli/ramp_inputs.hpp"
#include "cli/record_inputs.hpp"
#include "ramp/correction_settings.hpp"
#include "ramp/pair_settings.hpp"
#include "ramp/settings.hpp"
#include "report/pair_report.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

enum Group : std::size_t { of_records, of_layout, of_pair, of_correction, of_conditions, of_path };

Exit ended(Console& console, const Error& error) {
  console.complain(error);
  return exit_for(error.code);
}

constexpr RampGroups groups{of_records, of_layout, of_correction, of_path};

/// What a call read and made.
struct PairWork : RampInputs {
  std::vector<std::string> ids;  ///< of each record of the leaf
};

Result<PairWork> read_all(const Call& call, CorrectionMethod method, Console& console) {
  auto inputs = read_ramp_inputs(call, groups, method, console);
  if (!inputs) return fail(inputs.error());
  PairWork work{std::move(*inputs), {}};
  std::vector<std::size_t> same;
  const std::string& column = call.settings[of_records].text("curve");
  for (std::size_t i = 0; i < work.leaf.records.size(); ++i) {
    const Table& table = work.leaf.logs[i]->table();
    const auto at = table.find(column);
    work.ids.push_back(at ? std::string(table.text(*at, work.leaf.records[i].rows.front()))
                          : table.file());
  }
  // Records of two files may have one id: then the file tells them apart.
  for (std::size_t i = 0; i < work.ids.size(); ++i) {
    if (std::count(work.ids.begin(), work.ids.end(), work.ids[i]) > 1) same.push_back(i);
  }
  for (const std::size_t i : same) work.ids[i] = work.leaf.records[i].name;
  return work;
}

/// Which records are a pair: as stated, else all of the call are one.
Result<std::vector<std::vector<std::size_t>>> pairs_of(const Call& call, const PairWork& work) {
  const auto stated = stated_pairs(call.settings[of_pair]);
  if (!stated) return fail(stated.error());
  std::vector<std::vector<std::size_t>> out;
  for (const auto& names : *stated) {
    std::vector<std::size_t> of;
    for (const std::string& name : names) {
      const auto found = std::find(work.ids.begin(), work.ids.end(), name);
      if (found == work.ids.end()) {
        return fail(ErrorCode::usage, "no ramp '" + name + "' in the leaf's records",
                    "one of " + join(work.ids));
      }
      of.push_back(static_cast<std::size_t>(found - work.ids.begin()));
    }
    out.push_back(std::move(of));
  }
  if (!out.empty()) return out;
  if (work.ids.size() > 2) {
    return fail(ErrorCode::usage, counted(work.ids.size(), "ramp") + " and no --pair",
                "--pair ID,ID for each leaf, of " + join(work.ids));
  }
  out.emplace_back();
  for (std::size_t i = 0; i < work.ids.size(); ++i) out.front().push_back(i);
  return out;
}

std::vector<PairRowPlace> places_of(const RampRecord& record) {
  std::vector<PairRowPlace> out(record.size());
  for (std::size_t i = 0; i < out.size(); ++i) {
    out[i] = {record.time_s[i], record.CO2r[i], record.Tleaf[i], record.Patm[i], {}};
    if (!record.Qin.empty()) out[i].Qin = record.Qin[i];
  }
  return out;
}

Result<PairOutcome> make_pair(const Call& call, const PairWork& work,
                              const std::vector<std::size_t>& of,
                              const CorrectionOptions& correction, const PairOptions& options) {
  PairOutcome out;
  std::vector<const CorrectedRamp*> ramps;
  for (const std::size_t i : of) {
    out.ramps.push_back(work.ids[i]);
    auto ramp = correct_record(call, groups, work, work.leaf.records[i], correction);
    if (!ramp) return fail(ramp.error());
    out.corrected.push_back(std::make_shared<const CorrectedRamp>(std::move(*ramp)));
    ramps.push_back(out.corrected.back().get());
  }
  out.name = join(out.ramps, " + ");
  auto pair = fit_pair(ramps, out.ramps, options);
  if (!pair) return fail(pair.error());
  out.pair = std::make_shared<const RampPair>(std::move(*pair));
  return out;
}

/// Every pair; one that fails is told and stops no other.
Result<PairDocument> make_pairs(const Call& call, const CorrectionOptions& correction,
                                const PairWork& work, Console& console) {
  const auto options = pair_options(call.settings[of_pair]);
  if (!options) return fail(options.error());
  const auto pairs = pairs_of(call, work);
  if (!pairs) return fail(pairs.error());
  PairDocument out;
  for (const std::vector<std::size_t>& of : *pairs) {
    auto pair = make_pair(call, work, of, correction, *options);
    if (!pair) {
      if (pairs->size() == 1) return fail(pair.error());
      console.complain(pair.error());
      PairOutcome failed;
      for (const std::size_t i : of) failed.ramps.push_back(work.ids[i]);
      failed.name = join(failed.ramps, " + ");
      failed.failed = pair.error().text();
      pair = std::move(failed);
    }
    out.pairs.push_back(std::move(*pair));
    out.places.emplace_back();
    for (const std::size_t i : of) out.places.back().push_back(places_of(work.leaf.records[i]));
  }
  for (const Settings& settings : call.settings) out.settings.push_back(&settings);
  out.inputs = work.files;
  return out;
}

Result<void> publish(const PairDocument& document, const Destinations& to, Console& console) {
  std::vector<FileToWrite> files;
  if (!to.csv.empty() && to.csv != "-") {
    files.push_back({to.csv, pair_csv(document)});
    files.push_back({meta_path(to.csv), pair_json(document)});
  }
  if (!to.json.empty() && to.json != "-") files.push_back({to.json, pair_json(document)});
  if (auto ok = write_outputs(files, to.force, console); !ok) return ok;
  if (to.csv == "-") return console.print(pair_csv(document));
  return console.print(to.json == "-" ? pair_json(document) : pair_text(document));
}

Exit run_pair(const Call& call, Console& console) {
  const auto to = destinations(call);
  if (!to) return ended(console, to.error());
  if (auto ok = check_destinations(*to, files_read(call, groups)); !ok)
    return ended(console, ok.error());
  auto correction = correction_options(call.settings[of_correction]);
  if (!correction) return ended(console, correction.error());
  correction->conditions = condition_options(call.settings[of_conditions]);
  const auto work = read_all(call, correction->method, console);
  if (!work) return ended(console, work.error());
  const auto document = make_pairs(call, *correction, *work, console);
  if (!document) return ended(console, document.error());
  if (auto ok = publish(*document, *to, console); !ok) return ended(console, ok.error());
  const bool all = std::all_of(document->pairs.begin(), document->pairs.end(),
                               [](const PairOutcome& pair) { return pair.pair != nullptr; });
  return all ? Exit::done : Exit::partly;
}

}  // namespace

Command pair_command() {
  return {
      .name = "pair",
      .summary = "an up and a down ramp of one leaf together: its own lag, and one curve",
      .example =
          "leafwright pair up.csv down.csv --empty empty.csv --instrument instrument.toml "
          "--out pair.csv",
      .inputs = "LEAF...",
      .inputs_help =
          "records of the leaf as for 'ramp', up and down: in two files, as two curves of one, or "
          "one ramp that turns round; - reads standard input",
      .settings = {{"records", record_settings()},
                   {"layout of the files", layout_settings()},
                   {"pair", pair_settings()},
                   {"correction", correction_settings()},
                   {"conditions of empty records", condition_settings()},
                   {"gas path, where it is identified here", path_settings()}},
      .options =
          ramp_options("every row of both ways, Ci with the lag taken out, for 'fit --curve pair'; "
                       "how it was made stands in CSV.meta.json",
                       "what was found, as JSON; with - on standard output"),
      .run = run_pair};
}

}  // namespace leafwright::cli
