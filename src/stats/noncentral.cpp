#include "stats/noncentral.hpp"

#include <boost/math/distributions/non_central_t.hpp>
#include <cmath>
#include <limits>

namespace leafwright {
namespace {

namespace bm = boost::math;
namespace pol = boost::math::policies;

using Policy =
    pol::policy<pol::promote_double<false>, pol::domain_error<pol::ignore_error>,
                pol::pole_error<pol::ignore_error>, pol::overflow_error<pol::ignore_error>,
                pol::underflow_error<pol::ignore_error>, pol::denorm_error<pol::ignore_error>,
                pol::evaluation_error<pol::ignore_error>,
                pol::indeterminate_result_error<pol::ignore_error>>;
using NoncentralT = bm::non_central_t_distribution<double, Policy>;

constexpr double nan = std::numeric_limits<double>::quiet_NaN();

bool in_domain(double df, double ncp) {
  return df > 0 && std::isfinite(df) && std::isfinite(ncp);
}

}  // namespace

double noncentral_t_cdf(double t, double df, double ncp) {
  if (!in_domain(df, ncp) || !std::isfinite(t)) return nan;
  return bm::cdf(NoncentralT(df, ncp), t);
}

double noncentral_t_quantile(double p, double df, double ncp) {
  if (!in_domain(df, ncp) || !(p > 0 && p < 1)) return nan;
  return bm::quantile(NoncentralT(df, ncp), p);
}

}  // namespace leafwright
