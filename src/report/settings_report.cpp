#include "report/settings_report.hpp"

#include "base/number.hpp"
#include "base/text.hpp"
#include "report/text_table.hpp"

namespace leafwright {
namespace {

bool is_number(const Setting& setting) {
  return setting.kind == SettingKind::number || setting.kind == SettingKind::whole;
}

const char* kind_name(SettingKind kind) {
  switch (kind) {
    case SettingKind::number:
      return "number";
    case SettingKind::whole:
      return "whole number";
    case SettingKind::choice:
      return "choice";
    case SettingKind::text:
      return "text";
    case SettingKind::list:
      return "list";
  }
  return "text";
}

void write_value(JsonWriter& json, const Settings& settings, const Setting& setting) {
  const auto& name = setting.name;
  if (setting.kind == SettingKind::list) {
    json.open_array(JsonWriter::Shape::line);
    for (const std::string& text : settings.list(name)) json.value(text);
    json.close();
  } else if (!settings.is_set(name)) {
    json.null();
  } else if (is_number(setting)) {
    json.value(settings.number(name));
  } else {
    json.value(settings.text(name));
  }
}

/// A table cell of Markdown: no line breaks, no unescaped bars.
std::string cell(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c == '|') out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  return out;
}

std::string code_or_dash(const std::string& text) {
  return text.empty() ? "" : "`" + cell(text) + "`";
}

}  // namespace

std::string value_name(const Setting& setting) {
  return setting.kind == SettingKind::choice ? join(setting.choices, "|") : setting.value_name;
}

std::string range_of(const Setting& setting) {
  if (setting.kind == SettingKind::choice) return join(setting.choices);
  if (setting.low && setting.high) {
    return print_number(*setting.low) + " to " + print_number(*setting.high);
  }
  if (setting.low) return "at least " + print_number(*setting.low);
  if (setting.high) return "at most " + print_number(*setting.high);
  return "";
}

void write_settings(JsonWriter& json, std::span<const Settings* const> settings) {
  json.open_object();
  for (const Settings* table : settings) {
    for (const Setting& setting : table->table()) {
      json.key(setting.name).open_object(JsonWriter::Shape::line).key("value");
      write_value(json, *table, setting);
      if (!setting.unit.empty()) json.field("unit", setting.unit);
      json.field("origin", origin_name(table->origin(setting.name)));
      json.close();
    }
  }
  json.close();
}

std::string settings_markdown(std::span<const SettingGroup> groups) {
  std::string out =
      "# Settings\n\n"
      "Every setting that can change a result. `--NAME VALUE` on the command line sets it, and\n"
      "every output prints all of them with where each came from (`default`, `study`, "
      "`option`).\n\n"
      "This page is written by `leafwright settings --markdown`; a test fails when it is not what\n"
      "the program says.\n";
  for (const SettingGroup& group : groups) {
    out += "\n## " + group.title + "\n\n" + group.about + "\n\n";
    out += "| setting | default | range | unit | what it does | source of the default |\n";
    out += "|---|---|---|---|---|---|\n";
    for (const Setting& s : group.table) {
      const std::string repeat = s.kind == SettingKind::list ? " (may be repeated)" : "";
      out += "| `" + s.name + "` | " + code_or_dash(s.default_value) + " | " + cell(range_of(s)) +
             " | " + cell(s.unit) + " | " + cell(s.help) + repeat + " | " + cell(s.source) + " |\n";
    }
  }
  return out;
}

std::string settings_text(std::span<const SettingGroup> groups) {
  std::string out;
  for (const SettingGroup& group : groups) {
    out += (out.empty() ? "" : "\n") + group.title + ": " + group.about + "\n";
    for (const Setting& s : group.table) {
      out += "\n  --" + s.name + " " + value_name(s);
      out += s.default_value.empty() ? "" : "  (default " + s.default_value + ")";
      out += "\n" + wrapped(s.help + (s.kind == SettingKind::list ? " (may be repeated)" : ""), 6);
      const std::string range = s.kind == SettingKind::choice ? "" : range_of(s);
      if (!range.empty() || !s.unit.empty()) {
        out += wrapped("range: " + (range.empty() ? "any number" : range) +
                           (s.unit.empty() ? "" : " " + s.unit),
                       6);
      }
      if (!s.source.empty()) out += wrapped("source: " + s.source, 6);
    }
  }
  return out;
}

std::string settings_json(std::span<const SettingGroup> groups) {
  JsonWriter json;
  json.open_object().field("leafwright", LEAFWRIGHT_VERSION).field("schema", std::size_t{1});
  json.field("command", "settings").key("groups").open_array();
  for (const SettingGroup& group : groups) {
    json.open_object().field("group", group.title).key("settings").open_array();
    for (const Setting& s : group.table) {
      json.open_object().field("name", s.name).field("kind", kind_name(s.kind));
      json.key("default");
      if (s.default_value.empty()) {
        json.null();
      } else {
        json.value(s.default_value);
      }
      json.field("low", s.low).field("high", s.high).field("unit", s.unit);
      json.key("choices").open_array(JsonWriter::Shape::line);
      for (const std::string& choice : s.choices) json.value(choice);
      json.close().field("help", s.help).field("source", s.source).close();
    }
    json.close().close();
  }
  json.close().close();
  return json.finish();
}

}  // namespace leafwright
