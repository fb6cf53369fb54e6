#include <Eigen/Eigenvalues>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/tooth/section_direction.h"
#include "anfract/tracing/trace_session.h"

namespace anfract {

DrawSection section_of_outline(const Canal& canal, const std::vector<Vec3>& outline_P) {
    Vec3 middle{0, 0, 0};
    for (const Vec3& p : outline_P) middle += p / double(outline_P.size());
    std::size_t at = 0;
    for (std::size_t n = 0; n < canal.samples.size(); ++n) {
        const auto away = [&](std::size_t m) { return (canal.samples[m].point_P - middle).norm(); };
        if (away(n) < away(at)) at = n;
    }
    const std::size_t last = canal.samples.size() - 1;
    const Vec3 tangent =
        (canal.samples[std::min(at + 1, last)].point_P - canal.samples[at > 0 ? at - 1 : 0].point_P)
            .normalized();
    const Vec3 x_P = section_zero_P(tangent), y_P = tangent.cross(x_P);

    // Area, centroid and second moments of a polygon: Green's theorem, edge by edge.
    double area = 0, cx = 0, cy = 0, xx = 0, xy = 0, yy = 0;
    for (std::size_t n = 0; n < outline_P.size(); ++n) {
        const Vec3 a = outline_P[n] - middle, b = outline_P[(n + 1) % outline_P.size()] - middle;
        const double ax = a.dot(x_P), ay = a.dot(y_P), bx = b.dot(x_P), by = b.dot(y_P);
        const double cross = ax * by - bx * ay;
        area += cross / 2;
        cx += cross * (ax + bx) / 6;
        cy += cross * (ay + by) / 6;
        xx += cross * (ax * ax + ax * bx + bx * bx) / 12;
        yy += cross * (ay * ay + ay * by + by * by) / 12;
        xy += cross * (ax * by + 2 * ax * ay + 2 * bx * by + bx * ay) / 24;
    }
    DrawSection section;
    section.canal = canal.name;
    if (area == 0) return section;
    cx /= area;
    cy /= area;
    section.centre_P = middle + cx * x_P + cy * y_P;
    Eigen::Matrix2d moments;
    moments << xx / area - cx * cx, xy / area - cx * cy, xy / area - cx * cy, yy / area - cy * cy;
    const Eigen::SelfAdjointEigenSolver<Eigen::Matrix2d> axes(moments);
    // An ellipse with half axes a, b has second moments a^2/4, b^2/4; its area is made the
    // outline's.
    const double ratio = std::sqrt(axes.eigenvalues()[1] / axes.eigenvalues()[0]);
    const double width = 2 * std::sqrt(std::abs(area) / std::numbers::pi);
    section.diameter_long_mm = width * std::sqrt(ratio);
    section.diameter_short_mm = width / std::sqrt(ratio);
    const Eigen::Vector2d axis = axes.eigenvectors().col(1);
    const double degrees = std::atan2(axis.y(), axis.x()) * 180 / std::numbers::pi;
    section.long_axis_deg = std::fmod(degrees + 360, 180);
    return section;
}

}  // namespace anfract
