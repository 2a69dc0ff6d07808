// What the leaves of the demo truly are.
#pragma once

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

namespace leafwright::cli_test {

/// curve_id -> column -> number, of truth.csv.
inline std::map<std::string, std::map<std::string, double>> demo_truth() {
  std::ifstream file(std::filesystem::path(LEAFWRIGHT_SOURCE_DIR) / "demo" / "truth.csv");
  std::string line, cell;
  std::getline(file, line);
  std::vector<std::string> names;
  for (std::stringstream heads(line); std::getline(heads, cell, ',');) names.push_back(cell);
  std::map<std::string, std::map<std::string, double>> out;
  while (std::getline(file, line)) {
    std::map<std::string, double> row;
    std::string id;
    std::stringstream cells(line);
    for (std::size_t i = 0; std::getline(cells, cell, ','); ++i) {
      if (names[i] == "curve_id") id = cell;
      row[names[i]] = std::strtod(cell.c_str(), nullptr);
    }
    out[id] = row;
  }
  return out;
}

}  // namespace leafwright::cli_test
