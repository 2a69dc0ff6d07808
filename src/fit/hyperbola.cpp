#include "fit/hyperbola.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>
#include <stdexcept>

#include "leaf/light.hpp"
#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

constexpr const char* flux = "umol m-2 s-1";
constexpr const char* slope_unit = "mol m-2 s-1";
constexpr const char* mole_fraction = "umol mol-1";

using Values = std::span<const double>;
using Vector = std::vector<double>;

LightLeaf hyperbola_of(Values p) {
  return {p[0], p[1], p[2], p[3]};
}

double rate(EmpiricalForm form, Values p, double C) {
  if (form == EmpiricalForm::hyperbola) return light_assimilation(C, hyperbola_of(p));
  return p[0] * (1 - std::exp(-std::exp(p[1]) * (C - p[2])));
}

/// Quantities that follow from the parameters.
struct Derived {
  const char* symbol;
  const char* unit;
  std::function<std::optional<double>(Values)> of;
};

std::optional<double> ci_for_share(Values p, double share) {
  const LightLeaf leaf = hyperbola_of(p);
  if (!(leaf.Amax > leaf.Rday)) return {};
  return light_for_share((share * (leaf.Amax - leaf.Rday) + leaf.Rday) / leaf.Amax, leaf);
}

std::vector<Derived> derived_of(EmpiricalForm form) {
  if (form == EmpiricalForm::hyperbola) {
    return {{"Asat", flux, [](Values p) { return std::optional(p[1] - p[3]); }},
            {"CO2comp", mole_fraction,
             [](Values p) { return light_compensation_point(hyperbola_of(p)); }},
            {"Ci90", mole_fraction, [](Values p) { return ci_for_share(p, 0.90); }},
            {"Ci95", mole_fraction, [](Values p) { return ci_for_share(p, 0.95); }}};
  }
  const auto at = [](double share) {
    return [share](Values p) { return std::optional(p[2] - std::log(1 - share) / std::exp(p[1])); };
  };
  return {
      {"initial_slope", slope_unit, [](Values p) { return std::optional(p[0] * std::exp(p[1])); }},
      {"Ci90", mole_fraction, at(0.90)},
      {"Ci95", mole_fraction, at(0.95)}};
}

Result<void> check(Values C, Values A, std::size_t parameters) {
  if (C.size() != A.size()) throw std::logic_error("fit_empirical: unequal numbers of C and A");
  Vector sorted(C.begin(), C.end());
  for (std::size_t i = 0; i < C.size(); ++i) {
    if (std::isfinite(C[i]) && std::isfinite(A[i])) continue;
    return fail(ErrorCode::unfit, fmt::format("row {}: C = {}, A = {}", i, C[i], A[i]),
                "finite values");
  }
  std::sort(sorted.begin(), sorted.end());
  const auto levels = std::unique(sorted.begin(), sorted.end()) - sorted.begin();
  if (static_cast<std::size_t>(levels) >= parameters) return {};
  return fail(ErrorCode::unfit, fmt::format("{} distinct Ci", levels),
              fmt::format("at least {} for the parameters of this curve", parameters));
}

LeastSquaresProblem problem_for(EmpiricalForm form, Values C, Values A) {
  LeastSquaresProblem problem;
  problem.residual_count = C.size();
  const Vector c(C.begin(), C.end()), a(A.begin(), A.end());
  problem.residuals = [form, c, a](Values p, std::span<double> r) {
    for (std::size_t i = 0; i < c.size(); ++i) r[i] = rate(form, p, c[i]) - a[i];
  };
  const double largest = std::max(1e-3, *std::max_element(a.begin(), a.end()));
  if (form == EmpiricalForm::hyperbola) {
    const double range = std::abs(*std::max_element(c.begin(), c.end()));
    problem.lower = {1e-9, 1e-9, 0, 0};
    problem.upper = {1e3 * largest / std::max(range, 1e-9) + 10, 1e3 * largest, 1, 10 * largest};
    problem.typical = {0.1, largest, 0.5, 1};
  } else {
    problem.typical = {largest, 1, 50};
  }
  return problem;
}

std::vector<Vector> starts_for(EmpiricalForm form, Values C, Values A) {
  const double top = std::max(1e-3, *std::max_element(A.begin(), A.end()));
  const double low = *std::min_element(C.begin(), C.end());
  const double high = *std::max_element(C.begin(), C.end());
  const double range = std::max(high - low, 1e-6);
  std::vector<Vector> out;
  if (form == EmpiricalForm::hyperbola) {
    for (const double turn : {0.1, 0.3, 0.8}) {
      for (const double theta : {0.2, 0.7, 0.95}) {
        out.push_back({top / (turn * range), 1.1 * top, theta, 0.03 * top});
      }
    }
    return out;
  }
  for (const double turn : {0.05, 0.15, 0.4, 1.0}) {
    out.push_back({top, -std::log(turn * range), 0.5 * low});
  }
  return out;
}

