#include "fit/temperature_fit.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "base/number.hpp"
#include "leaf/at25.hpp"
#include "leaf/c4_spread.hpp"
#include "leaf/response.hpp"
#include "numeric/distributions.hpp"
#include "quantity/constants.hpp"

namespace leafwright {

namespace {

/// dS in J mol-1 K-1 of the peaked form with this optimum.
double entropy(double Ha, double Hd, double Topt) {
  return 1e3 * Hd / (Topt + zero_celsius) + gas_constant * std::log(Ha / (Hd - Ha));
}

/// The two (or one) parameters of the shape, and ln of the curve above its level.
struct Shape {
  TemperatureForm form;
  double Hd;
  [[nodiscard]] std::size_t size() const { return form == TemperatureForm::arrhenius ? 1 : 2; }
  [[nodiscard]] double operator()(std::span<const double> p, double T) const {
    switch (form) {
      case TemperatureForm::arrhenius:
        return std::log(arrhenius(p[0], T));
      case TemperatureForm::peaked:
        return std::log(peaked(p[0], Hd, entropy(p[0], Hd, p[1]), T));
      case TemperatureForm::optimum:
        return -std::pow((T - p[0]) / p[1], 2);
    }
    return 0;
  }
};

/// Values in logs and which leaf each belongs to.
struct Data {
  std::vector<double> T, lnV;
  std::vector<std::size_t> leaf;
  std::vector<std::string> leaves;
};

Data data_of(const std::vector<ResponsePoint>& points) {
  Data data;
  std::map<std::string, std::size_t> index;
  for (const ResponsePoint& point : points) {
    const auto [at, is_new] = index.emplace(point.leaf, index.size());
    if (is_new) data.leaves.push_back(point.leaf);
    data.T.push_back(point.x);
    data.lnV.push_back(std::log(point.y));
    data.leaf.push_back(at->second);
  }
  return data;
}

LeastSquaresProblem problem_of(const Data& data, const Shape& shape) {
  LeastSquaresProblem problem;
  problem.residual_count = data.T.size();
  const std::size_t shapes = shape.size();
  problem.residuals = [&data, shape, shapes](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < data.T.size(); ++i) {
      r[i] = p[shapes + data.leaf[i]] + shape(p, data.T[i]) - data.lnV[i];
    }
  };
  const double far = 50;  // of ln V: beyond any capacity
  problem.lower.assign(shapes + data.leaves.size(), -far);
  problem.upper.assign(shapes + data.leaves.size(), far);
  switch (shape.form) {
    case TemperatureForm::arrhenius:
      problem.lower[0] = -200;
      problem.upper[0] = 400;
      break;
    case TemperatureForm::peaked:
      problem.lower[0] = 1;
      problem.upper[0] = 0.95 * shape.Hd;
      problem.lower[1] = 0;
      problem.upper[1] = 60;
      break;
    case TemperatureForm::optimum:
      problem.lower[0] = -20;
      problem.upper[0] = 80;
      problem.lower[1] = 1;
      problem.upper[1] = 200;
      break;
  }
  return problem;
}

std::vector<std::vector<double>> starts_of(const Data& data, const Shape& shape) {
  std::vector<std::vector<double>> shapes;
  switch (shape.form) {
    case TemperatureForm::arrhenius:
      shapes = {{60}};
      break;
    case TemperatureForm::peaked:
      for (const double Ha : {30.0, 60.0, 90.0}) {
        for (const double Topt : {25.0, 33.0, 42.0}) shapes.push_back({Ha, Topt});
      }
      break;
    case TemperatureForm::optimum:
      for (const double Topt : {20.0, 30.0, 40.0}) {
        for (const double Omega : {10.0, 25.0}) shapes.push_back({Topt, Omega});
      }
      break;
  }
  for (std::vector<double>& start : shapes) {
    const std::vector<double> p = start;
    for (std::size_t leaf = 0; leaf < data.leaves.size(); ++leaf) {
      double sum = 0;
      std::size_t n = 0;
      for (std::size_t i = 0; i < data.T.size(); ++i) {
        if (data.leaf[i] != leaf) continue;
        sum += data.lnV[i] - shape(p, data.T[i]);
        ++n;
      }
      start.push_back(sum / static_cast<double>(n));
    }
  }
  return shapes;
}

std::size_t distinct_temperatures(const std::vector<double>& T) {
  std::vector<double> sorted = T;
  std::sort(sorted.begin(), sorted.end());
  std::size_t n = sorted.empty() ? 0 : 1;
  double last = sorted.empty() ? 0 : sorted.front();
  for (const double t : sorted) {
    if (t - last <= 0.5) continue;
    ++n;
    last = t;
  }
  return n;
}

/// Variance of the mean of the leaves' levels, from their spread (two leaves and more).
double level_variance(const LeastSquaresFit& fit, std::size_t shapes) {
  const double n = static_cast<double>(fit.parameters.size() - shapes);
  double mean = 0, spread = 0;
  for (std::size_t i = shapes; i < fit.parameters.size(); ++i) mean += fit.parameters[i] / n;
  for (std::size_t i = shapes; i < fit.parameters.size(); ++i) {
    spread += std::pow(fit.parameters[i] - mean, 2);
  }
  return spread / (n - 1) / n;
}

/// ln of the mean leaf's curve at T, with its standard error.
ResponseCurvePoint curve_at(double T, const Shape& shape, const LeastSquaresFit& fit,
                            std::size_t leaves) {
  const std::size_t shapes = shape.size();
  const std::vector<double>& p = fit.parameters;
  double level = 0;
  std::vector<double> gradient(p.size(), 1 / static_cast<double>(leaves));
  for (std::size_t i = shapes; i < p.size(); ++i) level += p[i] / static_cast<double>(leaves);
  const double here = shape(p, T);
  for (std::size_t k = 0; k < shapes; ++k) {
    std::vector<double> moved = p;
    const double h = 1e-6 * std::max(1.0, std::abs(p[k]));
    moved[k] += h;
    gradient[k] = (shape(moved, T) - here) / h;
  }
  ResponseCurvePoint out{T, std::exp(level + here), {}, {}};
  const auto se = linearised_se(fit, gradient);
  if (se && fit.df > 0) {
    // Of several leaves the mean leaf is meant: their spread comes on top, with its own degrees of
    // freedom. The noise inside the levels is then counted twice, which errs on the safe side.
    const double df = leaves > 1 ? static_cast<double>(leaves - 1) : static_cast<double>(fit.df);
    const double spread = leaves > 1 ? level_variance(fit, shapes) : 0;
    const double half = std::sqrt(*se * *se + spread) * t_quantile(0.975, df);
    out.low = out.y * std::exp(-half);
    out.high = out.y * std::exp(half);
  }
  return out;
}

/// The level: of one leaf by its profile, of several by their own spread.
Result<ResponseEstimate> level_estimate(const std::string& symbol, const std::string& unit,
                                        const LeastSquaresProblem& problem,
                                        const LeastSquaresFit& fit, std::size_t shapes) {
  const std::size_t leaves = fit.parameters.size() - shapes;
  ResponseEstimate out;
  if (leaves == 1) {
    auto log_level = estimate_of(problem, fit, shapes, symbol, unit);
    if (!log_level) return log_level;
    out = *log_level;
    for (std::optional<double>* end : {&out.value, &out.low, &out.high}) {
      if (*end) *end = std::exp(**end);
    }
    if (out.se && out.value) *out.se *= *out.value;
    return out;
  }
  out.symbol = symbol;
  out.unit = unit;
  const double n = static_cast<double>(leaves);
  double mean = 0;
  for (std::size_t i = shapes; i < fit.parameters.size(); ++i) mean += fit.parameters[i] / n;
  const double se = std::sqrt(level_variance(fit, shapes));
  const double half = se * t_quantile(0.975, n - 1);
  out.value = std::exp(mean);
  out.se = *out.value * se;
  out.low = std::exp(mean - half);
  out.high = std::exp(mean + half);
  return out;
}

/// dS of the peaked form: the fit once more, in Ha and dS.
Result<ResponseEstimate> entropy_estimate(const Data& data, const Shape& shape,
                                          const LeastSquaresFit& fit) {
  LeastSquaresProblem problem = problem_of(data, shape);
  const std::size_t shapes = shape.size();
  const double Hd = shape.Hd;
  problem.residuals = [&data, shapes, Hd](std::span<const double> p, std::span<double> r) {
    for (std::size_t i = 0; i < data.T.size(); ++i) {
      r[i] = p[shapes + data.leaf[i]] + std::log(peaked(p[0], Hd, p[1], data.T[i])) - data.lnV[i];
    }
  };
  problem.lower[1] = entropy(problem.lower[0], Hd, 60);
  problem.upper[1] = entropy(problem.upper[0], Hd, 0);
  problem.start = fit.parameters;
  problem.start[1] = entropy(fit.parameters[0], Hd, fit.parameters[1]);
  const auto again = least_squares(problem);
  if (!again) return fail(again.error());
  return estimate_of(problem, *again, 1, "dS", "J mol-1 K-1");
}

void describe(ResponseFit& out, TemperatureForm form) {
  switch (form) {
    case TemperatureForm::arrhenius:
      out.form = "arrhenius";
      out.equation = "V = V25 exp[Ha/(R 298.15) (1 - 298.15/T)]";
      out.source = "Medlyn et al. 2002, Plant Cell Environ. 25:1167, eq. 16";
      break;
    case TemperatureForm::peaked:
      out.form = "peaked";
      out.equation =
          "V = V25 exp[Ha/(R 298.15) (1 - 298.15/T)] (1 + exp[(298.15 dS - Hd)/(298.15 R)])/"
          "(1 + exp[(T dS - Hd)/(T R)])";
      out.source = "Medlyn et al. 2002, Plant Cell Environ. 25:1167, eq. 17";
      break;
    case TemperatureForm::optimum:
      out.form = "optimum";
      out.equation = "V = Vopt exp[-((T - Topt)/Omega)^2]";
      out.source = "June, Evans & Farquhar 2004, Funct. Plant Biol. 31:275, eq. 1 (from memory)";
      break;
  }
}

void note_range(ResponseFit& out, const Data& data) {
  const auto [low, high] = std::minmax_element(data.T.begin(), data.T.end());
  for (const ResponseEstimate& estimate : out.estimates) {
    if (estimate.symbol != "Topt" || estimate.status == "fixed") continue;
    const bool beyond = !estimate.high || *estimate.high > *high;
    if (!beyond) continue;
    out.notes.push_back({NoteLevel::caution, "optimum-beyond-data",
                         "the warmest value was measured at " + print_rounded(*high, 4) +
                             " degC: the optimum is not enclosed by the data"});
  }
  for (const ResponseCurvePoint& value : out.values) {
    const double away = std::max({0.0, *low - value.x, value.x - *high});
    if (away == 0) continue;
    out.notes.push_back({away > 5 ? NoteLevel::warning : NoteLevel::caution, "beyond-data",
                         "the value at " + print_rounded(value.x, 4) + " degC is " +
                             print_rounded(away, 2) +
                             " K beyond the measured temperatures; measuring there is better"});
  }
}

void note_published(ResponseFit& out, const Data& data) {
  const double warm = *std::max_element(data.T.begin(), data.T.end());
  for (const Capacity capacity : {Capacity::Vcmax, Capacity::J, Capacity::TPU, Capacity::Rday}) {
    if (out.of != capacity_name(capacity)) continue;
    double lowest = 1e300, highest = 0;
    std::size_t sets = 0;
    for (const ResponseSet& set : response_sets()) {
      if (!set.of(capacity)) continue;
      const double factor = set.of(capacity)->factor(warm);
      lowest = std::min(lowest, factor);
      highest = std::max(highest, factor);
      ++sets;
    }
    if (sets < 2) return;
    out.notes.push_back({NoteLevel::info, "published-spread",
                         "published responses multiply " + out.of + " from 25 to " +
                             print_rounded(warm, 3) + " degC by " + print_rounded(lowest, 3) +
                             " to " + print_rounded(highest, 3) + " (" + std::to_string(sets) +
                             " sets)"});
  }
}

/// Responses of C4 capacities, and of what may set the plateau, differ too much to move values by.
void note_published_c4(ResponseFit& out, const Data& data) {
  const double warm = *std::max_element(data.T.begin(), data.T.end());
  std::string spread;
  for (const std::string_view symbol : {"Vpmax", "Vcmax", "J"}) {
    const bool plateau = out.of.starts_with("plateau") && symbol != "Vpmax";
    if (out.of != symbol && !plateau) continue;
    const auto range = c4_response_spread(symbol, warm);
    if (range.sets == 0) continue;
    spread += (spread.empty() ? "" : ", ") + std::string(symbol) + " by " +
              print_rounded(range.lowest, 3) +
              (range.sets > 1 ? " to " + print_rounded(range.highest, 3) : "") + " (" +
              std::to_string(range.sets) + (range.sets > 1 ? " sets)" : " set)");
  }
  if (spread.empty()) return;
  out.notes.push_back({NoteLevel::caution, "published-spread-c4",
                       "published responses of C4 leaves multiply, from 25 to " +
                           print_rounded(warm, 3) + " degC, " + spread +
                           "; they disagree, and measuring at the temperature of interest is "
                           "better than moving a value there"});
}

}  // namespace

