#include "log/flux_inputs.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "base/number.hpp"
#include "base/text.hpp"
#include "log/column.hpp"

namespace leafwright {

namespace {

constexpr double missing = std::numeric_limits<double>::quiet_NaN();

std::optional<double> of(const Sample* sample, std::optional<double> Sample::*value) {
  return sample != nullptr ? sample->*value : std::nullopt;
}

}  // namespace

std::vector<double> FluxInputs::sample(const char* symbol, const char* reference,
                                       const char* difference) const {
  const Log& log = *source_.log;
  if (const Channel* own = log.find(symbol); own != nullptr) return own->values;
  const Channel* before = log.find(reference);
  const Channel* step = log.find(difference);
  if (before == nullptr || step == nullptr) return {};
  std::vector<double> out(log.rows());
  for (std::size_t row = 0; row < out.size(); ++row) {
    out[row] = before->values[row] + step->values[row];
  }
  return out;
}

void FluxInputs::take_off_equalisations() {
  const Equalisations* cells = source_.equalisations;
  if (cells == nullptr || !cells->applied || *cells->applied) return;
  for (std::size_t row = 0; row < source_.log->rows(); ++row) {
    const Equalisation* last = cells->last(source_.axis->seconds[row]);
    if (last == nullptr) continue;
    if (last->dCO2) CO2s[row] -= *last->dCO2;
    if (last->dH2O) H2Os[row] -= *last->dH2O;
  }
}

Result<void> FluxInputs::find_streams() {
  const Log& log = *source_.log;
  CO2s = sample("CO2s", "CO2r", "dCO2");
  H2Os = sample("H2Os", "H2Or", "dH2O");
  std::vector<std::string> lacking;
  if (choice_.recorded) {
    if (E == nullptr) lacking.emplace_back("E");
    if (A == nullptr) lacking.emplace_back("A");
  } else {
    needed_ = {{"flow", log.find("flow"), &FluxInput::flow},
               {"CO2r", log.find("CO2r"), &FluxInput::CO2r},
               {"H2Or", log.find("H2Or"), &FluxInput::H2Or}};
    for (const Needed& one : needed_) {
      if (one.channel == nullptr) lacking.emplace_back(one.symbol);
    }
  }
  if (CO2s.empty()) lacking.emplace_back("CO2s");
  if (H2Os.empty()) lacking.emplace_back("H2Os");
  if (lacking.empty()) return {};
  const bool has_fluxes = E != nullptr && A != nullptr && !CO2s.empty() && !H2Os.empty();
  Place place{log.table().file(), log.table().layout().blocks.front().header_line, 0, ""};
  std::string hint = "name the columns in a map (--map), with their units";
  if (has_fluxes && !choice_.recorded) {
    hint += "; or --fluxes recorded takes A and E as the log has them";
  }
  return fail(ErrorCode::unreadable, "no column for " + join(lacking),
              choice_.recorded ? "E, A, CO2s, H2Os, Tleaf and Patm"
                               : "flow, CO2r, CO2s, H2Or, H2Os, Tleaf and Patm",
              hint, place);
}

Result<void> FluxInputs::find_columns() {
  const Log& log = *source_.log;
  Tair = log.find("Tair");
  E = log.find("E");
  A = log.find("A");
  if (auto ok = find_streams(); !ok) return ok;
  const std::array<std::pair<const char*, bool>, 2> temperatures{
      {{"Tleaf", choice_.Tleaf.has_value()}, {"Patm", choice_.Patm.has_value()}}};
  for (const auto& [symbol, given] : temperatures) {
    if (given || log.find(symbol) != nullptr) continue;
    Error error = missing_column(log.table(), symbol, "one with this name, or one mapped to it");
    error.hint += std::string("; or give one value for all rows with ") +
                  (std::string(symbol) == "Tleaf" ? "--tleaf" : "--patm");
    return fail(std::move(error));
  }
  if (choice_.storage && (!source_.axis->there() || Tair == nullptr)) {
    return fail(ErrorCode::usage,
                std::string("storage needs ") +
                    (source_.axis->there() ? "the temperature of the air" : "the time") +
                    ", which the log does not have",
                source_.axis->there() ? "the column Tair" : "time_s, elapsed_s, or date and time",
                "name its column in a map, or leave --storage off");
  }
  take_off_equalisations();
  return {};
}

void FluxInputs::noise_of(CurveInputs& c, const Sample* sample) const {
  c.sd = choice_.sd;
  if (source_.instrument != nullptr) {
    for (std::size_t k = 0; k < noisy_input_count; ++k) {
      const auto which = static_cast<NoisyInput>(k);
      const auto stated = source_.instrument->noise.find(std::string(noisy_input_name(which)));
      if (!c.sd[which] && stated != source_.instrument->noise.end()) c.sd[which] = stated->second;
    }
  }
  if (!choice_.sd[NoisyInput::area] && sample != nullptr && sample->area_sd) {
    c.sd[NoisyInput::area] = sample->area_sd;
  }
  c.noisy = std::any_of(c.sd.sd.begin(), c.sd.sd.end(),
                        [](const std::optional<double>& sd) { return sd.has_value(); });
}

Result<CurveInputs> FluxInputs::curve(const std::string& id, const std::vector<std::size_t>& rows,
                                      std::vector<ValueSource>& sources) {
  const Log& log = *source_.log;
  const Instrument& instrument = source_.instrument != nullptr ? *source_.instrument : none_;
  const Sample* sample = source_.samples != nullptr && !id.empty()
                             ? source_.samples->find(id, log.table().file())
                             : nullptr;
  const auto take = [&](ValueOffers offers) { return choose(offers, rows, id, sources); };
  CurveInputs c;
  c.area = take({"area",
                 "cm2",
                 choice_.area,
                 of(sample, &Sample::area),
                 log.find("area"),
                 instrument.area,
                 {}});
  c.cover = take({"cover", "", choice_.cover, of(sample, &Sample::cover), nullptr, {}, 1.0});
  c.gbw = take({"gbw",
                "mmol m-2 s-1",
                choice_.gbw,
                of(sample, &Sample::gbw),
                log.find("gbw"),
                instrument.gbw,
                {}});
  c.stomatal_ratio = take({"stomatal_ratio",
                           "",
                           choice_.stomatal_ratio,
                           of(sample, &Sample::stomatal_ratio),
                           log.find("stomatal_ratio"),
                           instrument.stomatal_ratio,
                           {}});
  c.overpressure = take({"overpressure",
                         "kPa",
                         choice_.overpressure,
                         {},
                         log.find("overpressure"),
                         instrument.overpressure,
                         0.0});
  c.Tleaf = take({"Tleaf", "degC", choice_.Tleaf, {}, log.find("Tleaf"), {}, {}});
  c.Patm = take({"Patm", "kPa", choice_.Patm, {}, log.find("Patm"), {}, {}});
  c.volume = take({"chamber_volume",
                   "cm3",
                   choice_.chamber_volume,
                   {},
                   nullptr,
                   instrument.chamber_volume,
                   {}});
  c.leak = take({"leak", "umol s-1", choice_.leak, {}, nullptr, instrument.leak, {}});
  c.water_leak =
      take({"water_leak", "umol s-1", choice_.water_leak, {}, nullptr, instrument.water_leak, {}});
  c.CO2_ambient =
      take({"CO2_ambient", "umol mol-1", choice_.CO2_ambient, {}, log.find("CO2_ambient"), {}, {}});
  c.H2O_ambient =
      take({"H2O_ambient", "mmol mol-1", choice_.H2O_ambient, {}, log.find("H2O_ambient"), {}, {}});
  const bool stated = sample != nullptr && sample->area_basis.has_value();
  const AreaBasis on_paper = stated ? *sample->area_basis : AreaBasis::projected;
  c.leaf.basis = choice_.area_basis.value_or(on_paper);
  if (choice_.area_basis && stated && *choice_.area_basis != on_paper) {
    notes.push_back({NoteLevel::caution, "area_basis-sources-disagree",
                     std::string("area basis of the option, ") +
                         area_basis_name(*choice_.area_basis) + ", was used for " + id +
                         "; samples table: " + area_basis_name(on_paper)});
  }
  c.per = choice_.flux_per.value_or(c.leaf.basis);
  c.leaf.half_total_on_projected = choice_.half_total_ratio;
  if (!c.leaf.half_total_on_projected) {
    c.leaf.half_total_on_projected = of(sample, &Sample::half_total_ratio);
  }
  c.options.vapour_pressure = choice_.vapour_pressure.value_or(
      instrument.vapour_pressure.value_or(VapourPressure::leaf_common));
  c.options.enhancement = choice_.enhancement;
  c.options.two_sides = choice_.two_sides;
  c.options.gbw_is = choice_.gbw_is ? choice_.gbw_is : instrument.gbw_is;
  c.options.co2_per = choice_.co2_per.value_or(instrument.co2_per.value_or(Co2Per::moist_air));
  noise_of(c, sample);
  if (choice_.flux_per && !choice_.area_basis && !stated) {
    return fail(ErrorCode::usage, "--flux-per without the basis of the stated area",
                "--area-basis, or area_basis in the samples table");
  }
  LeafArea probe = c.leaf;
  probe.cm2 = 1;
  probe.cover = c.cover.value;
  if (const auto area = area_on(probe, c.per); !area) return fail(area.error());
  if (auto ok = complete(c, id); !ok) return fail(ok.error());
  return c;
}

// Choices that cannot stand together end the call; a gbw whose meaning nobody stated costs gsw and
// Ci, but not E and A.
Result<void> FluxInputs::complete(CurveInputs& c, const std::string& id) {
  const std::string of_curve = id.empty() ? "" : " (curve '" + shortened(id) + "')";
  if (!c.area.known() && !choice_.recorded) {
    return fail(ErrorCode::usage, "no leaf area" + of_curve,
                "--area, a samples table, a column area, or area in the instrument");
  }
  if (choice_.storage && !c.volume.known()) {
    return fail(ErrorCode::usage, "--storage on without the volume of the chamber",
                "--chamber-volume, or chamber_volume in the instrument");
  }
  for (const auto& [K, ambient, name, option] :
       {std::tuple{&c.leak, &c.CO2_ambient, "leak", "--ambient-co2 or a column CO2_ambient"},
        std::tuple{&c.water_leak, &c.H2O_ambient, "water leak",
                   "--ambient-h2o or a column H2O_ambient"}}) {
    if (!K->known() || K->value == 0 || ambient->known() || choice_.recorded) continue;
    return fail(
        ErrorCode::usage, std::string("a ") + name + " without the air round the chamber", option,
        "nothing is assumed about it: rooms with people hold 500 to 2000 umol mol-1 of CO2");
  }
  if (c.gbw.known()) {
    std::string lacks;
    if (!c.options.gbw_is) {
      lacks = "what gbw is (--gbw-is \"per side\" or \"whole leaf\", or gbw_is in the instrument)";
    } else if (*c.options.gbw_is == GbwIs::per_side && !c.stomatal_ratio.known()) {
      lacks =
          "the stomatal ratio, which a gbw per side needs (--stomatal-ratio, samples table, "
          "column or instrument)";
    }
    if (!lacks.empty()) {
      c.gbw = {};
      if (!gbw_noted_) {
        notes.push_back({NoteLevel::warning, "no-gsw",
                         "there is no gsw and no Ci, as nothing states " + lacks});
      }
      gbw_noted_ = true;
    }
  } else if (!gbw_noted_) {
    notes.push_back({NoteLevel::warning, "no-gsw",
                     "there is no gsw and no Ci, as nothing states gbw (--gbw, samples table, "
                     "column gbw or instrument)"});
    gbw_noted_ = true;
  }
  FluxOptions probe = c.options;
  probe.stomatal_ratio = c.stomatal_ratio.known() ? std::optional(1.0) : std::nullopt;
  return check_options(probe, c.gbw.known());
}

void FluxInputs::fill_curve(std::size_t row, CurveInputs& c, FluxInput& input) const {
  input.Tleaf = c.Tleaf.known() ? c.Tleaf.at(row) : missing;
  input.Patm = c.Patm.known() ? c.Patm.at(row) : missing;
  input.gbw.reset();
  if (c.gbw.known()) input.gbw = c.gbw.at(row);
  c.options.overpressure = c.overpressure.at(row);
  if (std::isnan(c.options.overpressure)) c.options.overpressure = 0;
  c.options.stomatal_ratio.reset();
  if (c.stomatal_ratio.known()) c.options.stomatal_ratio = c.stomatal_ratio.at(row);
  if (c.leak.known() && c.leak.value > 0) {
    c.options.leak = Leak{c.leak.value, c.CO2_ambient.at(row)};
  }
  if (c.water_leak.known() && c.water_leak.value > 0) {
    c.options.water_leak = WaterLeak{c.water_leak.value, c.H2O_ambient.at(row)};
  }
  c.leaf.cm2 = c.area.known() ? c.area.at(row) : 1;
  c.leaf.cover = c.cover.value;
  const auto area = area_on(c.leaf, c.per);
  input.area = area ? *area : missing;
}

void FluxInputs::fill(std::size_t row, FluxInput& input) const {
  for (const Needed& one : needed_) input.*one.value = one.channel->values[row];
  input.CO2s = CO2s[row];
  input.H2Os = H2Os[row];
  input.Tair.reset();
  if (Tair != nullptr && !std::isnan(Tair->values[row])) input.Tair = Tair->values[row];
}

std::string FluxInputs::why_not(std::size_t row) const {
  return source_.log->table().row_fault(row);
}

std::string FluxInputs::lacking_text(const char* symbol, std::size_t row) const {
  const Channel* channel = source_.log->find(symbol);
  if (channel != nullptr && channel->column != Channel::no_column) {
    const Table& table = source_.log->table();
    const std::string_view text = trim(table.text(channel->column, row));
    const CellValue cell = table.value(channel->column, row);
    if (cell.kind == CellKind::number) {
      return std::string(symbol) + " = " + std::string(text) + " is out of range";
    }
    if (!is_missing(text)) {
      return std::string(symbol) + ": " + not_a_number(text, table.layout().decimal).found;
    }
  }
  return std::string(symbol) + " is missing";
}

std::string FluxInputs::lacking(std::size_t row, const FluxInput& input) const {
  for (const Needed& one : needed_) {
    if (std::isnan(input.*one.value)) return lacking_text(one.symbol, row);
  }
  if (choice_.recorded) {
    if (std::isnan(E->values[row])) return lacking_text("E", row);
    if (std::isnan(A->values[row])) return lacking_text("A", row);
  }
  for (const auto& [symbol, value] :
       {std::pair{"CO2s", input.CO2s}, std::pair{"H2Os", input.H2Os},
        std::pair{"Tleaf", input.Tleaf}, std::pair{"Patm", input.Patm},
        std::pair{"gbw", input.gbw.value_or(1)}}) {
    if (std::isnan(value)) return lacking_text(symbol, row);
  }
  if (std::isnan(input.area)) return lacking_text("area", row);
  return "";
}

std::vector<char> FluxInputs::repeats() const {
  std::vector<const Channel*> measured;
  for (const char* symbol : {"CO2r", "CO2s", "H2Or", "H2Os", "flow", "Tair", "Tleaf", "A", "E"}) {
    const Channel* channel = source_.log->find(symbol);
    if (channel != nullptr && channel->column != Channel::no_column) measured.push_back(channel);
  }
  std::vector<char> out(source_.log->rows(), 0);
  if (measured.size() < 4) return out;
  for (std::size_t row = 1; row < out.size(); ++row) {
    const bool same = std::all_of(measured.begin(), measured.end(), [row](const Channel* channel) {
      return channel->values[row] == channel->values[row - 1];
    });
    if (same && source_.cut->curve_of[row] == source_.cut->curve_of[row - 1]) out[row] = 1;
  }
  return out;
}

void FluxInputs::honour_use(FluxRows& rows) const {
  const Table& table = source_.log->table();
  const auto use = source_.log->text_column("use");
  if (!use) return;
  for (std::size_t row = 0; row < table.rows(); ++row) {
    const std::string_view text = trim(table.text(*use, row));
    const CellValue cell = table.value(*use, row);
    if (same_letters(text, "true") || (cell.kind == CellKind::number && cell.number == 1)) continue;
    if (same_letters(text, "false") || (cell.kind == CellKind::number && cell.number == 0)) {
      const std::string_view why = source_.log->text("why", row);
      rows.leave_out(row, why.empty() ? "use is 0 in the log" : std::string(why));
      continue;
    }
    const std::string found = text.empty() ? "column 'use' is empty in this row"
                                           : "'" + shortened(text) + "' in column 'use'";
    rows.leave_out(row, found);
    if (rows.problems.size() < 10) {
      rows.problems.push_back({ErrorCode::unreadable, table.place(*use, row), found,
                               "1, 0, true or false", "the row is not used"});
    }
  }
}

}  // namespace leafwright
