// Reads a figure back for the tests: a strict little XML reader (one root, matching tags, quoted
// attributes, known entities only) and the checks that hold for every figure.
#pragma once

#include <map>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

namespace leafwright::fixtures {

struct Element {
  std::string name;
  std::map<std::string, std::string> attributes;
  std::string text;       ///< own character data, entities resolved
  std::string title;      ///< text of a <title> child
  std::size_t depth = 0;  ///< 0: the root
  std::size_t parent = 0;
  [[nodiscard]] bool has(const std::string& key) const { return attributes.count(key) > 0; }
  [[nodiscard]] std::string get(const std::string& key) const {
    const auto it = attributes.find(key);
    return it == attributes.end() ? "" : it->second;
  }
};

/// Elements in document order. Throws std::runtime_error where the text is not well-formed.
class SvgReader {
 public:
  explicit SvgReader(std::string_view text) : text_(text) {}

  std::vector<Element> read() {
    while (at_ < text_.size()) {
      if (text_[at_] == '<') {
        tag();
      } else {
        const std::size_t end = std::min(text_.find('<', at_), text_.size());
        const std::string data = resolved(text_.substr(at_, end - at_));
        if (open_.empty() && data.find_first_not_of(" \n") != std::string::npos) {
          bad("text outside the root");
        }
        if (!open_.empty()) elements_[open_.back()].text += data;
        at_ = end;
      }
    }
    if (!open_.empty() || elements_.empty()) bad("an element is not closed");
    return std::move(elements_);
  }

 private:
  [[noreturn]] void bad(const std::string& what) const {
    throw std::runtime_error(what + " at byte " + std::to_string(at_) + ": " +
                             std::string(text_.substr(at_, 60)));
  }

  std::string resolved(std::string_view raw) const {
    static const std::map<std::string, std::string> known = {
        {"amp", "&"}, {"lt", "<"},  {"gt", ">"},   {"quot", "\""},
        {"#39", "'"}, {"#9", "\t"}, {"#10", "\n"}, {"#13", "\r"}};
    std::string out;
    for (std::size_t i = 0; i < raw.size(); ++i) {
      const auto c = static_cast<unsigned char>(raw[i]);
      if (c < 0x20 && c != '\n') bad("a control character");
      if (raw[i] == '<') bad("a bare <");
      if (raw[i] != '&') {
        out += raw[i];
        continue;
      }
      const std::size_t end = raw.find(';', i);
      if (end == std::string_view::npos) bad("a bare &");
      const auto entity = known.find(std::string(raw.substr(i + 1, end - i - 1)));
      if (entity == known.end()) bad("an unknown entity");
      out += entity->second;
      i = end;
    }
    return out;
  }

  void tag() {
    const std::size_t end = text_.find('>', at_);
    if (end == std::string_view::npos) bad("a tag that does not end");
    std::string_view body = text_.substr(at_ + 1, end - at_ - 1);
    if (!body.empty() && body[0] == '/') {
      if (open_.empty() || elements_[open_.back()].name != body.substr(1)) bad("a wrong end tag");
      const Element& closed = elements_[open_.back()];
      if (closed.name == "title" && closed.depth > 0) elements_[closed.parent].title = closed.text;
      open_.pop_back();
    } else {
      const bool empty = !body.empty() && body.back() == '/';
      if (empty) body.remove_suffix(1);
      start(body);
      if (empty) open_.pop_back();
    }
    at_ = end + 1;
  }

  void start(std::string_view body) {
    if (open_.empty() && !elements_.empty()) bad("a second root");
    Element e;
    std::size_t i = std::min(body.find(' '), body.size());
    e.name = std::string(body.substr(0, i));
    if (e.name.empty() || e.name.find_first_of("\"'=&") != std::string::npos) bad("a tag name");
    while (i < body.size()) {
      if (body[i] != ' ') bad("no blank before an attribute");
      const std::size_t equals = body.find("=\"", ++i);
      const std::size_t close = equals == body.npos ? body.npos : body.find('"', equals + 2);
      if (close == std::string_view::npos) bad("an attribute without its value");
      const std::string key(body.substr(i, equals - i));
      const std::string value = resolved(body.substr(equals + 2, close - equals - 2));
      if (!e.attributes.emplace(key, value).second) bad("an attribute given twice");
      i = close + 1;
    }
    e.depth = open_.size();
    e.parent = open_.empty() ? 0 : open_.back();
    elements_.push_back(e);
    open_.push_back(elements_.size() - 1);
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::vector<Element> elements_;
  std::vector<std::size_t> open_;
};

inline std::vector<Element> read_svg(const std::string& svg) {
  return SvgReader(svg).read();
}

/// Elements that carry the attribute.
inline std::vector<Element> with_attribute(const std::vector<Element>& all,
                                           const std::string& key) {
  std::vector<Element> found;
  for (const Element& e : all) {
    if (e.has(key)) found.push_back(e);
  }
  return found;
}

}  // namespace leafwright::fixtures
