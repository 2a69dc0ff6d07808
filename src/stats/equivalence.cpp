#include "stats/equivalence.hpp"

#include <algorithm>
#include <boost/math/quadrature/gauss.hpp>
#include <cmath>
#include <numeric>
#include <stdexcept>

#include "numeric/distributions.hpp"

namespace leafwright {
namespace {

double mean_of(std::span<const double> values) {
  return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

double variance_of(std::span<const double> values) {
  const double mean = mean_of(values);
  double sum = 0;
  for (const double v : values) sum += (v - mean) * (v - mean);
  return sum / static_cast<double>(values.size() - 1);
}

/// Twice the mid-ranks of |d|, so that ties stay whole numbers.
std::vector<std::size_t> doubled_ranks(std::vector<double> sizes) {
  std::vector<std::size_t> order(sizes.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return sizes[a] < sizes[b]; });
  std::vector<std::size_t> ranks(sizes.size());
  for (std::size_t i = 0; i < order.size();) {
    std::size_t k = i;
    while (k < order.size() && sizes[order[k]] == sizes[order[i]]) ++k;
    for (std::size_t j = i; j < k; ++j) ranks[order[j]] = i + 1 + k;  // 2 x the mean rank
    i = k;
  }
  return ranks;
}

/// P(sum of ranks with a fair coin each = s), s = 0 ... sum of all.
std::vector<double> rank_sum_distribution(const std::vector<std::size_t>& ranks) {
  std::vector<double> p = {1.0};
  for (const std::size_t rank : ranks) {
    std::vector<double> next(p.size() + rank, 0.0);
    for (std::size_t s = 0; s < p.size(); ++s) {
      next[s] += p[s] / 2;
      next[s + rank] += p[s] / 2;
    }
    p = std::move(next);
  }
  return p;
}

}  // namespace

const char* verdict_text(Verdict verdict) {
  switch (verdict) {
    case Verdict::equivalent:
      return "equivalent within the stated margin";
    case Verdict::different:
      return "different beyond the margin";
    case Verdict::not_shown:
      break;
  }
  return "not shown either way";
}

EquivalenceTest test_equivalence(double mean, double se, double df, double margin) {
  EquivalenceTest out;
  out.margin = margin;
  if (!(se > 0)) {
    out.p_equivalent = std::abs(mean) < margin ? 0 : 1;
    out.p_beyond = std::abs(mean) > margin ? 0 : 1;
    return out;
  }
  const double inside = (margin - std::abs(mean)) / se;  // the nearer side decides
  out.p_equivalent = t_upper(inside, df);
  out.p_beyond = t_upper(-inside, df);
  return out;
}

Verdict verdict_of(double p_equivalent, double p_beyond, double alpha) {
  if (p_equivalent <= alpha) return Verdict::equivalent;
  if (p_beyond <= alpha) return Verdict::different;
  return Verdict::not_shown;
}

std::vector<double> holm(std::span<const double> p) {
  std::vector<std::size_t> order(p.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return p[a] < p[b]; });
  std::vector<double> adjusted(p.size());
  double highest = 0;
  for (std::size_t k = 0; k < order.size(); ++k) {
    highest = std::max(highest, static_cast<double>(p.size() - k) * p[order[k]]);
    adjusted[order[k]] = std::min(1.0, highest);
  }
  return adjusted;
}

double tost_power(std::size_t n, double sd, double margin, double shift, double alpha) {
  if (n < 2 || !(sd > 0) || !(margin > 0)) throw std::logic_error("no power to compute");
  const double size = static_cast<double>(n);
  const double df = size - 1;
  const double error = sd / std::sqrt(size);
  const double t = t_quantile(1 - alpha, df);
  // Over s, the sample SD in units of sd, up to where t s/sqrt(n) reaches the margin or the density
  // is below 1e-20.
  const double end = std::min(margin / (t * error), 1 + 12 / std::sqrt(2 * df));
  const double scale = std::log(2.0) + df / 2 * std::log(df / 2) - std::lgamma(df / 2);
  const auto chance = [&](double s) {
    const double room = margin - t * s * error;
    const double density = std::exp(scale + (df - 1) * std::log(s) - df * s * s / 2);
    return density * (normal_cdf((room - shift) / error) - normal_cdf((-room - shift) / error));
  };
  double power = 0;
  constexpr int pieces = 16;
  for (int i = 0; i < pieces; ++i) {
    const double a = end * i / pieces, b = end * (i + 1) / pieces;
    power += boost::math::quadrature::gauss<double, 15>::integrate(chance, a, b);
  }
  return power;
}

std::optional<std::size_t> pairs_needed(double sd, double margin, double power, double alpha,
                                        std::size_t most) {
  const auto enough = [&](std::size_t n) { return tost_power(n, sd, margin, 0, alpha) >= power; };
  std::size_t low = 1, high = 2;
  while (!enough(high)) {
    low = high;
    if (high >= most) return std::nullopt;
    high = std::min(2 * high, most);
  }
  while (high - low > 1) {
    const std::size_t middle = low + (high - low) / 2;
    (enough(middle) ? high : low) = middle;
  }
  return high;
}

std::optional<SignedRank> signed_rank(std::span<const double> differences) {
  SignedRank out;
  std::vector<double> sizes;
  std::vector<bool> positive;
  for (const double d : differences) {
    if (d == 0) {
      ++out.zeros;
      continue;
    }
    sizes.push_back(std::abs(d));
    positive.push_back(d > 0);
  }
  out.n = sizes.size();
  constexpr std::size_t most = 400;  // the enumeration grows with n^3
  if (out.n < signed_rank_minimum || out.n > most) return std::nullopt;
  const std::vector<std::size_t> ranks = doubled_ranks(sizes);
  std::size_t plus = 0, all = 0;
  for (std::size_t i = 0; i < ranks.size(); ++i) {
    all += ranks[i];
    if (positive[i]) plus += ranks[i];
  }
  out.w = static_cast<double>(plus) / 2;
  const std::vector<double> p = rank_sum_distribution(ranks);
  const std::size_t tail = std::min(plus, all - plus);
  double sum = 0;
  for (std::size_t s = 0; s <= tail; ++s) sum += p[s];
  out.p = std::min(1.0, 2 * sum);
  return out;
}

std::optional<WelchTest> welch_test(std::span<const double> a, std::span<const double> b,
                                    double level) {
  if (a.size() < 2 || b.size() < 2) return std::nullopt;
  const double va = variance_of(a) / static_cast<double>(a.size());
  const double vb = variance_of(b) / static_cast<double>(b.size());
  if (!(va + vb > 0)) return std::nullopt;
  WelchTest out;
  out.difference = mean_of(a) - mean_of(b);
  out.se = std::sqrt(va + vb);
  out.df =
      (va + vb) * (va + vb) /
      (va * va / static_cast<double>(a.size() - 1) + vb * vb / static_cast<double>(b.size() - 1));
  out.p = 2 * t_upper(std::abs(out.difference) / out.se, out.df);
  const double reach = t_quantile(1 - (1 - level) / 2, out.df) * out.se;
  out.low = out.difference - reach;
  out.high = out.difference + reach;
  return out;
}

}  // namespace leafwright
