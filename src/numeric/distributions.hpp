// Probabilities and quantiles of the distributions that intervals and tests need: thin functions
// around Boost.Math, in double precision on every machine.
//
// Degrees of freedom may be fractional (effective df of correlated residuals) or +infinity.
// A probability is in [0, 1]; 0 and 1 give the ends of the distribution (-inf, 0 or +inf).
// Out of domain (a probability outside [0, 1], df <= 0, any NaN) -> NaN, never an exception:
// callers that compute df from data test the df, not the answer.
// Relative error about 1e-13 or better over the usual range (df 0.5 .. 1e6, p 1e-10 .. 1 - 1e-10).
#pragma once

namespace leafwright {

/// P(Z <= x) of the standard normal distribution.
double normal_cdf(double x);
/// P(Z > x), accurate in the far tail.
double normal_upper(double x);
/// x with P(Z <= x) = p.
double normal_quantile(double p);

/// P(T <= t), Student's t with df degrees of freedom.
double t_cdf(double t, double df);
/// P(T > t), accurate in the far tail.
double t_upper(double t, double df);
/// t with P(T <= t) = p.
double t_quantile(double p, double df);

/// P(F > f), F distribution with df1 (numerator) and df2; 1 for f <= 0.
double f_upper(double f, double df1, double df2);
/// f with P(F <= f) = p.
double f_quantile(double p, double df1, double df2);

/// P(X > x), chi-squared with df degrees of freedom; 1 for x <= 0.
double chi2_upper(double x, double df);
/// x with P(X <= x) = p.
double chi2_quantile(double p, double df);

/// Regularised incomplete beta function I_x(a, b): P(B <= x) of the beta distribution (a, b > 0).
double beta_cdf(double x, double a, double b);
/// x with I_x(a, b) = p (Clopper-Pearson limits).
double beta_quantile(double p, double a, double b);

/// P(T <= t) of the noncentral t distribution: (Z + ncp)/sqrt(chi2/df), finite df.
double noncentral_t_cdf(double t, double df, double ncp);
/// t with P(T <= t) = p, 0 < p < 1.
double noncentral_t_quantile(double p, double df, double ncp);

}  // namespace leafwright
