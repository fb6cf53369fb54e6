#include "tooth_solid.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace anfract {

namespace {

// Smooth minimum: equals min(a, b) where they differ by more than k and rounds the seam between.
// [Quilez2013]
double smooth_min(double a, double b, double k) {
    const double h = std::max(k - std::abs(a - b), 0.0) / k;
    return std::min(a, b) - h * h * k * 0.25;
}
double smooth_max(double a, double b, double k) { return -smooth_min(-a, -b, k); }

double square(double x) { return x * x; }

// First-order distance to the ellipse (power 2) or rounded rectangle (power 4) |x/a|^n + |y/b|^n
// = 1.
double outline_distance(double x, double y, double a, double b, bool boxy) {
    const double u = std::abs(x) / a, v = std::abs(y) / b;
    const double least = std::min(a, b);
    double f, fx, fy;
    if (boxy) {
        const double s = square(u * u) + square(v * v);
        f = std::sqrt(std::sqrt(s));
        if (f < 0.2) return -0.8 * least;
        fx = u * u * u / (f * f * f * a);
        fy = v * v * v / (f * f * f * b);
    } else {
        f = std::sqrt(u * u + v * v);
        if (f < 0.2) return -0.8 * least;
        fx = u / (f * a);
        fy = v / (f * b);
    }
    return (f - 1) / std::sqrt(fx * fx + fy * fy);
}

// First-order distance to an ellipsoid (power 2) or rounded box (power 4).
double superellipsoid_distance(const Vec3& p, const Vec3& half, bool boxy) {
    const Vec3 q = p.cwiseAbs().cwiseQuotient(half);
    const double power = boxy ? 4.0 : 2.0;
    const double f = boxy ? std::sqrt(std::sqrt(square(square(q.x())) + square(square(q.y())) +
                                                square(square(q.z()))))
                          : q.norm();
    if (f < 0.2) return -0.8 * half.minCoeff();
    Vec3 gradient;
    for (int i = 0; i < 3; ++i) {
        gradient[i] = std::pow(q[i] / f, power - 1) / half[i];
    }
    return (f - 1) / gradient.norm();
}

// A capsule whose radius falls from r0 to r1: distance to the segment less the radius at the
// nearest place.
double horn_distance(const Vec3& p, const HornDesign& horn) {
    const Vec3 along = horn.to_mm - horn.from_mm;
    const double t = std::clamp((p - horn.from_mm).dot(along) / along.squaredNorm(), 0.0, 1.0);
    const double radius_mm = horn.radius_mm * (1 - 2.0 / 3.0 * t);
    return (p - horn.from_mm - t * along).norm() - radius_mm;
}

constexpr double crown_edge_mm = 1.0;  // rounding between side and top of the crown
constexpr double flat_edge_mm = 0.2;   // rounding at the edge of the flattened cusp
constexpr double horn_blend_mm = 0.3;

}  // namespace

ToothSolid::ToothSolid(ToothDesign design) : design_(std::move(design)) {
    std::vector<std::pair<double, double>> md, bl;
    for (const OutlineDesign& o : design_.crown.outline) {
        md.emplace_back(o.z_mm, o.half_md_mm);
        bl.emplace_back(o.z_mm, o.half_bl_mm);
    }
    half_md_ = MonotoneCurve(md);
    half_bl_ = MonotoneCurve(bl);
    courses_ = lay_courses(design_, floor_z_mm());
    build_roots();
    build_canals();
    build_isthmuses();
    double reach_md = 0, reach_bl = 0;
    for (const OutlineDesign& o : design_.crown.outline) {
        reach_md = std::max(reach_md, o.half_md_mm);
        reach_bl = std::max(reach_bl, o.half_bl_mm);
    }
    box_min_ = {-reach_md, -reach_bl, 0};
    box_max_ = {reach_md, reach_bl, design_.crown.trunk_end_z_mm};
    for (const VaryingTube& root : roots_) {
        box_min_ = box_min_.cwiseMin(root.box_min());
        box_max_ = box_max_.cwiseMax(root.box_max());
    }
}

double ToothSolid::floor_z_mm() const {
    return design_.chamber.centre_mm.z() + design_.chamber.half_mm.z();
}

Vec3 ToothSolid::reference_T() const {
    const CuspDesign& cusp = design_.crown.cusps.front();
    return {cusp.at_mm.x(), cusp.at_mm.y(), 0};
}

double ToothSolid::crown_mm(const Vec3& p) const {
    const CrownDesign& crown = design_.crown;
    const double side =
        outline_distance(p.x(), p.y(), half_md_(p.z()), half_bl_(p.z()), crown.boxy);
    if (p.z() < crown.fossa_z_mm + 3) {
        // The occlusal surface is a height field: a fossa with bumps for cusps.
        double top_z = crown.fossa_z_mm, slope_x = 0, slope_y = 0;
        for (const CuspDesign& cusp : crown.cusps) {
            const double dx = p.x() - cusp.at_mm.x(), dy = p.y() - cusp.at_mm.y();
            const double w2 = square(cusp.width_mm);
            const double bump = cusp.rise_mm * std::exp(-(dx * dx + dy * dy) / (2 * w2));
            top_z -= bump;
            slope_x += bump * dx / w2;
            slope_y += bump * dy / w2;
        }
        const double top = (top_z - p.z()) / std::sqrt(1 + slope_x * slope_x + slope_y * slope_y);
        return smooth_max(smooth_max(side, top, crown_edge_mm), -p.z(), flat_edge_mm);
    }
    return smooth_max(side, p.z() - crown.trunk_end_z_mm, crown_edge_mm);
}

double ToothSolid::outer_mm(const Vec3& p) const {
    double d = crown_mm(p);
    for (const VaryingTube& root : roots_) {
        d = smooth_min(d, root.distance_mm(p), design_.root_blend_mm);
    }
    return d;
}

double ToothSolid::enamel_thickness_mm(const Vec3& p) const {
    // The junction rises toward the neighbours by up to a millimetre, as on real teeth.
    const double side = p.x() / half_md_(design_.crown.cej_z_mm);
    const double end_z = design_.crown.cej_z_mm - 1.0 * std::min(side * side, 1.0) + 0.4;
    const double share = std::clamp((end_z - p.z()) / end_z, 0.0, 1.0);
    return design_.crown.enamel_mm * std::sqrt(share);
}

double ToothSolid::chamber_mm(const Vec3& p) const {
    const ChamberDesign& chamber = design_.chamber;
    double d = superellipsoid_distance(p - chamber.centre_mm, chamber.half_mm, chamber.flat_floor);
    for (const HornDesign& horn : chamber.horns) {
        d = smooth_min(d, horn_distance(p, horn), horn_blend_mm);
    }
    return d;
}

double ToothSolid::pulp_mm(const Vec3& p) const {
    double d = chamber_mm(p);
    for (const CanalSolid& canal : canals_) d = std::min(d, canal.tube.distance_mm(p));
    for (const Isthmus& sheet : isthmuses_) d = std::min(d, sheet.distance_mm(p));
    return d;
}

}  // namespace anfract