Result<TemperatureForm> find_temperature_form(std::string_view name) {
  if (name == "arrhenius") return TemperatureForm::arrhenius;
  if (name == "peaked") return TemperatureForm::peaked;
  if (name == "optimum") return TemperatureForm::optimum;
  return fail(ErrorCode::usage, "form '" + std::string(name) + "'", "arrhenius, peaked or optimum");
}

Result<ResponseFit> fit_temperature(const std::string& of, const std::string& unit,
                                    const std::vector<ResponsePoint>& points,
                                    const TemperatureOptions& options) {
  const Data data = data_of(points);
  const Shape shape{options.form, options.Hd};
  const std::size_t needed = shape.size() + 2;
  const std::size_t distinct = distinct_temperatures(data.T);
  if (distinct < needed) {
    return fail(ErrorCode::unfit,
                std::to_string(distinct) + " distinct temperature" + (distinct == 1 ? "" : "s"),
                "at least " + std::to_string(needed) + " for this form",
                options.form == TemperatureForm::arrhenius ? "measure at more temperatures"
                                                           : "measure at more, or use arrhenius");
  }
  if (points.size() < shape.size() + data.leaves.size() + 1) {
    return fail(ErrorCode::unfit, std::to_string(points.size()) + " values",
                "at least " + std::to_string(shape.size() + data.leaves.size() + 1) + ", as " +
                    std::to_string(data.leaves.size()) + " leaves have a level each");
  }
  const LeastSquaresProblem problem = problem_of(data, shape);
  const auto fit = best_of(problem, starts_of(data, shape));
  if (!fit) return fail(fit.error());

  ResponseFit out;
  out.of = of;
  out.points = points;
  out.log_scale = true;
  describe(out, options.form);
  out.ssr = fit->ssr;
  out.df = fit->df;
  out.rmse = fit->df > 0 ? std::sqrt(fit->ssr / static_cast<double>(fit->df)) : 0;

  const bool optimum = options.form == TemperatureForm::optimum;
  auto level = level_estimate(of + (optimum ? "_opt" : "25"), unit, problem, *fit, shape.size());
  if (!level) return fail(level.error());
  out.estimates.push_back(*level);
  const char* first = optimum ? "Topt" : "Ha";
  auto one = estimate_of(problem, *fit, 0, first, optimum ? "degC" : "kJ mol-1");
  if (!one) return fail(one.error());
  out.estimates.push_back(*one);
  if (shape.size() == 2) {
    auto two = estimate_of(problem, *fit, 1, optimum ? "Omega" : "Topt", optimum ? "K" : "degC");
    if (!two) return fail(two.error());
    out.estimates.push_back(*two);
  }
  if (options.form == TemperatureForm::peaked) {
    auto dS = entropy_estimate(data, shape, *fit);
    if (!dS) return fail(dS.error());
    out.estimates.push_back(*dS);
    out.estimates.push_back(fixed_estimate("Hd", "kJ mol-1", options.Hd));
  }
  const auto [low, high] = std::minmax_element(data.T.begin(), data.T.end());
  const double margin = 0.05 * (*high - *low);
  constexpr int steps = 80;
  for (int i = 0; i <= steps; ++i) {
    const double T = *low - margin + (*high - *low + 2 * margin) * i / steps;
    out.curve.push_back(curve_at(T, shape, *fit, data.leaves.size()));
  }
  for (const double T : options.at) {
    out.values.push_back(curve_at(T, shape, *fit, data.leaves.size()));
  }
  note_range(out, data);
  if (options.c4) {
    note_published_c4(out, data);
  } else {
    note_published(out, data);
  }
  if (data.leaves.size() > 1) {
    out.notes.push_back({NoteLevel::info, "leaf-levels",
                         std::to_string(data.leaves.size()) +
                             " leaves, each with its own level; the shape is common to all"});
  }
  return out;
}

}  // namespace leafwright
