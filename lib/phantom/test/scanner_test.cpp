// The virtual scanner against closed forms: partial volume, point spread and noise.

#include "anfract/phantom/scanner.h"

#include <gtest/gtest.h>

#include <cmath>
#include <numbers>

#include "anfract/phantom/random.h"
#include "scene.h"
#include "tooth_solid.h"

namespace anfract {
namespace {

GridGeometry cube(int n, double voxel_mm) {
    GridGeometry grid;
    grid.size = {n, n, n};
    grid.spacing_mm = Vec3::Constant(voxel_mm);
    return grid;
}

double sigma_of(double fwhm_mm) { return fwhm_mm / (2 * std::sqrt(2 * std::log(2.0))); }

// A straight round tube through the middle of a cube, tilted against the grid.
struct TubeCase {
    double diameter_mm;
    double tilt_deg;
};

class Tube : public testing::TestWithParam<TubeCase> {};

// The integrated deficit over a cross-section is area times contrast, whatever the blur: pi d^2 / 4
// * contrast. Partial volume is exact up to the sub-sampling of a voxel; the bound
// is 1.5 %.
TEST_P(Tube, KeepsItsIntegratedDeficit) {
    const auto [diameter_mm, tilt_deg] = GetParam();
    constexpr double voxel_mm = 0.125, contrast = 1540, length_mm = 8;
    const double tilt = tilt_deg * std::numbers::pi / 180;
    const Vec3 axis = Vec3(std::sin(tilt), 0.3 * std::sin(tilt), std::cos(tilt)).normalized();
    std::vector<VaryingTube::Station> stations;
    for (int i = 0; i <= 160; ++i) {
        VaryingTube::Station s;
        s.centre = (i * 0.05 - length_mm / 2) * axis + Vec3(0.03, 0.05, 0);
        s.tangent = axis;
        section_axes(axis, Vec3(1, 0, 0), s.first_axis, s.second_axis);
        s.first_half_mm = s.second_half_mm = diameter_mm / 2;
        stations.push_back(s);
    }
    const VaryingTube tube(stations, 0.05, 0.1, 0.1);
    GridGeometry grid = cube(48, voxel_mm);
    grid.origin_P = Vec3::Constant(-23.5 * voxel_mm);
    Brick brick{grid, std::vector<float>(grid.voxel_count(), 0.0F)};
    for (int k = 0; k < 48; ++k) {
        for (int j = 0; j < 48; ++j) {
            for (int i = 0; i < 48; ++i) {
                const Vec3 centre = grid.to_patient(Vec3(i, j, k));
                if (tube.distance_mm(centre) > 2 * voxel_mm) continue;
                const auto inside = [&](const Vec3& q) { return tube.distance_mm(q); };
                brick.at(i, j, k) = static_cast<float>(
                    -contrast * fine_share(centre, Mat3::Identity(), voxel_mm, inside));
            }
        }
    }
    blur_to_fwhm(brick, 0.25, 2, Progress());
    // Sum over a slab between two planes of voxels, away from the ends; the tube's length in it is
    // h / cos.
    double deficit = 0;
    constexpr int low = 12, high = 36;
    for (int k = low; k < high; ++k) {
        for (int j = 0; j < 48; ++j) {
            for (int i = 0; i < 48; ++i) deficit -= static_cast<double>(brick.at(i, j, k));
        }
    }
    const double volume_mm3 = std::pow(voxel_mm, 3);
    const double inside_mm = (high - low) * voxel_mm / axis.z();
    const double found = deficit * volume_mm3 / inside_mm;
    const double expected = std::numbers::pi * diameter_mm * diameter_mm / 4 * contrast;
    RecordProperty("relative_error", std::to_string(found / expected - 1));
    EXPECT_NEAR(found / expected, 1, 0.015) << "deficit " << found << " of " << expected;
}

INSTANTIATE_TEST_SUITE_P(Widths, Tube,
                         testing::Values(TubeCase{0.12, 0}, TubeCase{0.12, 13}, TubeCase{0.2, 0},
                                         TubeCase{0.2, 13}, TubeCase{0.2, 40}, TubeCase{0.4, 13}));

// The profile of a blurred plane edge is an error function whose sigma is that of the requested
// width.
TEST(Blur, GivesAnEdgeTheRequestedWidth) {
    for (const double voxel_mm : {0.08, 0.125, 0.2}) {
        for (const double fwhm_mm : {0.25, 0.4}) {
            const int n = 40;
            Brick brick{cube(n, voxel_mm), std::vector<float>(static_cast<std::size_t>(n * n * n))};
            for (std::size_t at = 0; at < brick.grey.size(); ++at) {
                const int i = static_cast<int>(at % n);
                brick.grey[at] =
                    static_cast<float>(1000 * inner_share((i - 19.3) * voxel_mm, voxel_mm));
            }
            blur_to_fwhm(brick, fwhm_mm, 2, Progress());
            // Second central moment of the derivative: the variance of the whole point spread.
            double mass = 0, mean = 0, square = 0;
            for (int i = 1; i < n; ++i) {
                const double d = static_cast<double>(brick.at(i - 1, 20, 20)) -
                                 static_cast<double>(brick.at(i, 20, 20));
                const double x = (i - 0.5) * voxel_mm;
                mass += d;
                mean += d * x;
                square += d * x * x;
            }
            mean /= mass;
            // Differences of neighbours average the slope over one voxel, which adds voxel^2 / 12.
            const double variance = square / mass - mean * mean - voxel_mm * voxel_mm / 12;
            EXPECT_NEAR(std::sqrt(variance), sigma_of(fwhm_mm), 0.02 * sigma_of(fwhm_mm))
                << voxel_mm << " " << fwhm_mm;
            EXPECT_NEAR(mean, 19.3 * voxel_mm, 0.02 * voxel_mm);
        }
    }
}

TEST(Blur, KeepsTheSumOfAKernel) {
    for (const double sigma : {0.0, 0.2, 0.67, 0.69, 1.0, 3.0}) {
        const std::vector<double> kernel = gaussian_kernel(sigma);
        double sum = 0, variance = 0;
        const int half = static_cast<int>(kernel.size() / 2);
        for (int i = -half; i <= half; ++i) {
            sum += kernel[static_cast<std::size_t>(i + half)];
            variance += i * i * kernel[static_cast<std::size_t>(i + half)];
        }
        EXPECT_NEAR(sum, 1, 1e-12);
        EXPECT_NEAR(variance, sigma * sigma, 0.01 * sigma * sigma) << sigma;
    }
}

// White noise filtered with a Gaussian of sigma s has the autocorrelation exp(-h^2 / (4 s^2)).
TEST(Noise, HasTheRequestedDeviationAndCorrelation) {
    const std::array<int, 3> size{96, 96, 96};
    constexpr double voxel_mm = 0.125, fwhm_mm = 0.25;
    const std::vector<float> noise =
        correlated_noise(size, Vec3::Constant(voxel_mm), fwhm_mm, 7, 9, 2, Progress());
    double sum = 0, square = 0, next = 0, third = 0;
    const std::size_t n = noise.size();
    for (std::size_t i = 0; i < n; ++i) {
        sum += static_cast<double>(noise[i]);
        square += static_cast<double>(noise[i]) * static_cast<double>(noise[i]);
        next += static_cast<double>(noise[i]) * static_cast<double>(noise[(i + 96) % n]);
        third += static_cast<double>(noise[i]) * static_cast<double>(noise[(i + 3 * 96) % n]);
    }
    const auto count = static_cast<double>(n);
    const double s = sigma_of(fwhm_mm);
    // About 900,000 voxels that hang together over some ten each: the deviation is known to half a
    // per cent.
    EXPECT_NEAR(sum / count, 0, 0.03);
    EXPECT_NEAR(std::sqrt(square / count), 1, 0.01);
    EXPECT_NEAR(next / square, std::exp(-std::pow(voxel_mm / s, 2) / 4), 0.02);
    EXPECT_NEAR(third / square, std::exp(-std::pow(3 * voxel_mm / s, 2) / 4), 0.02);
}

TEST(Noise, IsTheSameWithAnyNumberOfThreads) {
    const std::array<int, 3> size{20, 30, 40};
    const auto one = correlated_noise(size, Vec3::Constant(0.1), 0.3, 5, 2, 1, Progress());
    EXPECT_EQ(one, correlated_noise(size, Vec3::Constant(0.1), 0.3, 5, 2, 3, Progress()));
    EXPECT_NE(one, correlated_noise(size, Vec3::Constant(0.1), 0.3, 6, 2, 3, Progress()));
    EXPECT_NE(one, correlated_noise(size, Vec3::Constant(0.1), 0.3, 5, 3, 3, Progress()));
}

// The C++ standard gives the 10000th output of a default mt19937_64 as 9981545732273789042
// ([rand.predef] in ISO/IEC 14882); Random must stand on that engine, and its draws must never
// change.
TEST(Random, StaysTheSameForEver) {
    std::mt19937_64 engine;
    engine.discard(9999);
    EXPECT_EQ(engine(), 9981545732273789042ULL);
    Random random(1, 2);
    double sum = 0, square = 0, fourth = 0;
    constexpr int n = 200000;
    for (int i = 0; i < n; ++i) {
        const double x = random.normal();
        sum += x;
        square += x * x;
        fourth += x * x * x * x;
    }
    EXPECT_NEAR(sum / n, 0, 0.01);
    EXPECT_NEAR(square / n, 1, 0.015);
    // Excess kurtosis of the sum of eight uniforms: -6/5/8 = -0.15.
    EXPECT_NEAR(fourth / n / (square / n * square / n) - 3, -0.15, 0.05);
}

}  // namespace
}  // namespace anfract
