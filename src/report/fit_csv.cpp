#include "report/fit_csv.hpp"

#include <algorithm>
#include <array>
#include <stdexcept>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/estimate_correlation.hpp"
#include "fit/fitted.hpp"
#include "fit/plausible.hpp"
#include "report/stomata_report.hpp"
#include "table/csv.hpp"

namespace leafwright {
namespace {

constexpr const char* flux_unit = "umol m-2 s-1";
constexpr const char* mole_fraction = "umol mol-1";

constexpr std::array<const char*, 4> everywhere{"Vcmax", "J", "TPU", "Rday"};

void add_estimate_columns(std::vector<CsvColumn>& columns, const std::string& symbol,
                          const std::string& meaning, const std::string& unit = flux_unit) {
  columns.push_back({symbol, unit, meaning + ", at Tleaf"});
  columns.push_back({symbol + "_se", unit, "standard error of " + symbol});
  columns.push_back({symbol + "_low", unit, "lower end of the interval; empty = open"});
  columns.push_back({symbol + "_high", unit, "upper end of the interval; empty = open"});
  columns.push_back({symbol + "_low_widened", unit, "lower end, for correlated residuals"});
  columns.push_back({symbol + "_high_widened", unit, "upper end, for correlated residuals"});
  columns.push_back(
      {symbol + "_status", "", "estimated, fixed, lower bound, upper bound or not identified"});
}

std::vector<CsvColumn> make_columns() {
  std::vector<CsvColumn> c = {{"curve_id", "", "the curve"},
                              {"file", "", "the file it was read from"},
                              {"pathway", "", "C3 or C4"},
                              {"points", "", "rows used"},
                              {"Tleaf", "degC", "mean leaf temperature of the rows used"},
                              {"Patm", "kPa", "mean air pressure of the rows used"},
                              {"Qin", flux_unit, "mean light of the rows used, where all have one"},
                              {"kinetics", "", "set of Rubisco constants"},
                              {"basis", "", "what keeps its value when the pressure changes"},
                              {"Kc", mole_fraction, "at Tleaf and Patm"},
                              {"Ko", "mmol mol-1", "at Tleaf and Patm"},
                              {"O", "mmol mol-1", "oxygen"},
                              {"GammaStar", mole_fraction, "at Tleaf and Patm"},
                              {"Km", mole_fraction, "Kc (1 + O/Ko)"},
                              {"permitted", "", "limitations that the fit could use"}};
  add_estimate_columns(c, "Vcmax", "maximum rate of carboxylation");
  add_estimate_columns(c, "J", "rate of electron transport");
  add_estimate_columns(c, "TPU", "rate of triose phosphate use");
  add_estimate_columns(c, "Rday", "respiration in the light (positive)");
  for (const char* symbol : {"Vcmax25", "J25", "TPU25", "Rday25"}) {
    c.push_back({symbol, flux_unit, "moved to 25 degC with the named response"});
    c.push_back({std::string(symbol) + "_low", flux_unit, "lower end"});
    c.push_back({std::string(symbol) + "_high", flux_unit, "upper end"});
  }
  c.push_back({"response", "", "set of temperature responses behind the values at 25 degC"});
  c.push_back({"intervals", "", "what the intervals are, such as 95 % profile"});
  c.push_back({"ssr", "(umol m-2 s-1)^2", "sum of squared residuals"});
  c.push_back({"rmse", flux_unit, "sqrt(ssr/df)"});
  c.push_back({"df", "", "degrees of freedom"});
  c.push_back({"limited_by", "", "states that limit a used row"});
  c.push_back({"rubisco_to_rubp", mole_fraction, "Ci of this transition"});
  c.push_back({"rubp_to_tpu", mole_fraction, "Ci of this transition"});
  c.push_back({"rubisco_to_tpu", mole_fraction, "Ci of this transition"});
  c.push_back({"certified", "", "true: no other parameters fit better"});
  c.push_back({"f_test_p", "", "p of the F test by which TPU enters"});
  c.push_back({"lag1", "", "lag-1 correlation of the residuals in order of Ci"});
  c.push_back({"corr_Vcmax_J", "", "correlation of the two estimates, linearised"});
  c.push_back({"corr_Vcmax_Rday", "", "correlation of the two estimates, linearised"});
  c.push_back({"corr_J_Rday", "", "correlation of the two estimates, linearised"});
  c.push_back({"flags", "", "keys of the notes on values outside a published or usual range"});
  c.push_back({"failed", "", "why the curve could not be fitted"});
  c.push_back({"notes", "", "keys of the notes, worst first; the texts are in the JSON"});
  return c;
}

/// Writes cells with commas between them.
class Row {
 public:
  explicit Row(std::string& out) : out_(out) {}
  Row& text(std::string_view cell) {
    separate();
    out_ += csv_cell(cell);
    return *this;
  }
  Row& number(std::optional<double> value) {
    separate();
    if (value) out_ += print_number(*value);
    return *this;
  }
  Row& count(std::size_t value) {
    separate();
    out_ += std::to_string(value);
    return *this;
  }
  Row& skip(std::size_t cells) {
    for (std::size_t i = 0; i < cells; ++i) separate();
    return *this;
  }
  [[nodiscard]] std::size_t cells() const { return cells_; }
  void end() { out_ += '\n'; }

