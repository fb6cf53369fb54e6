#include "tube.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/geometry/curve_derivatives.h"
#include "anfract/geometry/moving_frame.h"
#include "anfract/tooth/section_direction.h"

namespace anfract::exchange {
namespace {

constexpr int ring_count = 48;

/// An ellipse in space.
struct Ring {
    Vec3 centre, first, second;  ///< semi-axes as vectors, right-handed about the tube's direction
};

/// Rings joined to a closed surface with a fan at each end.
///
/// The first axes of neighbouring rings may point anywhere, so corners are counted in one frame
/// that turns as little as can be; `axes` of a ring only shape it.
Surface loft(const std::vector<Ring>& rings) {
    Surface surface;
    std::vector<Vec3> points, tangents;
    for (const Ring& ring : rings) {
        points.push_back(ring.centre);
        tangents.push_back(ring.first.cross(ring.second).normalized());
    }
    const auto frames = rotation_minimising_frames(points, tangents);
    for (std::size_t k = 0; k < rings.size(); ++k) {
        const Vec3 a = rings[k].first, b = rings[k].second;
        for (int j = 0; j < ring_count; ++j) {
            const double theta = 2 * std::numbers::pi * j / ring_count;
            const Vec3 toward = std::cos(theta) * frames[k].n1 + std::sin(theta) * frames[k].n2;
            const double u = toward.dot(a) / a.squaredNorm(), v = toward.dot(b) / b.squaredNorm();
            surface.vertices_P.push_back(rings[k].centre + toward / std::hypot(u, v));
        }
    }
    const int last = static_cast<int>(rings.size()) - 1;
    const int foot = static_cast<int>(surface.vertices_P.size()), head = foot + 1;
    surface.vertices_P.push_back(rings.front().centre);
    surface.vertices_P.push_back(rings.back().centre);
    for (int j = 0; j < ring_count; ++j) {
        const int next = (j + 1) % ring_count;
        surface.triangles.push_back({foot, next, j});
        surface.triangles.push_back({head, last * ring_count + j, last * ring_count + next});
        for (int k = 0; k < last; ++k) {
            const int low = k * ring_count, high = low + ring_count;
            surface.triangles.push_back({low + j, low + next, high + next});
            surface.triangles.push_back({low + j, high + next, high + j});
        }
    }
    return surface;
}

Ring ring_of(const CanalSample& sample, const Vec3& tangent) {
    const double long_mm =
        sample.diameter_long_mm > 0 ? sample.diameter_long_mm : sample.diameter_mm;
    const double short_mm =
        sample.diameter_short_mm > 0 ? sample.diameter_short_mm : sample.diameter_mm;
    const double angle = sample.long_axis_deg * std::numbers::pi / 180;
    const Vec3 zero = section_zero_P(tangent);
    const Vec3 axis = std::cos(angle) * zero + std::sin(angle) * tangent.cross(zero);
    return {sample.point_P, long_mm / 2 * axis, short_mm / 2 * tangent.cross(axis)};
}

}  // namespace

Surface canal_tube(const Canal& canal, double above_mm, double beyond_mm) {
    std::vector<Vec3> points;
    for (const CanalSample& sample : canal.samples) points.push_back(sample.point_P);
    const Polyline line(points);
    const auto course = curve_derivatives(line);
    std::vector<Ring> rings;
    const auto add = [&](const CanalSample& sample, std::size_t at, double shift_mm) {
        rings.push_back(ring_of(sample, course[at].tangent));
        rings.back().centre += shift_mm * course[at].tangent;
    };
    if (above_mm > 0) add(canal.samples.front(), 0, -above_mm);
    // A polyline drops repeated points, so samples are matched by place.
    std::size_t at = 0;
    for (const CanalSample& sample : canal.samples) {
        if (at < course.size() && (line.points()[at] - sample.point_P).norm() == 0) {
            add(sample, at++, 0);
        }
    }
    if (beyond_mm > 0) add(canal.samples.back(), course.size() - 1, beyond_mm);
    return loft(rings);
}

Surface straight_tube(const Vec3& from_P, const Vec3& to_P, double from_radius_mm,
                      double to_radius_mm) {
    const Vec3 along = (to_P - from_P).normalized();
    const Vec3 first = any_normal(along), second = along.cross(first);
    return loft({{from_P, from_radius_mm * first, from_radius_mm * second},
                 {to_P, to_radius_mm * first, to_radius_mm * second}});
}

Surface box(const Vec3& low, const Vec3& high) {
    Surface surface;
    for (int k = 0; k < 8; ++k) {
        surface.vertices_P.emplace_back(k & 1 ? high.x() : low.x(), k & 2 ? high.y() : low.y(),
                                        k & 4 ? high.z() : low.z());
    }
    surface.triangles = {{0, 2, 3}, {0, 3, 1}, {4, 5, 7}, {4, 7, 6}, {0, 1, 5}, {0, 5, 4},
                         {2, 6, 7}, {2, 7, 3}, {0, 4, 6}, {0, 6, 2}, {1, 3, 7}, {1, 7, 5}};
    return surface;
}

}  // namespace anfract::exchange
