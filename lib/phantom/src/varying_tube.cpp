#include "varying_tube.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <utility>

namespace anfract {

namespace {

constexpr double height_step_mm = 0.1;
constexpr double far_mm = 2.0;

// First-order distance to an ellipse or ellipsoid from the scaled radius k0 = |p / r| and k1 = |p /
// r^2|: k0 (k0 - 1) / k1 is the implicit function over its gradient. [Quilez2008]
double scaled_distance(double u, double v, double w, double a, double b, double c) {
    const double ua = u / a, vb = v / b, wc = w / c;
    const double k0 = std::sqrt(ua * ua + vb * vb + wc * wc);
    const double uaa = ua / a, vbb = vb / b, wcc = wc / c;
    const double k1 = std::sqrt(uaa * uaa + vbb * vbb + wcc * wcc);
    const double least = std::min(a, b);
    if (k1 * least < 1e-9) return -least;
    return std::max(k0 * (k0 - 1) / k1, -least);
}

}  // namespace

void section_axes(const Vec3& tangent, const Vec3& wanted, Vec3& first, Vec3& second) {
    first = wanted - tangent * tangent.dot(wanted);
    if (first.norm() < 1e-6) first = tangent.unitOrthogonal();
    first.normalize();
    second = tangent.cross(first);
}

VaryingTube::VaryingTube(std::vector<Station> stations, double spacing_mm, double start_cap_mm,
                         double end_cap_mm)
    : stations_(std::move(stations)),
      spacing_mm_(spacing_mm),
      start_cap_mm_(start_cap_mm),
      end_cap_mm_(end_cap_mm) {
    box_min_ = box_max_ = stations_.front().centre;
    for (const Station& s : stations_) {
        const double reach =
            std::max({s.first_half_mm, s.second_half_mm, start_cap_mm_, end_cap_mm_});
        box_min_ = box_min_.cwiseMin(s.centre - Vec3::Constant(reach));
        box_max_ = box_max_.cwiseMax(s.centre + Vec3::Constant(reach));
    }
    const double low = box_min_.z();
    const auto steps = static_cast<std::size_t>((box_max_.z() - low) / height_step_mm) + 2;
    by_height_.resize(steps);
    std::size_t at = 0;
    for (std::size_t i = 0; i < steps; ++i) {
        const double z = low + (static_cast<double>(i) + 0.5) * height_step_mm;
        while (at + 1 < stations_.size() && stations_[at].centre.z() < z) ++at;
        by_height_[i] = at;
    }
}

std::size_t VaryingTube::nearest_station(const Vec3& point) const {
    const double height = std::clamp((point.z() - box_min_.z()) / height_step_mm, 0.0,
                                     static_cast<double>(by_height_.size() - 1));
    auto at = static_cast<std::ptrdiff_t>(by_height_[static_cast<std::size_t>(height)]);
    const auto last = static_cast<std::ptrdiff_t>(stations_.size()) - 1;
    // Each step goes to where the present tangent line is nearest; outside the centre of curvature
    // the steps might swing, so their length halves.
    std::ptrdiff_t limit = 64;
    for (int round = 0; round < 12; ++round) {
        const Station& s = stations_[static_cast<std::size_t>(at)];
        const double along = (point - s.centre).dot(s.tangent) / spacing_mm_;
        auto step = static_cast<std::ptrdiff_t>(std::lround(std::clamp(along, -64.0, 64.0)));
        step = std::clamp(step, -limit, limit);
        const std::ptrdiff_t next = std::clamp<std::ptrdiff_t>(at + step, 0, last);
        if (next == at) break;
        at = next;
        if (round > 2) limit = std::max<std::ptrdiff_t>(1, limit / 2);
    }
    return static_cast<std::size_t>(at);
}

double VaryingTube::distance_mm(const Vec3& point) const {
    const Vec3 outside = (box_min_ - point).cwiseMax(point - box_max_).cwiseMax(0.0);
    const double box_distance = outside.norm();
    if (box_distance > far_mm) return box_distance;

    const std::size_t at = nearest_station(point);
    const Station& s = stations_[at];
    const Vec3 offset = point - s.centre;
    const double along = offset.dot(s.tangent);
    double w = 0;
    double cap = 1;
    if (at == 0 && along < 0) {
        w = along;
        cap = start_cap_mm_;
    } else if (at + 1 == stations_.size() && along > 0) {
        w = along;
        cap = end_cap_mm_;
    }
    // Between two stations the half widths are interpolated, so that a taper has no steps.
    double a = s.first_half_mm;
    double b = s.second_half_mm;
    const std::size_t other = along > 0 ? std::min(at + 1, stations_.size() - 1) : at - (at > 0);
    if (other != at) {
        const double share = std::min(std::abs(along) / spacing_mm_, 1.0);
        a += share * (stations_[other].first_half_mm - a);
        b += share * (stations_[other].second_half_mm - b);
    }
    return scaled_distance(offset.dot(s.first_axis), offset.dot(s.second_axis), w, a, b, cap);
}

}  // namespace anfract