 private:
  void separate() {
    if (cells_++ > 0) out_ += ',';
  }
  std::string& out_;
  std::size_t cells_ = 0;
};

std::string names_of(const std::vector<Limitation>& limitations) {
  std::string out;
  for (const Limitation limitation : limitations) {
    out += (out.empty() ? "" : " ") + std::string(limitation_name(limitation));
  }
  return out;
}

void add_estimate(Row& row, const Estimate* estimate) {
  if (estimate == nullptr) {
    row.skip(7);
    return;
  }
  const Estimate& e = *estimate;
  row.number(e.value).number(e.se).number(e.low).number(e.high);
  row.number(e.low_widened).number(e.high_widened).text(status_name(e.status));
}

/// What the fits of a document have beyond the columns of every table.
struct Extras {
  std::vector<const Estimate*> estimates;  ///< one of each symbol, for its unit
  std::vector<std::string> at25;
  bool c4 = false, theta = false, weights = false, dark = false, light = false;
  bool operating = false, drift = false;
};

Extras extras_of(const FitDocument& document) {
  Extras out;
  const auto common = [](const std::string& symbol) {
    return std::any_of(everywhere.begin(), everywhere.end(), [&](const char* name) {
      return symbol == name || symbol == std::string(name) + "25";
    });
  };
  for (const CurveFit& fit : document.campaign->fits) {
    out.c4 = out.c4 || fit.c4;
    out.theta = out.theta || fit.theta;
    out.weights = out.weights || fit.weighting;
    out.dark = out.dark || fit.dark;
    out.light = out.light || fit.light;
    out.operating = out.operating || fit.operating;
    out.drift = out.drift || fit.gsw_drift;
    for (const Estimate* e : estimates_of(fit)) {
      const bool known = std::any_of(out.estimates.begin(), out.estimates.end(),
                                     [&](const Estimate* o) { return o->symbol == e->symbol; });
      if (!e->symbol.empty() && !common(e->symbol) && !known) out.estimates.push_back(e);
    }
    for (const At25& a : fit.at25) {
      const bool known = std::find(out.at25.begin(), out.at25.end(), a.symbol) != out.at25.end();
      if (!common(a.symbol) && !known) out.at25.push_back(a.symbol);
    }
  }
  return out;
}

std::string meaning_of(const std::string& symbol) {
  if (symbol == "Vcmax_gm") return "maximum rate of carboxylation under this gm";
  if (symbol == "J_gm") return "rate of electron transport under this gm";
  if (symbol.starts_with("Jmax")) {
    return "rate of electron transport in saturating light, under the absorptance, loss and "
           "curvature stated";
  }
  if (symbol == "gm") return "mesophyll conductance";
  if (symbol == "Vpmax") return "maximum rate of PEP carboxylation";
  if (symbol == "Vpr") return "rate of PEP regeneration";
  if (symbol == "plateau") return "gross rate of the plateau, whatever sets it";
  if (symbol == "initial_slope") return "slope of A against Ci at low Ci";
  return symbol;
}

void add_moved(Row& row, const CurveFit& fit, const std::string& symbol) {
  const auto moved = std::find_if(fit.at25.begin(), fit.at25.end(),
                                  [&](const At25& a) { return a.symbol == symbol; });
  if (moved == fit.at25.end()) {
    row.skip(3);
    return;
  }
  row.number(moved->value).number(moved->low).number(moved->high);
}

void add_at25(Row& row, const CurveFit& fit) {
  for (const char* symbol : {"Vcmax25", "J25", "TPU25", "Rday25"}) add_moved(row, fit, symbol);
  row.text(fit.response_set);
}

void add_transition(Row& row, const CurveFit& fit, Limitation from, Limitation to) {
  std::optional<double> Ci;
  for (const Transition& t : fit.transitions) {
    if (t.from == from && t.to == to) Ci = t.Ci;
  }
  row.number(Ci);
}

/// Keys of the notes on values outside a range.
std::string flag_keys(const Notes& notes) {
  std::string out;
  for (const Note& note : notes) {
    if (is_range_flag(note.about)) out += (out.empty() ? "" : " ") + note.about;
  }
  return out;
}

std::string note_keys(const Curve& curve, const CurveFit* fit) {
  std::string out;
  for (const NoteLevel level : {NoteLevel::warning, NoteLevel::caution, NoteLevel::info}) {
    const auto add = [&](const Notes& notes) {
      for (const Note& note : notes) {
        if (note.level == level) out += (out.empty() ? "" : " ") + note.about;
      }
    };
    add(fit != nullptr ? fit->notes : curve.notes);  // a fit's notes begin with its curve's
  }
  return out;
}

void add_dark(Row& row, const CurveFit& fit) {
  const DarkRespiration* d = fit.dark ? &*fit.dark : nullptr;
  row.number(d != nullptr ? std::optional(d->dark) : std::nullopt);
  row.number(d != nullptr ? d->temperature : std::nullopt);
  row.number(d != nullptr ? std::optional(d->inhibition) : std::nullopt);
  row.number(d != nullptr ? std::optional(d->factor) : std::nullopt);
}

void add_light(Row& row, const CurveFit& fit) {
  const JmaxOrigin* l = fit.light ? &*fit.light : nullptr;
  row.number(l != nullptr ? l->ppfd : std::nullopt);
  row.number(l != nullptr ? l->I2 : std::nullopt);
  row.number(l != nullptr ? l->J_to_Jmax : std::nullopt);
}

void add_weighting(Row& row, const CurveFit& fit) {
  const Weighting* w = fit.weighting ? &*fit.weighting : nullptr;
  const HuberOutcome* h = w != nullptr && w->huber ? &*w->huber : nullptr;
  row.text(w != nullptr ? w->sd_column : "");
  row.number(w != nullptr ? w->residual_to_sd : std::nullopt);
  row.number(h != nullptr ? std::optional(h->k) : std::nullopt);
  row.number(h != nullptr ? std::optional(h->scale) : std::nullopt);
  row.number(h != nullptr ? std::optional(static_cast<double>(h->down)) : std::nullopt);
  row.number(h != nullptr ? std::optional(h->least) : std::nullopt);
}

void add_c4(Row& row, const CurveFit& fit) {
  row.text(fit.c4 ? c4_plateau_name(fit.c4->plateau) : "");
  row.number(fit.c4 ? std::optional(fit.c4->kinetics.Kp / fit.c4->bar) : std::nullopt);
  row.number(fit.c4 ? fit.c4->transition : std::nullopt);
}

void add_stomata(Row& row, const std::vector<StomataCell>& cells) {
  for (const StomataCell& cell : cells) {
    if (cell.text) {
      row.text(*cell.text);
    } else {
      row.number(cell.number);
    }
  }
}

/// Mean Qin of the used rows; empty where one has none.
std::optional<double> mean_light(const CurveFit& fit, const Curve& curve) {
  double sum = 0;
  for (const std::size_t used : fit.used) {
    const auto row = std::find_if(curve.rows.begin(), curve.rows.end(),
                                  [&](const CurveRow& one) { return one.row == used; });
    if (row == curve.rows.end() || !row->Qin) return {};
    sum += *row->Qin;
  }
  if (fit.used.empty()) return {};
  return sum / static_cast<double>(fit.used.size());
}

void add_fit(Row& row, const CurveFit& fit, const Curve& curve, const Extras& extras) {
  const Kinetics& k = fit.kinetics;
  row.text(fit.curve_id).text(curve_file(curve)).text(fit.pathway).count(fit.points);
  row.number(fit.Tleaf)
      .number(fit.Patm)
      .number(mean_light(fit, curve))
      .text(fit.kinetics_set)
      .text(basis_name(fit.basis));
  row.number(k.Kc).number(k.Ko).number(k.O).number(k.gamma_star).number(k.Km);
  row.text(names_of(fit.permitted));
  for (const char* symbol : everywhere) add_estimate(row, find_estimate(fit, symbol));
  add_at25(row, fit);
  row.text(fit.interval_kind)
      .number(fit.ssr)
      .number(fit.rmse)
      .count(fit.df)
      .text(join(limiting_states(fit), " "));
  add_transition(row, fit, Limitation::rubisco, Limitation::rubp);
  add_transition(row, fit, Limitation::rubp, Limitation::tpu);
  add_transition(row, fit, Limitation::rubisco, Limitation::tpu);
  row.text(fit.certified ? "true" : "false").number(fit.f_test_p).number(fit.residuals.lag1);
  const EstimateCorrelations r = estimate_correlations(fit);
  row.number(r.Vcmax_J).number(r.Vcmax_Rday).number(r.J_Rday);
  row.text(flag_keys(fit.notes)).text("").text(note_keys(curve, &fit));
  for (const Estimate* e : extras.estimates) add_estimate(row, find_estimate(fit, e->symbol));
  for (const std::string& symbol : extras.at25) add_moved(row, fit, symbol);
  if (extras.theta) row.number(fit.theta);
  if (extras.dark) add_dark(row, fit);
  if (extras.light) add_light(row, fit);
  if (extras.weights) add_weighting(row, fit);
  if (extras.c4) add_c4(row, fit);
  if (extras.operating) add_stomata(row, operating_cells(fit));
  if (extras.drift) add_stomata(row, drift_cells(fit));
}

void add_failed(Row& row, const std::string& curve_id, const std::string& file,
                const std::string& why, const std::string& notes, std::size_t columns) {
  const std::size_t common = fit_csv_columns().size();
  row.text(curve_id).text(file).skip(common - 4).text(why).text(notes).skip(columns - common);
}

/// What the samples table says of the curve, in the order of its columns.
void add_sample(Row& row, const RunDocument* run, const std::string& curve_id) {
  if (run == nullptr) return;
  const auto sample = run->samples.find(curve_id);
  for (const std::string& name : run->sample_columns) {
    const bool known = sample != run->samples.end() && sample->second.contains(name);
    row.text(known ? std::string_view(sample->second.at(name)) : std::string_view());
  }
}

std::size_t sample_cells(const RunDocument* run) {
  return run == nullptr ? 0 : run->sample_columns.size();
}

}  // namespace

const std::vector<CsvColumn>& fit_csv_columns() {
  static const std::vector<CsvColumn> columns = make_columns();
  return columns;
}

std::vector<CsvColumn> fit_csv_columns(const FitDocument& document) {
  std::vector<CsvColumn> c = fit_csv_columns();
  const Extras extras = extras_of(document);
  for (const Estimate* e : extras.estimates) {
    add_estimate_columns(c, e->symbol, meaning_of(e->symbol), e->unit);
  }
  for (const std::string& symbol : extras.at25) {
    const bool gm = symbol == "gm25";
    const std::string unit = gm ? "mol m-2 s-1" : flux_unit;
    c.push_back({symbol, unit,
                 gm ? "moved to 25 degC with the response stated for gm"
                    : "moved to 25 degC with the named response"});
    c.push_back({symbol + "_low", unit, "lower end"});
    c.push_back({symbol + "_high", unit, "upper end"});
  }
  if (extras.theta) c.push_back({"theta", "", "curvature of the smooth minimum"});
  if (extras.dark) {
    c.push_back({"Rdark", flux_unit, "respiration in the dark behind Rday, as measured"});
    c.push_back({"Rdark_temperature", "degC", "of that measurement; empty = taken as Tleaf"});
    c.push_back({"Rdark_inhibition", "", "share of it that light is said to inhibit"});
    c.push_back({"Rdark_factor", "", "by which it was moved to Tleaf"});
  }
  if (extras.light) {
    c.push_back({"ppfd", flux_unit, "mean Qin of the rows that J rests on"});
    c.push_back({"I2", flux_unit, "light that photosystem II can use"});
    c.push_back({"J_to_Jmax", "", "share of Jmax that this light drives"});
  }
  if (extras.weights) {
    c.push_back({"sd_column", "", "column with the sd of A; rows count by 1/sd^2"});
    c.push_back({"residual_to_sd", "", "sqrt(sum (e/sd)^2/df): 1 if the sd are true"});
    c.push_back({"huber_k", "", "k of Huber's loss; empty = squared loss"});
    c.push_back({"huber_scale", flux_unit, "scale of the residuals, Huber's Proposal 2"});
    c.push_back({"rows_weighted_down", "", "rows that count less under Huber's loss"});
    c.push_back({"least_weight", "", "the lowest of Huber's weights"});
  }
  if (extras.c4) {
    c.push_back({"plateau_cause", "", "what the user named as setting the plateau"});
    c.push_back({"Kp", mole_fraction, "of PEP carboxylase, at Tleaf and Patm"});
    c.push_back({"pep_to_plateau", mole_fraction, "Ci at which the plateau begins"});
  }
  if (extras.operating) {
    for (const StomataCell& cell : operating_cells({})) {
      c.push_back({cell.name, cell.unit, cell.meaning});
    }
  }
  if (extras.drift) {
    for (const StomataCell& cell : drift_cells({})) {
      c.push_back({cell.name, cell.unit, cell.meaning});
    }
  }
  if (document.run == nullptr) return c;
  for (const std::string& name : document.run->sample_columns) {
    // A name that is taken keeps its own place.
    const bool taken =
        std::any_of(c.begin(), c.end(), [&](const CsvColumn& known) { return known.name == name; });
    c.push_back({taken ? "samples_" + name : name, "", "from the samples table"});
  }
  return c;
}

std::string fit_csv(const FitDocument& document) {
  std::string out;
  const Extras extras = extras_of(document);
  Row head(out);
  for (const CsvColumn& column : fit_csv_columns(document)) head.text(column.name);
  head.end();
  const auto end = [&](Row& row) {
    if (row.cells() != head.cells()) throw std::logic_error("a row unlike the head of the table");
    row.end();
  };
  const std::size_t own = head.cells() - sample_cells(document.run);
  for (const CurveOutcome& outcome : outcomes(document)) {
    if (outcome.fit == nullptr && outcome.failed == nullptr) continue;
    Row row(out);
    if (outcome.fit != nullptr) {
      add_fit(row, *outcome.fit, *outcome.curve, extras);
    } else {
      add_failed(row, outcome.failed->curve_id, curve_file(*outcome.curve), outcome.failed->why,
                 note_keys(*outcome.curve, nullptr), own);
    }
    add_sample(row, document.run, outcome.curve->curve_id);
    end(row);
  }
  for (const UnreadCurveOf& unread : document.unread_curves) {
    Row row(out);
    add_failed(row, unread.curve_id, unread.file, unread.why, "", own);
    add_sample(row, document.run, unread.curve_id);
    end(row);
  }
  return out;
}

}  // namespace leafwright