ResponseEstimate derived_estimate(const Derived& d, const LeastSquaresFit& fit) {
  ResponseEstimate out;
  out.symbol = d.symbol;
  out.unit = d.unit;
  out.value = d.of(fit.parameters);
  if (!out.value || !std::isfinite(*out.value) || fit.df <= 0) {
    out.value.reset();
    out.status = "not identified";
    return out;
  }
  Vector gradient(fit.parameters.size());
  for (std::size_t k = 0; k < gradient.size(); ++k) {
    Vector p = fit.parameters;
    const double h = 1e-5 * std::max(std::abs(p[k]), 1e-4);
    p[k] += h;
    const auto above = d.of(p);
    p[k] -= 2 * h;
    const auto below = d.of(p);
    gradient[k] = above && below ? (*above - *below) / (2 * h) : 0;
  }
  out.se = linearised_se(fit, gradient);
  if (!out.se) {
    out.value.reset();
    out.status = "not identified";
    return out;
  }
  const double t = t_quantile(0.975, static_cast<double>(fit.df));
  out.low = *out.value - t * *out.se;
  out.high = *out.value + t * *out.se;
  return out;
}

Result<void> add_parameters(EmpiricalFit& out, const LeastSquaresProblem& problem,
                            const LeastSquaresFit& fit) {
  struct Named {
    const char* symbol;
    const char* unit;
    std::optional<double> at_low, at_high;
  };
  const std::vector<Named> names =
      out.form == EmpiricalForm::hyperbola
          ? std::vector<Named>{{"initial_slope", slope_unit, {}, {}},
                               {"Amax", flux, {}, {}},
                               {"theta", "", 0.0, 1.0},
                               {"Rday", flux, 0.0, {}}}
          : std::vector<Named>{
                {"Asat", flux, {}, {}}, {"ln_k", "", {}, {}}, {"CO2comp", mole_fraction, {}, {}}};
  for (std::size_t k = 0; k < names.size(); ++k) {
    auto e = estimate_of(problem, fit, k, names[k].symbol, names[k].unit, names[k].at_low,
                         names[k].at_high);
    if (!e) {
      // A profile that cannot be followed leaves the parameter without an interval, not the fit.
      ResponseEstimate none;
      none.symbol = names[k].symbol;
      none.unit = names[k].unit;
      none.status = "not identified";
      out.notes.push_back({NoteLevel::caution, "empirical-profile", e.error().text()});
      e = none;
    }
    out.estimates.push_back(std::move(*e));
  }
  return {};
}

}  // namespace

const char* empirical_form_name(EmpiricalForm form) {
  switch (form) {
    case EmpiricalForm::none:
      return "none";
    case EmpiricalForm::hyperbola:
      return "hyperbola";
    case EmpiricalForm::exponential:
      return "exponential";
  }
  return "none";
}

double empirical_rate(const EmpiricalFit& fit, double C) {
  return rate(fit.form, fit.parameters, C);
}

Result<EmpiricalFit> fit_empirical(std::span<const double> C, std::span<const double> A,
                                   EmpiricalForm form) {
  if (form == EmpiricalForm::none) throw std::logic_error("fit_empirical: no form");
  const std::size_t parameters = form == EmpiricalForm::hyperbola ? 4 : 3;
  if (auto ok = check(C, A, parameters); !ok) return fail(ok.error());
  const LeastSquaresProblem problem = problem_for(form, C, A);
  const auto fit = best_of(problem, starts_for(form, C, A));
  if (!fit) return fail(fit.error());
  EmpiricalFit out;
  out.form = form;
  out.equation = form == EmpiricalForm::hyperbola
                     ? "theta g^2 - (s C + Amax) g + s C Amax = 0, A = g - Rday"
                     : "A = Asat (1 - exp(-exp(ln_k) (C - CO2comp)))";
  out.parameters = fit->parameters;
  out.ssr = fit->ssr;
  out.df = fit->df;
  if (!fit->converged()) {
    out.notes.push_back(
        {NoteLevel::warning, "empirical-not-converged",
         std::string("the empirical curve did not converge: ") + stop_reason_name(fit->stop)});
  }
  if (fit->df > 0) {
    if (auto ok = add_parameters(out, problem, *fit); !ok) return fail(ok.error());
  } else {
    out.notes.push_back({NoteLevel::warning, "empirical-no-degrees-of-freedom",
                         "as many parameters as rows: the empirical curve has no intervals"});
  }
  for (const Derived& d : derived_of(form)) out.estimates.push_back(derived_estimate(d, *fit));
  return out;
}

}  // namespace leafwright
