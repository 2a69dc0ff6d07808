#include "cli/agree_inputs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>

#include "base/text.hpp"
#include "cli/agree_curves.hpp"
#include "cli/input.hpp"
#include "files/xlsx.hpp"
#include "fit/fit.hpp"
#include "fit/fitted.hpp"
#include "report/sha256.hpp"
#include "stats/agreement_settings.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

/// A curve with everything that became of it.
struct Ready {
  CurveLabels labels;
  MethodCurve curve;
  std::optional<CurveFit> fit;
};

std::string stem(const std::string& path) {
  return path == "-" ? "standard input" : std::filesystem::path(path).stem().string();
}

/// NAME of `--rday column:NAME`.
std::optional<std::string> rday_column(const Settings& fit) {
  const std::string& rday = fit.text("rday");
  constexpr std::string_view prefix = "column:";
  if (!rday.starts_with(prefix)) return {};
  return rday.substr(prefix.size());
}

Result<ReadCurves> read_file(const std::string& path, const Call& call, const LabelColumns& labels,
                             AgreeInputs& out) {
  auto bytes = read_input(path);
  if (!bytes) return fail(bytes.error());
  const std::string name = input_name(path);
  const std::string& values = call.settings[of_agree].text("values");
  out.files.push_back({name, bytes->size(), sha256(*bytes)});
  if (is_fit_json(*bytes)) return curves_of_fit_json(*bytes, name, values, labels);
  const auto table = open_table(std::move(*bytes), name, layout_choice(call.settings[of_layout]));
  if (!table) return fail(table.error());
  if (is_fit_table(*table)) return curves_of_fit_table(*table, values, labels);
  const Settings& fit = call.settings[of_fit];
  return curves_of_points(*table, points_options(call.settings[of_points], rday_column(fit)),
                          labels);
}

/// All curves of all files; two files are two methods unless a column names them.
Result<std::vector<LabelledCurve>> read_all(const Call& call, Console& console, AgreeInputs& out) {
  const Settings& agree = call.settings[of_agree];
  std::optional<Table> samples;
  if (call.has("samples")) {
    auto table = read_input_table(call.value("samples"), {});
    if (!table) return fail(table.error());
    samples = std::move(*table);
  }
  const LabelColumns labels = label_columns(agree, samples ? &*samples : nullptr);
  std::vector<LabelledCurve> curves;
  for (std::size_t k = 0; k < call.inputs.size(); ++k) {
    auto read = read_file(call.inputs[k], call, labels, out);
    if (!read) return fail(read.error());
    for (LabelledCurve& curve : read->curves) {
      if (!agree.is_set("method")) curve.labels.method = out.input.methods[k];
      curves.push_back(std::move(curve));
    }
    for (const std::string& problem : read->problems) {
      console.complain(problem);
      out.problems.push_back(problem);
    }
    out.not_compared.insert(out.not_compared.end(), read->left_out.begin(), read->left_out.end());
    out.notes.insert(out.notes.end(), read->notes.begin(), read->notes.end());
  }
  return curves;
}

Result<void> check_call(const Call& call, AgreeInputs& out) {
  const Settings& agree = call.settings[of_agree];
  const bool column = agree.is_set("method");
  if (call.inputs.size() > 2) {
    return fail(ErrorCode::usage, counted(call.inputs.size(), "file") + " given",
                "two, one a method, or one with --method COLUMN");
  }
  if (call.inputs.size() == 2 && call.inputs[0] == call.inputs[1]) {
    return fail(ErrorCode::usage, "'" + call.inputs[0] + "' is given twice",
                "two files, or one with --method COLUMN");
  }
  if (call.inputs.size() == 1 && !column) {
    return fail(ErrorCode::usage, "one file and no --method",
                "a second file, or the column that names the method (--method COLUMN)");
  }
  if (agree.is_set("methods")) {
    auto names = method_names(agree);
    if (!names) return fail(names.error());
    out.input.methods = *names;
  } else if (!column) {
    out.input.methods = {stem(call.inputs[0]), stem(call.inputs[1])};
    if (out.input.methods[0] == out.input.methods[1]) out.input.methods = {"first", "second"};
  }
  return {};
}

