#include "anfract/geometry/polyline.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace anfract {

Polyline::Polyline(const std::vector<Vec3>& points) {
    points_.reserve(points.size());
    arc_mm_.reserve(points.size());
    for (const Vec3& point : points) {
        const double step = points_.empty() ? 0.0 : (point - points_.back()).norm();
        if (!points_.empty() && step == 0.0) continue;
        arc_mm_.push_back(points_.empty() ? 0.0 : arc_mm_.back() + step);
        points_.push_back(point);
    }
}

Vec3 Polyline::at(double s_mm) const {
    if (s_mm <= 0 || points_.size() == 1) return points_.front();
    if (s_mm >= length_mm()) return points_.back();
    const auto above = std::upper_bound(arc_mm_.begin(), arc_mm_.end(), s_mm);
    const auto i = static_cast<std::size_t>(above - arc_mm_.begin());
    const double t = (s_mm - arc_mm_[i - 1]) / (arc_mm_[i] - arc_mm_[i - 1]);
    return points_[i - 1] + t * (points_[i] - points_[i - 1]);
}

Polyline Polyline::resampled(double spacing_mm) const {
    if (points_.size() < 2) return *this;
    const int steps = std::max(1, static_cast<int>(std::ceil(length_mm() / spacing_mm - 1e-9)));
    std::vector<Vec3> even;
    even.reserve(static_cast<std::size_t>(steps) + 1);
    for (int i = 0; i <= steps; ++i) even.push_back(at(length_mm() * i / steps));
    return Polyline(even);
}

Polyline Polyline::reversed() const {
    return Polyline(std::vector<Vec3>(points_.rbegin(), points_.rend()));
}

Polyline::Nearest Polyline::nearest(const Vec3& point) const {
    Nearest best{(point - points_.front()).norm(), 0.0};
    for (std::size_t i = 1; i < points_.size(); ++i) {
        const Vec3 along = points_[i] - points_[i - 1];
        const double t =
            std::clamp((point - points_[i - 1]).dot(along) / along.squaredNorm(), 0.0, 1.0);
        const double distance = (points_[i - 1] + t * along - point).norm();
        if (distance < best.distance_mm) {
            best = {distance, arc_mm_[i - 1] + t * along.norm()};
        }
    }
    return best;
}

}  // namespace anfract
