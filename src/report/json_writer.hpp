// Writes JSON (RFC 8259) in one pass, keys in the order given. A results file of a campaign holds
// tens of thousands of numbers; a tree in between costs more time than fitting them.
//
//   JsonWriter json;
//   json.open_object().field("ssr", 2.1).key("used").open_array(JsonWriter::Shape::line);
//   json.value(0).value(1).close().close();
//   json.finish();   // {\n  "ssr": 2.1,\n  "used": [0, 1]\n}\n
//
// A number that is not finite is missing, and missing is null: NaN never appears.
#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace leafwright {

class JsonWriter {
 public:
  /// `expected` bytes are set aside at once: growing a document of megabytes costs as much as
  /// writing it.
  explicit JsonWriter(std::size_t expected = 0) { out_.reserve(expected); }

  /// `block` puts every member on a line of its own, `line` keeps all on one.
  enum class Shape { block, line };

  JsonWriter& open_object(Shape shape = Shape::block) { return open('{', shape); }
  JsonWriter& open_array(Shape shape = Shape::block) { return open('[', shape); }
  /// Closes what was opened last. Nothing open throws std::logic_error.
  JsonWriter& close();

  /// Keys must be followed by one value. Bytes that are not UTF-8 become U+FFFD.
  JsonWriter& key(std::string_view key);

  JsonWriter& null();
  JsonWriter& value(double number);
  JsonWriter& value(std::optional<double> number) { return number ? value(*number) : null(); }
  JsonWriter& value(std::size_t number);
  JsonWriter& value(bool truth);
  JsonWriter& value(std::string_view text);
  JsonWriter& value(const char* text) { return value(std::string_view(text)); }
  JsonWriter& value(const std::string& text) { return value(std::string_view(text)); }

  template <class T>
  JsonWriter& field(std::string_view name, const T& what) {
    return key(name).value(what);
  }

  /// The document, with a line end. Anything still open throws std::logic_error.
  std::string finish();

 private:
  struct Level {
    char closing;
    Shape shape;
    bool empty = true;
  };
  JsonWriter& open(char bracket, Shape shape);
  void before_value();
  void next_member();
  void new_line();
  void quoted(std::string_view text);

  std::string out_;
  std::vector<Level> levels_;
  bool after_key_ = false;
};

}  // namespace leafwright
