// The campaign once more, as the invented recorder of the terrace wrote it: a file a day, with
// titles and units of its own, a decimal comma, and the accidents of three days in the field.
#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "campaign.hpp"

namespace leafwright::demo {
namespace {

constexpr long day = 86400;
constexpr long log_began = 9 * 3600 + 14 * 60 + 20;
constexpr double mistyped = 3.60;  // cm2: what was typed for the leaf whose area is wrong

std::string cell(double value, int digits) {
  std::string text = fmt::format("{:.{}f}", value, digits);
  std::replace(text.begin(), text.end(), '.', ',');
  return text;
}

std::string line(const Campaign& campaign, std::size_t index) {
  const Row& row = campaign.rows[index];
  const LeafPlan& leaf = campaign.leaves[row.leaf];
  const Readings& r = row.readings;
  const Derived d = derive(r);
  const auto unless_lost = [&row](double value, int digits) {
    return row.tleaf_lost ? std::string() : cell(value, digits);
  };
  const long s = (log_began + row.seconds) % day;
  const double area = leaf.leaf_id == mistyped_leaf ? mistyped : r.area;
  std::string out = fmt::format("{};{:02}:{:02}:{:02};{}_aci", index + 1, s / 3600, s / 60 % 60,
                                s % 60, leaf.leaf_id);
  out += ";" + cell(r.CO2r, 3) + ";" + cell(r.CO2s, 3) + ";" + cell(r.H2Or / 1e3, 7) + ";" +
         cell(r.H2Os / 1e3, 7) + ";" + cell(r.flow / 1e3, 5) + ";" + cell(area * 100, 0);
  out += ";" + cell(r.Patm * 10, 2) + ";" + cell(r.Tair, 3) + ";" + unless_lost(r.Tleaf, 3) + ";" +
         cell(r.Qin, 1) + ";" + cell(r.gbw / 1e3, 3) + ";" + cell(r.stomatal_ratio, 1);
  out += ";" + cell(d.A, 4) + ";" + cell(d.E / 1e3, 8) + ";" + unless_lost(d.gsw / 1e3, 6) + ";" +
         unless_lost(d.Ci, 3);
  return out + fmt::format(";{};{}\n", row.use ? 1 : 0, row.why);
}

}  // namespace

std::string terrace_log(const Campaign& campaign, int of_day) {
  std::string out = fmt::format(
      "Terrace recorder, invented for Leafwright's demo\n"
      "day;2025-06-{}\n"
      "\n"
      "no;clock;leaf mark;carbon in;carbon out;water in;water out;stream;patch;barometer;"
      "air warmth;leaf warmth;lamp;film;side ratio;net uptake;water loss;pores;inner carbon;use;"
      "why\n"
      "-;-;-;umol/mol;umol/mol;mol/mol;mol/mol;mmol/s;mm2;hPa;degC;degC;umol/m2/s;mol/m2/s;-;"
      "umol/m2/s;mol/m2/s;mol/m2/s;umol/mol;-;-\n",
      17 + of_day);
  std::size_t rows = 0;
  for (std::size_t i = 0; i < campaign.rows.size(); ++i) {
    if (campaign.rows[i].seconds / day != of_day) continue;
    out += line(campaign, i);
    // The third day's file was damaged on its way: bytes of another file in the middle, and it ends
    // in the middle of its last line.
    if (of_day == 2 && ++rows == 40) out += "\x12\xFB;;\xA7 unreadable \x7F;;;\n";
  }
  if (of_day == 2) out.resize(out.size() - 60);
  return out;
}

std::string samples_csv(const Campaign& campaign) {
  std::string out = "curve_id,leaf_id,plant_id,species,treatment,programme,area,area_method\n";
  for (const LeafPlan& leaf : campaign.leaves) {
    out += fmt::format("{0}_aci,{0},{1},{2},{3},steps,{4:.2f},outline on paper\n", leaf.leaf_id,
                       leaf.plant_id, leaf.species, leaf.treatment, leaf.area);
  }
  return out;
}

}  // namespace leafwright::demo
