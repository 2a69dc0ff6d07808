#define TOML_EXCEPTIONS 0
#include "study/study_file.hpp"

#include <toml++/toml.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <stdexcept>

#include "base/number.hpp"
#include "base/text.hpp"
#include "study/time_zone.hpp"

namespace leafwright {
namespace {

/// What stands there, for messages.
std::string value_text(const toml::node& node) {
  if (const auto* text = node.as_string()) return "'" + shortened(text->get()) + "'";
  if (const auto* whole = node.as_integer()) return std::to_string(whole->get());
  if (const auto* real = node.as_floating_point()) {
    return std::isfinite(real->get()) ? print_number(real->get()) : "no finite number";
  }
  if (const auto* truth = node.as_boolean()) return truth->get() ? "true" : "false";
  if (node.is_table()) return "a table";
  return node.is_array() ? "a list" : "a date or time";
}

/// A value as it would be typed behind an option; empty for what no option takes.
std::optional<std::string> option_text(const toml::node& node) {
  if (const auto* text = node.as_string()) return text->get();
  if (const auto* whole = node.as_integer()) return std::to_string(whole->get());
  if (const auto* truth = node.as_boolean()) return truth->get() ? "on" : "off";
  const auto* real = node.as_floating_point();
  if (real == nullptr || !std::isfinite(real->get())) return {};
  return print_number(real->get());
}

const std::vector<std::string>& top_keys() {
  static const std::vector<std::string> keys = [] {
    std::vector<std::string> out{"schema", "title", "time_zone", "seed", "log", "samples"};
    for (const SectionSpec& section : study_sections()) out.push_back(section.name);
    return out;
  }();
  return keys;
}

class StudyReader {
 public:
  StudyReader(std::string_view bytes, const std::string& file) : bytes_(bytes) {
    out_.file = file;
    for (const SectionSpec& section : study_sections()) out_.sections.emplace_back(section);
  }
  Result<Study> read();

 private:
  [[nodiscard]] Place place(const toml::source_region& at) const;
  [[nodiscard]] Error wrong(const toml::node& node, std::string found, std::string expected,
                            std::string hint = "") const;
  Result<void> check_keys(const toml::table& table, const std::vector<std::string>& known,
                          const std::string& where) const;
  Result<void> take_schema(const toml::table& all);
  Result<void> take_head(const toml::table& all);
  Result<void> take_seed(const toml::table& all);
  Result<void> take_logs(const toml::table& all);
  Result<StudyLog> take_log(const toml::table& table) const;
  Result<void> take_samples(const toml::table& all);
  Result<void> take_section(const toml::table& all, SectionSettings& section);
  Result<void> take_setting(SectionSettings& section, const std::string& key,
                            const toml::node& node, const Place& at) const;
  Result<void> share_seed(const toml::table& all, SectionSettings& section, const char* key) const;
  Result<std::string> text(const toml::table& table, const char* key) const;
  Result<StudyPath> path(const toml::table& table, const char* key) const;
  [[nodiscard]] Place key_place(const toml::table& table, const char* key) const;

