#include "anfract/tooth/view_measures.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <numbers>

#include "anfract/geometry/curve_derivatives.h"
#include "anfract/geometry/straight_start.h"

namespace anfract {
namespace {

constexpr double to_deg = 180.0 / std::numbers::pi;
// Below these a radius is a quotient of two uncertainties.
constexpr double least_angle_deg = 2.0;
constexpr double least_arc_mm = 0.5;

double angle_deg(const Vec3& a, const Vec3& b) {
    return std::atan2(a.cross(b).norm(), a.dot(b)) * to_deg;
}

double schneider_deg(const Polyline& chain, const StraightStart& coronal) {
    if (coronal.whole) return 0.0;
    return angle_deg(coronal.direction, chain.points().back() - coronal.departure);
}

/// The angle again with a stricter and a laxer eye for where the canal leaves its line.
void spread_schneider(const Polyline& chain, ViewMeasures& measures) {
    for (double factor : {0.5, 2.0}) {
        StraightStartOptions options;
        options.tolerance_mm *= factor;
        options.fit_to_mm *= factor;
        const double angle = schneider_deg(chain, straight_start(chain, options));
        measures.schneider_low_deg = std::min(measures.schneider_low_deg, angle);
        measures.schneider_high_deg = std::max(measures.schneider_high_deg, angle);
    }
}

Polyline projected(const Polyline& centreline, const Vec3& toward_P) {
    std::vector<Vec3> points;
    points.reserve(centreline.points().size());
    for (const Vec3& point : centreline.points()) {
        points.push_back(point - point.dot(toward_P) * toward_P);
    }
    return Polyline(points);
}

}  // namespace

ViewMeasures measure_in_space(const Polyline& centreline, SchneiderRange range) {
    ViewMeasures measures;
    const Vec3& orifice = centreline.points().front();
    const Vec3& foramen = centreline.points().back();
    const StraightStart coronal = straight_start(centreline);
    measures.coronal_straight_mm = coronal.length_mm;
    measures.total_curvature_deg =
        total_curvature_rad(centreline, curve_derivatives(centreline, {.half_window_mm = 1.0})) *
        to_deg;
    measures.schneider_deg = schneider_deg(centreline, coronal);
    measures.schneider_low_deg = measures.schneider_high_deg = measures.schneider_deg;
    if (range == SchneiderRange::Found) spread_schneider(centreline, measures);
    if (coronal.whole) {
        measures.apical_straight_mm = coronal.length_mm;
        return measures;
    }
    const StraightStart apical = straight_start(centreline.reversed());
    const Vec3 to_foramen = foramen - coronal.departure;
    measures.tangent_deg = angle_deg(coronal.direction, -apical.direction);
    measures.access_deg = angle_deg(coronal.direction, foramen - orifice);
    measures.foramen_offset_mm = coronal.direction.cross(to_foramen).norm();
    measures.apical_straight_mm = apical.length_mm;

    const double from = coronal.length_mm;
    const double to = centreline.length_mm() - apical.length_mm;
    measures.arc_mm = std::max(0.0, to - from);
    if (measures.arc_mm < least_arc_mm) return measures;
    if (measures.tangent_deg >= least_angle_deg) {
        measures.arc_radius_mm = measures.arc_mm / (measures.tangent_deg / to_deg);
    }
    const double radius =
        circumradius_mm(centreline.at(from), centreline.at(0.5 * (from + to)), centreline.at(to));
    if (std::isfinite(radius)) measures.three_point_radius_mm = radius;
    return measures;
}

ViewMeasures measure_in_view(const Polyline& centreline, const Vec3& toward_P,
                             SchneiderRange range) {
    const Polyline picture = projected(centreline, toward_P);
    ViewMeasures measures;
    if (picture.points().size() >= 2) measures = measure_in_space(picture, range);
    measures.toward_P = toward_P;
    return measures;
}

double schneider_in_view(const Polyline& centreline, const Vec3& toward_P) {
    const Polyline picture = projected(centreline, toward_P);
    if (picture.points().size() < 2) return 0.0;
    return schneider_deg(picture, straight_start(picture));
}

}  // namespace anfract
