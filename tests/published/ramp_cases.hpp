// The simulated ramps of data/ramps_simulated (see its README.md) as records, with their truth.
// Truth files are read here, apart from the library's own readers.
#pragma once

#include <array>
#include <limits>
#include <memory>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "air/flux.hpp"
#include "leaf/c3.hpp"
#include "leaf/c4.hpp"
#include "log/log.hpp"
#include "published/reference_csv.hpp"
#include "ramp/correction.hpp"
#include "ramp/record.hpp"
#include "table/table.hpp"

namespace leafwright::published {

inline std::string file_bytes(const std::string& path) {
  std::ifstream file(std::string(LEAFWRIGHT_TEST_DIR) + "/published/data/" + path,
                     std::ios::binary);
  if (!file) throw std::runtime_error("no file " + path);
  std::ostringstream out;
  out << file.rdbuf();
  return out.str();
}

struct RampCase {
  std::string name;
  RampRecord leaf, empty;
  bool c4 = false;
  C3Leaf c3;
  C4Leaf as_c4;
  Kinetics kinetics;
  C4Kinetics c4_kinetics;
  double lag_s = 0, tau_s = 0;
  std::vector<double> A, Ci;  ///< true, at the rows

  [[nodiscard]] double true_A(double at) const {
    return c4 ? c4_enzyme_limited_linear(at, as_c4, c4_kinetics)
              : c3_assimilation(at, c3, kinetics).A;
  }
  [[nodiscard]] CorrectionInput input(const GasPath& path) const {
    CorrectionInput in;
    in.leaf = &leaf;
    in.path = &path;
    in.empties = {&empty, 1};
    in.air.gbw_is = GbwIs::whole_leaf;
    in.gbw = 3000;
    return in;
  }
};

inline RampRecord record_of(const std::string& csv, const std::string& name, RecordRole role,
                            const Instrument& instrument) {
  auto table = read_table(csv, name);
  if (!table) throw std::runtime_error(table.error().text());
  const auto log = read_log(std::make_shared<const Table>(std::move(*table)));
  if (!log) throw std::runtime_error(log.error().text());
  auto record = ramp_record(*log, all_rows(*log), role, instrument, name);
  if (!record) throw std::runtime_error(record.error().text());
  return *record;
}

/// `name` such as "up200".
inline RampCase ramp_case(const std::string& name) {
  const std::string folder = "ramps_simulated/" + name;
  const std::string truth = file_bytes(folder + "_leaf_truth.json");
  const auto number = [&](const std::string& key, const std::string& after = "{") {
    return number_after(truth.substr(truth.find(after)), "\"" + key + "\": ");
  };
  RampCase out;
  out.name = name;
  Instrument instrument;
  instrument.chamber_volume = number("v_chamber");
  instrument.inlet_volume = number("v_in");
  out.leaf = record_of(file_bytes(folder + "_leaf.csv"), name, RecordRole::leaf, instrument);
  out.empty =
      record_of(file_bytes(folder + "_empty.csv"), name + " empty", RecordRole::empty, instrument);
  out.c4 = truth.find("\"kind\": \"C4\"") != std::string::npos;
  out.c3 = {number("Vcmax"), number("J"), number("TPU"), number("Rd")};
  out.kinetics = {number("Kc", "constants"), number("Ko", "constants"), number("O", "constants"),
                  number("Gstar", "constants"), number("Km", "constants")};
  out.as_c4 = {number("Vpmax"), number("Vpr"), number("Vcmax4"),
               std::numeric_limits<double>::infinity(), number("Rd")};
  out.c4_kinetics.Kp = number("Kp");
  out.c4_kinetics.gbs = number("gbs");
  out.lag_s = number("dL", "lags_s");
  out.tau_s = number("tau_ch", "lags_s");
  std::istringstream series(file_bytes(folder + "_leaf_truth_series.csv"));
  std::string line;
  std::getline(series, line);
  while (std::getline(series, line)) {
    const auto f = split_csv(line);
    out.A.push_back(std::strtod(f.at(4).c_str(), nullptr));
    out.Ci.push_back(std::strtod(f.at(5).c_str(), nullptr));
  }
  return out;
}

}  // namespace leafwright::published
