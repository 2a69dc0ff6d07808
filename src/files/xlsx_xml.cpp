#include "files/xlsx_xml.hpp"

#include <expat.h>

#include <exception>
#include <memory>
#include <type_traits>

namespace leafwright {
namespace {

std::string_view without_prefix(std::string_view name) {
  const auto colon = name.rfind(':');
  return colon == std::string_view::npos ? name : name.substr(colon + 1);
}

struct Reading {
  XmlHandler& handler;
  XML_Parser parser;
  bool doctype = false;
  std::exception_ptr thrown = nullptr;

  /// Exceptions may not travel through a C library.
  template <class Call>
  void guarded(Call call) {
    try {
      if (thrown == nullptr) call();
    } catch (...) {
      thrown = std::current_exception();
      XML_StopParser(parser, XML_FALSE);
    }
  }
};

void XMLCALL on_begin(void* data, const char* name, const char** attributes) {
  auto& reading = *static_cast<Reading*>(data);
  reading.guarded([&] { reading.handler.begin(without_prefix(name), XmlAttributes(attributes)); });
}
void XMLCALL on_end(void* data, const char* name) {
  auto& reading = *static_cast<Reading*>(data);
  reading.guarded([&] { reading.handler.end(without_prefix(name)); });
}
void XMLCALL on_text(void* data, const char* bytes, int size) {
  auto& reading = *static_cast<Reading*>(data);
  reading.guarded([&] { reading.handler.text({bytes, static_cast<std::size_t>(size)}); });
}
void XMLCALL on_doctype(void* data, const char*, const char*, const char*, int) {
  auto& reading = *static_cast<Reading*>(data);
  reading.doctype = true;
  XML_StopParser(reading.parser, XML_FALSE);
}

}  // namespace

std::string_view XmlAttributes::get(std::string_view name) const {
  for (const char** at = pairs_; *at != nullptr; at += 2) {
    if (without_prefix(*at) == name) return at[1];
  }
  return {};
}

bool XmlAttributes::has(std::string_view name) const {
  for (const char** at = pairs_; *at != nullptr; at += 2) {
    if (without_prefix(*at) == name) return true;
  }
  return false;
}

Result<void> read_xml(ZipArchive& archive, const std::string& part, XmlHandler& handler) {
  const std::unique_ptr<std::remove_pointer_t<XML_Parser>, decltype(&XML_ParserFree)> parser(
      XML_ParserCreate(nullptr), &XML_ParserFree);
  if (parser == nullptr) throw std::bad_alloc();
  Reading reading{handler, parser.get()};
  XML_SetUserData(parser.get(), &reading);
  XML_SetElementHandler(parser.get(), on_begin, on_end);
  XML_SetCharacterDataHandler(parser.get(), on_text);
  XML_SetStartDoctypeDeclHandler(parser.get(), on_doctype);
  bool bad = false;
  const auto parse = [&](std::string_view bytes, bool last) {
    bad = XML_Parse(parser.get(), bytes.data(), static_cast<int>(bytes.size()), last ? 1 : 0) !=
          XML_STATUS_OK;
    return !bad && handler.wants_more();
  };
  if (auto ok = archive.read(part, [&](std::string_view bytes) { return parse(bytes, false); });
      !ok) {
    return ok;
  }
  if (!bad && handler.wants_more()) parse("", true);
  if (reading.thrown != nullptr) std::rethrow_exception(reading.thrown);
  if (reading.doctype) {
    return fail(ErrorCode::unreadable, "its part '" + part + "' brings a document type",
                "plain spreadsheet XML", "ask where the file came from");
  }
  if (bad) {
    return fail(ErrorCode::unreadable,
                "its part '" + part + "' is not well-formed: line " +
                    std::to_string(XML_GetCurrentLineNumber(parser.get())) + ": " +
                    XML_ErrorString(XML_GetErrorCode(parser.get())),
                "a whole .xlsx file", "open it in a spreadsheet program and save it again");
  }
  return {};
}

}  // namespace leafwright
