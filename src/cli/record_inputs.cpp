#include "cli/record_inputs.hpp"

#include <algorithm>
#include <array>
#include <memory>
#include <optional>
#include <utility>

#include "cli/input.hpp"
#include "files/xlsx.hpp"
#include "log/log.hpp"
#include "log/select.hpp"
#include "report/sha256.hpp"
#include "study/time_zone.hpp"

namespace leafwright::cli {
namespace {

Result<std::string> read(const std::string& path, RecordInputs& inputs) {
  auto bytes = read_input(path);
  if (bytes) inputs.files.push_back({input_name(path), bytes->size(), sha256(*bytes)});
  return bytes;
}

void tell(const std::vector<Error>& problems, RecordInputs& inputs, Console& console) {
  for (const Error& problem : problems) {
    console.complain(problem);
    inputs.problems.push_back(problem.text());
  }
}

/// What an option forces stands above the map.
LayoutChoice joined(LayoutChoice layout, const LayoutChoice& forced) {
  if (forced.encoding) layout.encoding = forced.encoding;
  if (forced.delimiter) layout.delimiter = forced.delimiter;
  if (forced.decimal) layout.decimal = forced.decimal;
  if (forced.header_line) layout.header_line = forced.header_line;
  if (forced.units_line) layout.units_line = forced.units_line;
  return layout;
}

/// Rows of one record each, in order of appearance, with the value of the curve column.
using Groups = std::vector<std::pair<std::string, std::vector<std::size_t>>>;

Result<Groups> groups_of(const Table& table, const RecordChoice& choice) {
  std::vector<std::size_t> rows(table.rows());
  for (std::size_t i = 0; i < rows.size(); ++i) rows[i] = i;
  if (!choice.only.empty()) {
    auto chosen = select_rows(table, choice.only);
    if (!chosen) return fail(chosen.error());
    rows = std::move(*chosen);
  }
  if (!table.has(choice.curve)) {
    if (choice.curve == "curve_id") return Groups{{"", std::move(rows)}};
    const auto column = table.find(choice.curve);
    return fail(column.error());
  }
  const auto column = table.find(choice.curve);
  if (!column) return fail(column.error());
  Groups groups;
  for (const std::size_t row : rows) {
    const std::string id(table.text(*column, row));
    auto group = std::find_if(groups.begin(), groups.end(),
                              [&](const auto& known) { return known.first == id; });
    if (group == groups.end()) group = groups.insert(groups.end(), {id, {}});
    group->second.push_back(row);
  }
  return groups;
}

Result<void> add_records(const std::string& path, const RecordChoice& choice, RecordRole role,
                         const ColumnMap& map, const TimeChoice& time, RecordInputs& inputs,
                         Console& console) {
  auto bytes = read(path, inputs);
  if (!bytes) return fail(bytes.error());
  const std::string name = input_name(path);
  auto table = open_table(std::move(*bytes), name, joined(map.layout, choice.layout));
  if (!table) return fail(table.error());
  tell(table->problems(), inputs, console);
  auto read_in = read_log(std::make_shared<const Table>(std::move(*table)), map);
  if (!read_in) return fail(read_in.error());
  const auto log = std::make_shared<const Log>(std::move(*read_in));
  tell(log->problems(), inputs, console);
  const auto groups = groups_of(log->table(), choice);
  if (!groups) return fail(groups.error());
  // One record of several that cannot be read, as the last, cut line of a log, stops no other.
  std::optional<Error> failed;
  const std::size_t before = inputs.records.size();
  for (const auto& [id, rows] : *groups) {
    auto record = ramp_record(*log, rows, role, inputs.instrument,
                              groups->size() > 1 ? name + ":" + id : name, time);
    if (!record) {
      if (groups->size() > 1) tell({record.error()}, inputs, console);
      if (!failed) failed = record.error();
      continue;
    }
    inputs.records.push_back(std::move(*record));
    inputs.logs.push_back(log);
  }
  if (failed && inputs.records.size() == before) return fail(*failed);
  return {};
}

Result<void> check_twice(const std::vector<std::string>& paths) {
  for (auto path = paths.begin(); path != paths.end(); ++path) {
    if (std::find(paths.begin(), path, *path) != path) {
      return fail(ErrorCode::usage, "'" + *path + "' is given twice", "each file once");
    }
  }
  return {};
}

}  // namespace

Result<RecordInputs> read_records(const std::vector<std::string>& paths, const RecordChoice& choice,
                                  RecordRole role, Console& console) {
  if (auto once = check_twice(paths); !once) return fail(once.error());
  RecordInputs inputs;
  ColumnMap map;
  if (!choice.map.empty()) {
    const auto bytes = read(choice.map, inputs);
    if (!bytes) return fail(bytes.error());
    auto parsed = read_map(*bytes, choice.map);
    if (!parsed) return fail(parsed.error());
    map = std::move(*parsed);
  }
  if (!choice.instrument.empty()) {
    const auto bytes = read(choice.instrument, inputs);
    if (!bytes) return fail(bytes.error());
    auto instrument = read_instrument(*bytes, choice.instrument);
    if (!instrument) return fail(instrument.error());
    inputs.instrument = std::move(*instrument);
  }
  TimeChoice time;
  if (!choice.time_zone.empty()) {
    auto rule = zone_rule(choice.time_zone);
    if (!rule) return fail(rule.error());
    time.zone = std::move(*rule);
    time.zone_name = choice.time_zone;
  }
  for (const std::string& path : paths) {
    auto added = add_records(path, choice, role, map, time, inputs, console);
    if (!added) return fail(added.error());
  }
  return inputs;
}

SettingTable record_settings() {
  static const std::array<Setting, 3> settings{{
      {.name = "curve",
       .kind = SettingKind::text,
       .default_value = "curve_id",
       .help = "column that groups rows into records; without the default column each file is one",
       .source = "docs/formats",
       .value_name = "COLUMN"},
      only_setting(),
      {.name = "time-zone",
       .kind = SettingKind::text,
       .help = "zone of the clock that wrote date and time, such as Europe/Berlin; without it the "
               "clock is read as it stands",
       .source = "the user's own",
       .value_name = "ZONE"},
  }};
  return settings;
}

RecordChoice record_choice(const Settings& records, const LayoutChoice& layout, std::string map,
                           std::string instrument) {
  RecordChoice out;
  out.map = std::move(map);
  out.instrument = std::move(instrument);
  out.layout = layout;
  out.curve = records.text("curve");
  out.only = records.list("only");
  if (records.is_set("time-zone")) out.time_zone = records.text("time-zone");
  return out;
}

}  // namespace leafwright::cli
