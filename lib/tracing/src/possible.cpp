#include "possible.h"

#include <algorithm>
#include <cmath>

#include "anfract/tooth/clinical_frame.h"
#include "by_hand.h"
#include "ridge.h"

namespace anfract::tracing {
namespace {

constexpr double same_mm = 0.4;
constexpr double most_presence = 0.5;  ///< of what was too short to be stated, however strong

bool is_traced(const Vec3& first_P, const Vec3& last_P, const Tooth& tooth) {
    const auto on = [&](const Canal& canal, const Vec3& p) {
        return std::any_of(
            canal.samples.begin(), canal.samples.end(),
            [&](const CanalSample& sample) { return (sample.point_P - p).norm() < same_mm; });
    };
    return std::any_of(tooth.canals.begin(), tooth.canals.end(),
                       [&](const Canal& canal) { return on(canal, first_P) && on(canal, last_P); });
}

}  // namespace

void add_possible(const Site& site, const std::vector<CanalPath>& paths, Tooth& tooth) {
    const ClinicalFrame frame = clinical_frame(tooth.fdi, -site.coronal_P);
    const GridGeometry& g = site.brick.geometry;
    for (const CanalPath& path : paths) {
        PossibleCanal possible;
        possible.presence = std::min(presence_of(path), most_presence);
        possible.first_sign_P = voxel_P(g, path.first_sign);
        possible.last_sign_P = voxel_P(g, path.voxels.back());
        if (is_traced(possible.first_sign_P, possible.last_sign_P, tooth)) continue;
        possible.first_sign_depth_mm = (possible.first_sign_P - tooth.reference_P).norm();
        possible.floor_left_mm = std::max(site.depth_mm(possible.first_sign_P), 0.0);
        const auto across = [&](const Canal& canal) -> Vec3 {
            const Vec3 offset = possible.first_sign_P - canal.orifice_P;
            return offset - offset.dot(site.coronal_P) * site.coronal_P;
        };
        const Canal& nearest = *std::min_element(
            tooth.canals.begin(), tooth.canals.end(),
            [&](const Canal& a, const Canal& b) { return across(a).norm() < across(b).norm(); });
        possible.nearest_canal = nearest.name;
        possible.from_nearest_mm = across(nearest).norm();
        possible.direction = direction_name(frame, across(nearest));
        tooth.possible.push_back(std::move(possible));
    }
}

}  // namespace anfract::tracing
