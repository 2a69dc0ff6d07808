#include "report/json_writer.hpp"

#include <gtest/gtest.h>
#include <rapidcheck/gtest.h>

#include <cmath>
#include <limits>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace leafwright {
namespace {

constexpr auto line = JsonWriter::Shape::line;

std::string one(double value) {
  JsonWriter json;
  json.value(value);
  return json.finish();
}

TEST(JsonWriter, WritesBlocksAndLines) {
  JsonWriter json;
  json.open_object().field("ssr", 2.1).key("used").open_array(line);
  json.value(std::size_t{0}).value(std::size_t{1}).close().key("none").open_array().close();
  json.key("ok").value(true).key("gone").null().close();
  EXPECT_EQ(json.finish(),
            "{\n  \"ssr\": 2.1,\n  \"used\": [0, 1],\n  \"none\": [],\n  \"ok\": true,\n"
            "  \"gone\": null\n}\n");
}

TEST(JsonWriter, WhatStandsInALineStaysThere) {
  JsonWriter json;
  json.open_array(line).open_object().field("a", 1.0).close().close();
  EXPECT_EQ(json.finish(), "[{\"a\": 1}]\n");
}

TEST(JsonWriter, WhatIsNotFiniteIsNull) {
  EXPECT_EQ(one(std::numeric_limits<double>::quiet_NaN()), "null\n");
  EXPECT_EQ(one(std::numeric_limits<double>::infinity()), "null\n");
  EXPECT_EQ(one(-std::numeric_limits<double>::infinity()), "null\n");
  EXPECT_EQ(one(-0.0), "0\n");
}

RC_GTEST_PROP(JsonWriter, NumbersReadBackTheSame, (double value)) {
  RC_PRE(std::isfinite(value));
  RC_ASSERT(nlohmann::json::parse(one(value)).get<double>() == value);
}

RC_GTEST_PROP(JsonWriter, AnyTextIsValidJson, (const std::string& text)) {
  JsonWriter json;
  json.open_object().field(text, text).close();
  RC_ASSERT(nlohmann::json::accept(json.finish()));
}

TEST(JsonWriter, TextReadsBackTheSame) {
  const std::string text = "leaf \"7\"\\ \n\t\x01 \xc2\xb5mol";
  JsonWriter json;
  json.value(text);
  EXPECT_EQ(nlohmann::json::parse(json.finish()).get<std::string>(), text);
}

TEST(JsonWriter, BytesThatAreNotUtf8AreReplaced) {
  JsonWriter json;
  json.value("caf\xe9");
  EXPECT_EQ(json.finish(), "\"caf\xef\xbf\xbd\"\n");
}

TEST(JsonWriter, MisuseThrows) {
  EXPECT_THROW(JsonWriter().close(), std::logic_error);
  EXPECT_THROW(JsonWriter().key("a"), std::logic_error);
  EXPECT_THROW(JsonWriter().open_object().value(1.0), std::logic_error);
  EXPECT_THROW(JsonWriter().open_object().key("a").key("b"), std::logic_error);
  EXPECT_THROW(JsonWriter().open_object().key("a").close(), std::logic_error);
  EXPECT_THROW(JsonWriter().value(1.0).value(2.0), std::logic_error);
  EXPECT_THROW(JsonWriter().open_array().finish(), std::logic_error);
}

}  // namespace
}  // namespace leafwright
