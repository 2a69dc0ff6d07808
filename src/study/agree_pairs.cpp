#include "study/agree_pairs.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/number.hpp"
#include "base/text.hpp"
#include "fit/fitted.hpp"
#include "stats/agreement_settings.hpp"

namespace leafwright {
namespace {

/// The mean of both fits at every row, so that both methods are bent by the same curve.
void add_reference(LeafPair& pair, const std::array<const ComparedCurve*, 2>& both) {
  std::vector<const CurveFit*> fits;
  for (const ComparedCurve* curve : both) {
    if (curve->fit) fits.push_back(&*curve->fit);
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

using OfLeaf = std::array<std::vector<const ComparedCurve*>, 2>;

std::vector<std::pair<std::string, OfLeaf>> by_leaf(std::span<const ComparedCurve> curves,
                                                    const AgreementInput& input) {
  std::vector<std::pair<std::string, OfLeaf>> out;
  for (const ComparedCurve& curve : curves) {
    const std::string& method = curve.labels.method;
    if (method != input.methods[0] && method != input.methods[1]) continue;
    auto at = std::find_if(out.begin(), out.end(),
                           [&](const auto& leaf) { return leaf.first == curve.labels.leaf; });
    if (at == out.end()) at = out.insert(out.end(), {curve.labels.leaf, {}});
    at->second[method == input.methods[1] ? 1 : 0].push_back(&curve);
  }
  return out;
}

/// Why these curves of a leaf are no pair; empty where they are.
std::optional<NoPair> no_pair(const std::string& leaf, const OfLeaf& both,
                              const AgreementInput& input) {
  for (std::size_t k = 0; k < 2; ++k) {
    if (both[k].empty()) {
      return NoPair{leaf, fmt::format("leaf '{}': no curve by {}", leaf, input.methods[k]), k};
    }
    if (both[k].size() == 1) continue;
    std::vector<std::string> ids;
    for (const ComparedCurve* c : both[k]) ids.push_back(c->curve.curve_id);
    return NoPair{leaf,
                  fmt::format("leaf '{}': {} curves by {} ({}), expected one; give them different "
                              "methods, or choose with --only",
                              leaf, ids.size(), input.methods[k], join(ids, ", ", 5)),
                  {}};
  }
  const std::string& a = both[0][0]->labels.plant;
  const std::string& b = both[1][0]->labels.plant;
  if (a == b) return {};
  return NoPair{leaf, fmt::format("leaf '{}': of plant '{}' and of plant '{}'", leaf, a, b), {}};
}

}  // namespace

MeasuredParameter compared_parameter(std::string symbol, std::string unit,
                                     const std::string& status, std::optional<double> value,
                                     std::optional<double> se, std::optional<double> low,
                                     std::optional<double> high) {
  MeasuredParameter out;
  out.symbol = std::move(symbol);
  out.unit = std::move(unit);
  const auto shown = [](std::optional<double> v) { return v ? print_rounded(*v, 4) : "?"; };
  if (status == "estimated") {
    out.value = value;
    out.se = se;
    if (!value) out.why_not = out.symbol.ends_with("25") ? "no value at 25 degC" : "no value";
  } else if (status == "fixed") {
    out.why_not = "held fixed, not measured";
  } else if (status == "lower bound") {
    out.why_not = "only a lower bound, above " + shown(low);
  } else if (status == "upper bound") {
    out.why_not = "only an upper bound, below " + shown(high);
  } else {
    out.why_not = status.empty() ? "not fitted" : status;
  }
  return out;
}

std::optional<double> moved_se(std::optional<double> se, std::optional<double> value,
                               std::optional<double> moved) {
  if (!se || !value || !moved || *value == 0) return se;
  return *se * *moved / *value;
}

MethodCurve compared_fit(const CurveFit& fit, const std::string& values) {
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
      se = moved_se(se, value, at25);
      value = at25;
    }
    out.parameters.push_back(
        compared_parameter(symbol, e->unit, status_name(e->status), value, se, e->low, e->high));
  }
  return out;
}

Result<std::array<std::string, 2>> choose_methods(const Settings& agree, const std::string& column,
                                                  std::span<const ComparedCurve> curves) {
  std::vector<std::string> found;
  for (const ComparedCurve& curve : curves) {
    if (std::find(found.begin(), found.end(), curve.labels.method) == found.end()) {
      found.push_back(curve.labels.method);
    }
  }
  if (agree.is_set("methods")) {
    auto names = method_names(agree);
    if (!names) return names;
    for (const std::string& name : *names) {
      if (std::find(found.begin(), found.end(), name) != found.end()) continue;
      return fail(ErrorCode::usage, fmt::format("no curve has '{}' in column '{}'", name, column),
                  found.size() < 2 ? "two methods; there is " + join(found)
                                   : "two of: " + join(found, ", ", 8));
    }
    return names;
  }
  if (found.size() != 2) {
    return fail(ErrorCode::usage,
                fmt::format("column '{}' names {}: {}", column, counted(found.size(), "method"),
                            join(found, ", ", 8)),
                "two methods",
                found.size() > 2 ? "choose them with --methods FIRST,SECOND"
                                 : "is the column that names the method another one (--method)?");
  }
  return std::array<std::string, 2>{found[0], found[1]};
}

std::vector<NoPair> add_pairs(std::span<const ComparedCurve> curves, AgreementInput& input) {
  std::vector<NoPair> out;
  for (const auto& [leaf, both] : by_leaf(curves, input)) {
    if (auto why = no_pair(leaf, both, input)) {
      out.push_back(std::move(*why));
      continue;
    }
    LeafPair pair;
    pair.leaf = leaf;
    pair.plant = both[0][0]->labels.plant;
    for (std::size_t k = 0; k < 2; ++k) {
      pair.curve[k] = both[k][0]->curve;
      pair.curve[k].order = both[k][0]->labels.order;
    }
    add_reference(pair, {both[0][0], both[1][0]});
    input.pairs.push_back(std::move(pair));
  }
  return out;
}

Result<void> exclude_pairs(const Settings& agree, AgreementInput& input) {
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

Result<std::optional<AgreementAgain>> compare_again(const AgreementInput& input,
                                                    const std::optional<AgreementInput>& unmarked,
                                                    AgreementRules rules) {
  AgreementAgain out;
  for (const LeafPair& pair : input.pairs) out.leaves = out.leaves || !pair.excluded.empty();
  out.rows = unmarked.has_value();
  if (!out.rows && !out.leaves) return std::optional<AgreementAgain>();
  out.input = unmarked ? *unmarked : input;
  rules.honour_exclusions = false;
  auto result = analyse_agreement(out.input, rules);
  if (!result) return fail(result.error());
  out.result = std::move(*result);
  return std::optional(std::move(out));
}

}  // namespace leafwright
