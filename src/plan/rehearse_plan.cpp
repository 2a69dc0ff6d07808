// A plan for a rehearsal, from TOML.
#define TOML_EXCEPTIONS 0
#include <toml++/toml.h>

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "plan/rehearse_settings.hpp"

namespace leafwright {
namespace {

/// Line and column with the line itself.
Place place_in(std::string_view bytes, const std::string& file, const toml::source_region& at) {
  return {file, at.begin.line, at.begin.column, std::string(line_of(bytes, at.begin.line))};
}

/// A number or a text as a user would type it on the command line; empty for anything else.
std::optional<std::string> plain_text(const toml::node& node) {
  if (const auto* text = node.as_string()) return text->get();
  if (const auto* whole = node.as_integer()) return std::to_string(whole->get());
  if (const auto* real = node.as_floating_point()) {
    const std::string text = print_number(real->get());
    if (!text.empty()) return text;
  }
  return {};
}

bool is_list(const RehearseSettings& settings, const std::string& name) {
  for (const Settings* table :
       {&settings.source, &settings.leaf, &settings.chamber, &settings.record}) {
    for (const Setting& s : table->table()) {
      if (s.name == name) return s.kind == SettingKind::list;
    }
  }
  return false;
}

Result<void> take(const std::string& key, const toml::node& node, RehearseSettings& settings) {
  std::vector<std::string> parts;
  const auto add = [&parts](const toml::node& one) {
    auto text = plain_text(one);
    if (text) parts.push_back(std::move(*text));
    return text.has_value();
  };
  bool understood = true;
  if (const auto* array = node.as_array()) {
    for (const toml::node& one : *array) understood = add(one) && understood;
  } else {
    understood = add(node);
  }
  if (!understood || parts.empty()) {
    return fail(ErrorCode::usage, "'" + shortened(key) + "' is neither a number nor a text",
                "a number, a text in quotes, or a list of them");
  }
  if (!is_list(settings, key)) parts = {join(parts, ",")};
  for (const std::string& part : parts) {
    if (auto ok = settings.set(key, part, SettingOrigin::study); !ok) return ok;
  }
  return {};
}

}  // namespace

Result<void> read_plan(std::string_view bytes, const std::string& file,
                       RehearseSettings& settings) {
  const toml::parse_result parsed = toml::parse(bytes, file);
  if (!parsed) {
    return fail(ErrorCode::unreadable, std::string(parsed.error().description()), "TOML", "",
                place_in(bytes, file, parsed.error().source()));
  }
  for (const auto& [key, node] : parsed.table()) {
    const std::string name(key.str());
    Result<void> ok;
    if (name == "schema") {
      if (node.value<std::int64_t>() == 1) continue;
      ok = fail(ErrorCode::usage, "schema is not 1", "schema = 1, the only one there is");
    } else {
      ok = take(name, node, settings);
    }
    if (ok) continue;
    Error error = ok.error();
    error.place = place_in(bytes, file, node.source());
    return fail(std::move(error));
  }
  return {};
}

}  // namespace leafwright
