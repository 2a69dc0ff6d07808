// The 27 models of the NIST/ITL Statistical Reference Datasets, nonlinear regression, written from
// the formulas in data/nist/datasets.csv (column `model`), and a reader for the files beside it.
#pragma once

#include <cmath>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <map>
#include <numbers>
#include <span>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

namespace leafwright::nist {

using Model = std::function<double(std::span<const double> b, std::span<const double> x)>;

struct Set {
  std::string name;
  std::vector<std::string> parameters;
  std::vector<double> start1, start2, certified, certified_sd;
  double certified_rss = 0;
  std::vector<double> y;
  std::vector<std::vector<double>> x;  ///< predictors of each row
  Model model;
};

using Parameters = std::span<const double>;

inline double exponentials(Parameters b, double x) {  // Lanczos1-3
  return b[0] * std::exp(-b[1] * x) + b[2] * std::exp(-b[3] * x) + b[4] * std::exp(-b[5] * x);
}

inline double peaks(Parameters b, double x) {  // Gauss1-3
  const double first = (x - b[3]) / b[4], second = (x - b[6]) / b[7];
  return b[0] * std::exp(-b[1] * x) + b[2] * std::exp(-first * first) +
         b[5] * std::exp(-second * second);
}

inline double cubic_ratio(Parameters b, double x) {  // Hahn1, Thurber
  return (b[0] + x * (b[1] + x * (b[2] + x * b[3]))) / (1 + x * (b[4] + x * (b[5] + x * b[6])));
}

inline double oscillation(Parameters b, double x) {  // ENSO
  const double turn = 2 * std::numbers::pi * x;
  return b[0] + b[1] * std::cos(turn / 12) + b[2] * std::sin(turn / 12) +
         b[4] * std::cos(turn / b[3]) + b[5] * std::sin(turn / b[3]) +
         b[7] * std::cos(turn / b[6]) + b[8] * std::sin(turn / b[6]);
}

inline double chwirut(Parameters b, double x) {
  return std::exp(-b[0] * x) / (b[1] + b[2] * x);
}

inline const std::map<std::string, Model>& models() {
  using X = std::span<const double>;
  using std::exp, std::pow;
  static const std::map<std::string, Model> all = {
      {"Bennett5", [](Parameters b, X x) { return b[0] * pow(b[1] + x[0], -1 / b[2]); }},
      {"BoxBOD", [](Parameters b, X x) { return b[0] * (1 - exp(-b[1] * x[0])); }},
      {"Chwirut1", [](Parameters b, X x) { return chwirut(b, x[0]); }},
      {"Chwirut2", [](Parameters b, X x) { return chwirut(b, x[0]); }},
      {"DanWood", [](Parameters b, X x) { return b[0] * pow(x[0], b[1]); }},
      {"ENSO", [](Parameters b, X x) { return oscillation(b, x[0]); }},
      {"Eckerle4",
       [](Parameters b, X x) {
         const double z = (x[0] - b[2]) / b[1];
         return b[0] / b[1] * exp(-0.5 * z * z);
       }},
      {"Gauss1", [](Parameters b, X x) { return peaks(b, x[0]); }},
      {"Gauss2", [](Parameters b, X x) { return peaks(b, x[0]); }},
      {"Gauss3", [](Parameters b, X x) { return peaks(b, x[0]); }},
      {"Hahn1", [](Parameters b, X x) { return cubic_ratio(b, x[0]); }},
      {"Kirby2",
       [](Parameters b, X x) {
         return (b[0] + x[0] * (b[1] + x[0] * b[2])) / (1 + x[0] * (b[3] + x[0] * b[4]));
       }},
      {"Lanczos1", [](Parameters b, X x) { return exponentials(b, x[0]); }},
      {"Lanczos2", [](Parameters b, X x) { return exponentials(b, x[0]); }},
      {"Lanczos3", [](Parameters b, X x) { return exponentials(b, x[0]); }},
      {"MGH09", [](Parameters b,
                   X x) { return b[0] * x[0] * (x[0] + b[1]) / (x[0] * (x[0] + b[2]) + b[3]); }},
      {"MGH10", [](Parameters b, X x) { return b[0] * exp(b[1] / (x[0] + b[2])); }},
      {"MGH17", [](Parameters b,
                   X x) { return b[0] + b[1] * exp(-x[0] * b[3]) + b[2] * exp(-x[0] * b[4]); }},
      {"Misra1a", [](Parameters b, X x) { return b[0] * (1 - exp(-b[1] * x[0])); }},
      {"Misra1b", [](Parameters b, X x) { return b[0] * (1 - pow(1 + b[1] * x[0] / 2, -2)); }},
      {"Misra1c", [](Parameters b, X x) { return b[0] * (1 - pow(1 + 2 * b[1] * x[0], -0.5)); }},
      {"Misra1d", [](Parameters b, X x) { return b[0] * b[1] * x[0] / (1 + b[1] * x[0]); }},
      // The response of Nelson is log(y): see read().
      {"Nelson", [](Parameters b, X x) { return b[0] - b[1] * x[0] * exp(-b[2] * x[1]); }},
      {"Rat42", [](Parameters b, X x) { return b[0] / (1 + exp(b[1] - b[2] * x[0])); }},
      {"Rat43",
       [](Parameters b, X x) { return b[0] / pow(1 + exp(b[1] - b[2] * x[0]), 1 / b[3]); }},
      // The certified values take the arctangent on (0, pi); its principal branch gives a residual
      // sum of squares of 25 instead of 4.9e-4 (stated in datasets.csv, column `note`).
      {"Roszman1",
       [](Parameters b, X x) {
         return b[0] - b[1] * x[0] - std::atan2(b[2], x[0] - b[3]) / std::numbers::pi;
       }},
      {"Thurber", [](Parameters b, X x) { return cubic_ratio(b, x[0]); }},
  };
  return all;
}

inline std::vector<std::vector<std::string>> cells(const std::string& file) {
  std::ifstream in(file);
  if (!in) throw std::runtime_error("cannot read " + file);
  std::vector<std::vector<std::string>> rows;
  std::string line, cell;
  std::getline(in, line);  // header
  while (std::getline(in, line)) {
    std::istringstream row(line);
    rows.emplace_back();
    while (std::getline(row, cell, ',')) rows.back().push_back(cell);
  }
  return rows;
}

inline double number(const std::string& text) {
  return std::strtod(text.c_str(), nullptr);
}

/// All sets, in the order of datasets.csv.
inline std::vector<Set> read(const std::string& folder) {
  std::vector<Set> sets;
  for (const auto& row : cells(folder + "/datasets.csv")) {
    Set set;
    set.name = row.at(0);
    set.certified_rss = number(row.at(6));
    set.model = models().at(set.name);
    for (const auto& p : cells(folder + "/certified_parameters.csv")) {
      if (p.at(0) != set.name) continue;
      set.parameters.push_back(p.at(1));
      set.start1.push_back(number(p.at(2)));
      set.start2.push_back(number(p.at(3)));
      set.certified.push_back(number(p.at(4)));
      set.certified_sd.push_back(number(p.at(5)));
    }
    for (const auto& point : cells(folder + "/" + set.name + "_data.csv")) {
      const double y = number(point.at(0));
      set.y.push_back(set.name == "Nelson" ? std::log(y) : y);
      set.x.emplace_back();
      for (std::size_t k = 1; k < point.size(); ++k) set.x.back().push_back(number(point[k]));
    }
    if (set.y.size() != static_cast<std::size_t>(number(row.at(1))) ||
        set.certified.size() != static_cast<std::size_t>(number(row.at(2))))
      throw std::runtime_error("wrong size of " + set.name);
    sets.push_back(std::move(set));
  }
  return sets;
}

}  // namespace leafwright::nist
