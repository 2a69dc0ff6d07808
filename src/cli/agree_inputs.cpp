#include "cli/agree_inputs.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "base/text.hpp"
#include "cli/agree_curves.hpp"
#include "cli/input.hpp"
#include "files/xlsx.hpp"
#include "fit/fit.hpp"
#include "fit/shrunken.hpp"
#include "report/sha256.hpp"
#include "stats/agreement_settings.hpp"
#include "study/agree_pairs.hpp"
#include "table/settings.hpp"

namespace leafwright::cli {
namespace {

std::string stem(const std::string& path) {
  return path == "-" ? "standard input" : std::filesystem::path(path).stem().string();
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
  if (auto ok = refuse_shrunken(*table); !ok) return fail(ok.error());
  if (is_fit_table(*table)) return curves_of_fit_table(*table, values, labels);
  const FitColumns named = fit_columns(call.settings[of_fit]);
  return curves_of_points(*table, points_options(call.settings[of_points], named.rday, named.sd),
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

/// Fits the curves of points; the others are ready. `unmarked` lets marked rows in again.
Result<std::vector<ComparedCurve>> fit_all(const std::vector<LabelledCurve>& curves,
                                           const Call& call, bool unmarked, Console& console) {
  std::vector<Curve> points;
  std::vector<ComparedCurve> out;
  for (const LabelledCurve& curve : curves) {
    ComparedCurve ready;
    ready.labels = curve.labels;
    if (curve.points) {
      points.push_back(unmarked && curve.unmarked ? *curve.unmarked : *curve.points);
      ready.curve.curve_id = points.back().curve_id;
      // Two files may use one id; the campaign's ids are unique.
      points.back().curve_id = fmt::format("{}", out.size());
    } else {
      ready.curve = *curve.fitted;
    }
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
    ComparedCurve& ready = out[index(fit.curve_id)];
    const std::string id = ready.curve.curve_id;
    ready.curve = compared_fit(fit, values);
    ready.curve.curve_id = id;
    ready.fit = fit;
  }
  for (const FailedCurve& failed : campaign.failed) {
    ComparedCurve& ready = out[index(failed.curve_id)];
    ready.curve.failed = "not fitted: " + failed.why;
  }
  return out;
}

/// Pairs, with the leaves that are excluded marked. Returns the leaves that are no pair.
Result<std::vector<std::string>> pair_up(const std::vector<ComparedCurve>& curves,
                                         const Settings& agree, AgreementInput& input,
                                         std::vector<std::string> not_compared) {
  for (NoPair& leaf : add_pairs(curves, input)) not_compared.push_back(std::move(leaf.why));
  if (input.pairs.empty()) {
    return fail(ErrorCode::refused,
                fmt::format("no leaf has one curve by {} and one by {}: {}", input.methods[0],
                            input.methods[1], join(not_compared, "; ", 6)),
                "leaves with the same name in column '" + agree.text("leaf") + "'",
                "is the column with the leaf another one (--leaf)?");
  }
  if (auto ok = exclude_pairs(agree, input); !ok) return fail(ok.error());
  return not_compared;
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
  const bool any_fitted = std::any_of(curves->begin(), curves->end(),
                                      [](const LabelledCurve& c) { return c.fitted.has_value(); });
  if (any_fitted) {
    out.rows_out.emplace_back("rows that the fits read from files leave out are not in again");
  }
  const bool any_marked = std::any_of(curves->begin(), curves->end(), [](const LabelledCurve& c) {
    return c.unmarked.has_value();
  });
  auto ready = fit_all(*curves, call, false, console);
  if (!ready) return fail(ready.error());
  if (agree.is_set("method")) {
    auto methods = choose_methods(agree, agree.text("method"), *ready);
    if (!methods) return fail(methods.error());
    out.input.methods = std::move(*methods);
  }
  AgreementInput again = out.input;
  auto told = pair_up(*ready, agree, out.input, std::move(out.not_compared));
  if (!told) return fail(told.error());
  out.not_compared = std::move(*told);
  if (any_marked) {
    auto all = fit_all(*curves, call, true, console);
    if (!all) return fail(all.error());
    if (auto ok = pair_up(*all, agree, again, {}); !ok) return fail(ok.error());
    out.unmarked = std::move(again);
  }
  return out;
}

}  // namespace leafwright::cli
