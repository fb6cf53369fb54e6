#include "mouth.h"

#include <Eigen/Cholesky>
#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>
#include <vector>

namespace anfract::tracing {
namespace {

constexpr double above_mm = 1.3;      ///< of the pole over the mouth
constexpr double rim_mm = 1.2;        ///< furthest from the axis that the surface is looked at,
constexpr double least_rim_mm = 0.6;  ///< but at least this far beyond the mouth
constexpr double longest_ray_mm = 3;  ///< beyond it a ray met a groove or another root
constexpr double blend_mm = 0.25;
constexpr double least_along_mm = 0.3;
constexpr double deepest_mm = 1;

using Row = Eigen::Matrix<double, 6, 1>;

Row row_of(const MouthCap& cap, const Vec3& direction_P) {
    const double u = direction_P.dot(cap.u_P), v = direction_P.dot(cap.v_P);
    Row row;
    row << 1, u, v, u * u, u * v, v * v;
    return row;
}

/// Where a ray from inside the solid first leaves it; negative when it does not within reach.
double exit_mm(const Brick& depth, const Vec3& from_P, const Vec3& direction_P) {
    double t = 0, d = interpolate(depth, depth.geometry.to_voxel(from_P));
    while (t < longest_ray_mm) {
        const double step = std::max(0.5 * d, 0.04);
        const double next =
            interpolate(depth, depth.geometry.to_voxel(from_P + (t + step) * direction_P));
        if (next <= 0) return t + step * d / std::max(d - next, 1e-9);
        t += step;
        d = next;
    }
    return -1;
}

/// Least squares over the rays that leave beside the mouth, with two rounds of trimming; false when
/// they are too few.
bool fit_cap(const Brick& depth, MouthCap& cap) {
    std::vector<Row> rows;
    std::vector<double> radii;
    for (int ring = 1; ring <= 12; ++ring) {
        const double polar = ring * 6 * std::numbers::pi / 180;
        const int count = std::max(6, int(std::lround(60 * std::sin(polar))));
        for (int n = 0; n < count; ++n) {
            const double turn = 2 * std::numbers::pi * n / count;
            const Vec3 direction =
                std::cos(polar) * cap.axis_P +
                std::sin(polar) * (std::cos(turn) * cap.u_P + std::sin(turn) * cap.v_P);
            const double radius = exit_mm(depth, cap.pole_P, direction);
            if (radius < 0) continue;
            const double off = radius * std::sin(polar);
            if (off < cap.mouth_mm || off > std::max(rim_mm, cap.mouth_mm + least_rim_mm)) continue;
            rows.push_back(row_of(cap, direction));
            radii.push_back(radius);
        }
    }
    double limit = 1e9;
    for (int round = 0; round < 3; ++round) {
        Eigen::Matrix<double, 6, 6> normal = Eigen::Matrix<double, 6, 6>::Zero();
        Row right = Row::Zero();
        double squares = 0;
        int used = 0;
        for (std::size_t n = 0; n < rows.size(); ++n) {
            const double residual = radii[n] - rows[n].dot(cap.radius);
            if (round > 0 && std::abs(residual) > limit) continue;
            normal += rows[n] * rows[n].transpose();
            right += rows[n] * radii[n];
            squares += residual * residual;
            ++used;
        }
        if (used < 24) return false;
        normal.diagonal().array() += 1e-3;
        cap.radius = normal.ldlt().solve(right);
        if (round > 0) limit = std::max(2.5 * std::sqrt(squares / used), 0.03);
        if (round == 0) limit = 0.3;
    }
    return true;
}

}  // namespace

double MouthCap::depth_mm(const Vec3& point_P, double plain_mm) const {
    const Vec3 offset = point_P - pole_P;
    const double along = offset.dot(axis_P);
    const double off = (offset - along * axis_P).norm();
    if (along < least_along_mm || off > mouth_mm + blend_mm) return plain_mm;
    const double away = offset.norm();
    const double raised = row_of(*this, offset / away).dot(radius) - away;
    // Only near the surface is the polar distance a distance from it.
    if (raised <= plain_mm || raised > deepest_mm) return plain_mm;
    const double fade = std::clamp((mouth_mm + blend_mm - off) / blend_mm, 0.0, 1.0);
    return plain_mm + fade * (raised - plain_mm);
}

std::optional<MouthCap> mouth_cap(const Polyline& line, double width_mm, double sigma_psf_mm,
                                  const Brick& depth) {
    const auto depth_at = [&](const Vec3& p) {
        return interpolate(depth, depth.geometry.to_voxel(p));
    };
    double end = line.length_mm();
    while (end > above_mm && depth_at(line.at(end)) <= 0) end -= 0.05;
    if (end <= above_mm) return {};
    MouthCap cap;
    cap.pole_P = line.at(end - above_mm);
    cap.axis_P = (line.at(end) - cap.pole_P).normalized();
    cap.u_P = cap.axis_P.unitOrthogonal();
    cap.v_P = cap.axis_P.cross(cap.u_P);
    cap.radius.setZero();
    cap.mouth_mm = width_mm / 2 + 2 * sigma_psf_mm;
    if (depth_at(cap.pole_P) <= 0 || !fit_cap(depth, cap)) return {};
    return cap;
}

void close_mouth(const MouthCap& cap, ToothBody& body) {
    const GridGeometry& g = body.depth.geometry;
    const Vec3 centre = g.to_voxel(cap.pole_P);
    const Vec3 reach = Vec3::Constant(above_mm + deepest_mm).cwiseQuotient(g.spacing_mm);
    const auto low = [&](int a) { return std::max(0, int(centre[a] - reach[a])); };
    const auto high = [&](int a) {
        return std::min(g.size[std::size_t(a)] - 1, int(centre[a] + reach[a]) + 1);
    };
    for (int k = low(2); k <= high(2); ++k) {
        for (int j = low(1); j <= high(1); ++j) {
            for (int i = low(0); i <= high(0); ++i) {
                float& depth = body.depth.at(i, j, k);
                depth = float(cap.depth_mm(g.to_patient(Vec3(i, j, k)), depth));
                body.solid[g.index(i, j, k)] = depth > 0;
            }
        }
    }
}

}  // namespace anfract::tracing
