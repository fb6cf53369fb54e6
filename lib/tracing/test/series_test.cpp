#include "series.h"

#include <gtest/gtest.h>

#include <cmath>
#include <limits>
#include <random>

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

// A straight line is led on straight, and held where it was last seen as firmly as is asked.
TEST(SmoothSeries, HoldsItsLevelBeyondTheLastMeasurement) {
    constexpr double h = 0.2;
    std::vector<double> y, sd;
    for (std::size_t n = 0; n < 30; ++n) {
        y.push_back(0.5 - 0.05 * h * double(n));
        sd.push_back(n < 25 ? 0.001 : std::numeric_limits<double>::infinity());
    }
    EXPECT_NEAR(smooth_series(y, sd, h, 1.0, 0.1).value.back(), y.back(), 1e-4);
    const Series held = smooth_series(y, sd, h, 1.0, 0.1, 1e-5);
    EXPECT_NEAR(held.value.back(), y[24], 1e-3);
    EXPECT_NEAR(held.value[20], y[20], 2e-3);
}

TEST(SmoothSeries, WithoutAPriorReturnsTheMeasurementAndItsScatter) {
    const Series s = smooth_series({1, 3, 2, 5}, {0.1, 0.2, 0.1, 0.3}, 0.2, 1.0, 1e9);
    EXPECT_NEAR(s.value[1], 3, 1e-6);
    EXPECT_NEAR(s.sd[3], 0.3, 1e-6);
}

/// Values that are means over slabs of white noise, two spacings long, about a curve.
struct NoisySlabs {
    static constexpr std::size_t count = 60, fine = 8;
    static constexpr double h_mm = 0.2, noise_sd = 0.02;
    std::vector<double> y = std::vector<double>(count);

    template <typename Curve>
    NoisySlabs(unsigned seed, const Curve& curve) {
        std::mt19937 engine(seed);
        // A mean of 16 of these has the standard deviation `noise_sd`.
        std::normal_distribution<double> normal(0, noise_sd * 4);
        std::vector<double> grain((count + 1) * fine);
        for (double& value : grain) value = normal(engine);
        for (std::size_t n = 0; n < count; ++n) {
            double sum = 0;
            for (std::size_t k = 0; k < 2 * fine; ++k) sum += grain[n * fine + k];
            y[n] = curve(h_mm * double(n)) + sum / (2 * fine);
        }
    }

    SeriesError error(const Series& smooth, double stated_noise_sd) const {
        SeriesNoise noise{std::vector<double>(count, 0.0),
                          std::vector<double>(count, stated_noise_sd),
                          2 * h_mm,
                          1e-3,
                          {},
                          std::vector<double>(count, 0.0)};
        for (std::size_t n = 0; n < count; ++n)
            noise.left_over.push_back(std::pow(y[n] - smooth.value[n], 2));
        return series_error(sd, noise, h_mm, 1.0, 0.3);
    }
    Series smoothed() const { return smooth_series(y, sd, h_mm, 1.0, 0.3); }

    const std::vector<double> sd = std::vector<double>(count, 0.03);
};

/// Stated and real errors in the middle of many series, and the real correlation 0.4 mm apart.
struct StatedAndReal {
    double stated = 0, real = 0, real_correlation = 0, stated_correlation = 0;
};

template <typename Curve>
StatedAndReal stated_and_real(double stated_noise_sd, const Curve& curve) {
    constexpr unsigned series = 400;
    double stated = 0, real = 0, product = 0, length = 0;
    for (unsigned seed = 1; seed <= series; ++seed) {
        const NoisySlabs slabs(seed, curve);
        const Series smooth = slabs.smoothed();
        const SeriesError error = slabs.error(smooth, stated_noise_sd);
        const auto off = [&](std::size_t n) {
            return smooth.value[n] - curve(NoisySlabs::h_mm * double(n));
        };
        stated += error.sd[30] * error.sd[30] / series;
        real += off(30) * off(30) / series;
        product += off(30) * off(32) / series;
        length += error.correlation_mm / series;
    }
    return {std::sqrt(stated), std::sqrt(real), product / real,
            std::exp(-0.4 * 0.4 / (2 * length * length))};
}

// Against the scatter of 400 series, which is known to 3.5 %.
TEST(SeriesErrors, AreStatedAsTheyAreWhereSlabsOverlap) {
    const StatedAndReal found =
        stated_and_real(NoisySlabs::noise_sd, [](double s) { return 0.02 * s * s; });
    EXPECT_NEAR(found.stated, found.real, 0.15 * found.real);
    EXPECT_NEAR(found.stated_correlation, found.real_correlation, 0.1);
}

TEST(SeriesErrors, AreTakenFromTheSeriesWhereTheNoiseIsLessThanStated) {
    const StatedAndReal found =
        stated_and_real(2 * NoisySlabs::noise_sd, [](double s) { return 0.02 * s * s; });
    EXPECT_NEAR(found.stated, found.real, 0.15 * found.real);
}

TEST(SeriesErrors, GrowWhereTheCurveIsRougherThanTheNoise) {
    const StatedAndReal found =
        stated_and_real(NoisySlabs::noise_sd, [](double s) { return 0.1 * std::sin(6 * s); });
    EXPECT_GT(found.stated,
              1.2 * stated_and_real(NoisySlabs::noise_sd, [](double) { return 0.0; }).stated);
    EXPECT_GT(found.stated, 0.6 * found.real);
}

// What is not measured is as unsure as the curve's bending nearby makes a straight way on.
TEST(SeriesErrors, GrowTowardAnEndThatIsNotMeasured) {
    const NoisySlabs slabs(1, [](double s) { return 0.05 * s * s; });
    std::vector<double> sd = slabs.sd;
    SeriesNoise noise{std::vector<double>(60, 0.0), std::vector<double>(60, 0.005), 0.4, 1e-3,
                      std::vector<double>(60, 0.0), std::vector<double>(60, 0.1)};
    for (std::size_t n = 55; n < 60; ++n) {
        sd[n] = 0.25;
        noise.slab_sd[n] = 0;
    }
    const SeriesError error = series_error(sd, noise, 0.2, 1.0, 0.3);
    EXPECT_GT(error.sd[59], 3 * error.sd[40]);
    EXPECT_GT(error.sd[59], error.sd[56]);
}

}  // namespace
}  // namespace anfract::tracing
