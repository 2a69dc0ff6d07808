#include "numeric/distributions.hpp"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

namespace bm = boost::math;
namespace pol = boost::math::policies;

// No promotion to long double, whose width differs between machines; errors become NaN or inf.
using Policy =
    pol::policy<pol::promote_double<false>, pol::domain_error<pol::ignore_error>,
                pol::pole_error<pol::ignore_error>, pol::overflow_error<pol::ignore_error>,
                pol::underflow_error<pol::ignore_error>, pol::denorm_error<pol::ignore_error>,
                pol::evaluation_error<pol::ignore_error>,
                pol::indeterminate_result_error<pol::ignore_error>>;
using Normal = bm::normal_distribution<double, Policy>;
using StudentT = bm::students_t_distribution<double, Policy>;
using FisherF = bm::fisher_f_distribution<double, Policy>;
using ChiSquared = bm::chi_squared_distribution<double, Policy>;
using Beta = bm::beta_distribution<double, Policy>;
using NoncentralT = bm::non_central_t_distribution<double, Policy>;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double infinity = std::numeric_limits<double>::infinity();

bool is_probability(double p) {
  return p >= 0 && p <= 1;
}
bool is_df(double df) {
  return df > 0;
}  // false for NaN; +infinity is allowed

}  // namespace

double normal_cdf(double x) {
  if (std::isnan(x)) return nan;
  if (std::isinf(x)) return x < 0 ? 0 : 1;
  return bm::cdf(Normal(), x);
}

double normal_upper(double x) {
  return normal_cdf(-x);
}

double normal_quantile(double p) {
  if (!is_probability(p)) return nan;
  if (p == 0) return -infinity;
  if (p == 1) return infinity;
  return bm::quantile(Normal(), p);
}

double t_cdf(double t, double df) {
  if (std::isnan(t) || !is_df(df)) return nan;
  if (std::isinf(df) || std::isinf(t)) return normal_cdf(t);
  return bm::cdf(StudentT(df), t);
}

double t_upper(double t, double df) {
  return t_cdf(-t, df);
}

double t_quantile(double p, double df) {
  if (!is_probability(p) || !is_df(df)) return nan;
  if (p == 0) return -infinity;
  if (p == 1) return infinity;
  if (std::isinf(df)) return normal_quantile(p);
  return bm::quantile(StudentT(df), p);
}

double f_upper(double f, double df1, double df2) {
  if (std::isnan(f) || !is_df(df1) || !is_df(df2)) return nan;
  if (f <= 0) return 1;
  if (std::isinf(f)) return 0;
  if (std::isinf(df1) && std::isinf(df2)) return f < 1 ? 1 : 0;
  if (std::isinf(df2)) return chi2_upper(f * df1, df1);
  if (std::isinf(df1)) return 1 - chi2_upper(df2 / f, df2);
  return bm::cdf(bm::complement(FisherF(df1, df2), f));
}

double f_quantile(double p, double df1, double df2) {
  if (!is_probability(p) || !is_df(df1) || !is_df(df2)) return nan;
  if (p == 0) return 0;
  if (p == 1) return infinity;
  if (std::isinf(df1) && std::isinf(df2)) return 1;
  if (std::isinf(df2)) return chi2_quantile(p, df1) / df1;
  if (std::isinf(df1)) return df2 / chi2_quantile(1 - p, df2);
  return bm::quantile(FisherF(df1, df2), p);
}

double chi2_upper(double x, double df) {
  if (std::isnan(x) || !is_df(df)) return nan;
  if (x <= 0) return 1;
  if (std::isinf(df)) return std::isinf(x) ? nan : 1;
  if (std::isinf(x)) return 0;
  return bm::cdf(bm::complement(ChiSquared(df), x));
}

double chi2_quantile(double p, double df) {
  if (!is_probability(p) || !is_df(df)) return nan;
  if (p == 0) return 0;
  if (p == 1 || std::isinf(df)) return infinity;
  return bm::quantile(ChiSquared(df), p);
}

double beta_cdf(double x, double a, double b) {
  if (!is_probability(x) || !is_df(a) || !is_df(b) || std::isinf(a) || std::isinf(b)) return nan;
  return bm::cdf(Beta(a, b), x);
}

double beta_quantile(double p, double a, double b) {
  if (!is_probability(p) || !is_df(a) || !is_df(b) || std::isinf(a) || std::isinf(b)) return nan;
  return bm::quantile(Beta(a, b), p);
}

namespace {

bool noncentral_domain(double df, double ncp) {
  return df > 0 && std::isfinite(df) && std::isfinite(ncp);
}

}  // namespace

double noncentral_t_cdf(double t, double df, double ncp) {
  if (!noncentral_domain(df, ncp) || !std::isfinite(t)) return nan;
  return bm::cdf(NoncentralT(df, ncp), t);
}

double noncentral_t_quantile(double p, double df, double ncp) {
  if (!noncentral_domain(df, ncp) || !(p > 0 && p < 1)) return nan;
  return bm::quantile(NoncentralT(df, ncp), p);
}

}  // namespace leafwright