/// The two methods named in the column, in order of appearance, unless --methods chose them.
Result<void> choose_methods(const Settings& agree, const std::vector<LabelledCurve>& curves,
                            AgreementInput& input) {
  if (!agree.is_set("method")) return {};
  std::vector<std::string> found;
  for (const LabelledCurve& curve : curves) {
    if (std::find(found.begin(), found.end(), curve.labels.method) == found.end()) {
      found.push_back(curve.labels.method);
    }
  }
  const std::string& column = agree.text("method");
  if (agree.is_set("methods")) {
    for (const std::string& name : input.methods) {
      if (std::find(found.begin(), found.end(), name) != found.end()) continue;
      return fail(ErrorCode::usage, fmt::format("no curve has '{}' in column '{}'", name, column),
                  "two of: " + join(found, ", ", 8));
    }
    return {};
  }
  if (found.size() != 2) {
    return fail(ErrorCode::usage,
                fmt::format("column '{}' names {}: {}", column, counted(found.size(), "method"),
                            join(found, ", ", 8)),
                "two methods", "choose them with --methods FIRST,SECOND");
  }
  input.methods = {found[0], found[1]};
  return {};
}

MethodCurve from_fit(const CurveFit& fit, const std::string& values) {
  MethodCurve out;
  out.curve_id = fit.curve_id;
  out.Tleaf = fit.Tleaf;
  if (fit.df > 0) out.noise_sd = fit.rmse;
  for (const FittedRow& row : fit.rows) {
    out.points.push_back({row.Ci, row.A});
    out.rows.push_back(row.row);
  }
  for (const Estimate* e : estimates_of(fit)) {
    std::optional<double> value = e->value, se = e->se;
    std::string symbol = e->symbol;
    if (values == "25") {
      symbol += "25";
      const auto moved = std::find_if(fit.at25.begin(), fit.at25.end(),
                                      [&](const At25& at) { return at.symbol == symbol; });
      const auto at25 = moved == fit.at25.end() ? std::nullopt : moved->value;
      if (se && value && at25 && *value != 0) se = *se * *at25 / *value;
      value = at25;
    }
    out.parameters.push_back(
        measured(symbol, e->unit, status_name(e->status), value, se, e->low, e->high));
  }
  return out;
}

/// Fits the curves of points; the others are ready. `unmarked` lets marked rows in again.
Result<std::vector<Ready>> fit_all(const std::vector<LabelledCurve>& curves, const Call& call,
                                   bool unmarked, Console& console) {
  std::vector<Curve> points;
  std::vector<Ready> out;
  for (const LabelledCurve& curve : curves) {
    Ready ready;
    ready.labels = curve.labels;
    if (curve.points) {
      points.push_back(unmarked && curve.unmarked ? *curve.unmarked : *curve.points);
      ready.curve.curve_id = points.back().curve_id;
      // Two files may use one id; the campaign's ids are unique.
      points.back().curve_id = fmt::format("{}", out.size());
    } else {
      ready.curve = *curve.fitted;
    }
    ready.curve.order = ready.labels.order;
    out.push_back(std::move(ready));
  }
  if (points.empty()) return out;
  if (!call.settings[of_leaves].is_set("pathway")) {
    return fail(ErrorCode::usage, "no --pathway given", "--pathway c3",
                "points are fitted, and there is no default");
  }
  if (call.settings[of_leaves].text("pathway") == "c4") {
    return fail(ErrorCode::refused, "--pathway c4", "--pathway c3",
                "C4 curves are compared from what 'leafwright fit --json' wrote of them");
  }
  auto options = fit_options(call.settings[of_fit]);
  if (!options) return fail(options.error());
  options->budget = false;
  const CampaignFit campaign = fit_curves(points, *options, console.progress());
  const std::string& values = call.settings[of_agree].text("values");
  const auto index = [](const std::string& id) { return std::stoul(id); };
  for (const CurveFit& fit : campaign.fits) {
    Ready& ready = out[index(fit.curve_id)];
    const std::string id = ready.curve.curve_id;
    ready.curve = from_fit(fit, values);
    ready.curve.curve_id = id;
    ready.curve.order = ready.labels.order;
    ready.fit = fit;
  }
  for (const FailedCurve& failed : campaign.failed) {
    Ready& ready = out[index(failed.curve_id)];
    ready.curve.failed = "not fitted: " + failed.why;
  }
  return out;
}

/// The mean of both fits at every row, so that both methods are bent by the same curve.
void add_reference(LeafPair& pair, const std::array<const Ready*, 2>& ready) {
  std::vector<const CurveFit*> fits;
  for (const Ready* r : ready) {
    if (r->fit) fits.push_back(&*r->fit);
  }
  if (fits.size() < 2) return;
  for (std::size_t k = 0; k < 2; ++k) {
    for (const RowPoint& p : pair.curve[k].points) {
      double sum = 0;
      for (const CurveFit* fit : fits) sum += fitted_rate(*fit, p.Ci);
      pair.reference[k].push_back(sum / static_cast<double>(fits.size()));
    }
  }
}

using ByLeaf = std::vector<std::pair<std::string, std::array<std::vector<const Ready*>, 2>>>;

