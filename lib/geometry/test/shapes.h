#pragma once

#include <Eigen/Geometry>
#include <cmath>
#include <random>
#include <vector>

#include "anfract/geometry/vec.h"

namespace anfract {

/// A helix of radius a and pitch 2 pi b about z, at arc lengths 0, spacing, 2 spacing, ...
inline std::vector<Vec3> helix(double a, double b, double length_mm, double spacing_mm) {
    const double speed = std::hypot(a, b);
    std::vector<Vec3> points;
    const int steps = static_cast<int>(std::lround(length_mm / spacing_mm));
    for (int i = 0; i <= steps; ++i) {
        const double t = i * spacing_mm / speed;
        points.push_back({a * std::cos(t), a * std::sin(t), b * t});
    }
    return points;
}

inline std::vector<Vec3> moved(const std::vector<Vec3>& points, const Mat3& rotation,
                               const Vec3& shift) {
    std::vector<Vec3> result;
    for (const Vec3& point : points) result.push_back(rotation * point + shift);
    return result;
}

inline Mat3 some_rotation() {
    return Eigen::AngleAxisd(0.7, Vec3(1, -2, 0.5).normalized()).toRotationMatrix();
}

/// Moves every point by a smooth random error of standard deviation `sd_mm` in each coordinate,
/// whose values at points `reach` apart are nearly independent.
inline void add_waves(std::vector<Vec3>& points, double sd_mm, int reach, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal;
    const int count = static_cast<int>(points.size());
    std::vector<Vec3> noise;
    for (int i = 0; i < count + 6 * reach; ++i) {
        noise.push_back({normal(random), normal(random), normal(random)});
    }
    for (int i = 0; i < count; ++i) {
        Vec3 sum(0, 0, 0);
        double square = 0;
        for (int j = -3 * reach; j <= 3 * reach; ++j) {
            const double weight = std::exp(-0.5 * j * j / static_cast<double>(reach * reach));
            sum += weight * noise[static_cast<std::size_t>(i + 3 * reach + j)];
            square += weight * weight;
        }
        points[static_cast<std::size_t>(i)] += sd_mm / std::sqrt(square) * sum;
    }
}

}  // namespace anfract
