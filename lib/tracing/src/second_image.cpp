#include "second_image.h"

#include <algorithm>

#include "anfract/tooth/sampled_line.h"

namespace anfract::tracing {
namespace {

constexpr double within_mm = 0.3, least_share = 0.45, most_presence = 0.4;

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
    std::vector<Polyline> before;
    for (Canal& canal : tooth.canals) {
        const auto first = std::find_if(before.begin(), before.end(), [&](const Polyline& other) {
            return std::max(share_on(other, canal, shift_P), share_on(other, canal, -shift_P)) >=
                   least_share;
        });
        if (canal.presence && first != before.end()) {
            canal.presence = std::min(*canal.presence, most_presence);
            found.push_back({canal.name, tooth.canals[std::size_t(first - before.begin())].name});
        }
        before.push_back(sampled_line(canal));
    }
    return found;
}

}  // namespace anfract::tracing
