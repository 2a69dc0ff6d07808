#include "numeric/spline_basis.hpp"

#include <gtest/gtest.h>

#include <stdexcept>

namespace leafwright {
namespace {

TEST(CubicSplineBasis, SumsToOneAndItsSlopesToNothing) {
  const CubicSplineBasis basis(3, 11, 5);
  EXPECT_EQ(basis.size(), 8U);
  for (double x = 3; x <= 11; x += 0.37) {
    const SplineValues at = basis.at(x);
    double sum = 0, slope = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      sum += at.value[k];
      slope += at.slope[k];
    }
    EXPECT_NEAR(sum, 1, 1e-14);
    EXPECT_NEAR(slope, 0, 1e-14);
    EXPECT_LT(at.first + 3, basis.size());
  }
}

TEST(CubicSplineBasis, HoldsAStraightLine) {
  // Marsden's identity: coefficients at the means of three neighbouring knots give x itself.
  const CubicSplineBasis basis(0, 10, 5);
  for (double x = 0; x <= 10; x += 0.61) {
    const SplineValues at = basis.at(x);
    double value = 0, slope = 0;
    for (std::size_t k = 0; k < 4; ++k) {
      const double c = 2 * (static_cast<double>(at.first + k) - 1);
      value += c * at.value[k];
      slope += c * at.slope[k];
    }
    EXPECT_NEAR(value, x, 1e-12);
    EXPECT_NEAR(slope, 1, 1e-12);
  }
}

TEST(CubicSplineBasis, AnEmptyRangeIsAFault) {
  EXPECT_THROW(CubicSplineBasis(2, 2, 4), std::logic_error);
}

}  // namespace
}  // namespace leafwright