  std::string_view bytes_;
  Study out_;
};

Place StudyReader::place(const toml::source_region& at) const {
  return {out_.file, at.begin.line, at.begin.column, std::string(line_of(bytes_, at.begin.line))};
}

Error StudyReader::wrong(const toml::node& node, std::string found, std::string expected,
                         std::string hint) const {
  return {ErrorCode::usage, place(node.source()), std::move(found), std::move(expected),
          std::move(hint)};
}

Place StudyReader::key_place(const toml::table& table, const char* key) const {
  for (const auto& [known, value] : table) {
    if (known.str() == key) return place(known.source());
  }
  return place(table.source());
}

Result<void> StudyReader::check_keys(const toml::table& table,
                                     const std::vector<std::string>& known,
                                     const std::string& where) const {
  for (const auto& [key, value] : table) {
    const std::string name(key.str());
    if (std::find(known.begin(), known.end(), name) != known.end()) continue;
    return fail(ErrorCode::usage, "unknown key '" + shortened(name) + "' " + where, "",
                suggest_name(name, known), place(key.source()));
  }
  return {};
}

Result<std::string> StudyReader::text(const toml::table& table, const char* key) const {
  const toml::node* node = table.get(key);
  if (node == nullptr) return std::string();
  const auto* text = node->as_string();
  if (text == nullptr) {
    return fail(wrong(*node, std::string(key) + " is " + value_text(*node), "a text in quotes"));
  }
  if (trim(text->get()).empty()) {
    return fail(wrong(*node, std::string(key) + " is empty", "a text", "leave the key out"));
  }
  return text->get();
}

Result<StudyPath> StudyReader::path(const toml::table& table, const char* key) const {
  auto written = text(table, key);
  if (!written) return fail(written.error());
  StudyPath out;
  if (written->empty()) return out;
  out.place = place(table.get(key)->source());
  out.written = std::move(*written);
  const auto folder = std::filesystem::path(out_.file).parent_path();
  out.path = (folder / out.written).lexically_normal().generic_string();
  return out;
}

Result<void> StudyReader::take_schema(const toml::table& all) {
  const toml::node* node = all.get("schema");
  if (node == nullptr) {
    return fail(ErrorCode::usage, "no schema", "schema = 1",
                "write it as the first line; it says how this file is meant",
                {out_.file, 0, 0, ""});
  }
  const auto value = node->value<std::int64_t>();
  if (node->is_integer() && value == 1) return {};
  return fail(wrong(*node, "schema is " + value_text(*node), "schema = 1",
                    "a later version of the program may know others"));
}

Result<void> StudyReader::take_seed(const toml::table& all) {
  const toml::node* node = all.get("seed");
  if (node == nullptr) return {};
  const auto* value = node->as_integer();
  if (value == nullptr || value->get() < 0) {
    return fail(wrong(*node, "seed is " + value_text(*node), "a whole number of at least 0"));
  }
  out_.seed = static_cast<std::uint64_t>(value->get());
  return {};
}

Result<void> StudyReader::take_head(const toml::table& all) {
  if (auto ok = check_keys(all, top_keys(), "of a study"); !ok) return ok;
  auto title = text(all, "title");
  if (!title) return fail(title.error());
  out_.title = std::move(*title);
  auto zone = text(all, "time_zone");
  if (!zone) return fail(zone.error());
  out_.time_zone = std::move(*zone);
  if (!out_.time_zone.empty()) {
    out_.time_zone_place = place(all.get("time_zone")->source());
    if (const auto rule = zone_rule(out_.time_zone); !rule) {
      Error error = rule.error();
      error.place = out_.time_zone_place;
      return fail(std::move(error));
    }
  }
  return take_seed(all);
}

Result<StudyLog> StudyReader::take_log(const toml::table& table) const {
  static const std::vector<std::string> known = {"file", "map", "instrument", "role", "sheet"};
  if (auto ok = check_keys(table, known, "of [[log]]"); !ok) return fail(ok.error());
  StudyLog log;
  for (const auto& [key, into] : {std::pair{"file", &log.file}, std::pair{"map", &log.map},
                                  std::pair{"instrument", &log.instrument}}) {
    auto found = path(table, key);
    if (!found) return fail(found.error());
    *into = std::move(*found);
  }
  if (!log.file.given()) {
    return fail(wrong(table, "a [[log]] without a file", "file = \"logs/day1.csv\""));
  }
  auto sheet = text(table, "sheet");
  if (!sheet) return fail(sheet.error());
  if (!sheet->empty()) log.sheet = std::move(*sheet);
  auto role = text(table, "role");
  if (!role) return fail(role.error());
  log.role_given = !role->empty();
  static const std::vector<std::string> roles = {"steps", "ramp", "empty"};
  const auto at = std::find(roles.begin(), roles.end(), log.role_given ? *role : "steps");
  if (at == roles.end()) {
    return fail(wrong(*table.get("role"), "role is '" + shortened(*role) + "'",
                      "one of " + join(roles), suggest_name(*role, roles)));
  }
  log.role = static_cast<LogRole>(at - roles.begin());
  return log;
}

Result<void> StudyReader::take_logs(const toml::table& all) {
  const toml::node* node = all.get("log");
  if (node == nullptr) {
    return fail(ErrorCode::usage, "a study without a log", "at least one [[log]] with a file", "",
                {out_.file, 0, 0, ""});
  }
  const auto* logs = node->as_array();
  if (logs == nullptr) {
    return fail(wrong(*node, "log is " + value_text(*node), "[[log]], in double brackets"));
  }
  for (const toml::node& entry : *logs) {
    const auto* table = entry.as_table();
    if (table == nullptr) {
      return fail(wrong(entry, "log holds " + value_text(entry), "[[log]] with file = \"...\""));
    }
    auto log = take_log(*table);
    if (!log) return fail(log.error());
    for (const StudyLog& before : out_.logs) {
      if (before.file.path != log->file.path || before.sheet != log->sheet) continue;
      return fail(ErrorCode::usage, "the log '" + log->file.written + "' is named twice",
                  "each log once", "it stands in line " + std::to_string(before.file.place.line),
                  log->file.place);
    }
    out_.logs.push_back(std::move(*log));
  }
  return {};
}

Result<void> StudyReader::take_samples(const toml::table& all) {
  const toml::node* node = all.get("samples");
  if (node == nullptr) return {};
  const auto* table = node->as_table();
  if (table == nullptr) {
    return fail(wrong(*node, "samples is " + value_text(*node), "[samples] with file = \"...\""));
  }
  if (auto ok = check_keys(*table, {"file"}, "of [samples]"); !ok) return ok;
  auto found = path(*table, "file");
  if (!found) return fail(found.error());
  if (!found->given()) {
    return fail(wrong(*table, "[samples] without a file", "file = \"samples.csv\""));
  }
  out_.samples = std::move(*found);
  return {};
}

Result<void> StudyReader::take_setting(SectionSettings& section, const std::string& key,
                                       const toml::node& node, const Place& at) const {
  const auto placed = [&](Error error, const Place& where) {
    error.place = where;
    return fail(std::move(error));
  };
  if (!section.has(key)) return placed(section.set(key, "", SettingOrigin::study).error(), at);
  std::vector<std::string> values;
  if (const auto* many = node.as_array()) {
    for (const toml::node& one : *many) {
      auto value = option_text(one);
      if (!value) return fail(wrong(one, key + " holds " + value_text(one), "texts or numbers"));
      values.push_back(std::move(*value));
    }
  } else if (auto value = option_text(node)) {
    values.push_back(std::move(*value));
  } else {
    return fail(wrong(node, key + " is " + value_text(node), "a text, a number, true or false"));
  }
  // A list behind an option that takes one word is that word: "rubisco,rubp".
  bool repeats = false;
  for (const SettingTable table : section.spec().tables) {
    for (const Setting& setting : table) {
      if (setting.name == key) repeats = setting.kind == SettingKind::list;
    }
  }
  if (!repeats) values = {join(values, ",")};
  for (const std::string& value : values) {
    if (auto ok = section.set(key, value, SettingOrigin::study); !ok) {
      return placed(ok.error(), place(node.source()));
    }
  }
  return {};
}

Result<void> StudyReader::take_section(const toml::table& all, SectionSettings& section) {
  const std::string& name = section.spec().name;
  const toml::node* node = all.get(name);
  if (node == nullptr) return {};
  const auto* table = node->as_table();
  if (table == nullptr) {
    return fail(wrong(*node, name + " is " + value_text(*node), "a section: [" + name + "]"));
  }
  section.state();
  for (const auto& [key, value] : *table) {
    const std::string text(key.str());
    if (auto ok = take_setting(section, text, value, place(key.source())); !ok) return ok;
  }
  return {};
}

/// The study's seed is the seed of whatever draws numbers, unless the section has its own.
Result<void> StudyReader::share_seed(const toml::table& all, SectionSettings& section,
                                     const char* key) const {
  if (!out_.seed || !section.has(key)) return {};
  const toml::node* own = all.get(section.spec().name);
  if (own != nullptr && own->as_table() != nullptr && own->as_table()->contains(key)) return {};
  // A section that is not there draws nothing: its limits are no reason to refuse a study.
  if (std::string_view(key) != "seed" && !section.stated()) return {};
  auto ok = section.set(key, std::to_string(*out_.seed), SettingOrigin::study);
  if (ok) return {};
  Error error = ok.error();
  error.place = key_place(all, "seed");
  return fail(std::move(error));
}

Result<Study> StudyReader::read() {
  const toml::parse_result parsed = toml::parse(bytes_);
  if (!parsed) {
    return fail(ErrorCode::unreadable, "no TOML: " + std::string(parsed.error().description()), "",
                "texts stand in quotes: file = \"logs/day1.csv\"", place(parsed.error().source()));
  }
  const toml::table& all = parsed.table();
  if (auto ok = take_schema(all); !ok) return fail(ok.error());
  if (auto ok = take_head(all); !ok) return fail(ok.error());
  if (auto ok = take_logs(all); !ok) return fail(ok.error());
  if (auto ok = take_samples(all); !ok) return fail(ok.error());
  for (SectionSettings& section : out_.sections) {
    if (auto ok = take_section(all, section); !ok) return fail(ok.error());
    for (const char* seed : {"seed", "sampler-seed"}) {
      if (auto ok = share_seed(all, section, seed); !ok) return fail(ok.error());
    }
  }
  return std::move(out_);
}

}  // namespace

const char* role_name(LogRole role) {
  switch (role) {
    case LogRole::steps:
      return "steps";
    case LogRole::ramp:
      return "ramp";
    case LogRole::empty:
      return "empty";
  }
  return "steps";
}

const SectionSettings& Study::section(std::string_view name) const {
  for (const SectionSettings& section : sections) {
    if (section.spec().name == name) return section;
  }
  throw std::logic_error("there is no section '" + std::string(name) + "'");
}

const Settings& Study::settings(SettingTable table) const {
  for (const SectionSettings& section : sections) {
    for (const Settings& settings : section.tables()) {
      if (settings.table().data() == table.data()) return settings;
    }
  }
  throw std::logic_error("no section has this table of settings");
}

Result<Study> read_study(std::string_view bytes, const std::string& file) {
  return StudyReader(bytes, file).read();
}

}  // namespace leafwright
