#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <numbers>
#include <random>

#include "anfract/scan/volume.h"
#include "smoothing.h"

namespace anfract::test {

/// A ball of radius R convolved with a Gaussian, at distance r from its centre. Closed form: the
/// convolution of an indicator of a ball with an isotropic Gaussian reduces to one dimension.
inline double blurred_ball(double r, double radius, double sigma) {
    const double s = std::numbers::sqrt2 * sigma;
    r = std::max(r, 1e-6);
    const double near = (radius - r) / s;
    const double far = (radius + r) / s;
    return 0.5 * (std::erf(near) + std::erf(far)) -
           sigma / (r * std::sqrt(2 * std::numbers::pi)) *
               (std::exp(-near * near) - std::exp(-far * far));
}

struct BallScan {
    double radius_mm = 3.0;
    double voxel_mm = 0.1;
    double sigma_mm = 0.12;
    double low_grey = 50;
    double high_grey = 1600;
    double noise_sd = 0;
    double noise_smoothing_voxels = 0;
    unsigned seed = 1;
    double around_mm = 1.2;  ///< between the ball and the nearest border
    Vec3 offset_P{0, 0, 0};  ///< of the ball
};

/// White noise, smoothed and scaled back to the wished standard deviation.
inline std::vector<float> correlated_noise(const GridGeometry& geometry, double sd,
                                           double smoothing, unsigned seed) {
    Brick noise{geometry, std::vector<float>(geometry.voxel_count())};
    std::mt19937 random(seed);
    std::normal_distribution<float> normal;
    for (float& v : noise.grey) v = normal(random);
    if (smoothing > 0) noise.grey = gaussian_smoothed(noise, smoothing);
    // The border is left out: repeating it makes its noise stronger.
    constexpr int border = 5;
    double sum = 0;
    std::size_t count = 0;
    for (int k = border; k < geometry.size[2] - border; ++k) {
        for (int j = border; j < geometry.size[1] - border; ++j) {
            for (int i = border; i < geometry.size[0] - border; ++i, ++count) {
                sum += double(noise.at(i, j, k)) * noise.at(i, j, k);
            }
        }
    }
    const double scale = sd / std::sqrt(sum / double(count));
    for (float& v : noise.grey) v = float(v * scale);
    return noise.grey;
}

inline Brick ball_scan(const BallScan& s) {
    const int n = int(std::ceil(2 * (s.radius_mm + s.around_mm) / s.voxel_mm));
    Brick brick;
    brick.geometry.size = {n, n, n};
    brick.geometry.spacing_mm = Vec3::Constant(s.voxel_mm);
    brick.geometry.direction =
        Eigen::AngleAxisd(0.3, Vec3(1, 2, 2).normalized()).toRotationMatrix();
    brick.geometry.origin_P = Vec3(4, -5, 6);
    const std::vector<float> noise =
        correlated_noise(brick.geometry, s.noise_sd, s.noise_smoothing_voxels, s.seed);
    const Vec3 centre = Vec3(n / 2 + 0.21, n / 2 - 0.37, n / 2 + 0.08) +
                        brick.geometry.direction.transpose() * s.offset_P / s.voxel_mm;
    for (int k = 0; k < n; ++k) {
        for (int j = 0; j < n; ++j) {
            for (int i = 0; i < n; ++i) {
                const double r = (Vec3(i, j, k) - centre).norm() * s.voxel_mm;
                const double inside = blurred_ball(r, s.radius_mm, s.sigma_mm);
                brick.grey.push_back(float(s.low_grey + (s.high_grey - s.low_grey) * inside) +
                                     noise[brick.grey.size()]);
            }
        }
    }
    return brick;
}

}  // namespace anfract::test
