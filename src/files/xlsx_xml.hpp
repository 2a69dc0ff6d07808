// XML in pieces, by expat: the elements of a part one after the other, never the whole tree. Used
// by xlsx.cpp only.
#pragma once

#include <functional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/error.hpp"
#include "files/xlsx_zip.hpp"

namespace leafwright {

/// Attributes of an element, valid during the call.
class XmlAttributes {
 public:
  explicit XmlAttributes(const char** pairs) : pairs_(pairs) {}
  /// The value, "" where there is none. Prefixes of names are ignored.
  [[nodiscard]] std::string_view get(std::string_view name) const;
  [[nodiscard]] bool has(std::string_view name) const;

 private:
  const char** pairs_;
};

/// What is called while a part is read. Names come without their prefix.
struct XmlHandler {
  XmlHandler() = default;
  XmlHandler(const XmlHandler&) = delete;
  XmlHandler& operator=(const XmlHandler&) = delete;
  virtual ~XmlHandler() = default;
  virtual void begin(std::string_view name, const XmlAttributes& attributes) = 0;
  virtual void end(std::string_view /*name*/) {}
  virtual void text(std::string_view /*bytes*/) {}
  /// False ends the reading early, without an error of its own.
  [[nodiscard]] virtual bool wants_more() const { return true; }
};

/// Reads a part. Errors: as ZipArchive::read; unreadable, for a part that is not well-formed or
/// brings a document type (which spreadsheets have no use for, and attacks do).
Result<void> read_xml(ZipArchive& archive, const std::string& part, XmlHandler& handler);

}  // namespace leafwright
