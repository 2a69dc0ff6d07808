#include "log/propose_pool.hpp"

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "quantity/symbol.hpp"
#include "quantity/unit.hpp"

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

/// What is physically possible, in the symbol's unit: wider than what is plausible. Common
/// practice, no source. The median of the values must lie inside, and 9 of 10 of them.
struct RoleRule {
  Role role;
  std::string_view symbol;
  double low, high;
  std::vector<const char*> units;
  bool either_sign = false;
};

const std::vector<const char*> fraction_units_co2 = {"umol mol-1", "mmol mol-1", "mol mol-1",
                                                     "Pa",         "kPa",        "hPa"};
const std::vector<const char*> fraction_units_h2o = {"mmol mol-1", "mol mol-1", "umol mol-1",
                                                     "kPa",        "hPa",       "Pa"};
const std::vector<const char*> conductances = {"mmol m-2 s-1", "mol m-2 s-1", "umol m-2 s-1"};
const std::vector<const char*> temperatures = {"degC", "K"};
const std::vector<const char*> pressures = {"kPa", "hPa", "Pa", "bar", "atm"};

const std::vector<RoleRule>& rules() {
  static const std::vector<RoleRule> all = {
      {Role::A, "A", -60, 150, {"umol m-2 s-1", "mmol m-2 s-1"}, true},
      {Role::E, "E", -1, 40, conductances},
      {Role::gsw, "gsw", -20, 4000, conductances},
      {Role::Ci, "Ci", -100, 3000, fraction_units_co2},
      {Role::CO2r, "CO2r", -5, 3200, fraction_units_co2},
      {Role::CO2s, "CO2s", -5, 3200, fraction_units_co2},
      {Role::H2Or, "H2Or", -0.5, 75, fraction_units_h2o},
      {Role::H2Os, "H2Os", 0.2, 80, fraction_units_h2o},
      {Role::dCO2, "dCO2", -800, 800, {"umol mol-1", "mmol mol-1", "mol mol-1"}, true},
      {Role::dH2O, "dH2O", -1, 50, {"mmol mol-1", "mol mol-1", "umol mol-1"}, true},
      {Role::flow,
       "flow",
       8,
       4000,
       {"umol s-1", "mmol s-1", "mol s-1", "mL/min at 0 degC, 101.325 kPa",
        "mL/min at 20 degC, 101.325 kPa", "mL/min at 25 degC, 101.325 kPa",
        "L/min at 0 degC, 101.325 kPa", "L/min at 20 degC, 101.325 kPa",
        "L/min at 25 degC, 101.325 kPa"}},
      {Role::area, "area", 0.02, 800, {"cm2", "m2", "mm2"}},
      {Role::Tleaf, "Tleaf", -10, 55, temperatures},
      {Role::Patm, "Patm", 50, 112, pressures},
      {Role::gbw, "gbw", 80, 20000, conductances},
      {Role::overpressure, "chamber_overpressure", -1, 4, {"kPa", "hPa", "Pa"}},
      {Role::stomatal_ratio, "stomatal_ratio", 0, 10, {"1"}},
      {Role::VPDleaf, "VPDleaf", -0.2, 9, {"kPa", "hPa", "Pa"}},
      {Role::RHs, "RHs", 0, 105, {"%", "1"}},
      {Role::Tair, "Tair", -15, 55, temperatures},
  };
  return all;
}

const RoleRule& rule_of(Role role) {
  return rules()[static_cast<std::size_t>(role)];
}

bool inside(const Series& values, double low, double high) {
  std::size_t n = 0, out = 0;
  for (const double value : values) {
    if (std::isnan(value)) continue;
    ++n;
    out += value < low || value > high ? 1U : 0U;
  }
  return n >= 5 && 10 * out <= n;
}

/// Values in the role's unit; empty where the unit does not suit it. `partial` for a partial
/// pressure, whose values are then kPa.
std::optional<Series> converted(const Series& raw, double factor, const std::string& unit,
                                std::string_view target, bool& partial) {
  const auto from = parse_unit(unit);
  if (!from) return std::nullopt;
  Unit to = known_unit(target);
  partial = to.dimension == known_unit("mol mol-1").dimension &&
            from->dimension == known_unit("kPa").dimension;
  if (partial) to = known_unit("kPa");
  const auto convert = conversion(*from, to);
  if (!convert) return std::nullopt;
  Series out;
  out.reserve(raw.size());
  for (const double value : raw) out.push_back((*convert)(factor * value));
  return out;
}

