#include "second_image.h"

#include <algorithm>

#include "anfract/geometry/polyline.h"

namespace anfract::tracing {
namespace {

constexpr double within_mm = 0.3, least_share = 0.45, most_presence = 0.4;

Polyline line_of(const Canal& canal) {
    std::vector<Vec3> points;
    for (const CanalSample& sample : canal.samples) points.push_back(sample.point_P);
    return Polyline(points);
}

/// The share of a canal's own samples that `shift_P` takes onto another canal.
double share_on(const Polyline& other, const Canal& canal, const Vec3& shift_P) {
    double own = 0, on = 0;
    for (const CanalSample& sample : canal.samples) {
        if (other.nearest(sample.point_P).distance_mm < within_mm) continue;
        own += 1;
        if (other.nearest(sample.point_P + shift_P).distance_mm < within_mm) on += 1;
    }
    return own > 0 ? on / own : 0;
}

}  // namespace

std::vector<SecondImage> doubt_second_images(const Vec3& shift_P, Tooth& tooth) {
    std::vector<SecondImage> found;
    for (auto canal = tooth.canals.begin(); canal != tooth.canals.end(); ++canal) {
        if (!canal->presence) continue;
        const auto first = std::find_if(tooth.canals.begin(), canal, [&](const Canal& other) {
            const Polyline line = line_of(other);
            return std::max(share_on(line, *canal, shift_P), share_on(line, *canal, -shift_P)) >=
                   least_share;
        });
        if (first == canal) continue;
        canal->presence = std::min(*canal->presence, most_presence);
        found.push_back({canal->name, first->name});
    }
    return found;
}

}  // namespace anfract::tracing
