// What every JSON of a command begins with, and notes: written one way.
#pragma once

#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/note.hpp"
#include "base/setting.hpp"
#include "ramp/offset_table.hpp"
#include "report/fit_document.hpp"
#include "report/json_writer.hpp"

namespace leafwright {

/// "leafwright", "schema", "command", "inputs" [{file, bytes, sha256}], "settings", into an open
/// object.
void write_made_from(JsonWriter& json, std::string_view command, std::span<const InputFile> inputs,
                     std::span<const Settings* const> settings);

/// What could not be done: names of it such as {"curve_id", "a"}, and why.
struct Failed {
  std::vector<std::pair<std::string_view, std::string>> names;
  std::string why;
};

/// "failed" [{names..., why}], into an open object.
void write_failed(JsonWriter& json, std::span<const Failed> failed);

/// "notes" [{level, about, text}], into an open object.
void write_notes(JsonWriter& json, const Notes& notes);

/// {from, to, different, in_errors, points [{CO2, change, change_se}]}, as a value.
void write_offset_change(JsonWriter& json, const OffsetChange& change);

}  // namespace leafwright
