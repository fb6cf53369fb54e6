#include "ridge.h"

#include <algorithm>
#include <cmath>

namespace anfract::tracing {

Vec3 voxel_I(const GridGeometry& geometry, std::size_t voxel) {
    const auto nx = std::size_t(geometry.size[0]);
    const auto ny = std::size_t(geometry.size[1]);
    return Vec3(double(voxel % nx), double(voxel / nx % ny), double(voxel / (nx * ny)));
}

Vec3 voxel_P(const GridGeometry& geometry, std::size_t voxel) {
    return geometry.to_patient(voxel_I(geometry, voxel));
}

std::size_t nearest_voxel(const GridGeometry& geometry, const Vec3& point_P) {
    const Vec3 v = geometry.to_voxel(point_P);
    const auto index = [&](int a) {
        return std::clamp(int(std::lround(v[a])), 0, geometry.size[std::size_t(a)] - 1);
    };
    return geometry.index(index(0), index(1), index(2));
}

double distance_mm(const GridGeometry& geometry, std::size_t a, std::size_t b) {
    return (voxel_I(geometry, a) - voxel_I(geometry, b)).cwiseProduct(geometry.spacing_mm).norm();
}

double ridge_between(const Brick& brick, std::size_t a, std::size_t b) {
    const Vec3 from = voxel_I(brick.geometry, a);
    const Vec3 to = voxel_I(brick.geometry, b);
    const int steps = std::max(2, static_cast<int>(1.5 * (to - from).norm()));
    float highest = std::max(brick.grey[a], brick.grey[b]);
    const float brighter = highest;
    for (int s = 1; s < steps; ++s) {
        highest = std::max(highest, interpolate(brick, from + (to - from) * double(s) / steps));
    }
    return double(highest - brighter);
}

double parted_mm(const Brick& brick, const std::vector<std::size_t>& chain,
                 const std::vector<std::size_t>& other, double ridge_grey, double reach_mm) {
    const GridGeometry& g = brick.geometry;
    double parted = 0;
    for (std::size_t v = 1; v < chain.size(); ++v) {
        std::size_t nearest = other.front();
        double least = distance_mm(g, chain[v], nearest);
        for (const std::size_t n : other) {
            const double d = distance_mm(g, chain[v], n);
            if (d >= least) continue;
            least = d;
            nearest = n;
        }
        const bool apart = least > reach_mm || ridge_between(brick, chain[v], nearest) > ridge_grey;
        if (apart) parted += distance_mm(g, chain[v - 1], chain[v]);
    }
    return parted;
}

}  // namespace anfract::tracing
