// The noncentral t distribution: exact intervals for quantiles of a normal sample. A thin function
// around Boost.Math, in double precision.
#pragma once

namespace leafwright {

/// P(T <= t) of the noncentral t distribution: (Z + ncp)/sqrt(chi2/df). NaN out of domain.
double noncentral_t_cdf(double t, double df, double ncp);
/// t with P(T <= t) = p, 0 < p < 1. NaN out of domain.
double noncentral_t_quantile(double p, double df, double ncp);

}  // namespace leafwright
