#include "report/fit_json.hpp"

#include "base/note.hpp"
#include "fit/estimate_correlation.hpp"
#include "fit/fitted.hpp"
#include "report/fit_csv.hpp"
#include "report/json_parts.hpp"
#include "report/json_writer.hpp"
#include "report/pair_report.hpp"
#include "report/ramp_report.hpp"
#include "report/settings_report.hpp"
#include "report/stomata_report.hpp"

namespace leafwright {
namespace {

constexpr auto on_a_line = JsonWriter::Shape::line;

void write_limitations(JsonWriter& json, const std::vector<Limitation>& limitations) {
  json.open_array(on_a_line);
  for (const Limitation limitation : limitations) json.value(limitation_name(limitation));
  json.close();
}

void write_estimate(JsonWriter& json, const Estimate& e) {
  json.key(e.symbol).open_object(on_a_line);
  json.field("value", e.value).field("unit", e.unit).field("se", e.se);
  json.field("low", e.low).field("high", e.high);
  json.field("low_widened", e.low_widened).field("high_widened", e.high_widened);
  json.field("status", status_name(e.status)).close();
}

void write_kinetics(JsonWriter& json, const CurveFit& fit) {
  const Kinetics& k = fit.kinetics;
  json.key("kinetics").open_object(on_a_line).field("set", fit.kinetics_set);
  json.field("Kc", k.Kc).field("Ko", k.Ko).field("O", k.O).field("GammaStar", k.gamma_star);
  json.field("Km", k.Km).field("basis", basis_name(fit.basis));
  if (fit.c4) {
    const C4Kinetics& c4 = fit.c4->kinetics;
    json.field("Kp", c4.Kp / fit.c4->bar).field("gbs", c4.gbs).field("sheath_oxygen", c4.alpha);
    json.field("c4_electrons", c4.x).field("z", c4.z).field("rm_share", c4.rm_share);
  }
  json.field("per_row", fit.kinetics_per_row).close();
  if (fit.c4) {
    json.field("plateau", c4_plateau_name(fit.c4->plateau));
    return;
  }
  json.field("gm", fit.gm).field("theta", fit.theta);
  json.key("electrons").open_object(on_a_line);
  json.field("carboxylation", fit.electrons.carboxylation);
  json.field("oxygenation", fit.electrons.oxygenation).close();
  json.field("alpha", fit.alpha);
}

/// Capacities that do not limit are infinite, and null here.
void write_alternative(JsonWriter& json, const char* key,
                       const std::optional<Alternative>& alternative) {
  json.key(key);
  if (!alternative) {
    json.null();
    return;
  }
  json.open_object(on_a_line).field("what", alternative->what).key("permitted");
  write_limitations(json, alternative->permitted);
  const C3Leaf& leaf = alternative->leaf;
  json.field("Vcmax", leaf.Vcmax).field("J", leaf.J).field("TPU", leaf.TPU);
  json.field("Rday", leaf.Rday).field("ssr", alternative->ssr).close();
}

void write_at25(JsonWriter& json, const CurveFit& fit) {
  json.key("at25").open_object();
  for (const At25& moved : fit.at25) {
    json.key(moved.symbol).open_object(on_a_line).field("value", moved.value);
    json.field("unit", moved.symbol == "gm25" ? "mol m-2 s-1" : "umol m-2 s-1")
        .field("low", moved.low)
        .field("high", moved.high)
        .close();
  }
  json.close().key("response_set");
  if (fit.response_set.empty()) {
    json.null();
  } else {
    json.value(fit.response_set);
  }
}

void write_empirical(JsonWriter& json, const CurveFit& fit) {
  json.key("empirical");
  if (!fit.empirical) {
    json.null();
    return;
  }
  const EmpiricalFit& e = *fit.empirical;
  json.open_object().field("form", empirical_form_name(e.form)).field("equation", e.equation);
  json.key("parameters").open_array(on_a_line);
  for (const double p : e.parameters) json.value(p);
  json.close().field("ssr", e.ssr).key("df").value(static_cast<std::size_t>(e.df));
  json.key("estimates").open_object();
  for (const ResponseEstimate& r : e.estimates) {
    json.key(r.symbol).open_object(on_a_line).field("value", r.value).field("unit", r.unit);
    json.field("se", r.se).field("low", r.low).field("high", r.high);
    json.field("status", r.status).close();
  }
  json.close().close();
}

void write_dark(JsonWriter& json, const CurveFit& fit) {
  json.key("rday_from_dark");
  if (!fit.dark) {
    json.null();
    return;
  }
  const DarkRespiration& d = *fit.dark;
  json.open_object(on_a_line).field("dark", d.dark).field("inhibition", d.inhibition);
  json.field("temperature", d.temperature).field("factor", d.factor).key("response");
  if (d.response.empty()) {
    json.null();
  } else {
    json.value(d.response);
  }
  json.close();
}

void write_light(JsonWriter& json, const CurveFit& fit) {
  json.key("light");
  if (!fit.light) {
    json.null();
    return;
  }
  const JmaxOrigin& l = *fit.light;
  json.open_object(on_a_line).field("absorptance", l.absorptance).field("loss", l.loss);
  json.field("curvature", l.curvature).field("ppfd", l.ppfd);
  json.field("ppfd_spread_percent", 100 * l.ppfd_spread).field("I2", l.I2);
  json.field("J_to_Jmax", l.J_to_Jmax).close();
}

void write_weighting(JsonWriter& json, const CurveFit& fit) {
  json.key("weighting");
  if (!fit.weighting) {
    json.null();
    return;
  }
  const Weighting& w = *fit.weighting;
  json.open_object(on_a_line).key("sd_column");
  if (w.sd_column.empty()) {
    json.null();
  } else {
    json.value(w.sd_column);
  }
  json.field("residual_to_sd", w.residual_to_sd).key("huber");
  if (!w.huber) {
    json.null().close();
    return;
  }
  const HuberOutcome& h = *w.huber;
  json.open_object(on_a_line).field("k", h.k).field("scale", h.scale);
  json.field("correction", h.correction).field("rows_weighted_down", h.down);
  json.field("least_weight", h.least).field("starts", h.starts);
  json.field("converged", h.converged).close().close();
}

void write_residuals(JsonWriter& json, const CurveFit& fit) {
  const ResidualChecks& r = fit.residuals;
  json.key("residuals").open_object(on_a_line).field("lag1", r.lag1);
  json.field("lag1_expected", r.lag1_expected).field("runs_p", r.runs_p);
  json.field("largest", r.largest).field("correlation", fit.residual_correlation).close();
}

void write_budget(JsonWriter& json, const CurveFit& fit) {
  json.key("budget").open_array();
  for (const BudgetLine& line : fit.budget) {
    json.open_object(on_a_line).field("cause", line.cause).field("step", line.step);
    if (fit.c4) {
      json.field("Vpmax_percent", line.Vpmax).field("plateau_percent", line.top);
    } else {
      json.field("Vcmax_percent", line.Vcmax).field("J_percent", line.J);
      json.field("TPU_percent", line.TPU);
    }
    json.field("Rday", line.Rday).close();
  }
  json.close();
}

/// A line of the file, null where it is not known.
void write_line(JsonWriter& json, std::size_t line) {
  json.key("line");
  if (line > 0) {
    json.value(line);
  } else {
    json.null();
  }
}

void write_rows(JsonWriter& json, const CurveFit& fit, const Curve& curve) {
  json.key("rows").open_array();
  for (const FittedRow& row : fit.rows) {
    const CurveRow& read = curve.rows.at(row.row);
    json.open_object(on_a_line).field("row", row.row);
    write_line(json, read.place.line);
    json.field("Ci", row.Ci).field("A", row.A).field("A_model", row.A_model);
    json.field("residual", row.residual).field("state", row_state_name(row));
    if (fit.weighting) {
      json.field("sd", row.sd).field("weight", row.weight).field("huber_weight", row.huber);
    }
    json.field("Tleaf", read.Tleaf).field("Patm", read.Patm).close();
  }
  json.close().key("unused").open_array();
  for (const CurveRow& row : curve.rows) {
    const std::string why = why_unused(fit, row);
    if (why.empty()) continue;
    json.open_object(on_a_line).field("row", row.row);
    write_line(json, row.place.line);
    json.field("why", why).close();
  }
  json.close();
}

void write_transitions(JsonWriter& json, const CurveFit& fit) {
  json.key("transitions").open_object(on_a_line);
  for (const NamedTransition& t : transitions_of(fit)) json.field(t.from + "|" + t.to, t.Ci);
  json.close();
}

void write_curve(JsonWriter& json, const CurveFit& fit, const Curve& curve) {
  json.open_object().field("curve_id", fit.curve_id).field("file", curve_file(curve));
  json.field("pathway", fit.pathway).field("points", fit.points).key("used").open_array(on_a_line);
  for (const std::size_t row : fit.used) json.value(row);
  json.close().field("Tleaf", fit.Tleaf).field("Patm", fit.Patm);
  write_kinetics(json, fit);
  if (!fit.c4) {
    json.key("permitted");
    write_limitations(json, fit.permitted);
  }
  json.key("estimates").open_object();
  for (const Estimate* e : estimates_of(fit)) write_estimate(json, *e);
  json.close();
  if (!fit.c4) {
    const EstimateCorrelations r = estimate_correlations(fit);
    json.key("correlations").open_object(on_a_line);
    json.field("Vcmax_J", r.Vcmax_J);
    json.field("Vcmax_Rday", r.Vcmax_Rday);
    json.field("J_Rday", r.J_Rday).close();
  }
  json.key("interval_kind");
  if (fit.interval_kind.empty()) {
    json.null();
  } else {
    json.value(fit.interval_kind);
  }
  write_at25(json, fit);
  json.field("ssr", fit.ssr).field("rmse", fit.rmse).field("df", fit.df).key("limited_by");
  json.open_array(on_a_line);
  for (const std::string& state : limiting_states(fit)) json.value(state);
  json.close();
  write_transitions(json, fit);
  json.field("certified", fit.certified).field("certificate", fit.certificate);
  write_alternative(json, "runner_up", fit.runner_up);
  write_alternative(json, "other_set", fit.other_set);
  json.field("f_test_p", fit.f_test_p);
  write_dark(json, fit);
  write_light(json, fit);
  write_weighting(json, fit);
  write_residuals(json, fit);
  write_empirical(json, fit);
  write_budget(json, fit);
  write_operating(json, fit);
  write_gsw_drift(json, fit);
  write_rows(json, fit, curve);
  write_notes(json, fit.notes);
  json.close();
}

void write_head(JsonWriter& json, const FitDocument& document) {
  write_made_from(json, "fit", document.inputs, document.settings);
  json.field("correlation", document.campaign->correlation);
}

void write_tail(JsonWriter& json, const FitDocument& document) {
  if (document.run != nullptr) {
    if (!document.run->paths.empty()) write_paths(json, document.run->paths);
    if (!document.run->ramps.empty()) write_ramps(json, document.run->ramps);
    if (!document.run->pairs.empty()) write_pairs(json, document.run->pairs);
  }
  std::vector<Failed> failed;
  const auto add = [&](const std::string& id, std::string file, const std::string& why) {
    failed.push_back({{{"curve_id", id}, {"file", std::move(file)}}, why});
  };
  for (const CurveOutcome& outcome : outcomes(document)) {
    if (outcome.failed == nullptr) continue;
    add(outcome.failed->curve_id, std::string(curve_file(*outcome.curve)), outcome.failed->why);
  }
  for (const UnreadCurveOf& unread : document.unread_curves) {
    add(unread.curve_id, unread.file, unread.why);
  }
  write_failed(json, failed);
  json.key("unread").open_array();
  for (const UnreadFile& unread : document.unread) {
    json.open_object(on_a_line).field("file", unread.path).field("why", unread.why).close();
  }
  json.close().key("problems").open_array();
  for (const std::string& problem : document.problems) json.value(problem);
  json.close();
  Notes notes = document.notes;
  const Notes& campaign = document.campaign->notes;
  notes.insert(notes.end(), campaign.begin(), campaign.end());
  write_notes(json, notes);
}

}  // namespace

std::string fit_json(const FitDocument& document) {
  std::size_t rows = 0;
  for (const Curve& curve : document.curves) rows += curve.rows.size();
  JsonWriter json(8192 + 6144 * document.curves.size() + 224 * rows);
  json.open_object();
  write_head(json, document);
  json.key("curves").open_array();
  for (const CurveOutcome& outcome : outcomes(document)) {
    if (outcome.fit != nullptr) write_curve(json, *outcome.fit, *outcome.curve);
  }
  json.close();
  write_tail(json, document);
  json.close();
  return json.finish();
}

std::string fit_meta_json(const FitDocument& document) {
  JsonWriter json;
  json.open_object();
  write_head(json, document);
  json.key("columns").open_array();
  for (const CsvColumn& column : fit_csv_columns(document)) {
    json.open_object(on_a_line).field("name", column.name).field("unit", column.unit);
    json.field("meaning", column.meaning).close();
  }
  json.close();
  write_tail(json, document);
  json.close();
  return json.finish();
}

}  // namespace leafwright