bool is_water(Role role) {
  return role == Role::H2Or || role == Role::H2Os;
}

}  // namespace

double median_of(Series values) {
  values.erase(std::remove_if(values.begin(), values.end(), [](double v) { return std::isnan(v); }),
               values.end());
  if (values.empty()) return missing;
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

std::string_view role_symbol(Role role) {
  return rule_of(role).symbol;
}

/// Rows spread over the log, those with the most numbers among their neighbours.
void Pool::sample(const Table& table, std::size_t wanted) {
  const std::size_t all = table.rows(), parts = std::min(all, wanted);
  for (std::size_t part = 0; part < parts; ++part) {
    const std::size_t begin = part * all / parts, end = (part + 1) * all / parts;
    std::size_t best = begin, most = 0;
    // Three rows of each stretch are enough to step over a gap.
    for (std::size_t try_at = 0; try_at < 3 && begin + try_at < end; ++try_at) {
      const std::size_t row = begin + try_at * (end - begin) / 3;
      std::size_t numbers = 0;
      for (std::size_t column = 0; column < table.columns(); ++column) {
        numbers += table.value(column, row).kind == CellKind::number ? 1U : 0U;
      }
      if (numbers > most) {
        most = numbers;
        best = row;
      }
    }
    rows_.push_back(best);
  }
}

void Pool::keep(Role role, ColumnCandidate candidate) {
  const RoleRule& rule = rule_of(role);
  if (!inside(candidate.values, rule.low, rule.high)) return;
  candidate.median = median_of(candidate.values);
  // What is called a flux of a leaf is not zero throughout, and no two records of it are equal.
  if (candidate.median == 0 && role != Role::overpressure && role != Role::H2Or) return;
  constexpr std::array<Role, 8> varying = {Role::A,    Role::E,    Role::gsw,  Role::Ci,
                                           Role::CO2s, Role::dCO2, Role::dH2O, Role::VPDleaf};
  if (std::find(varying.begin(), varying.end(), role) != varying.end() &&
      inside(candidate.values, candidate.median, candidate.median)) {
    return;
  }
  candidates_[static_cast<std::size_t>(role)].push_back(std::move(candidate));
}

void Pool::add_readings(Role role, std::size_t column, const Series& raw,
                        const std::optional<std::string>& stated) {
  const RoleRule& rule = rule_of(role);
  std::vector<std::string> units(rule.units.begin(), rule.units.end());
  if (stated) units = {*stated};
  for (const std::string& unit : units) {
    for (const double factor : {1.0, -1.0}) {
      if (factor < 0 && !rule.either_sign) continue;
      bool partial = false;
      auto values = converted(raw, factor, unit,
                              rule.symbol == "RHs" && unit == "1" ? std::string_view("%")
                                                                  : find_symbol(rule.symbol)->unit,
                              partial);
      if (!values) continue;
      ColumnCandidate candidate{column, unit, factor, false, std::nullopt, std::move(*values),
                                0,      0};
      // What a log seldom holds is looked at only when nothing else agrees.
      const bool rare = (unit == "umol m-2 s-1" && role != Role::A) ||
                        (unit == "umol mol-1" && (is_water(role) || role == Role::dH2O));
      if (!stated && (rare || unit == "atm")) candidate.level = 1;
      const std::size_t patms = partial ? of(Role::Patm).size() : 1;
      for (std::size_t p = 0; p < patms; ++p) {
        ColumnCandidate one = candidate;
        if (partial) {
          const double scale = is_water(role) ? 1e3 : 1e6;
          one.pressure = p;
          one.level = 1;
          for (std::size_t i = 0; i < one.values.size(); ++i) {
            one.values[i] *= scale / of(Role::Patm)[p].values[i];
          }
        }
        if (is_water(role) && !partial) {
          ColumnCandidate dry = one;
          dry.dry = true;
          dry.level = 1;
          for (double& value : dry.values) value /= 1 + value / 1000;
          keep(role, std::move(dry));
        }
        keep(role, std::move(one));
      }
    }
  }
}

void Pool::add_column(const Table& table, std::size_t column, const PoolChoice& choice) {
  const Series& raw = raw_[column];
  std::string stated;
  if (choice.units) stated = table.unit(column, 0);
  const MappedColumn* mapped = nullptr;
  for (const MappedColumn& one : known_.columns) {
    const bool here = one.title == table.title(column) || one.title == table.name(column) ||
                      one.title == "#" + std::to_string(column + 1);
    if (here) mapped = &one;
  }
  const std::string& name = table.name(column);
  const bool titled = choice.titles && find_symbol(name) != nullptr;
  for (const RoleRule& rule : rules()) {
    if (rule.role == Role::Patm) continue;  // taken first, as partial pressures need it
    std::string_view fixed = mapped != nullptr ? std::string_view(mapped->symbol)
                             : titled          ? std::string_view(name)
                                               : std::string_view();
    if (fixed == "CO2r_dry" || fixed == "CO2s_dry" || fixed == "H2Or_dry" || fixed == "H2Os_dry") {
      fixed.remove_suffix(4);
    }
    if (!fixed.empty() && fixed != rule.symbol) continue;
    std::optional<std::string> unit;
    if (mapped != nullptr && !mapped->unit.empty()) {
      unit = mapped->unit;
    } else if (!stated.empty()) {
      unit = stated;
    }
    add_readings(rule.role, column, raw, unit);
  }
}

void Pool::add_constants() {
  for (std::size_t i = 0; i < known_.constants.size(); ++i) {
    for (const RoleRule& rule : rules()) {
      if (rule.symbol != known_.constants[i].symbol) continue;
      const std::string unit(find_symbol(rule.symbol)->unit);
      keep(rule.role, {constant_column + i, unit, 1, false, std::nullopt,
                       Series(rows_.size(), known_.constants[i].value), 0, 0});
    }
  }
}

Pool::Pool(const Table& table, const ColumnMap& known, const PoolChoice& choice) : known_(known) {
  sample(table, choice.rows);
  raw_.resize(table.columns());
  for (std::size_t column = 0; column < table.columns(); ++column) {
    for (const std::size_t row : rows_) {
      const CellValue cell = table.value(column, row);
      raw_[column].push_back(cell.kind == CellKind::number ? cell.number : missing);
    }
  }
  add_constants();
  // Pressures first: partial pressures need one. It changes little within a log, and a log holds
  // few columns that could be it.
  for (std::size_t column = 0; column < table.columns(); ++column) {
    const std::string& name = table.name(column);
    if (choice.titles && find_symbol(name) != nullptr && name != "Patm") continue;
    std::optional<std::string> unit;
    if (choice.units && !table.unit(column, 0).empty()) unit = table.unit(column, 0);
    const std::size_t before = of(Role::Patm).size();
    add_readings(Role::Patm, column, raw_[column], unit);
    auto& list = candidates_[static_cast<std::size_t>(Role::Patm)];
    list.erase(std::remove_if(list.begin() + static_cast<std::ptrdiff_t>(before), list.end(),
                              [](const ColumnCandidate& one) {
                                return !inside(one.values, 0.97 * one.median, 1.03 * one.median);
                              }),
               list.end());
  }
  for (std::size_t column = 0; column < table.columns(); ++column) {
    add_column(table, column, choice);
  }
}

Pool::Pool(const Log& log) {
  rows_.resize(log.rows());
  for (std::size_t row = 0; row < log.rows(); ++row) rows_[row] = row;
  for (const RoleRule& rule : rules()) {
    auto& list = candidates_[static_cast<std::size_t>(rule.role)];
    const Channel* channel = log.find(rule.symbol);
    if (channel == nullptr) continue;
    ColumnCandidate one{channel->column, channel->unit,   1, false,
                        std::nullopt,    channel->values, 0, 0};
    one.median = median_of(one.values);
    list.push_back(std::move(one));
  }
}

}  // namespace leafwright
