// Logs from text, for the tests of this room.
#pragma once

#include <gtest/gtest.h>

#include <memory>
#include <string>

#include "log/cut.hpp"
#include "log/log.hpp"
#include "log/time.hpp"

namespace leafwright::testing_logs {

inline Log log_of(const std::string& text, const std::string& file = "day1.csv",
                  const ColumnMap& map = {}) {
  auto table = read_table(text, file);
  if (!table) throw std::runtime_error(table.error().text());
  auto log = read_log(std::make_shared<const Table>(std::move(*table)), map);
  if (!log) throw std::runtime_error(log.error().text());
  return std::move(*log);
}

inline Samples samples_of(const std::string& text) {
  const auto table = read_table(text, "leaves.csv");
  if (!table) throw std::runtime_error(table.error().text());
  auto samples = read_samples(*table);
  if (!samples) throw std::runtime_error(samples.error().text());
  return std::move(*samples);
}

inline bool has_note(const Notes& notes, const std::string& about, const std::string& part = "") {
  for (const Note& note : notes) {
    if (note.about == about && note.text.find(part) != std::string::npos) return true;
  }
  return false;
}

}  // namespace leafwright::testing_logs
