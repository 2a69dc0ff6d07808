#include "report/json_parts.hpp"

#include "report/settings_report.hpp"

namespace leafwright {

void write_made_from(JsonWriter& json, std::string_view command, std::span<const InputFile> inputs,
                     std::span<const Settings* const> settings) {
  json.field("leafwright", LEAFWRIGHT_VERSION).field("schema", std::size_t{1});
  json.field("command", command).key("inputs").open_array();
  for (const InputFile& input : inputs) {
    json.open_object(JsonWriter::Shape::line).field("file", input.path);
    json.field("bytes", input.bytes).field("sha256", input.sha256).close();
  }
  json.close().key("settings");
  write_settings(json, settings);
}

void write_failed(JsonWriter& json, std::span<const Failed> failed) {
  json.key("failed").open_array();
  for (const Failed& one : failed) {
    json.open_object(JsonWriter::Shape::line);
    for (const auto& [name, text] : one.names) json.field(name, text);
    json.field("why", one.why).close();
  }
  json.close();
}

void write_notes(JsonWriter& json, const Notes& notes) {
  json.key("notes").open_array();
  for (const Note& note : notes) {
    json.open_object(JsonWriter::Shape::line).field("level", level_name(note.level));
    json.field("about", note.about).field("text", note.text).close();
  }
  json.close();
}

void write_offset_change(JsonWriter& json, const OffsetChange& change) {
  json.open_object().field("from", change.from).field("to", change.to);
  json.field("different", change.different).field("in_errors", change.in_errors);
  json.key("points").open_array();
  for (const OffsetChange::Point& point : change.points) {
    json.open_object(JsonWriter::Shape::line).field("CO2", point.CO2);
    json.field("change", point.change.value).field("change_se", point.change.se).close();
  }
  json.close().close();
}

}  // namespace leafwright
