#include "by_hand.h"

#include <algorithm>
#include <cmath>

namespace anfract::tracing {

double presence_of(const CanalPath& path) {
    // However strong the evidence, it may be of something else: 1 of 153 canals that were traced in
    // teeth drawn for development was no canal, by the rule of succession 2 of 155.
    constexpr double surest = 1 - 2.0 / 155;
    return surest / (1 + std::exp(-(path.score_mm - 6.0) / 1.5));
}

Result<std::size_t> add_by_hand(const HandCanal& hand, const Site& site, const Progress& progress,
                                std::vector<TracedCanal>& traced) {
    CanalPath path = forced_canal(site.search(), site.voxel_at(hand.orifice_P),
                                  site.voxel_at(hand.end_P), progress);
    if (path.voxels.size() < 5) {
        return fail(ErrorCode::BadInput, "the two points of the canal do not both lie in the tooth",
                    "the canal", "give an orifice and an end inside the tooth");
    }
    const GridGeometry& g = site.brick.geometry;
    const std::vector<Vec3> points = smooth_line(path.voxels, g).points();
    for (std::size_t n = 0; n < traced.size(); ++n) {
        TracedCanal& canal = traced[n];
        const Polyline found = smooth_line(canal.path.voxels, g);
        const auto same = std::count_if(points.begin(), points.end(), [&](const Vec3& p) {
            return found.nearest(p).distance_mm < 0.35;
        });
        if (double(same) < 0.8 * double(points.size())) continue;
        // The user's ends hold.
        path.score_mm = canal.path.score_mm;
        canal.path = std::move(path);
        canal.by_hand = true;
        return n;
    }
    TracedCanal canal;
    canal.presence = presence_of(path);
    canal.path = std::move(path);
    canal.by_hand = true;
    traced.push_back(std::move(canal));
    return traced.size() - 1;
}

}  // namespace anfract::tracing
