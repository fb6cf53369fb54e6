#include "series.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>

namespace anfract::tracing {
namespace {

TEST(SmoothSeries, LeavesAStraightLineAsItIs) {
    std::vector<double> y;
    for (int n = 0; n < 30; ++n) y.push_back(1 + 0.05 * n);
    const Series s = smooth_series(y, std::vector<double>(30, 0.1), 0.2, 1.0, 0.1);
    // The solver's own regularisation is 1e-9 of the largest weight.
    for (std::size_t n = 0; n < 30; ++n) EXPECT_NEAR(s.value[n], y[n], 1e-5);
}

TEST(SmoothSeries, BridgesWhatWasNotMeasuredAndSaysThatItKnowsLess) {
    std::vector<double> y(40, 0.4);
    std::vector<double> sd(40, 0.02);
    for (std::size_t n = 15; n < 25; ++n) {
        y[n] = 99;
        sd[n] = std::numeric_limits<double>::infinity();
    }
    const Series s = smooth_series(y, sd, 0.2, 1.0, 0.1);
    EXPECT_NEAR(s.value[20], 0.4, 1e-6);
    EXPECT_GT(s.sd[20], 2 * s.sd[5]);
}

TEST(SmoothSeries, WithoutAPriorReturnsTheMeasurementAndItsScatter) {
    const Series s = smooth_series({1, 3, 2, 5}, {0.1, 0.2, 0.1, 0.3}, 0.2, 1.0, 1e9);
    EXPECT_NEAR(s.value[1], 3, 1e-6);
    EXPECT_NEAR(s.sd[3], 0.3, 1e-6);
}

}  // namespace
}  // namespace anfract::tracing