ByLeaf by_leaf(const std::vector<Ready>& curves, const AgreementInput& input) {
  ByLeaf out;
  for (const Ready& curve : curves) {
    const std::string& method = curve.labels.method;
    if (method != input.methods[0] && method != input.methods[1]) continue;
    auto at = std::find_if(out.begin(), out.end(),
                           [&](const auto& leaf) { return leaf.first == curve.labels.leaf; });
    if (at == out.end()) at = out.insert(out.end(), {curve.labels.leaf, {}});
    at->second[method == input.methods[1] ? 1 : 0].push_back(&curve);
  }
  return out;
}

/// Why these curves of a leaf are no pair; "" where they are.
std::string no_pair(const std::string& leaf, const std::array<std::vector<const Ready*>, 2>& both,
                    const AgreementInput& input) {
  for (std::size_t k = 0; k < 2; ++k) {
    if (both[k].empty()) return fmt::format("leaf '{}': no curve by {}", leaf, input.methods[k]);
    if (both[k].size() == 1) continue;
    std::vector<std::string> ids;
    for (const Ready* r : both[k]) ids.push_back(r->curve.curve_id);
    return fmt::format("leaf '{}': {} curves by {} ({}), expected one; choose with --only", leaf,
                       ids.size(), input.methods[k], join(ids, ", ", 5));
  }
  const std::string& a = both[0][0]->labels.plant;
  const std::string& b = both[1][0]->labels.plant;
  if (a != b) return fmt::format("leaf '{}': of plant '{}' and of plant '{}'", leaf, a, b);
  return "";
}

void make_pairs(const std::vector<Ready>& curves, AgreementInput& input,
                std::vector<std::string>& not_compared) {
  for (const auto& [leaf, both] : by_leaf(curves, input)) {
    if (const std::string why = no_pair(leaf, both, input); !why.empty()) {
      not_compared.push_back(why);
      continue;
    }
    LeafPair pair;
    pair.leaf = leaf;
    pair.plant = both[0][0]->labels.plant;
    pair.curve = {both[0][0]->curve, both[1][0]->curve};
    add_reference(pair, {both[0][0], both[1][0]});
    input.pairs.push_back(std::move(pair));
  }
}

Result<void> exclude(const Settings& agree, AgreementInput& input) {
  const auto leaves = excluded_leaves(agree);
  if (!leaves) return fail(leaves.error());
  for (const auto& [leaf, reason] : *leaves) {
    const auto pair =
        std::find_if(input.pairs.begin(), input.pairs.end(),
                     [&wanted = leaf](const LeafPair& p) { return p.leaf == wanted; });
    if (pair == input.pairs.end()) {
      std::vector<std::string> known;
      for (const LeafPair& p : input.pairs) known.push_back(p.leaf);
      return fail(ErrorCode::usage, "--exclude names leaf '" + leaf + "', which is not compared",
                  "", suggest_name(leaf, known));
    }
    pair->excluded = reason;
  }
  return {};
}

}  // namespace

Result<AgreeInputs> read_agree_inputs(const Call& call, Console& console) {
  AgreeInputs out;
  if (auto ok = check_call(call, out); !ok) return fail(ok.error());
  const Settings& agree = call.settings[of_agree];
  out.input.plants_known = agree.is_set("plant");
  out.input.order_known = agree.is_set("order");
  const auto curves = read_all(call, console, out);
  if (!curves) return fail(curves.error());
  if (auto ok = choose_methods(agree, *curves, out.input); !ok) return fail(ok.error());
  const bool any_marked = std::any_of(curves->begin(), curves->end(), [](const LabelledCurve& c) {
    return c.unmarked.has_value();
  });
  AgreementInput again = out.input;
  auto ready = fit_all(*curves, call, false, console);
  if (!ready) return fail(ready.error());
  make_pairs(*ready, out.input, out.not_compared);
  if (out.input.pairs.empty()) {
    return fail(ErrorCode::refused,
                fmt::format("no leaf has one curve by {} and one by {}: {}", out.input.methods[0],
                            out.input.methods[1], join(out.not_compared, "; ", 6)),
                "leaves with the same name in column '" + agree.text("leaf") + "'",
                "is the column with the leaf another one (--leaf)?");
  }
  if (auto ok = exclude(agree, out.input); !ok) return fail(ok.error());
  if (any_marked) {
    auto all = fit_all(*curves, call, true, console);
    if (!all) return fail(all.error());
    std::vector<std::string> ignored;
    make_pairs(*all, again, ignored);
    if (auto ok = exclude(agree, again); !ok) return fail(ok.error());
    out.unmarked = std::move(again);
  }
  return out;
}

}  // namespace leafwright::cli
