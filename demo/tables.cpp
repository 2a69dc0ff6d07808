// The campaign as the two tables that are kept beside this program.
#include <fmt/format.h>

#include <array>

#include "campaign.hpp"
#include "leaf/response.hpp"

namespace leafwright::demo {
namespace {

constexpr long day = 86400;
constexpr long log_began = 9 * 3600 + 14 * 60 + 20;  // 09:14:20, no time zone needed
constexpr std::array<const char*, 3> dates = {"2025-06-17", "2025-06-18", "2025-06-19"};

std::string clock(long seconds) {
  const long s = (log_began + seconds) % day;
  return fmt::format("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60);
}

const char* remark(const LeafPlan& leaf) {
  switch (leaf.quirk) {
    case Quirk::none:
      return "";
    case Quirk::few_points:
      return "few points";
    case Quirk::low_co2_only:
      return "stops near ambient CO2: RuBP regeneration is hardly seen";
    case Quirk::closing_stomata:
      return "small and falling stomatal conductance";
    case Quirk::warming_leaf:
      return "leaf temperature rises by 3 K";
    case Quirk::unsettled_row:
      return "one row logged while the chamber still followed a step; not marked in the log";
    case Quirk::breath_row:
      return "one row with exhaled air at the gasket; not marked in the log";
    case Quirk::lamp_flicker:
      return "two rows at lower light; marked in the log";
    case Quirk::not_steady_row:
      return "one row logged too early; marked in the log";
    case Quirk::lost_thermocouple:
      return "one row without leaf temperature; marked in the log";
  }
  return "";
}

std::string point_line(const Campaign& campaign, std::size_t index) {
  const Row& row = campaign.rows[index];
  const LeafPlan& leaf = campaign.leaves[row.leaf];
  const Readings& r = row.readings;
  const Derived d = derive(r);
  // Without leaf temperature there is no gradient, and so no conductance and no Ci.
  const auto unless_lost = [&row](double value, int digits) {
    return row.tleaf_lost ? std::string() : fmt::format("{:.{}f}", value, digits);
  };
  std::string out =
      fmt::format("{},{},{}_aci,{},{},{},{},{},{}", leaf.leaf_id, leaf.plant_id, leaf.leaf_id,
                  leaf.species, leaf.treatment, dates[static_cast<std::size_t>(row.seconds / day)],
                  clock(row.seconds), index + 1, row.seconds);
  out += fmt::format(",{:.4f},{},{:.3f},{:.3f},{:.4f},{:.4f},{:.2f},{:.2f},{:.3f}", d.A,
                     unless_lost(d.Ci, 3), r.CO2r, r.CO2s, r.H2Or, r.H2Os, r.flow, r.area, r.Patm);
  out += fmt::format(",{:.3f},{},{:.1f},{},{:.0f},{:.1f},{:.5f},{},{:.3f}", r.Tair,
                     unless_lost(r.Tleaf, 3), r.Qin, unless_lost(d.gsw, 3), r.gbw, r.stomatal_ratio,
                     d.E, unless_lost(d.VPDleaf, 5), d.RHs);
  return out + fmt::format(",{},{}\n", row.use ? 1 : 0, row.why);
}

struct Tally {
  std::size_t rows = 0, used = 0, rubisco = 0, rubp = 0, tpu = 0, unmarked_faults = 0;
  double Tleaf = 0;  ///< mean of the used rows, degC
};

Tally tally(const Campaign& campaign, std::size_t leaf) {
  Tally t;
  for (const Row& row : campaign.rows) {
    if (row.leaf != leaf) continue;
    ++t.rows;
    if (!row.use) continue;
    ++t.used;
    t.Tleaf += row.readings.Tleaf;
    if (row.faulty) ++t.unmarked_faults;
    if (row.limited_by == Limitation::rubisco) ++t.rubisco;
    if (row.limited_by == Limitation::rubp) ++t.rubp;
    if (row.limited_by == Limitation::tpu) ++t.tpu;
  }
  t.Tleaf /= static_cast<double>(t.used);
  return t;
}

}  // namespace

std::string points_csv(const Campaign& campaign) {
  std::string out =
      "leaf_id,plant_id,curve_id,species,treatment,date,time,record,elapsed_s,A,Ci,CO2r,CO2s,H2Or,"
      "H2Os,flow,area,Patm,Tair,Tleaf,Qin,gsw,gbw,stomatal_ratio,E,VPDleaf,RHs,use,why\n";
  for (std::size_t i = 0; i < campaign.rows.size(); ++i) out += point_line(campaign, i);
  return out;
}

std::string truth_csv(const Campaign& campaign) {
  const ResponseSet& plain = **find_response("bernacchi-2001");
  const ResponseSet& of_tpu = **find_response("sharkey-2007");
  std::string out =
      "leaf_id,plant_id,curve_id,species,treatment,Vcmax25,J25,TPU25,Rday25,Tleaf,Vcmax,J,TPU,Rday,"
      "rows,rows_used,rubisco_rows,rubp_rows,tpu_rows,unmarked_faults,remark,lag_s\n";
  for (std::size_t i = 0; i < campaign.leaves.size(); ++i) {
    const LeafPlan& leaf = campaign.leaves[i];
    const Tally t = tally(campaign, i);
    const double T = t.Tleaf;
    out += fmt::format("{},{},{}_aci,{},{},{:.3f},{:.3f},{:.4f},{:.4f},{:.3f}", leaf.leaf_id,
                       leaf.plant_id, leaf.leaf_id, leaf.species, leaf.treatment, leaf.at25.Vcmax,
                       leaf.at25.J, leaf.at25.TPU, leaf.at25.Rday, T);
    out += fmt::format(",{:.3f},{:.3f},{:.4f},{:.4f}", leaf.at25.Vcmax * plain.Vcmax->factor(T),
                       leaf.at25.J * plain.J->factor(T), leaf.at25.TPU * of_tpu.TPU->factor(T),
                       leaf.at25.Rday * plain.Rday->factor(T));
    out += fmt::format(",{},{},{},{},{},{},{},\n", t.rows, t.used, t.rubisco, t.rubp, t.tpu,
                       t.unmarked_faults, remark(leaf));
  }
  return out;
}

}  // namespace leafwright::demo
