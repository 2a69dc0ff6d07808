#include "ramp/path_json.hpp"

#include <algorithm>
#include <nlohmann/json.hpp>

namespace leafwright {

namespace {

using nlohmann::json;

/// Reads members and remembers the first that is not as it should be.
class Reader {
 public:
  explicit Reader(const json& object) : object_(object) {}

  double number(const char* key) {
    const json* member = find(key);
    if (member != nullptr && member->is_number()) return member->get<double>();
    miss(key, "a number");
    return 0;
  }
  std::optional<double> maybe(const char* key) {
    const json* member = find(key);
    if (member == nullptr || member->is_null()) return std::nullopt;
    return number(key);
  }
  std::string text(const char* key) {
    const json* member = find(key);
    if (member != nullptr && member->is_string()) return member->get<std::string>();
    miss(key, "a text");
    return "";
  }
  std::optional<std::string> maybe_text(const char* key) {
    const json* member = find(key);
    if (member == nullptr || member->is_null()) return std::nullopt;
    return text(key);
  }
  bool truth(const char* key) {
    const json* member = find(key);
    if (member != nullptr && member->is_boolean()) return member->get<bool>();
    miss(key, "true or false");
    return false;
  }
  std::vector<double> numbers(const char* key) {
    const json* member = find(key);
    const bool right = member != nullptr && member->is_array() &&
                       std::all_of(member->begin(), member->end(),
                                   [](const json& one) { return one.is_number(); });
    if (right) return member->get<std::vector<double>>();
    miss(key, "numbers in brackets");
    return {};
  }
  /// A number with its standard error in KEY_se; empty where it is null.
  std::optional<WithError> with_error(const std::string& key) {
    const auto value = maybe(key.c_str());
    if (!value) return std::nullopt;
    return WithError{*value, maybe((key + "_se").c_str()).value_or(0)};
  }
  /// A member that is an object, else null.
  const json* object(const char* key) {
    const json* member = find(key);
    if (member == nullptr || member->is_null()) return nullptr;
    if (member->is_object()) return member;
    miss(key, "an object");
    return nullptr;
  }
  void miss(const std::string& key, const std::string& expected) {
    if (!missed_.empty()) return;
    missed_ = "'" + key + "'";
    expected_ = expected;
  }
  [[nodiscard]] const std::string& missed() const { return missed_; }
  [[nodiscard]] const std::string& expected() const { return expected_; }

 private:
  const json* find(const char* key) const {
    const auto at = object_.find(key);
    return at == object_.end() ? nullptr : &*at;
  }
  const json& object_;
  std::string missed_, expected_;
};

PathConditions read_conditions(Reader& from) {
  PathConditions out;
  out.flow = from.number("flow");
  out.Patm = from.number("Patm");
  out.Tair = from.maybe("Tair");
  out.rate = from.maybe("rate");
  out.CO2_low = from.number("CO2_low");
  out.CO2_high = from.number("CO2_high");
  out.date = from.maybe_text("date");
  out.gasket = from.maybe_text("gasket");
  return out;
}

FlowLaw read_flow_law(Reader& from) {
  FlowLaw out;
  out.a = from.with_error("a").value_or(WithError{});
  out.b = from.with_error("b").value_or(WithError{});
  out.covariance = from.number("covariance");
  out.null_flow = from.with_error("null_flow");
  out.inlet_volume = from.with_error("inlet_volume");
  out.flows = from.numbers("flows");
  out.lags = from.numbers("lags");
  return out;
}

void read_parts(Reader& from, GasPath& path) {
  const auto part = [&](const char* key, const auto& read) {
    const json* object = from.object(key);
    if (object == nullptr) return false;
    Reader inner(*object);
    read(inner);
    if (!inner.missed().empty()) {
      from.miss(std::string(key) + "." + inner.missed(), inner.expected());
    }
    return true;
  };
  if (!part("conditions", [&](Reader& in) { path.conditions = read_conditions(in); })) {
    from.miss("conditions", "an object");
  }
  const bool offset = part("offset", [&](Reader& in) {
    path.offset = {in.number("c0"), in.number("c1"), in.number("c2")};
  });
  if (!offset) from.miss("offset", "an object with c0, c1, c2");
  part("flow_law", [&](Reader& in) { path.flow_law = read_flow_law(in); });
  part("leak", [&](Reader& in) {
    path.leak = PathLeak{in.with_error("K").value_or(WithError{}),
                         in.with_error("ambient").value_or(WithError{})};
  });
}

GasPath read_members(const json& document, Reader& from) {
  GasPath path;
  path.lag_s = from.with_error("lag_s");
  path.delay_s = from.with_error("delay_s");
  path.mixing_s = from.with_error("mixing_s");
  path.averaging_s = from.with_error("averaging_s");
  path.chamber_tau_s = from.maybe("chamber_tau_s");
  const auto covariance = from.numbers("covariance");
  if (covariance.size() == path.covariance.size()) {
    std::copy(covariance.begin(), covariance.end(), path.covariance.begin());
  } else {
    from.miss("covariance", "16 numbers");
  }
  path.noise_sd = from.number("noise_sd");
  path.noise_sd_R = from.number("noise_sd_R");
  path.noise_correlation = from.number("noise_correlation");
  path.leak_apart = from.truth("leak_apart");
  read_parts(from, path);
  const auto records = document.find("records");
  if (records != document.end() && records->is_array()) {
    for (const json& record : *records) {
      if (record.is_string()) path.records.push_back(record.get<std::string>());
    }
  }
  return path;
}

void read_notes(const json& document, GasPath& path) {
  const auto notes = document.find("notes");
  if (notes == document.end() || !notes->is_array()) return;
  for (const json& note : *notes) {
    if (!note.is_object()) continue;
    Reader from(note);
    const std::string level = from.text("level");
    path.notes.push_back({level == "warning"   ? NoteLevel::warning
                          : level == "caution" ? NoteLevel::caution
                                               : NoteLevel::info,
                          from.text("about"), from.text("text")});
  }
}

}  // namespace

Result<GasPath> read_path(std::string_view text, const std::string& file) {
  const Place place{file, 0, 0, ""};
  const std::string hint = "write it with: leafwright path EMPTY --instrument I --json FILE";
  const json document = json::parse(text.begin(), text.end(), nullptr, false);
  if (document.is_discarded() || !document.is_object()) {
    return fail(ErrorCode::unreadable, "no JSON object", "a gas path", hint, place);
  }
  Reader from(document);
  const std::string command = from.text("command");
  const double schema = from.number("schema");
  if (command != "path" || schema != 1) {
    return fail(ErrorCode::unreadable,
                command == "path" ? "another schema than 1" : "JSON of another command",
                "\"command\": \"path\", \"schema\": 1", hint, place);
  }
  GasPath path = read_members(document, from);
  if (!from.missed().empty()) {
    return fail(ErrorCode::unreadable, from.missed() + " is missing or of another kind",
                from.expected(), hint, place);
  }
  read_notes(document, path);
  return path;
}

}  // namespace leafwright
