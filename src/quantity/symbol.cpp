#include "quantity/symbol.hpp"

#include <array>
#include <vector>

#include "base/text.hpp"

namespace leafwright {

namespace {

constexpr std::string_view flux = "umol m-2 s-1";
constexpr std::string_view water_flux = "mmol m-2 s-1";
constexpr std::string_view co2 = "umol mol-1";
constexpr std::string_view water = "mmol mol-1";
constexpr std::string_view yield = "mol mol-1";
constexpr std::string_view activation = "kJ mol-1";
constexpr std::string_view pure = "1";

Symbol plain(std::string_view name, std::string_view unit, std::string_view meaning) {
  return {name, unit, SymbolKind::number, SymbolSource::reporting_format, meaning, {}, false};
}

Symbol measured(std::string_view name, std::string_view unit, std::string_view meaning, double low,
                double high, bool varies = false) {
  return {name,
          unit,
          SymbolKind::number,
          SymbolSource::reporting_format,
          meaning,
          PlausibleRange{low, high},
          varies};
}

Symbol other(std::string_view name, SymbolKind kind, std::string_view meaning,
             SymbolSource source = SymbolSource::leafwright, std::string_view unit = "") {
  return {name, unit, kind, source, meaning, {}, false};
}

Symbol own_number(std::string_view name, std::string_view unit, std::string_view meaning,
                  double low, double high, bool varies = false) {
  Symbol symbol = measured(name, unit, meaning, low, high, varies);
  symbol.source = SymbolSource::leafwright;
  return symbol;
}

// The dictionary's variables in the dictionary's order, then Leafwright's own. Plausible ranges:
// common practice, no source.
std::vector<Symbol> all_symbols() {
  constexpr auto format = SymbolSource::reporting_format;
  constexpr auto own = SymbolSource::leafwright;
  return {
      other("date", SymbolKind::date, "date of the observation", format),
      other("time", SymbolKind::time, "time of the observation", format),
      plain("record", pure, "observation record number"),
      measured("area", "cm2", "leaf area", 0.05, 500),
      measured("A", flux, "net CO2 exchange per leaf area", -20, 90, true),
      plain("Amax", flux, "highest A at saturating light and CO2"),
      plain("Asat", flux, "highest A at saturating light and ambient CO2"),
      measured("Ci", co2, "intercellular CO2", 0, 2500, true),
      measured("CO2r", co2, "CO2 in moist air entering the chamber", 0, 2500),
      measured("CO2s", co2, "CO2 in moist air inside the chamber", 0, 2500, true),
      measured("dCO2", co2, "sample minus reference CO2", -500, 500, true),
      measured("dH2O", water, "sample minus reference H2O", -20, 40, true),
      measured("E", water_flux, "transpiration per leaf area", -0.5, 25, true),
      measured("flow", "umol s-1", "flow of air into the chamber", 10, 3000),
      measured("gbw", water_flux, "boundary layer conductance to water vapour", 100, 10000),
      measured("gsw", water_flux, "stomatal conductance to water vapour", 0, 2500, true),
      measured("H2Or", water, "H2O in air entering the chamber", 0, 70),
      measured("H2Os", water, "H2O in air inside the chamber", 0, 70, true),
      measured("Patm", "kPa", "atmospheric pressure", 50, 110),
      measured("Qin", flux, "photon flux density incident on the leaf", 0, 3000),
      measured("Qout", flux, "photon flux density outside the chamber", 0, 3000),
      measured("RHr", "%", "relative humidity of air entering the chamber", 0, 100),
      measured("RHs", "%", "relative humidity of air inside the chamber", 0, 100, true),
      measured("Tair", "degC", "air temperature inside the chamber", -10, 55),
      measured("Tleaf", "degC", "leaf surface temperature", -10, 55, true),
      measured("VPDleaf", "kPa", "leaf to air vapour pressure deficit", -0.2, 8, true),
      plain("AsatG", flux, "maximum gross CO2 assimilation from a light response"),
      plain("CE", "mol m-2 s-1", "maximum carboxylation efficiency"),
      plain("CiCa", pure, "intercellular over chamber CO2"),
      plain("CO2comp", co2, "CO2 compensation point"),
      plain("gm", "mol m-2 s-1", "mesophyll conductance to CO2"),
      plain("J", flux, "electron transport at measurement temperature"),
      plain("Jmax", flux, "light-saturated electron transport at measurement temperature"),
      plain("Jmax25", flux, "light-saturated electron transport at 25 degC"),
      plain("LCP", flux, "light compensation point"),
      plain("LSP", flux, "light saturation point"),
      plain("PhiCO2a", yield, "quantum yield of CO2, absorbed light"),
      plain("PhiCO2i", yield, "quantum yield of CO2, incident light"),
      plain("PhiJa", yield, "quantum yield of electron transport, absorbed light"),
      plain("PhiJi", yield, "quantum yield of electron transport, incident light"),
      plain("Rdark", flux, "CO2 release in the dark, positive"),
      plain("Rdark25", flux, "CO2 release in the dark at 25 degC, positive"),
      plain("Rday", flux, "CO2 release in the light, positive"),
      plain("Rday25", flux, "CO2 release in the light at 25 degC, positive"),
      plain("Theta", pure, "convexity of the light response"),
      plain("TPU", flux, "triose phosphate use at measurement temperature"),
      plain("TPU25", flux, "triose phosphate use at 25 degC"),
      plain("Vcmax", flux, "maximum carboxylation at measurement temperature"),
      plain("Vcmax25", flux, "maximum carboxylation at 25 degC"),
      plain("Vpmax", flux, "maximum PEP carboxylation at measurement temperature"),
      plain("WUEi", co2, "intrinsic water use efficiency, A over gsw"),
      plain("Alpha", pure, "leaf absorptance of visible light"),
      plain("EaGammaStar", activation, "activation energy of gammaStar"),
      plain("EaKc", activation, "activation energy of Kc"),
      plain("EaKo", activation, "activation energy of Ko"),
      plain("EaVcmax", activation, "activation energy of Vcmax"),
      plain("EaVomax", activation, "activation energy of Vomax"),
      plain("f", pure, "light absorbed by photosystem II not used for photochemistry"),
      plain("gammaStar25", co2, "CO2 compensation point without day respiration at 25 degC"),
      plain("Kc25", co2, "Michaelis constant for CO2 at 25 degC"),
      plain("Ko25", water, "Michaelis constant for O2 at 25 degC"),
      plain("Oi", water, "intercellular O2"),
      plain("Tau25", pure, "CO2:O2 specificity at 25 degC"),
      plain("TauQ10", pure, "Q10 of Tau"),
      other("time_s", SymbolKind::number, "seconds since a start that the study states", own, "s"),
      other("elapsed_s", SymbolKind::number, "seconds since the log began", own, "s"),
      own_number("chamber_overpressure", "kPa", "pressure in the chamber above Patm", -2, 10),
      own_number("stomatal_ratio", pure, "stomata of one side of the leaf over the other", 0, 20),
      own_number("CO2r_dry", co2, "CO2 in air entering the chamber, per dry air", 0, 2500),
      own_number("CO2s_dry", co2, "CO2 in air inside the chamber, per dry air", 0, 2500, true),
      own_number("H2Or_dry", water, "H2O in air entering the chamber, per dry air", 0, 75),
      own_number("H2Os_dry", water, "H2O in air inside the chamber, per dry air", 0, 75, true),
      other("overpressure", SymbolKind::number, "pressure in the chamber above Patm", own, "kPa"),
      other("CO2_ambient", SymbolKind::number, "CO2 of the air round the chamber", own, co2),
      other("H2O_ambient", SymbolKind::number, "H2O of the air round the chamber", own, water),
      other("curve_id", SymbolKind::text, "which curve a record belongs to", own),
      other("remark", SymbolKind::text, "what the operator noted", own),
      other("use", SymbolKind::text, "1 where a record takes part in fits, 0 where not", own),
      other("why", SymbolKind::text, "why a record does not take part", own),
  };
}

}  // namespace

std::span<const Symbol> symbols() {
  static const std::vector<Symbol> all = all_symbols();
  return all;
}

const Symbol* find_symbol(std::string_view name) {
  for (const Symbol& symbol : symbols()) {
    if (symbol.name == name) return &symbol;
  }
  return nullptr;
}

std::string suggest_symbol(std::string_view name) {
  std::vector<std::string> names;
  for (const Symbol& symbol : symbols()) names.emplace_back(symbol.name);
  const auto near = nearest_name(name, names);
  return near ? "did you mean '" + *near + "'?" : "";
}

Title parse_title(std::string_view raw) {
  const std::string_view title = trim(raw);
  const char close = title.empty() ? '\0' : title.back();
  if (close != ')' && close != ']') return {std::string(title), ""};
  const char open = close == ')' ? '(' : '[';
  // The bracket that the last character closes: "E (mmol/(m2 s))" holds another one inside.
  int depth = 0;
  for (std::size_t i = title.size(); i-- > 0;) {
    if (title[i] == close) ++depth;
    if (title[i] == open && --depth == 0) {
      const std::string_view name = trim(title.substr(0, i));
      if (name.empty()) break;
      return {std::string(name), std::string(trim(title.substr(i + 1, title.size() - i - 2)))};
    }
  }
  return {std::string(title), ""};
}

}  // namespace leafwright
