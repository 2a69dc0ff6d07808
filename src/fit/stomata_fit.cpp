#include "fit/stomata_fit.hpp"

#include <algorithm>
#include <cmath>

#include "base/number.hpp"
#include "leaf/stomata.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {

namespace {

/// One row of gsw = offset + g0 + slope index, all in mol m-2 s-1.
struct Line {
  double index = 0;
  double offset = 0;
};

/// Why a row cannot enter, or "".
std::string unusable(const StomataRow& row, StomataModel model) {
  if (row.A <= 0) return "A is not positive: the model is for assimilating leaves";
  if (row.CO2s <= 0) return "CO2s is not positive";
  if (model == StomataModel::ball_berry) {
    if (!row.RHs) return "no RHs";
    if (*row.RHs <= 0 || *row.RHs > 100) return "RHs outside 0 to 100 %";
    return "";
  }
  if (!row.VPDleaf) return "no VPDleaf";
  if (*row.VPDleaf <= 0) return "VPDleaf is not positive";
  return "";
}

Line line_of(const StomataRow& row, const StomataOptions& options) {
  switch (options.model) {
    case StomataModel::ball_berry:
      return {ball_berry(0, 1, row.A, *row.RHs / 100, row.CO2s), 0};
    case StomataModel::leuning:
      return {leuning(0, 1, row.A, row.CO2s, *options.Gamma, *row.VPDleaf, options.D0), 0};
    case StomataModel::medlyn: {
      const double offset = medlyn(0, 0, row.A, *row.VPDleaf, row.CO2s);
      return {medlyn(0, 1, row.A, *row.VPDleaf, row.CO2s) - offset, offset};
    }
  }
  return {};
}

void describe(ResponseFit& out, const StomataOptions& options) {
  switch (options.model) {
    case StomataModel::ball_berry:
      out.form = "ball-berry";
      out.equation = "gsw = g0 + m A h/cs";
      out.source = "Ball, Woodrow & Berry 1987";
      break;
    case StomataModel::leuning:
      out.form = "leuning";
      out.equation = "gsw = g0 + a1 A/[(cs - Gamma)(1 + D/D0)]";
      out.source = "Leuning 1995, Plant Cell Environ. 18:339";
      out.notes.push_back({NoteLevel::info, "fixed-constants",
                           "Gamma " + print_rounded(*options.Gamma, 4) + " umol mol-1 and D0 " +
                               print_rounded(options.D0, 4) +
                               " kPa are held (D0 1.5 is from memory)"});
      break;
    case StomataModel::medlyn:
      out.form = "medlyn";
      out.equation = "gsw = g0 + 1.6 (1 + g1/sqrt(D)) A/ca";
      out.source = "Medlyn et al. 2011, Glob. Change Biol. 17:2134";
      break;
  }
  out.notes.push_back({NoteLevel::info, "chamber-air",
                       "humidity, D and CO2 are those that the columns give (air of the chamber, "
                       "unless they were computed for the leaf surface)"});
}

}  // namespace

Result<StomataModel> find_stomata_model(std::string_view name) {
  if (name == "ball-berry") return StomataModel::ball_berry;
  if (name == "leuning") return StomataModel::leuning;
  if (name == "medlyn") return StomataModel::medlyn;
  return fail(ErrorCode::usage, "model '" + std::string(name) + "'",
              "ball-berry, leuning or medlyn");
}

Result<ResponseFit> fit_stomata(const std::vector<StomataRow>& rows,
                                const StomataOptions& options) {
  if (options.model == StomataModel::leuning && !options.Gamma) {
    return fail(ErrorCode::usage, "no Gamma for leuning", "the CO2 compensation point, umol mol-1",
                "give --gamma");
  }
  ResponseFit out;
  out.of = "gsw";
  std::vector<Line> lines;
  std::vector<double> measured;
  for (const StomataRow& row : rows) {
    if (std::string why = unusable(row, options.model); !why.empty()) {
      out.excluded.push_back({row.place, std::move(why)});
      continue;
    }
    lines.push_back(line_of(row, options));
    measured.push_back(row.gsw / 1e3);
    out.points.push_back(
        {lines.back().index, measured.back() - lines.back().offset, row.leaf, row.row, row.place});
  }
  if (lines.size() < 3) {
    return fail(ErrorCode::unfit, std::to_string(lines.size()) + " usable rows", "at least 3",
                out.excluded.empty() ? "" : "the first left out: " + out.excluded.front().why);
  }
  LeastSquaresProblem problem;
  problem.residual_count = lines.size();
  problem.residuals = [&](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < lines.size(); ++i) {
      r[i] = p[0] + p[1] * lines[i].index + lines[i].offset - measured[i];
    }
  };
  problem.start = {options.g0 ? *options.g0 / 1e3 : 0.01, 4};
  if (options.g0) {
    problem.lower = {problem.start[0], -1e3};
    problem.upper = {problem.start[0], 1e3};
  }
  const auto fit = least_squares(problem);
  if (!fit) return fail(fit.error());
  describe(out, options);
  out.ssr = fit->ssr;
  out.df = fit->df;
  out.rmse = fit->df > 0 ? std::sqrt(fit->ssr / static_cast<double>(fit->df)) : 0;
  const char* symbol = options.model == StomataModel::ball_berry ? "m"
                       : options.model == StomataModel::leuning  ? "a1"
                                                                 : "g1";
  auto slope = estimate_of(problem, *fit, 1, symbol,
                           options.model == StomataModel::medlyn ? "kPa^0.5" : "1");
  if (!slope) return fail(slope.error());
  out.estimates.push_back(*slope);
  if (options.g0) {
    out.estimates.push_back(fixed_estimate("g0", "mmol m-2 s-1", *options.g0));
  } else {
    auto g0 = estimate_of(problem, *fit, 0, "g0", "mol m-2 s-1");
    if (!g0) return fail(g0.error());
    for (std::optional<double>* number : {&g0->value, &g0->se, &g0->low, &g0->high}) {
      if (*number) **number *= 1e3;
    }
    g0->unit = "mmol m-2 s-1";
    out.estimates.push_back(*g0);
    if (g0->value && *g0->value < 0) {
      out.notes.push_back(
          {NoteLevel::caution, "g0-negative",
           "g0 is below zero, which no leaf has: hold it (--g0) or add rows of low A"});
    }
  }
  const auto [low, high] = std::minmax_element(
      lines.begin(), lines.end(), [](const Line& a, const Line& b) { return a.index < b.index; });
  for (const double x : {0.0, low->index, high->index}) {
    const std::vector<double> gradient{1, x};
    ResponseCurvePoint point{x, fit->parameters[0] + fit->parameters[1] * x, {}, {}};
    if (const auto se = linearised_se(*fit, gradient); se && fit->df > 0) {
      const double half = *se * t_quantile(0.975, static_cast<double>(fit->df));
      point.low = point.y - half;
      point.high = point.y + half;
    }
    out.curve.push_back(point);
  }
  return out;
}

}  // namespace leafwright
