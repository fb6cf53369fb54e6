#include "anfract/geometry/convex_section.h"

#include <cassert>
#include <cmath>
#include <numbers>

namespace anfract {
namespace {

/// The part of a convex polygon on the inner side of the line n . u = h [Sutherland1974].
std::vector<Vec2> clipped(const std::vector<Vec2>& polygon, const Vec2& n, double h) {
    std::vector<Vec2> kept;
    for (std::size_t i = 0; i < polygon.size(); ++i) {
        const Vec2& a = polygon[i];
        const Vec2& b = polygon[(i + 1) % polygon.size()];
        const double outside_a = n.dot(a) - h;
        const double outside_b = n.dot(b) - h;
        if (outside_a <= 0) kept.push_back(a);
        if ((outside_a < 0 && outside_b > 0) || (outside_a > 0 && outside_b < 0)) {
            kept.push_back(a + outside_a / (outside_a - outside_b) * (b - a));
        }
    }
    return kept;
}

}  // namespace

ConvexSection::ConvexSection(Eigen::ArrayXd support_mm) : support_mm_(std::move(support_mm)) {
    assert(support_mm_.size() >= 3);
}

ConvexSection ConvexSection::circumscribed(const Ellipse& ellipse, int count) {
    Eigen::ArrayXd support_mm(count);
    for (int j = 0; j < count; ++j) {
        support_mm[j] = ellipse.support_mm(Angle::radians(2.0 * std::numbers::pi * j / count));
    }
    return ConvexSection(std::move(support_mm));
}

ConvexSection ConvexSection::hull(const Eigen::ArrayXd& radius_mm, int count) {
    Eigen::ArrayXd support_mm(count);
    const auto rim_count = static_cast<double>(radius_mm.size());
    const Eigen::ArrayXd rim = Eigen::ArrayXd::LinSpaced(radius_mm.size(), 0.0, rim_count - 1.0) *
                               (2.0 * std::numbers::pi / rim_count);
    for (int j = 0; j < count; ++j) {
        support_mm[j] = (radius_mm * (rim - 2.0 * std::numbers::pi * j / count).cos()).maxCoeff();
    }
    return ConvexSection(std::move(support_mm));
}

Vec2 ConvexSection::normal(int j) const {
    const double theta = direction(j).rad();
    return {std::cos(theta), std::sin(theta)};
}

ConvexSection ConvexSection::shrunk_by(double radius_mm) const {
    return ConvexSection(support_mm_ - radius_mm);
}

bool ConvexSection::contains(const Vec2& point, double slack_mm) const {
    for (int j = 0; j < count(); ++j) {
        if (normal(j).dot(point) > support_mm_[j] + slack_mm) return false;
    }
    return true;
}

std::vector<Vec2> ConvexSection::vertices() const {
    // Every corner of the region lies within this square, as a corner between sides at most 120
    // degrees apart.
    const double far = 4.0 * support_mm_.abs().maxCoeff() + 1e-9;
    std::vector<Vec2> corners{{-far, -far}, {far, -far}, {far, far}, {-far, far}};
    for (int j = 0; j < count() && !corners.empty(); ++j) {
        corners = clipped(corners, normal(j), support_mm_[j]);
    }
    return corners.size() < 3 ? std::vector<Vec2>{} : corners;
}

double polygon_area(const std::vector<Vec2>& corners) {
    double twice = 0;
    for (std::size_t i = 0; i < corners.size(); ++i) {
        const Vec2& a = corners[i];
        const Vec2& b = corners[(i + 1) % corners.size()];
        twice += a.x() * b.y() - b.x() * a.y();
    }
    return 0.5 * twice;
}

}  // namespace anfract
